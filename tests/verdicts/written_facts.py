"""Facts written by hand for the cards' tests: a tree, a branch, a wire, a graft, a scar."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from boughwright.journal.terms import Bark, GraftKind, Kind, Metal, Phase, Vigour, Work, Zone
from boughwright.season.stages import DateRange, Stage, TreeCalendar
from boughwright.sources import Grade
from boughwright.species.tables import of_key
from boughwright.verdicts.facts import BranchFacts, Inner, Outlook, PastWork, TreeFacts
from boughwright.wire.window import WireWindow

TODAY = date(2026, 6, 9)
"""Field maple in Slovenia: first flush just hard."""

_STARTS = {
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


def seen(on: date | None) -> DateRange:
    return DateRange(on, on, on)


def calendar(today: date = TODAY, stage: Stage = Stage.HARD, **other: Any) -> TreeCalendar:
    values: dict[str, Any] = {
        "season": "2026",
        "south": False,
        "today": today,
        "stage": stage,
        "since": seen(_STARTS.get(stage)),
        "starts": {one: seen(on) for one, on in _STARTS.items()},
        "leaf_out": seen(_STARTS[Stage.FIRST_LEAF]),
        "warmth_cd": 700.0,
        "warmth_since_leaf_out_cd": 450.0,
        "warmth_to_colour_cd": 1400.0,
        "chill_portions": 70.0,
        "filled_days": 0,
        "grade": Grade.MEASURED,
    }
    return TreeCalendar(**(values | other))


MILD = Outlook(26.0, 11.0, None, None, None, TODAY, 0)
"""Ten mild, dry days."""
HOT = Outlook(36.0, 12.0, date(2026, 6, 13), date(2026, 6, 16), None, TODAY, 0)
"""36 °C from 13 to 16 June."""


def tree(species: str = "acer-campestre", **other: Any) -> TreeFacts:
    kind = of_key(species)
    values: dict[str, Any] = {
        "tree": "t1",
        "name": "Written tree",
        "today": TODAY,
        "species": kind,
        "opposite": kind.word("buds") == "opposite",
        "calendar": calendar(),
        "phase": Phase.PRIMARY,
        "apex_phase": Phase.PRIMARY,
        "vigour": Vigour.STRONG,
        "vigour_why": "Free shoots reach their norm",
        "vigour_grade": Grade.MEASURED,
        "height_mm": 440.0,
        "trunk_mm": 67.0,
        "trunk_goal_mm": None,
        "days_in_leaf": 56,
        "weeks_to_colour": 18.0,
        "weeks_since_repot": 65.0,
        "repot_share": 0.25,
        "repot_this_season": False,
        "repot_last_season": True,
        "recovering": "",
        "disease": {},
        "leaf_loss": 0.0,
        "fruiting": False,
        "show_on": None,
        "show_leafless": None,
        "works": (),
        "outlook": MILD,
        "alarms": (),
        "tall_mm": 440.0,
        "unweaned_grafts": 0,
        "norm_extension_mm": 200.0,
        "extension_ratio": 1.05,
        "filled_days": 0,
        "contradictions": (),
    }
    return TreeFacts(**(values | other))


_EMPTY: dict[str, Any] = {
    "row": 1,
    "name": "1L",
    "kind": Kind.BRANCH,
    "order": 1,
    "target_set": False,
    "gone": False,
    "feeds": (),
    "wire_shoots": 0,
    "guyed": False,
    "signs": {},
    "promised": "",
    "inner": (),
    "contradictions": (),
    "shades": (),
}


def bare_branch(**known: Any) -> BranchFacts:
    """A branch of which nothing is known but what is given."""
    values = dict.fromkeys(BranchFacts.__dataclass_fields__) | _EMPTY | known
    return BranchFacts(**values)  # type: ignore[arg-type]


def branch(**other: Any) -> BranchFacts:
    """A primary low on the trunk, measured, thick enough (0.36 of 0.35), nothing in doubt.

    ``base_mm``, ``trunk_mm``, ``target_step``, ``node_mm`` and ``room_mm`` carry the measures that
    follow from them, unless those are given.
    """
    values: dict[str, Any] = {
        "zone": Zone.LOWER,
        "outer": True,
        "phase": Phase.PRIMARY,
        "wanted": True,
        "base_mm": 14.4,
        "base_sd_mm": 0.1,
        "base_age_days": 20,
        "trunk_mm": 40.0,
        "target_step": 0.35,
        "node_mm": 30.0,
        "room_mm": 150.0,
        "leaves": 8,
        "leaf_share": 0.12,
        "elevation_deg": 10.0,
        "pair_level": True,
        "bud_inside": True,
        "bark": Bark.SMOOTH,
    } | other
    base, trunk, target = values["base_mm"], values["trunk_mm"], values["target_step"]
    node, room = values["node_mm"], values["room_mm"]
    if base is not None and trunk is not None:
        values.setdefault("step", base / trunk)
        if target is not None:
            values.setdefault("reached", base / (trunk * target))
    if trunk is not None and target is not None:
        values.setdefault("target_base_mm", trunk * target)
    if node is not None and room is not None:
        values.setdefault("internode_share", node / room)
    return bare_branch(**values)


def at_reached(share: float, **other: Any) -> BranchFacts:
    """A low primary whose base has reached a share of its target of 14 mm."""
    return branch(base_mm=14.0 * share, reached=share, step=0.35 * share, **other)


def twig(**other: Any) -> BranchFacts:
    """A side branch with nothing measured."""
    known: dict[str, Any] = {"name": "1L-2", "order": 2, "zone": Zone.LOWER, "phase": Phase.PRIMARY}
    return bare_branch(**(known | other))


def window(**other: Any) -> WireWindow:
    """Wire put on in autumn, snug when seen in May, off by 20 July, setting in August."""
    never = DateRange(None, None, None, 1.0)
    values: dict[str, Any] = {
        "wire": UUID(int=1),
        "row": 1,
        "look_by": TODAY + timedelta(days=20),
        "off_by": TODAY + timedelta(days=41),
        "line": never,
        "allowed": never,
        "bitten": never,
        "deep": never,
        "set": never,
        "hold_from": TODAY + timedelta(days=60),
        "share_used": (0.2, 0.4, 0.6),
        "seen_grade": 1,
        "seen_on": TODAY - timedelta(days=20),
        "likely_grade": 1,
        "wirings": 1,
        "allowed_sink": 0.25,
        "grade": Grade.GUESS,
    }
    return WireWindow(**(values | other))


def wired(window_: WireWindow, **other: Any) -> BranchFacts:
    known = {"wire_metal": Metal.ALUMINIUM, "wire_gauge_mm": 1.5, "wire_shoots": 1}
    return branch(wire=window_, **(known | other))


def approach_graft(**other: Any) -> BranchFacts:
    """An approach graft of last June that has passed every gate."""
    values: dict[str, Any] = {
        "row": 5,
        "name": "2.5Lg",
        "kind": Kind.GRAFT,
        "graft_kind": GraftKind.APPROACH,
        "grafted_on": date(2025, 6, 10),
        "exit_mm": 6.4,
        "entry_mm": 5.2,
        "union_moves": False,
        "union_gap": False,
        "lips_joined": True,
        "weaned": False,
        "phase": Phase.PRIMARY,
        "zone": Zone.LOWER,
    }
    return bare_branch(**(values | other))


def thread_graft(exit_mm: float, entry_mm: float, **other: Any) -> BranchFacts:
    values: dict[str, Any] = {"graft_kind": GraftKind.THREAD, "union_moves": None}
    return approach_graft(exit_mm=exit_mm, entry_mm=entry_mm, lips_joined=None, **(values | other))


def scar(open_mm: float | None, was: float | None, years: float | None) -> BranchFacts:
    return bare_branch(
        row=9, name="scar front", kind=Kind.SCAR, open_mm=open_mm, open_was_mm=was, open_years=years
    )


def inner(ratio: float | None, angle: float | None = 20.0, name: str = "top-1") -> Inner:
    return Inner(7, name, ratio, angle)


def done(work: Work, weeks: float, **other: Any) -> PastWork:
    values: dict[str, Any] = {
        "on": TODAY - timedelta(weeks=weeks),
        "work": work,
        "row": -1,
        "share": None,
        "weeks_ago": weeks,
        "this_season": weeks < 20,
        "this_flush": weeks < 8,
        "hard": False,
    }
    return PastWork(**(values | other))


def at_stage(facts: TreeFacts, stage: Stage, today: date | None = None) -> TreeFacts:
    """The same tree on the first day of a stage."""
    on = today or _STARTS.get(stage, date(2026, 1, 10))
    return replace(facts, today=on, calendar=calendar(on, stage))
