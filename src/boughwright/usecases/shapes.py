"""One JSON shape for each answer, the same from a command, a page or a Python call.

Every answer is ``{"shape": name, "version": n, ...}``; see ``docs/json-shapes.md``. Lengths are
mm whatever the screen shows; dates ISO; unknown is null; an enumeration is its word.
"""

from __future__ import annotations

import dataclasses
import math
from datetime import date, datetime
from enum import Enum
from typing import TYPE_CHECKING, TypeAlias
from uuid import UUID

import numpy as np

from boughwright.sources import Grade

if TYPE_CHECKING:
    from collections.abc import Mapping

Json: TypeAlias = "dict[str, Json] | list[Json] | str | float | int | bool | None"


def plain(value: object) -> Json:  # noqa: PLR0911  # one return a kind of value
    """Turn dataclasses, enumerations, dates, ids and arrays into plain JSON values.

    Raises
    ------
    TypeError
        For a value that has no plain form.
    """
    if value is None or (isinstance(value, (bool, str)) and not isinstance(value, Enum)):
        return value
    if isinstance(value, Enum):
        return _word(value)
    if isinstance(value, (int, np.integer)):
        return int(value)
    if isinstance(value, (float, np.floating)):
        return None if math.isnan(value) else round(float(value), 6)
    if isinstance(value, (date, datetime)):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {_key(k): plain(v) for k, v in value.items()}
    if isinstance(value, (list, tuple, np.ndarray)):
        return [plain(v) for v in value]
    raise TypeError(f"no plain form for {type(value).__name__}")


def shaped(name: str, version: int, body: Mapping[str, object]) -> dict[str, Json]:
    """Return an answer with its shape's name and version at the head."""
    return {"shape": name, "version": version, **{key: plain(v) for key, v in body.items()}}


def _word(value: Enum) -> Json:
    if isinstance(value, Grade) or hasattr(value, "word"):
        word: str = value.word
        return word
    return value.value if isinstance(value.value, str) else value.name.lower().replace("_", " ")


def _key(value: object) -> str:
    if isinstance(value, Enum):
        return str(_word(value))
    return str(value)
