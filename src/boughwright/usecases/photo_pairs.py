"""Two pictures of one side, before and after, brought to one scale on one soil line."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10
from typing import TYPE_CHECKING

from boughwright.errors import RecordError
from boughwright.journal.events import FrontTurned, standing
from boughwright.sources import Grade
from boughwright.units import MM_PER_INCH
from boughwright.usecases.shapes import shaped

if TYPE_CHECKING:
    from collections.abc import Iterable

    from boughwright.journal.events import Event
    from boughwright.usecases.photos import Photo
    from boughwright.usecases.shapes import Json

ABOVE = 1.2
"""How much higher than the tallest of the two the view reaches, times its height."""
BESIDE = 1.1
"""How far it reaches to each side of the trunk, times the height."""
BELOW = 0.3
"""How far it reaches below the soil, for the pot, times the height."""
SAME_SPOT = 0.02
"""Ends nearer to the soil than this share of the picture are taken to stand on it."""
MOST_TICKS = 10


@dataclass(frozen=True, slots=True)
class Placed:
    """A picture laid out in mm about the foot of the trunk: x to the right, y down.

    ``left_mm`` and ``top_mm`` are its upper left corner, so most of it lies at negative y.
    """

    photo: Photo
    left_mm: float
    top_mm: float
    width_mm: float
    height_mm: float

    @property
    def tree_mm(self) -> float | None:
        """The height of the tree in it, when the known length was marked from the soil up."""
        scale = self.photo.scale
        if scale is None or scale.ends is None or scale.soil is None:
            return None
        x1, y1, _, y2 = scale.ends
        gap = abs(scale.soil[0] - x1) + abs(scale.soil[1] - y1)
        return scale.length_mm if gap < SAME_SPOT and y2 < y1 else None


@dataclass(frozen=True, slots=True)
class Pair:
    """Two pictures in one view.

    ``view`` is left, top, width and height of what is shown of both. [mm about the trunk's foot]
    ``turned_deg`` is how far the front was turned clockwise between the two days; ``grade`` is
    that of the weaker scale.
    """

    before: Placed
    after: Placed
    view: tuple[float, float, float, float]
    turned_deg: float
    grade: Grade


def place(photo: Photo) -> Placed:
    """Lay a picture out in mm about the foot of the trunk.

    Raises
    ------
    RecordError
        When its scale or its soil line is not marked yet.
    """
    scale = photo.scale
    if scale is None or scale.soil is None:
        raise RecordError(
            f"the photo of {photo.on.isoformat()} has no scale on the soil line",
            allowed="a photo with the soil and a known length marked",
            todo="Open the photo and mark the soil and the top of the tree",
        )
    width, height = photo.width * scale.mm_per_px, photo.height * scale.mm_per_px
    return Placed(photo, -scale.soil[0] * width, -scale.soil[1] * height, width, height)


def pair_of(one: Photo, other: Photo, events: Iterable[Event] = ()) -> Pair:
    """Bring two pictures of one side to one scale on one soil line, the older one first.

    Parameters
    ----------
    one, other : Photo
    events : iterable of Event
        Those of the tree: they tell whether its front was turned in between.

    Raises
    ------
    RecordError
        When they show two sides, are one and the same, or lack a scale.
    """
    if one.name == other.name:
        raise RecordError("both are one and the same photo", todo="Choose two photos")
    if one.side != other.side:
        raise RecordError(f"one photo is {one.view}, the other {other.view}",
                          allowed="two photos of one side", todo="Choose two of the same side",
                          )  # fmt: skip
    first, last = sorted((one, other), key=lambda photo: (photo.on, photo.event.int))
    before, after = place(first), place(last)
    turned = sum(
        event.body.degrees
        for event in standing(events)
        if isinstance(event.body, FrontTurned) and first.on < event.on <= last.on
    )
    grades = [photo.scale.grade for photo in (first, last) if photo.scale is not None]
    return Pair(before, after, _view(before, after), turned % 360, max(grades, default=Grade.GUESS))


def _view(before: Placed, after: Placed) -> tuple[float, float, float, float]:
    """Return the box that both pictures are shown in: all of them, or the room about the tree."""
    both = (before, after)
    heights = [one.tree_mm for one in both if one.tree_mm is not None]
    tall = max(heights) if len(heights) == len(both) else float("inf")
    left = max(min(one.left_mm for one in both), -BESIDE * tall)
    right = min(max(one.left_mm + one.width_mm for one in both), BESIDE * tall)
    top = max(min(one.top_mm for one in both), -ABOVE * tall)
    bottom = min(max(one.top_mm + one.height_mm for one in both), BELOW * tall)
    return left, top, right - left, bottom - top


def ruler(height_mm: float, units: str = "mm") -> tuple[float, ...]:
    """Return the heights of a ruler's ticks from the soil up, in even steps of the unit, in mm.

    Parameters
    ----------
    height_mm : float
        How far it reaches above the soil.
    units : str
        ``mm`` or ``in``.
    """
    if height_mm <= 0:
        return (0.0,)
    unit = MM_PER_INCH if units == "in" else 1.0
    rough = height_mm / unit / MOST_TICKS
    power = 10.0 ** floor(log10(rough))
    step = next(power * s for s in (1, 2, 5, 10) if power * s >= rough)
    count = floor(height_mm / unit / step + 1e-9)
    return tuple(step * unit * tick for tick in range(count + 1))


def pair_shape(answer: Pair) -> dict[str, Json]:
    """Return a pair in its JSON shape."""
    return shaped(
        "boughwright/photo-pair",
        1,
        {
            "side": answer.before.photo.side,
            "view_mm": answer.view,
            "turned_deg": answer.turned_deg,
            "grade": answer.grade,
            "before": _placed(answer.before),
            "after": _placed(answer.after),
        },
    )


def _placed(one: Placed) -> dict[str, object]:
    return {
        "photo": one.photo.name,
        "on": one.photo.on,
        "left_mm": one.left_mm,
        "top_mm": one.top_mm,
        "width_mm": one.width_mm,
        "height_mm": one.height_mm,
        "tree_mm": one.tree_mm,
    }
