"""Wire in stock: counted, used, left, needed; what is not known is never a number.

Lengths are worked out by hand: branch times 1 / cos of the coil's angle (1.4142 at 45 degrees,
1.7434 at 55), one anchor turn of 1.2 times the girth, and a tenth of waste.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING

import pytest
from tasks_garden import TODAY, Forms

from boughwright.errors import BoughwrightError
from boughwright.journal.check import check
from boughwright.journal.events import Event, StockCounted
from boughwright.journal.garden import garden_of
from boughwright.journal.terms import Metal, Work
from boughwright.usecases.folder import load, save
from boughwright.usecases.garden import read_garden
from boughwright.usecases.stock import DELIVERY_DAYS, StockLine, count_wire, stock_of, stock_shape
from boughwright.verdicts.verdict import Act

if TYPE_CHECKING:
    from pathlib import Path

    from boughwright.usecases.day import GardenDay

COUNTED = date(2026, 6, 1)
AL, CU = Metal.ALUMINIUM, Metal.COPPER


def metres(length_mm: float, anchor_mm: float, share: float) -> float:
    return (length_mm * share + math.pi * anchor_mm * 1.2) * 1.1 / 1000.0


@pytest.fixture
def maple(forms: Forms) -> str:
    tree = forms.plant()
    forms.branch(tree, "1L", height_mm=95, clock=9, base=6.0, trunk=47, length=200)
    forms.branch(tree, "2R", height_mm=130, clock=3, base=5.0, trunk=43, node=40, room=150)
    forms.branch(tree, "3B", height_mm=175, clock=12, base=5.0, trunk=37)
    return tree


def line(forms: Forms, metal: Metal = AL, gauge: float = 2.0, on: date = TODAY) -> StockLine:
    return next(
        one for one in stock_of(forms.day(on)).lines if (one.metal, one.gauge_mm) == (metal, gauge)
    )


def count(forms: Forms, gauge: float, metal: Metal = AL, on: date = COUNTED, **much: float) -> str:
    return count_wire(forms.path, gauge, metal, on=on, now=forms.writer(on).now, **much)


# --- counted, used, left --------------------------------------------------------------------------


def test_wire_on_a_branch_of_known_length_is_taken_off_the_count(forms: Forms, maple: str) -> None:
    assert count(forms, 2.0, metres=10.0) == "Wire stock: 10 m of 2.0 mm aluminium"
    forms.say("1L wire on 2 al", maple, date(2026, 6, 8))
    found = line(forms)
    low, high = metres(200, 6.0, 1 / math.cos(math.radians(45))), metres(200, 6.0, 1.7434468)
    assert found.used.low == pytest.approx(low)
    assert found.used.high == pytest.approx(high)
    assert found.left_low_m == pytest.approx(10.0 - high)
    assert found.left_high_m == pytest.approx(10.0 - low)
    assert [(use.place, use.on) for use in found.uses] == [("1L", date(2026, 6, 8))]


def test_a_branch_with_only_node_and_room_gives_a_wide_range(forms: Forms, maple: str) -> None:
    count(forms, 2.0, metres=10.0)
    forms.say("2R wire on 2 al x2", maple, date(2026, 6, 8))
    found = line(forms)
    assert found.used.low == pytest.approx(2 * metres(40, 5.0, math.sqrt(2)))
    assert found.used.high == pytest.approx(2 * metres(190, 5.0, 1.7434468))


def test_an_unknown_length_leaves_what_is_left_unknown(forms: Forms, maple: str) -> None:
    count(forms, 2.0, metres=10.0)
    forms.say("1L wire on 2 al; 3B wire on 2 al; apex wire on 2 al", maple, date(2026, 6, 8))
    found = line(forms)
    assert found.used.unknown == 2
    assert found.used.high is None
    assert found.left_low_m is None
    assert found.left_high_m == pytest.approx(10.0 - metres(200, 6.0, math.sqrt(2)))


def test_weight_gives_metres_and_a_new_count_starts_afresh(forms: Forms, maple: str) -> None:
    count(forms, 2.0, grams=84.8)
    # 2.70 g/cm³ x pi x 1 mm² = 8.482 g a metre.
    assert line(forms).counted_m == pytest.approx(84.8 / 8.4823, rel=1e-4)
    forms.say("1L wire on 2 al", maple, date(2026, 6, 3))
    assert line(forms).used.low > 0.0
    count(forms, 2.0, on=date(2026, 6, 5), metres=3.0)
    after = line(forms)
    assert (after.counted_on, after.counted_m) == (date(2026, 6, 5), 3.0)
    assert after.uses == ()
    assert after.left_low_m == after.left_high_m == 3.0


def test_on_the_day_of_a_count_only_what_went_on_after_it_is_taken_off(
    forms: Forms, maple: str
) -> None:
    forms.say("1L wire on 2 al", maple, COUNTED)
    count(forms, 2.0, metres=10.0)
    assert line(forms).uses == ()
    forms.say("2R wire on 2 al", maple, COUNTED)
    assert [use.place for use in line(forms).uses] == ["2R"]


def test_other_gauges_and_metals_and_wire_of_no_gauge_are_kept_apart(
    forms: Forms, maple: str
) -> None:
    count(forms, 2.0, metres=10.0)
    count(forms, 2.0, CU, metres=4.0)
    forms.say("1L wire on 2 cu", maple, date(2026, 6, 8))
    forms.say("2R wire on al; 3B wire on 2.5 al", maple, date(2026, 6, 8))
    stock = stock_of(forms.day())
    assert [(one.metal, one.gauge_mm) for one in stock.lines] == [(AL, 2.0), (CU, 2.0)]
    assert line(forms).uses == ()
    assert [use.place for use in line(forms, CU).uses] == ["1L"]
    assert stock.unsaid == 1


def test_no_count_is_no_number(forms: Forms, maple: str) -> None:
    forms.say("1L wire on 2 al", maple, date(2026, 6, 8))
    assert stock_of(forms.day()).lines == ()


# --- what the next weeks need ---------------------------------------------------------------------


def wanting(garden: GardenDay, tree: str, **days: date | None) -> GardenDay:
    """Return the same day with *wire on* asked for on some branches, from a day each."""
    day = garden.tree(tree)
    names = {branch.row: branch.name for branch in day.branches}
    changed = tuple(
        replace(v, act=Act.WIRE_ON, works=(Work.WIRE_ON,), earliest=days[f"b{names[v.row]}"],
                notes=()) if f"b{names[v.row]}" in days else v
        for v in day.verdicts
    )  # fmt: skip
    return replace(garden, trees=(replace(day, verdicts=changed),))


def test_needs_of_six_weeks_say_what_is_short_and_when_to_order(forms: Forms, maple: str) -> None:
    """6.0 mm takes 0.42 of it, 2.5 mm aluminium: 0.40 m at the most careful reckoning."""
    count(forms, 2.5, metres=0.3)
    later = TODAY + timedelta(days=20)
    stock = stock_of(wanting(forms.day(), maple, b1L=later))
    (found,) = stock.lines
    need = metres(200, 6.0, 1.7434468)
    assert found.gauge_mm == 2.5
    assert found.need.high == pytest.approx(need)
    assert found.short_m == pytest.approx(need - 0.3)
    assert found.order_by == later - timedelta(days=DELIVERY_DAYS)
    assert stock.until == TODAY + timedelta(days=42)


def test_what_is_needed_at_once_is_ordered_today_and_enough_asks_for_nothing(
    forms: Forms, maple: str
) -> None:
    count(forms, 2.5, metres=0.3)
    (short,) = stock_of(wanting(forms.day(), maple, b1L=None)).lines
    assert short.order_by == TODAY
    count(forms, 2.5, on=date(2026, 6, 2), metres=5.0)
    (enough,) = stock_of(wanting(forms.day(), maple, b1L=None)).lines
    assert (enough.short_m, enough.order_by) == (0.0, None)


def test_a_need_beyond_six_weeks_or_of_unknown_length_gives_no_number(
    forms: Forms, maple: str
) -> None:
    count(forms, 2.5, metres=5.0)
    (far,) = stock_of(wanting(forms.day(), maple, b1L=TODAY + timedelta(days=43))).lines
    assert far.needs == ()
    stock = stock_of(wanting(forms.day(), maple, b3B=None))
    unknown = next(one for one in stock.lines if one.needs)
    assert (unknown.short_m, unknown.order_by, unknown.need.high) == (None, None, None)


def test_the_demo_has_one_json_shape(demo_garden: GardenDay) -> None:
    told = json.loads(json.dumps(stock_shape(stock_of(demo_garden))))
    assert told["shape"] == "boughwright/stock"
    assert told["wires"] == []  # nothing was ever counted there


# --- the record itself ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "body",
    [
        StockCounted(2.0, AL),
        StockCounted(0.1, AL, 5.0),
        StockCounted(2.0, "tin", 5.0),  # type: ignore[arg-type]  # what a bad program sends
        StockCounted(2.0, AL, -1.0),
        StockCounted(2.0, AL, grams=math.nan),
        StockCounted(None, AL, 5.0),  # type: ignore[arg-type]  # what a bad program sends
    ],
)
def test_a_count_that_cannot_be_is_refused(body: StockCounted) -> None:
    with pytest.raises(BoughwrightError):
        check(Event(body, TODAY))
    with pytest.raises(BoughwrightError):
        check(Event(StockCounted(2.0, AL, 5.0), TODAY, tree="t"))


def test_a_count_survives_a_garden_folder(forms: Forms, tmp_path: Path) -> None:
    count(forms, 2.0, metres=10.0)
    count(forms, 1.0, CU, grams=50.0)
    save(forms.path, tmp_path / "folder")
    load(tmp_path / "again.book", tmp_path / "folder")
    stock = read_garden(tmp_path / "again.book")[0].stock
    assert [(one.what.metal, one.what.gauge_mm) for one in stock] == [(AL, 2.0), (CU, 1.0)]
    assert stock == read_garden(forms.path)[0].stock


def test_the_latest_count_stands_and_none_reaches_back() -> None:
    first = Event(StockCounted(2.0, AL, 5.0), date(2026, 1, 1))
    second = Event(StockCounted(2.0, AL, 3.0), date(2026, 3, 1))
    (now,) = garden_of([first, second]).stock
    assert now.what.metres == 3.0
    (then,) = garden_of([first, second], until=date(2026, 2, 1)).stock
    assert then.what.metres == 5.0
