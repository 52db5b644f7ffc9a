"""The facts that cards read: one record for the tree on a day, one for each branch.

``None`` is unknown, everywhere. Cards never reach past these records.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from boughwright.journal.terms import (
        Bark,
        GraftKind,
        Job,
        Kind,
        Metal,
        Phase,
        Vigour,
        Work,
        Zone,
    )
    from boughwright.season.stages import Alarm, TreeCalendar
    from boughwright.sources import Grade
    from boughwright.species.model import Species
    from boughwright.wire.window import WireWindow


@dataclass(frozen=True, slots=True)
class Outlook:
    """The next ten days at the tree's shelf. ``None`` where no day of it is known or forecast.

    ``hot_from``/``hot_to``: first and last day of the next spell of 33 °C or more (daily maximum).
    ``dry_from``: first day from today with no rain, today or later.
    """

    t_max_10d_c: float | None
    t_min_10d_c: float | None
    hot_from: date | None
    hot_to: date | None
    frost_on: date | None
    dry_from: date | None
    wet_spells_14d: int | None
    """Infection-length wet spells in the 14 days up to today; None when rain is unknown."""


@dataclass(frozen=True, slots=True)
class PastWork:
    """A work of this or an earlier season, reduced to what rules need."""

    on: date
    work: Work
    row: int
    share: float | None
    weeks_ago: float
    this_season: bool
    this_flush: bool
    hard: bool
    """For repots: more than 30 % of the roots. For cuts: a wound over a third of the trunk."""
    to: str = ""
    """What a cut was made to: ``pair 1``, ``past node 1``, ``base``; empty when not said."""
    zone: str = ""
    """The zone it was done on; empty for a branch and for the whole tree."""


@dataclass(frozen=True, slots=True)
class AskedLook:
    """A look that the grower asked for and that nothing written since has answered.

    ``row`` is that of the branch, -1 for a zone or the tree; ``place`` names it, empty for the
    whole tree.
    """

    due: date
    row: int
    place: str


@dataclass(frozen=True, slots=True)
class TreeFacts:
    """One tree on one day."""

    tree: str
    name: str
    today: date
    species: Species | None
    opposite: bool | None
    calendar: TreeCalendar
    phase: Phase | None
    apex_phase: Phase | None
    vigour: Vigour | None
    vigour_why: str
    vigour_grade: Grade
    height_mm: float | None
    trunk_mm: float | None
    trunk_goal_mm: float | None
    days_in_leaf: int | None
    """Since leaf-out of this season; None when bare."""
    weeks_to_colour: float | None
    weeks_since_repot: float | None
    repot_share: float | None
    repot_this_season: bool
    repot_last_season: bool
    recovering: str
    """What it is getting over (``repot``, ``frost``, ``heat``, ``move``), empty when nothing."""
    disease: Mapping[str, date]
    """Active signs of disease or pest and when last seen: spots, curl, mildew, canker, pest."""
    leaf_loss: float
    """Share of the leaf lost to injury or disease this season, 0..1."""
    fruiting: bool | None
    show_on: date | None
    show_leafless: bool | None
    works: tuple[PastWork, ...]
    """Newest first."""
    outlook: Outlook
    alarms: tuple[Alarm, ...]
    tall_mm: float | None
    unweaned_grafts: int
    norm_extension_mm: float | None
    extension_ratio: float | None
    filled_days: int
    contradictions: tuple[str, ...]
    """Sentences of what contradicts itself in this tree's record."""
    phase_mix: Mapping[Phase, float] = field(default_factory=dict)
    """Share of its living primaries in each phase; empty when unknown."""
    show_phase: Phase | None = None
    """Phase of most of the apex and the outer crown, for feed."""
    fed_this_season: bool | None = None
    seasons_unfed: int = 0
    """Whole seasons before this one with no feed on record, 0 when there is no record at all."""
    wilting: bool = False
    drain_s: float | None = None
    """Seconds that water stands on the soil. [s]"""
    zone_wires: tuple[BranchFacts, ...] = ()
    """Wire put on a zone and not on one branch: row -1, the name of the zone, and its window."""
    looks: tuple[AskedLook, ...] = ()
    """Looks the grower asked for, unanswered, by day; those that are due stay until answered."""
    cleaned_on: date | None = None
    """Last day of the round against disease: sick leaves bagged, blades cleaned."""


@dataclass(frozen=True, slots=True)
class Inner:
    """A shoot that could take over from its parent."""

    row: int
    name: str
    ratio: float | None
    """Its base over its parent's diameter there."""
    plan_angle_deg: float | None


@dataclass(frozen=True, slots=True)
class BranchFacts:
    """One branch on one day."""

    row: int
    name: str
    kind: Kind
    order: int
    zone: Zone | None
    outer: bool | None
    phase: Phase | None
    vigour: Vigour | None
    wanted: bool | None
    gone: bool
    base_mm: float | None
    base_sd_mm: float | None
    base_age_days: int | None
    trunk_mm: float | None
    target_step: float | None
    target_set: bool
    """True when the grower set the target, not the zone."""
    step: float | None
    reached: float | None
    """Base over (trunk beside it times target). 1 is all of it."""
    reached_was: float | None
    """The same at the reading before, for the 2-point hysteresis."""
    target_base_mm: float | None
    base_forecast_mm: tuple[float, float, float] | None
    """p10, p50, p90 of the base at the end of this season if it runs."""
    seasons_to_target: float | None
    node_mm: float | None
    room_mm: float | None
    internode_share: float | None
    extension_mm: float | None
    leaves: int | None
    leaf_share: float | None
    """Share of the tree's branch wood area it carries, standing in for leaf; for the 30 % rule."""
    running: bool | None
    job: Job | None
    job_for: str | None
    job_until_base_mm: float | None
    job_met: bool | None
    feeds: tuple[str, ...]
    """Names of grafts or scars that a job or this branch's shoots serve."""
    elevation_deg: float | None
    plan_angle_deg: float | None
    shaded_by: str | None
    bud_inside: bool | None
    pair_level: bool | None
    cluster: int | None
    clusters: int | None
    knuckle: float | None
    fork_order: int | None
    bark: Bark | None
    wire: WireWindow | None
    wire_gauge_mm: float | None
    wire_metal: Metal | None
    wire_on: date | None
    wire_shoots: int
    released_grade: int | None
    """Worst grade at which wire came off within a year, None when none did."""
    guyed: bool
    graft_kind: GraftKind | None
    grafted_on: date | None
    exit_mm: float | None
    entry_mm: float | None
    union_moves: bool | None
    union_gap: bool | None
    lips_joined: bool | None
    weaned: bool | None
    open_mm: float | None
    open_was_mm: float | None
    open_years: float | None
    """Years between the two readings of the scar's width."""
    signs: Mapping[str, date]
    """Active signs on this branch: canker, spots, dieback, dead, weak and the like."""
    provisional_since: date | None
    promised: str
    """A standing promise in words, empty when none."""
    inner: tuple[Inner, ...]
    below_name: str | None
    below_base_mm: float | None
    """Base of the next living primary below, for the 0.75-0.95 rule."""
    contradictions: tuple[str, ...]
    shades: tuple[str, ...] = ()
    """Names of branches it shades for more than half the day."""
    bitten_beside: date | None = None
    """Day on which wire put on the same day as this one's had bitten; None once this was seen."""
    rival: str | None = None
    """Name of a primary that stands opposite at the same height."""
