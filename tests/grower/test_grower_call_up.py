"""The call-up of a whole collection under few hours, what it costs to make it, and its words."""

from __future__ import annotations

import cProfile
import pstats
import re
import subprocess
import sys
from collections import Counter
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from grower_garden import TODAY, Grower

from boughwright.sources import source
from boughwright.store import reader as store_reader
from boughwright.usecases import day as usecases_day
from boughwright.usecases.call_up import call_up_for, call_up_shape
from boughwright.usecases.day import open_day
from boughwright.usecases.sheet import sheet, sheet_shape
from boughwright.verdicts.verdict import Act, Harm

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "timings"))
import itertools

from garden_of_size import write_garden

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterator

    from boughwright.benchwork.jobs import BenchJob, CallUp
    from boughwright.usecases.day import TreeDay

# --- hours --------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def twelve(tmp_path_factory: pytest.TempPathFactory, bare_book: Path) -> Path:
    """Return a book of twelve trees: wire of many days, cuts that wait, and calm ones."""
    path = tmp_path_factory.mktemp("twelve") / "twelve.book"
    path.write_bytes(bare_book.read_bytes())
    grower = Grower(path)
    species = ("Ulmus parvifolia", "Acer buergerianum", "Acer campestre", "Carpinus betulus")
    for number in range(12):
        tree = f"tree-{number}"
        branches: dict[str, dict[str, Any]] = {}
        for n in range(1, 9):
            trunk = 50.0 - 4.0 * n
            step = 0.36 if number % 3 else 0.20
            branches[f"{n}{'LRB'[n % 3]}"] = {
                "height_mm": 45.0 * n, "clock": float(n * 5 % 12), "trunk": trunk,
                "base": trunk * step, "node": 34.0, "room": 90.0, "bud_inside": True,
                "pair_level": True, "leaves": 8,
            }  # fmt: skip
        grower.plant(tree, species[number % 4], branches, read_on=date(2026, 5, 30),
                     phase="ramification", height_mm=440.0)  # fmt: skip
        grower.say("strong; hard", date(2026, 6, 1), tree)
        if number % 2 == 0:  # wired between 20 April and 25 May
            grower.say("6L, 7R wire on 1.5 al" if number % 4 else "7R, 8B wire on 1.0 al",
                       date(2026, 4, 20) + timedelta(days=3 * number), tree)  # fmt: skip
    grower.say("7R bite 3", date(2026, 6, 8), "tree-4")
    return path


def _jobs(call: CallUp) -> list[tuple[str, BenchJob]]:
    now = [(tree.tree, job) for tree in call.now for job in tree.jobs]
    later = [(tree.tree, job) for tree in (*call.later, *call.calm) for job in tree.jobs]
    return [*now, *((slip.tree, slip.job) for slip in call.slips), *later]


def _planned(call: CallUp) -> set[tuple[str, Act, tuple[int, ...], date | None]]:
    return {(t.tree, j.act, j.rows, j.earliest) for t in call.now for j in t.jobs}


@pytest.mark.parametrize("which", ["twelve", "demo_book"])
@pytest.mark.parametrize("hours", [0.0, 1.0, 3.0, 6.0, 9.0, 13.0])
def test_nothing_that_cannot_be_undone_slips_for_an_improvement(
    request: pytest.FixtureRequest, which: str, hours: float
) -> None:
    path = request.getfixturevalue(which)
    call = call_up_for(path, on=TODAY, hours=hours).call
    assert not [slip for slip in call.slips if slip.job.harm is Harm.IRREVERSIBLE]
    musts = sum(j.harm is Harm.IRREVERSIBLE for _, j in _jobs(call))
    assert musts > 0
    assert musts == sum(j.harm is Harm.IRREVERSIBLE for t in call.now for j in t.jobs)
    if call.over_hours == 0.0:
        assert call.hours_planned <= hours + 1e-9
    else:  # what cannot wait fills the hours, and nothing else is done in them
        assert {j.harm for t in call.now for j in t.jobs} == {Harm.IRREVERSIBLE}
        assert call.over_hours == pytest.approx(call.hours_planned - hours)
    for slip in call.slips:
        assert slip.cost
        assert slip.to is None or slip.to > call.until


