"""Signs: which are active, cautious causes with a test each, leaf lost, disease pressure."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.health.pressure import Pressure, pressure
from boughwright.health.signs import (
    ACTIVE_DAYS,
    CAUSES,
    DISEASE,
    HYGIENE,
    active,
    active_by_branch,
    ask_about,
    disease,
    leaf_loss,
    likely_causes,
)
from boughwright.journal.terms import Amount, Sign
from boughwright.season.stages import Stage
from boughwright.tree.model import Seen

TODAY = date(2026, 6, 9)


def saw(sign: Sign, days_ago: int = 3, **other: Any) -> Seen:
    values: dict[str, Any] = {"branch": -1, "grade": None, "amount": None, "zone": ""}
    return Seen(uuid4(), TODAY - timedelta(days=days_ago), sign=sign, **(values | other))


@pytest.mark.parametrize("sign", list(ACTIVE_DAYS))
def test_sign_stays_active_for_its_days_and_no_longer(sign: Sign) -> None:
    days = ACTIVE_DAYS[sign]
    assert active([saw(sign, days)], TODAY) == {sign.value: TODAY - timedelta(days=days)}
    assert active([saw(sign, days + 1)], TODAY) == {}
    assert active([saw(sign, -1)], TODAY) == {}  # not seen yet on that day


def test_better_look_takes_signs_back_but_canker_stays() -> None:
    log = [saw(Sign.SPOTS, 9), saw(Sign.CANKER, 9), saw(Sign.OK, 2)]
    assert set(active(log, TODAY)) == {"canker"}
    assert set(active([saw(Sign.OK, 9), saw(Sign.SPOTS, 2)], TODAY)) == {"spots"}
    assert active([saw(Sign.SPOTS, 9), saw(Sign.SPOTS, 2, amount=Amount.NONE)], TODAY) == {}
    assert active([saw(Sign.SPRANG, 9), saw(Sign.HELD, 2)], TODAY) == {}


def test_signs_belong_to_their_branch() -> None:
    log = [saw(Sign.CANKER, branch=3), saw(Sign.MILDEW), saw(Sign.WEAK, branch=3)]
    assert set(active_by_branch(log, TODAY)[3]) == {"canker", "weak"}
    assert set(active(log, TODAY, branch=-1)) == {"mildew"}
    assert set(disease(log, TODAY)) == {"canker", "mildew"}  # weak is no disease


def test_clean_look_at_the_tree_clears_its_branches_too() -> None:
    log = [saw(Sign.SPOTS, 9, branch=3), saw(Sign.CANKER, 9, branch=3), saw(Sign.OK, 2)]
    assert set(disease(log, TODAY)) == {"canker"}


def test_causes_are_several_each_with_a_test_and_never_a_certainty() -> None:
    for sign, causes in CAUSES.items():
        assert len(causes) >= 2, sign
        assert all(cause.test for cause in causes)
    words = " ".join(c.name + " " + c.test for cs in CAUSES.values() for c in cs) + " ".join(
        HYGIENE
    )
    for banned in ("bactericide", "antibiotic", "copper", "definitely", "certainly", "dose"):
        assert banned not in words.lower()
    assert "fung" in " ".join(cause.name for cause in CAUSES[Sign.SPOTS])
    assert set(CAUSES) >= DISEASE


def test_sign_with_no_causes_is_asked_about() -> None:
    assert likely_causes(Sign.HAIL) == ()
    assert "hail" in ask_about(Sign.HAIL)
    assert ask_about(Sign.HAIL).endswith("?")


def test_frost_that_burned_some_of_the_leaf_counts_as_that_share() -> None:
    since = TODAY - timedelta(days=60)
    assert leaf_loss([saw(Sign.FROST, 47, amount=Amount.SOME)], since, TODAY) == pytest.approx(0.35)
    assert leaf_loss([saw(Sign.FROST, 90, amount=Amount.SOME)], since, TODAY) == 0.0
    one = leaf_loss([saw(Sign.FROST, 47, amount=Amount.SOME, branch=4)], since, TODAY)
    assert one == pytest.approx(0.035)
    two = [saw(Sign.FROST, 47, amount=Amount.HALF), saw(Sign.SPOTS, 5, amount=Amount.HALF)]
    assert leaf_loss(two, since, TODAY) == pytest.approx(1 - 0.5 * 0.75)


@given(st.lists(st.tuples(st.sampled_from(list(Sign)), st.integers(0, 80),
                          st.sampled_from([None, *Amount])), max_size=12))  # fmt: skip
def test_leaf_loss_stays_a_share_and_grows_with_reports(
    rows: list[tuple[Sign, int, Amount | None]],
) -> None:
    log = [saw(sign, ago, amount=amount) for sign, ago, amount in rows]
    since = TODAY - timedelta(days=60)
    losses = [leaf_loss(log[:n], since, TODAY) for n in range(len(log) + 1)]
    assert all(0.0 <= loss <= 1.0 for loss in losses)
    assert losses == sorted(losses)
    assert leaf_loss(log[::-1], since, TODAY) == pytest.approx(losses[-1])


@pytest.mark.parametrize(
    ("stage", "spells", "expected"),
    [
        (Stage.RUNNING, 0, Pressure.LOW),
        (Stage.RUNNING, 1, Pressure.MEDIUM),
        (Stage.RUNNING, 2, Pressure.HIGH),
        (Stage.RUNNING, 5, Pressure.HIGH),
        (Stage.SECOND_PUSH, 2, Pressure.MEDIUM),
        (Stage.HARD, 5, Pressure.NONE),
        (Stage.DEEP_REST, 5, Pressure.NONE),
    ],
)
def test_wet_fortnight_on_soft_leaf_is_high_and_falls_when_dry(
    stage: Stage, spells: int, expected: Pressure
) -> None:
    found = pressure(stage, spells)
    assert found is not None
    assert found.pressure is expected


def test_unknown_rain_gives_no_class() -> None:
    assert pressure(Stage.RUNNING, None) is None


def test_warm_weeks_after_burst_lower_it_by_one() -> None:
    found = pressure(Stage.RUNNING, 2, after_burst_mean_c=16.0)
    assert found is not None
    assert found.pressure is Pressure.MEDIUM
    cold = pressure(Stage.RUNNING, 2, after_burst_mean_c=12.0)
    assert cold is not None
    assert cold.pressure is Pressure.HIGH
