"""What the journal is asked, in plain SQL: the same for a reader and for one turn at writing."""

from __future__ import annotations

from abc import ABC, abstractmethod
from typing import TYPE_CHECKING, Any

from boughwright.store.layout import EVENT_COLUMNS, LINE_COLUMNS, KeptLine, Row
from boughwright.store.rows import row_event

if TYPE_CHECKING:
    from collections.abc import Sequence

    from boughwright.journal.events import Event

_EVENTS = f"SELECT {', '.join(EVENT_COLUMNS)} FROM event"  # noqa: S608 - our own column names
_LINES = f"SELECT {', '.join(LINE_COLUMNS)} FROM line"  # noqa: S608 - our own column names

# One look into the index for each tree, however many events it has.
_TREES = """
WITH RECURSIVE name(tree) AS (
    SELECT min(tree) FROM event
    UNION ALL
    SELECT (SELECT min(tree) FROM event WHERE event.tree > name.tree)
    FROM name WHERE name.tree IS NOT NULL
)
SELECT tree FROM name WHERE tree IS NOT NULL
ORDER BY (SELECT min(seq) FROM event WHERE event.tree = name.tree)
"""

# The version of a UUID is the first digit of its third group; 7 was made where it was said.
_LAST_SAID = """
SELECT tree FROM event
WHERE tree IS NOT NULL AND substr(id, 15, 1) = '7' AND (? = '' OR who = ?)
ORDER BY recorded DESC, id DESC LIMIT 1
"""

_CHUNK = 500
"""SQLite takes at most 999 values in one statement on its oldest builds."""


class Queries(ABC):
    """Questions about the journal. ``_all`` runs one statement and returns its rows."""

    @abstractmethod
    def _all(self, query: str, *values: Any) -> list[Any]: ...

    def events(self, tree: str | None = None, after_seq: int | None = None) -> list[Event]:
        """Return events in the order they arrived, of one tree or after a position."""
        return [row_event(row) for row in self.raw_events(tree, after_seq)]

    def raw_events(self, tree: str | None = None, after_seq: int | None = None) -> list[Row]:
        """Return the stored rows of `events`, undecoded."""
        wanted = {"tree = ?": tree, "seq > ?": after_seq}
        wanted = {words: value for words, value in wanted.items() if value is not None}
        where = f" WHERE {' AND '.join(wanted)}" if wanted else ""
        return self._all(f"{_EVENTS}{where} ORDER BY seq", *wanted.values())

    def position(self) -> int:
        """Return the ``seq`` of the latest event, 0 without any."""
        return int(self._all("SELECT max(seq) FROM event")[0][0] or 0)

    def weather_count(self) -> int:
        """Return a number that grows whenever a weather day is added or changed."""
        rows = self._all("SELECT value FROM meta WHERE key = 'weather_count'")
        return int(rows[0][0]) if rows else 0

    # ---- what a line that is written down needs to know

    def garden_events(self) -> list[Event]:
        """Return the events of the garden as a whole, in the order they arrived."""
        return [row_event(row) for row in self._all(f"{_EVENTS} WHERE tree IS NULL ORDER BY seq")]

    def tree_ids(self) -> list[str]:
        """Return the lasting ids of all trees with an event, the first entered first."""
        return [tree for (tree,) in self._all(_TREES)]

    def facts_of_trees(self) -> list[Event]:
        """Return how trees were entered, and what takes records of trees back."""
        where = "kind IN ('tree', 'withdraw') AND tree IS NOT NULL"
        return [row_event(row) for row in self._all(f"{_EVENTS} WHERE {where} ORDER BY seq")]

    def last_said(self, who: str) -> str | None:
        """Return the tree last written of by hand: by ``who`` if they ever did, else by anyone."""
        rows = self._all(_LAST_SAID, who, who) or self._all(_LAST_SAID, "", "")
        return rows[0][0] if rows else None

    def raw_with(self, ids: Sequence[str]) -> dict[str, Row]:
        """Return the stored rows of the events that bear these ids, by id."""
        found: dict[str, Row] = {}
        for start in range(0, len(ids), _CHUNK):
            part = ids[start : start + _CHUNK]
            marks = ", ".join("?" * len(part))
            found |= {row[1]: row for row in self._all(f"{_EVENTS} WHERE id IN ({marks})", *part)}
        return found

    def events_with(self, ids: Sequence[str]) -> list[Event]:
        """Return the events that bear these ids, in the order of the ids; others are left out."""
        found = self.raw_with(ids)
        return [row_event(found[id_]) for id_ in ids if id_ in found]

    # ---- lines with an id of their own

    def line(self, id_: str) -> KeptLine | None:
        """Return the line kept under an id, None when there is none."""
        rows = self._all(f"{_LINES} WHERE id = ?", id_)
        return KeptLine(*rows[0]) if rows else None

    def lines_against(self, id_: str) -> list[KeptLine]:
        """Return the lines that take back the line of an id, the first said first."""
        rows = self._all(f"{_LINES} WHERE withdraws = ? ORDER BY recorded, id", id_)
        return [KeptLine(*row) for row in rows]