@pytest.mark.parametrize("which", ["twelve", "demo_book"])
def test_more_hours_lose_no_job_and_slips_become_fewer(
    request: pytest.FixtureRequest, which: str
) -> None:
    path = request.getfixturevalue(which)
    calls = [call_up_for(path, on=TODAY, hours=hours).call for hours in (0, 2, 4, 6, 9, 13, 40)]
    every = [Counter((t, j.act, j.rows, j.earliest) for t, j in _jobs(call)) for call in calls]
    assert all(one == every[0] for one in every)  # nothing is dropped in silence
    slips = [len(call.slips) for call in calls]
    assert slips == sorted(slips, reverse=True)
    assert slips[0] > slips[-1] == 0
    for fewer, more in itertools.pairwise(calls):
        # What is done first is done first whatever the hours: the worst harm done with fewer
        # hours is never put off with more.
        worst = {key for key in _planned(fewer) if _harm(fewer, key) <= Harm.WINDOW}
        assert worst <= _planned(more)
    order = [(tree.harm, tree.act_by or date.max, tree.name) for tree in calls[-1].now]
    assert order == sorted(order)


def _harm(call: CallUp, key: tuple[str, Act, tuple[int, ...], date | None]) -> Harm:
    return next(j.harm for t in call.now for j in t.jobs
                if (t.tree, j.act, j.rows, j.earliest) == key)  # fmt: skip


def test_the_bitten_wire_leads_and_says_how_it_comes_off(twelve: Path) -> None:
    call = call_up_for(twelve, on=TODAY, hours=6.0).call
    first = next(tree for tree in call.now if tree.tree == "tree-4")
    assert first.harm is Harm.IRREVERSIBLE
    assert first.headline.startswith("Wire off: 7R")
    assert call.now[0].harm is Harm.IRREVERSIBLE


# --- every verdict whole ------------------------------------------------------------------------


