"""Trees, branches, verdicts and jobs written by hand for the tests of the bench list."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from boughwright.benchwork.jobs import BenchJob, TreeCall
from boughwright.benchwork.order import step_of
from boughwright.journal.terms import Kind, Phase, Vigour, Work, Zone
from boughwright.season.stages import DateRange, Stage, TreeCalendar
from boughwright.sources import Grade
from boughwright.species.tables import of_key
from boughwright.verdicts.facts import BranchFacts, Outlook, PastWork, TreeFacts
from boughwright.verdicts.verdict import Act, Harm, Reason, Sureness, Verdict

TODAY = date(2026, 6, 9)
STARTS = {
    Stage.SWELL: date(2026, 3, 5),
    Stage.BURST: date(2026, 3, 30),
    Stage.FIRST_LEAF: date(2026, 4, 14),
    Stage.RUNNING: date(2026, 4, 22),
    Stage.CLOSING: date(2026, 5, 10),
    Stage.HARD: date(2026, 6, 2),
    Stage.LATE_THICKENING: date(2026, 8, 24),
    Stage.COLOUR: date(2026, 10, 12),
    Stage.LEAF_DROP: date(2026, 10, 30),
    Stage.EARLY_REST: date(2026, 11, 20),
}
MILD = Outlook(26.0, 11.0, None, None, None, TODAY, 0)
HEAT = Outlook(36.0, 12.0, date(2026, 6, 13), date(2026, 6, 16), None, TODAY, 0)
"""36 °C from 13 to 16 June."""


def seen(on):
    return DateRange(on, on, on)


def calendar(today=TODAY, stage=Stage.HARD, shift_days=0, south=False):
    shift = timedelta(days=shift_days)
    starts = {one: seen(on + shift) for one, on in STARTS.items()}
    return TreeCalendar(
        season="2026/27" if south else "2026", south=south, today=today, stage=stage,
        since=starts[stage], starts=starts, leaf_out=starts[Stage.FIRST_LEAF], warmth_cd=700.0,
        warmth_since_leaf_out_cd=450.0, warmth_to_colour_cd=1400.0, chill_portions=70.0,
        filled_days=0, grade=Grade.MEASURED,
    )  # fmt: skip


def tree(**other: Any) -> TreeFacts:
    """A strong field maple in forks, its first flush just hard, in ten mild days."""
    values: dict[str, Any] = {
        "tree": "t", "name": "Written tree", "today": TODAY, "species": of_key("acer-campestre"),
        "opposite": True, "calendar": calendar(), "phase": Phase.RAMIFICATION,
        "apex_phase": Phase.RAMIFICATION, "vigour": Vigour.STRONG, "vigour_why": "",
        "vigour_grade": Grade.MEASURED, "height_mm": 440.0, "trunk_mm": 67.0,
        "trunk_goal_mm": None, "days_in_leaf": 56, "weeks_to_colour": 18.0,
        "weeks_since_repot": 170.0, "repot_share": 0.25, "repot_this_season": False,
        "repot_last_season": False, "recovering": "", "disease": {}, "leaf_loss": 0.0,
        "fruiting": False, "show_on": None, "show_leafless": None, "works": (), "outlook": MILD,
        "alarms": (), "tall_mm": 440.0, "unweaned_grafts": 0, "norm_extension_mm": 200.0,
        "extension_ratio": 1.05, "filled_days": 0, "contradictions": (),
    }  # fmt: skip
    return TreeFacts(**(values | other))


def branch(row: int = 1, **other: Any) -> BranchFacts:
    """A primary thick enough (0.36 of the trunk beside it), its buds known, in no doubt."""
    values: dict[str, Any] = dict.fromkeys(BranchFacts.__dataclass_fields__)
    values |= {
        "row": row, "name": f"{row}L", "kind": Kind.BRANCH, "order": 1, "gone": False,
        "target_set": False, "feeds": (), "wire_shoots": 0, "guyed": False, "signs": {},
        "promised": "", "inner": (), "contradictions": (), "shades": (), "zone": Zone.MIDDLE,
        "outer": True, "phase": Phase.RAMIFICATION, "wanted": True, "base_mm": 14.4,
        "base_sd_mm": 0.1, "base_age_days": 20, "trunk_mm": 40.0, "target_step": 0.35,
        "step": 0.36, "reached": 14.4 / 14.0, "target_base_mm": 14.0, "node_mm": 30.0,
        "room_mm": 150.0, "internode_share": 0.2, "leaves": 8, "leaf_share": 0.12,
        "elevation_deg": 10.0, "pair_level": True, "bud_inside": True,
    }  # fmt: skip
    return BranchFacts(**(values | other))


def done(work: Work, on: date, row: int = -1, **other: Any) -> PastWork:
    """A work on record, as of 9 June 2026."""
    values: dict[str, Any] = {
        "on": on, "work": work, "row": row, "share": None, "weeks_ago": (TODAY - on).days / 7.0,
        "this_season": on >= date(2026, 1, 1), "this_flush": on >= date(2026, 4, 14),
        "hard": False,
    }  # fmt: skip
    return PastWork(**(values | other))


def verdict(act: Act, row: int = 1, works: tuple[Work, ...] = (), **other: Any) -> Verdict:
    values: dict[str, Any] = {
        "card": "written", "where": "", "reasons": (Reason("It is due"),), "flip": "a look",
        "sureness": Sureness.SURE, "harm": Harm.IMPROVEMENT, "minutes": 3.0 if works else 0.0,
    }  # fmt: skip
    return Verdict(row=row, act=act, works=works, **(values | other))


WORK_OF = {
    Act.WIRE_OFF: Work.WIRE_OFF, Act.CUT_PAST: Work.CUT, Act.CUT_TO_PAIR: Work.CUT,
    Act.SWAP_LEADER: Work.CUT, Act.REMOVE: Work.CUT, Act.TWO: Work.TWO, Act.RIM: Work.RIM,
    Act.WIRE_ON: Work.WIRE_ON, Act.PINCH: Work.PINCH, Act.LEAF_THIN: Work.LEAF_THIN,
    Act.FEED: Work.FEED, Act.RUB: Work.RUB, Act.CUT_SICK: Work.CUT, Act.GRAFT: Work.GRAFT_IN,
    Act.LEAF_CLEAR: Work.LEAF_CLEAR, Act.SEVER: Work.SEVER, Act.NOTCH: Work.NOTCH,
}  # fmt: skip


def job(act: Act, minutes: float = 10.0, harm: Harm = Harm.IMPROVEMENT, **other: Any) -> BenchJob:
    values: dict[str, Any] = {
        "works": (WORK_OF[act],) if act in WORK_OF else (), "rows": (1,), "places": "1L",
        "earliest": None, "latest": None, "reason": "It is due", "sureness": Sureness.SURE,
        "order": step_of(act), "toll": 0.0, "caution": "", "never": (),
    }  # fmt: skip
    return BenchJob(act=act, minutes=minutes, harm=harm, **(values | other))


def call(name: str, *jobs: BenchJob, setup: float = 10.0) -> TreeCall:
    harm = min((j.harm for j in jobs), default=Harm.NONE)
    by = min((j.latest for j in jobs if j.harm is harm and j.latest), default=None)
    return TreeCall(name, name, harm, by, setup, jobs, 6.0, 10.0, 20, 25, "")
