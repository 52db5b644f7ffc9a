"""Fields in the order a form asks for them: the essential ones first, the rest under more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from boughwright.errors import UnknownNameError
from boughwright.journal.fields import FIELDS_OF
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from collections.abc import Mapping

    from boughwright.journal.fields import Field
    from boughwright.usecases.shapes import Json

MORE: Final = "more"
"""Key of the group of all that no other group names."""
HIDDEN: Final[Mapping[str, frozenset[str]]] = {
    "garden": frozenset({"standing_date"}),
    "tree": frozenset({"gone_on", "gone_how"}),
    "branch": frozenset({"gone_on"}),
}
"""Fields that have a page or a button of their own, and the day of a demonstration garden."""

_GROUPS: Final[Mapping[str, tuple[tuple[str, tuple[str, ...]], ...]]] = {
    "garden": (
        ("first", ("name", "who", "home", "hours_week", "pupil_hours_week")),
        ("screens", ("units", "temperature", "dates", "language", "hand", "light")),
    ),
    "place": (
        ("first", ("name", "latitude", "weather")),
        ("ground", ("longitude", "elevation_m", "frost_pocket_c")),
    ),
    "shelf": (
        ("first", ("name", "offset_c", "shade")),
        ("shelter", ("covered", "windy", "store", "low_c", "frost_pocket_c")),
    ),
    "tree": (
        ("first", ("name", "species", "phase", "vigour", "height_mm")),
        ("stands", ("place", "shelf", "tag", "owner")),
        ("aims", ("apex_phase", "trunk_goal_mm", "show_on", "show_leafless")),
        ("past", ("acquired_on", "collected_on", "climate_moved_on", "full_defoliation_on")),
    ),
    "branch": (
        ("first", ("name", "height_mm", "clock", "phase")),
        ("line", ("parent", "along_mm", "elevation_deg", "plan_angle_deg", "zone", "outer")),
        ("wish", ("wanted", "target_step", "job", "job_for", "job_until_base_mm",
                  "provisional_since")),
        ("buds", ("bud_inside", "pair_level", "leaves", "cluster", "clusters", "knuckle",
                  "fork_order")),
        ("graft", ("graft_kind", "grafted_on", "donor", "union_moves", "union_gap", "lips_joined",
                   "weaned")),
    ),
}  # fmt: skip
"""Groups of each form in order, and the fields of each; the first group is the essential one."""


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that stand together. ``essential`` ones are shown at once, the others on demand."""

    key: str
    essential: bool
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class FieldForm:
    """The form of one kind of thing."""

    of: str
    groups: tuple[Group, ...]

    @property
    def fields(self) -> tuple[Field, ...]:
        """Every field of the form, in order."""
        return tuple(field for group in self.groups for field in group.fields)


def form_of(of: str) -> FieldForm:
    """Return the fields of a thing in the order a form asks for them.

    Parameters
    ----------
    of : str
        ``garden``, ``place``, ``shelf``, ``tree`` or ``branch``.

    Raises
    ------
    UnknownNameError
        When there is no form of that name.
    """
    if of not in _GROUPS:
        raise UnknownNameError(f"there is no form of {of!r}", allowed=", ".join(_GROUPS),
                               todo="Choose one of these")  # fmt: skip
    table = FIELDS_OF[of]
    groups = [
        Group(key, number == 0, tuple(table[name] for name in names))
        for number, (key, names) in enumerate(_GROUPS[of])
    ]
    named = {field.name for group in groups for field in group.fields} | HIDDEN.get(of, frozenset())
    rest = tuple(field for name, field in table.items() if name not in named)
    if rest:
        groups.append(Group(MORE, essential=False, fields=rest))
    return FieldForm(of, tuple(groups))


def form_shape(answer: FieldForm) -> dict[str, Json]:
    """Return the form in its JSON shape; an endless range is null."""
    return shaped(
        "boughwright/form",
        1,
        {
            "of": answer.of,
            "groups": [
                {"key": group.key, "essential": group.essential,
                 "fields": [_field_body(field) for field in group.fields]}
                for group in answer.groups
            ],
        },
    )  # fmt: skip


def _field_body(field: Field) -> dict[str, object]:
    finite = {"low": field.low, "high": field.high}
    ends = {name: None if abs(value) == float("inf") else value for name, value in finite.items()}
    return {"name": field.name, "kind": field.kind, "help": field.help, "unit": field.unit,
            "choices": field.choices, **ends}  # fmt: skip