@pytest.fixture(scope="module")
def made_up(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a made-up garden of 12 trees of 120 branches."""
    path = tmp_path_factory.mktemp("made-up") / "garden.book"
    write_garden(path, trees=12, branches=120)
    return path


def _hold(day: TreeDay) -> None:
    rows = sorted(branch.row for branch in day.branches)
    assert sorted(one.row for one in day.verdicts) == rows  # one and only one a branch
    assert len(set(rows)) == len(rows)
    for one in (*day.verdicts, *day.whole):
        assert one.reasons
        assert one.flip
        assert len(one.notes) <= 2
        assert one.row >= 0 or one in day.whole
        for reason in one.reasons:
            assert reason.text
            assert reason.measure, reason
            assert source(reason.source).text
        if one.earliest is not None and one.latest is not None:
            assert one.earliest <= one.latest


@pytest.mark.parametrize("which", ["made_up", "twelve", "demo_book"])
def test_every_branch_has_one_verdict_that_cites_its_measure(
    request: pytest.FixtureRequest, which: str
) -> None:
    trees = open_day(request.getfixturevalue(which), on=TODAY).trees
    assert len(trees) == 12
    for day in trees:
        _hold(day)
    branches = sum(len(day.branches) for day in trees)
    assert branches > {"made_up": 1400, "twelve": 96, "demo_book": 500}[which]


# --- work counted -------------------------------------------------------------------------------


def _statements(path: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return the statements that one call-up sends to the book."""
    told: list[str] = []
    connect = store_reader.connect_to_read

    def watched(file: Path) -> sqlite3.Connection:
        connection = connect(file)
        connection.set_trace_callback(told.append)
        return connection

    with monkeypatch.context() as patch:
        patch.setattr(store_reader, "connect_to_read", watched)
        call_up_for(path, on=TODAY)
    return told


def test_statements_grow_neither_with_branches_nor_with_trees(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    counts = []
    for trees, branches in ((2, 8), (2, 64), (10, 8)):
        path = tmp_path / f"{trees}-{branches}.book"
        write_garden(path, trees=trees, branches=branches)
        counts.append(_statements(path, monkeypatch))
    assert counts[0]
    assert counts[0] == counts[1] == counts[2]


def test_each_event_is_decoded_once(made_up: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    decode = usecases_day.row_event
    seen: Counter[object] = Counter()

    def counted(row: Any) -> Any:
        event = decode(row)
        seen[event.id] += 1
        return event

    monkeypatch.setattr(usecases_day, "row_event", counted)
    call_up_for(made_up, on=TODAY)
    with store_reader.Reader.open(made_up) as reader:
        stored = len(reader.raw_events())
    assert len(seen) == stored > 2000
    assert set(seen.values()) == {1}
    # One tree opened by itself decodes its own events and how the others are called.
    seen.clear()
    open_day(made_up, on=TODAY, only="Tree 7")
    assert seen.total() < stored / 6


def _calls(path: Path) -> int:
    """Return how many function calls a call-up takes, once everything is imported and cached."""
    call_up_for(path, on=TODAY)
    profile = cProfile.Profile()
    profile.runcall(lambda: call_up_shape(call_up_for(path, on=TODAY)))
    return int(pstats.Stats(profile).total_calls)  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("small", "large"), [((6, 40), (12, 40)), ((12, 40), (24, 40)), ((6, 40), (6, 80))]
)
def test_twice_the_garden_takes_at_most_twice_the_work_and_a_little(
    tmp_path: Path, small: tuple[int, int], large: tuple[int, int]
) -> None:
    counts = []
    for trees, branches in (small, large):
        path = tmp_path / f"{trees}-{branches}.book"
        write_garden(path, trees=trees, branches=branches)
        counts.append(_calls(path))
    assert counts[1] <= 2.3 * counts[0]


# --- words --------------------------------------------------------------------------------------

INSIDE = re.compile(r"\b(?:[DF]\d{1,2}|TB|PS|RA|RE|p10|p50|p90|row \d|None|nan|Act\.|Harm\.)\b")
LEAST_WORDS = 7
VOWELS = re.compile(r"[aeiouy]+")


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for key, part in value.items():
            if key in {"text", "where", "flip", "never", "condition", "instead", "reason",
                       "headline", "notes", "cost", "caution", "cautions", "vigour_why",
                       "contradictions"} or isinstance(part, dict | list):  # fmt: skip
                yield from _texts(part)
    elif isinstance(value, list):
        for part in value:
            yield from _texts(part)
    elif isinstance(value, str) and value:
        yield value


def _syllables(word: str) -> int:
    found = len(VOWELS.findall(word))
    silent = word.endswith("e") and not word.endswith("le") and found > 1
    return max(1, found - silent)


def _school_grade(texts: list[str]) -> float:
    """Return the Flesch-Kincaid grade of texts. Short texts make it easy: leave them out."""
    words: list[str] = []
    sentences = 0
    for text in texts:
        plain = re.sub(r"\{[^}]*\}", "it", text)
        found = re.findall(r"[A-Za-z']+", plain.lower())
        words += found
        sentences += max(1, len(re.findall(r"[.?]\s", plain + " ")))
    syllables = sum(map(_syllables, words))
    return 0.39 * len(words) / sentences + 11.8 * syllables / len(words) - 15.59


def test_what_the_grower_reads_has_no_inner_names_and_is_plain(demo_book: Path) -> None:
    call = call_up_shape(call_up_for(demo_book, hours=6.0))
    names = [day.facts.name for day in open_day(demo_book).trees]
    shapes = [call, *(sheet_shape(sheet(demo_book, name)) for name in names)]
    for shape in shapes:
        texts = list(_texts(shape))
        assert len(texts) > 20
        assert not [text for text in texts if INSIDE.search(text)]
        assert not [text for text in texts if "!" in text]
        whole = [text for text in set(texts) if len(text.split()) >= LEAST_WORDS]
        assert len(whole) > 10
        assert _school_grade(whole) <= 9.0
        assert "card" not in str(shape)


# --- no network ---------------------------------------------------------------------------------

ALONE = """
import sys
from datetime import date
from pathlib import Path

WATCHED = ("socket.", "urllib.", "http.", "ftplib.", "smtplib.", "ssl.")
tried = []

def watch(event, arguments):
    if event.startswith(WATCHED):
        tried.append(event)
        raise OSError("there is no network here")

sys.addaudithook(watch)
import socket
try:
    socket.create_connection(("192.0.2.1", 9), timeout=0.1)
except OSError:
    pass
assert tried, "the watch is blind"
tried.clear()

from boughwright.demo.build import build
from boughwright.usecases import (call_up, doubts, folder, keep, may_i, records, say, sheet, stages,
                                  wires, weather)

here = Path(sys.argv[1])
book = here / "garden.book"
build(book)
say.say(book, [say.Phrase("1L base 12.3", date(2026, 6, 9), tree="Ditch field maple")])
call_up.call_up_shape(call_up.call_up_for(book, hours=6.0))
sheet.sheet_shape(sheet.sheet(book, "Courtyard elm"))
wires.all_wire_shape(wires.all_wire(book))
stages.stage_shape(stages.stage_strip(book))
may_i.ask_shape(may_i.ask(book, "Tall beech", "leaf full"))
doubts.doubts_shape(doubts.doubts(book))
records.records_shape(records.records(book, "Ditch field maple", "1L"))
folder.save(book, here / "out")
folder.load(here / "copy.book", here / "out", on_bad="refuse")
weather.load_weather(book, "weir-lane", here / "out" / "weather" / "weir-lane.csv",
                     today=date(2026, 6, 9))
keep.copy_out(book, here / "safe.book")
keep.put_back(here / "safe.book", here / "back.book")
print("tried", tried)
"""


def test_everything_works_with_no_network_and_none_is_asked_for(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", ALONE, str(tmp_path)], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1] == "tried []"
