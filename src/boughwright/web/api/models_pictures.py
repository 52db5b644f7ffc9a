"""What each answer of the web about drawings and photos holds.

See `boughwright.web.api.models`.
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from boughwright.report.drawing_model import Mark, Role
from boughwright.tree.shape import PARTS
from boughwright.web.api.models import (
    ACount,
    AGrade,
    AKind,
    AShare,
    AWord,
    AZone,
    Model,
    TreeName,
    Version1,
    one_of,
)

AHash = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
ARatio = Annotated[float, Field(ge=0, le=1)]


# --- the drawing ----------------------------------------------------------------------------------


class DrawnZone(Model):
    """One zone of the tree."""

    zone: AZone
    height_mm: float


class DrawnBranch(Model):
    """One part of the tree as it is drawn. ``points`` are x, y, z, radius and so on."""

    id: str
    name: str
    kind: AKind
    zone: AZone | None
    order: ACount
    parent: ACount | None
    act: str
    mark: Annotated[AWord, one_of(Mark)]
    role: Annotated[AWord, one_of(Role)]
    cut_mm: float | None
    cut_known: bool
    keep: bool
    beyond: bool
    reached: float | None
    base_mm: float | None
    target_base_mm: float | None
    inferred: list[Annotated[AWord, Field(json_schema_extra={"enum": list(PARTS)})]]
    points: list[float]


class Drawing(Model):
    """A tree's lines in space, with the verdict of each branch."""

    shape: Literal["boughwright/drawing"]
    version: Version1
    tree: TreeName
    size_mm: tuple[float, float, float]
    outline_mm: float
    outline_known: bool
    pot_mm: tuple[float, float]
    zones: list[DrawnZone]
    branches: list[DrawnBranch]
    twigs: list[float]
    twig_of: list[ACount]


# --- photos ---------------------------------------------------------------------------------------


class PhotoMark(Model):
    """A stroke on a photo."""

    event: str
    branch: str | None
    name: str
    x: ARatio
    y: ARatio
    x2: ARatio | None
    y2: ARatio | None


class PhotoScale(Model):
    """How large things on a photo are."""

    event: str
    mm_per_px: AShare
    length_mm: float | None
    how: str
    ends: tuple[ARatio, ARatio, ARatio, ARatio] | None
    soil: tuple[ARatio, ARatio] | None
    grade: AGrade


class Photo(Model):
    """One photo of a tree."""

    name: AHash
    event: str
    on: date
    side: str
    view: str
    width: ACount
    height: ACount
    dated: str
    who: str
    note: str
    here: bool
    marks: list[PhotoMark]
    scale: PhotoScale | None


class Photos(Model):
    """A tree's photos, newest first."""

    shape: Literal["boughwright/photos"]
    version: Version1
    on: date
    tree: str
    name: str
    photos: list[Photo]


class PhotoAdded(Model):
    """What became of a photo."""

    shape: Literal["boughwright/photo-added"]
    version: Version1
    photo: AHash
    tree: str
    side: str
    on: date | None
    event: str | None
    receipt: str
    known: bool


class PlacedPhoto(Model):
    """A photo laid out in mm about the foot of the trunk."""

    photo: AHash
    on: date
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float
    tree_mm: float | None


class PhotoPair(Model):
    """Two photos of one side at one scale, the older one first."""

    shape: Literal["boughwright/photo-pair"]
    version: Version1
    side: str
    view_mm: tuple[float, float, float, float]
    turned_deg: float
    grade: AGrade
    before: PlacedPhoto
    after: PlacedPhoto
