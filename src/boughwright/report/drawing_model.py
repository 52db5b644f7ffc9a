"""What a drawing of a tree holds: lines, the act on each branch and the mark drawn for it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from boughwright.tree.model import Floats, Ints


class Mark(StrEnum):
    """A mark drawn as part of a branch's line."""

    RUN = "run"
    """The tip goes on as a dashed shoot."""
    CUT = "cut"
    """A short stroke across at the place of the cut; what is beyond it is thin and grey."""
    WIRE_ON = "wire on"
    """A coil."""
    WIRE_OFF = "wire off"
    """A broken coil."""
    RAISE = "raise"
    """A small arc upward at the tip."""
    GUY = "guy"
    """A straight cord down from the branch."""
    GRAFT = "graft"
    """A shoot laid beside the branch, with three binding ticks."""
    THIN = "thin"
    """Short ticks beside the outer part, for works on the leaf."""
    TWO = "two"
    """A fork of two at the tip."""
    RIM = "rim"
    """A second line round a scar."""
    LOOK = "look"
    """An open ring."""
    LEAVE = "leave"
    """The plain line."""


class Role(StrEnum):
    """What the colour of a branch says, beside its word and its mark."""

    RUN = "run"
    ACT = "act"
    HARM = "harm"
    LOOK = "look"
    INK = "ink"


@dataclass(frozen=True, slots=True)
class DrawnBranch:
    """One part of the tree as it is drawn.

    Parameters
    ----------
    id, name : str
        Lasting identity and present name.
    kind, zone : str
        Words of `boughwright.journal.terms`; the zone is empty when unknown.
    order : int
        0 trunk, 1 primary and so on.
    parent : int
        Position of the part it grows from, -1 for the trunk.
    act : str
        The verdict's word; empty when it has none.
    mark : Mark
    role : Role
    cut_mm : float, optional
        Where along its line it is cut. [mm]
    cut_known : bool
        False when that place is drawn and not measured.
    keep : bool
        It has a job and must not be touched: a small bar stands beside it.
    beyond : bool
        It stands beyond the cut of the branch it grows from.
    reached : float, optional
        Base reached over its target; 1 is all of it.
    base_mm, target_base_mm : float, optional
    inferred : tuple of str
        What was drawn and not measured: words of `boughwright.tree.shape.PARTS`.
    """

    id: str
    name: str
    kind: str
    zone: str
    order: int
    parent: int
    act: str
    mark: Mark
    role: Role
    cut_mm: float | None
    cut_known: bool
    keep: bool
    beyond: bool
    reached: float | None
    base_mm: float | None
    target_base_mm: float | None
    inferred: tuple[str, ...]

    @property
    def quiet(self) -> bool:
        """True when nothing is to be done on it."""
        return self.mark is Mark.LEAVE and self.role is Role.INK


@dataclass(frozen=True, slots=True)
class Drawing:
    """One tree as it is drawn. M points, R parts, W fine twigs.

    Parameters
    ----------
    tree, name : str
        Lasting identity and plain name.
    branches : tuple of DrawnBranch
        The trunk first, each part after the one it grows from.
    points : (M, 3) float
        x right, y up from the soil, z towards the viewer. [mm]
    radius : (M,) float
        [mm]
    first : (R + 1,) int
        Where the line of each part starts in ``points``.
    sunk_mm : (R,) float
        How deep inside its parent each line starts. [mm]
    twigs : (W, 2, 3) float
        Fine twigs, drawn and never measured. [mm]
    twig_of : (W,) int
        Position of the part each hangs on.
    zones : tuple of (str, float)
        Each zone and the height of its middle. [mm]
    outline_mm : float
    outline_known : bool
    pot_mm : tuple of float
        Width and depth. [mm]
    size_mm : tuple of float
        Width, height and depth of all that is drawn above the soil. [mm]
    """

    tree: str
    name: str
    branches: tuple[DrawnBranch, ...]
    points: Floats
    radius: Floats
    first: Ints
    sunk_mm: Floats
    twigs: Floats
    twig_of: Ints
    zones: tuple[tuple[str, float], ...]
    outline_mm: float
    outline_known: bool
    pot_mm: tuple[float, float]
    size_mm: tuple[float, float, float]

    def span(self, part: int) -> slice:
        """Return where the line of one part stands in ``points`` and ``radius``."""
        return slice(int(self.first[part]), int(self.first[part + 1]))
