"""The words of a drawing: what its labels say, and what it shows for those who cannot see it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from boughwright.report.drawing_model import Role
from boughwright.units import show_length

if TYPE_CHECKING:
    from boughwright.report.drawing_model import Drawing, DrawnBranch

_LENGTH = re.compile(r"\{(\d+(?:\.\d+)?) mm\}")
_URGENT = {Role.HARM: 0, Role.ACT: 1, Role.LOOK: 2, Role.RUN: 3, Role.INK: 4}


class Speech(Protocol):
    """What puts words and lengths in the grower's own form."""

    def say(self, text: str) -> str:
        """Return a sentence with its lengths in the grower's unit."""

    def word(self, word: str) -> str:
        """Return one word of the trade in the grower's language."""


@dataclass(frozen=True, slots=True)
class PlainSpeech:
    """English words, lengths in one unit."""

    units: str = "mm"

    def say(self, text: str) -> str:
        """Return a sentence with the lengths in its braces written out."""
        return _LENGTH.sub(lambda hit: show_length(float(hit[1]), self.units), text)

    def word(self, word: str) -> str:
        """Return the word as it is."""
        return word


@dataclass(frozen=True, slots=True)
class LabelGroup:
    """One label: the part it points to, the name or names, and the act's word."""

    part: int
    name: str
    word: str


def label_groups(
    drawing: Drawing, said: Speech, *, quiet: bool, also: str | None = None
) -> list[LabelGroup]:
    """Return the labels of a drawing, the most urgent first.

    Side shoots of one branch with the same act share a label. Branches that ask for nothing have
    none, save quiet primaries with ``quiet``, by name alone, and the branch ``also``.
    """
    groups: dict[tuple[object, ...], list[int]] = {}
    for part, branch in enumerate(drawing.branches):
        if branch.id == also:
            groups[part, "chosen"] = [part]
        elif not branch.quiet and not (branch.beyond and branch.role is Role.INK):
            shared = branch.order > 1
            together = (branch.parent, branch.act, branch.role)
            groups.setdefault(together if shared else (part,), []).append(part)
        elif quiet and branch.order == 1 and branch.kind != "scar":
            groups[part,] = [part]
    made = []
    for key, parts in groups.items():
        branch = drawing.branches[parts[0]]
        word = said.word(branch.act) if not branch.quiet or key[-1] == "chosen" else ""
        middle = parts[len(parts) // 2]
        made.append(LabelGroup(middle, shared_name([drawing.branches[p] for p in parts]), word))
    chosen = {part for key, (part, *_) in groups.items() if key[-1] == "chosen"}
    return sorted(made, key=lambda one: _rank(drawing, one, chosen))


def _rank(drawing: Drawing, one: LabelGroup, chosen: set[int]) -> tuple[bool, int, int, int]:
    branch = drawing.branches[one.part]
    return (one.part not in chosen, _URGENT[branch.role], branch.order, one.part)


def shared_name(branches: list[DrawnBranch]) -> str:
    """Return one name for a few shoots of one branch: ``1L-1…4``, or ``1L-1, 4`` with gaps."""
    names = [branch.name for branch in branches]
    stem, dash, _ = names[0].rpartition("-")
    steps = [name.rpartition("-")[2] for name in names]
    if len(names) == 1 or not dash or any(not s.isdigit() for s in steps):
        return ", ".join(names)
    if any(name.rpartition("-")[0] != stem for name in names):
        return ", ".join(names)
    numbers = sorted(int(step) for step in steps)
    if len(numbers) > 2 and numbers[-1] - numbers[0] == len(numbers) - 1:
        return f"{stem}-{numbers[0]}…{numbers[-1]}"
    return f"{stem}-" + ", ".join(map(str, numbers))


def summary(drawing: Drawing, front_deg: float, said: Speech) -> tuple[str, str]:
    """Return the title of a drawing and what it shows, in words.

    A front moved by a quarter clockwise from above looks at the tree from its left.
    """
    quarter = round(front_deg / 90.0) % 4
    side = ("front", "left", "back", "right")[quarter]
    busy = [b for b in drawing.branches if not b.quiet]
    title = said.say(f"{drawing.name}, seen from the {side}")
    outline = f"The agreed outline is {{{drawing.outline_mm:.0f} mm}} high."
    if not drawing.outline_known:
        outline = "The height of its outline is not measured."
    asks = f"{len(busy)} of {len(drawing.branches)} parts ask for something."
    drawn = "Lines follow what was measured; the rest, and fine twigs, are drawn, not measured."
    return title, " ".join(map(said.say, (asks, outline, drawn)))
