"""Every setting, once: its name, its default, what it means. Values live in the journal."""

from __future__ import annotations

import os
from dataclasses import dataclass
from dataclasses import fields as dataclass_fields
from pathlib import Path
from typing import TYPE_CHECKING

from boughwright.errors import UnknownNameError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from boughwright.journal.events import FieldValue

BOOK_VARIABLE = "BOUGHWRIGHT_BOOK"
"""Environment variable that names the book when no ``--book`` is given."""

BOOK_SUFFIX = ".book"


@dataclass(frozen=True, slots=True)
class Settings:
    """The garden's settings with defaults filled in.

    ``hours_week`` is the grower's own bench time [h]; ``pupil_hours_week`` the pupil's [h]. Words
    allowed for the others stand in `boughwright.journal.fields.GARDEN_FIELDS`.
    """

    units: str = "mm"
    hours_week: float = 8.0
    pupil_hours_week: float = 0.0
    who: str = ""
    temperature: str = "C"
    dates: str = "day first"
    language: str = "en"
    hand: str = "right"
    light: str = "device"

    @property
    def hours(self) -> float:
        """Bench hours [h] of the week, the grower's and the pupil's together."""
        return self.hours_week + self.pupil_hours_week


def settings_of(fields: Mapping[str, FieldValue]) -> Settings:
    """Return the settings that a garden's fields give, defaults where unknown."""
    known = {
        one.name: fields[one.name]
        for one in dataclass_fields(Settings)
        if fields.get(one.name) is not None
    }
    return Settings(**known)  # type: ignore[arg-type]  # the codec has checked each field's type


def book_path(name: str | None) -> Path:
    """Return the file of a book.

    Parameters
    ----------
    name : str, optional
        A path, or a plain word for a book kept in the user's data folder. When None, the
        environment variable `BOOK_VARIABLE`, else ``garden``.

    Raises
    ------
    UnknownNameError
        When the name is empty.
    """
    chosen = name if name is not None else os.environ.get(BOOK_VARIABLE, "garden")
    if not chosen.strip():
        raise UnknownNameError(
            "the book has no name", allowed="a word or a path", todo="Give --book NAME"
        )
    if any(mark in chosen for mark in ("/", "\\")) or Path(chosen).suffix:
        return Path(chosen).expanduser()
    return data_folder() / f"{chosen}{BOOK_SUFFIX}"


def data_folder() -> Path:
    """Return the folder where books called by a plain word lie. It may not be there yet."""
    import platformdirs  # noqa: PLC0415  # kept out of the start of --help

    return Path(platformdirs.user_data_dir("boughwright", appauthor=False))
