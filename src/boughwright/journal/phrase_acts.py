"""Reading one act of a bench phrase, with its details, into a body of the journal.

Each reader takes the words it knows from a `Cursor` and leaves the rest to the caller.

Over 500 lines because the table at its end is read together with its readers.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias

from boughwright.journal.events import LookAgain, Measured, Noted, Promised, Saw, Worked
from boughwright.journal.fields import DETAIL_RANGE, QUANTITY_RANGE
from boughwright.journal.names import ORDINALS, read_name, read_position
from boughwright.journal.phrase_parts import match_act, read_day, read_place, said, shift_day
from boughwright.journal.phrase_words import (
    AMOUNTS,
    BENDS,
    BITE_WORDS,
    DAY_UNITS,
    FITS,
    HOW,
    METALS,
    METHODS,
    PROMISE_ACTS,
    SHARES,
    STAGES,
    STRANDS,
    TIME_UNITS,
    WEIGHT_UNITS,
)
from boughwright.journal.terms import QUANTITY_UNIT, Quantity, Sign, Work

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from boughwright.journal.events import Body
    from boughwright.journal.phrase_parts import Cursor

Found: TypeAlias = dict[str, Any]
_Reader: TypeAlias = "Callable[[Cursor, Work, Found], bool]"

_UNITS_OF: Mapping[str, Mapping[str, float]] = {
    "s": TIME_UNITS,
    "g": WEIGHT_UNITS,
}


def show(value: float, unit: str) -> str:
    """Return a value with its unit, lengths in braces so that the screen may turn them."""
    text = f"{value:g} {unit}".strip()
    return f"{{{text}}}" if unit == "mm" else text


def _within(
    cursor: Cursor,
    start: int,
    name: str,
    value: float,
    *,
    limits: tuple[float, float],
    unit: str = "",
) -> bool:
    """Tell whether a number may be right; say so and leave its words unread when it may not."""
    low, high = limits
    if low <= value <= high:
        return True
    allowed = f"{show(low, unit)} to {show(high, unit)}"
    cursor.refuse(start, f"{name} {show(value, unit)} was not taken. It must be {allowed}.")
    return False


def _whole(cursor: Cursor, name: str, detail: str) -> int | None:
    """Read a whole number within its range; anything else is put back or left unread."""
    start = cursor.at
    value = cursor.number()
    if value is None:
        return None
    if not _within(cursor, start, name, value, limits=DETAIL_RANGE[detail]):
        return None
    if value != int(value):
        cursor.refuse(start, f"{name} {value:g} was not taken. It must be a whole number.")
        return None
    return int(value)


# --- details of works ----------------------------------------------------------------------------


def _once(found: Found, key: str, value: object) -> bool:
    """Keep a detail unless the work has it already."""
    if value is None or key in found:
        return False
    found[key] = value
    return True


def _word_of(table: Mapping[str, Any], key: str) -> _Reader:
    def read(cursor: Cursor, work: Work, found: Found) -> bool:
        del work
        taken = _once(found, key, table.get(cursor.word))
        cursor.at += taken
        return taken

    return read


def _method(cursor: Cursor, work: Work, found: Found) -> bool:
    word = cursor.word
    if word not in METHODS.get(work, ()) or "method" in found:
        return False
    following = cursor.words[cursor.at + 1 : cursor.at + 2]
    if word == "cut" and following in (["to"], ["past"], ["back"]):
        return False  # a cut of the branch, not of the wire
    found["method"] = word
    cursor.at += 1
    return True


def _counted(cursor: Cursor, work: Work, found: Found) -> bool:
    """Read a number whose meaning the word after it gives: shoots, strands, minutes, per cent."""
    del work
    start = cursor.at
    if cursor.take("x"):
        return _strands(cursor, start, cursor.number(), found)
    if cursor.word in {"x2", "x3", "x4"}:
        cursor.at += 1
        return _strands(cursor, start, float(cursor.words[start][1:]), found)
    value = cursor.number()
    if value is None:
        return False
    unit = cursor.word
    cursor.at += 1
    if unit in {"x", "strand", "strands"}:
        return _strands(cursor, start, value, found)
    numbers = {
        "shoots": ("shoots", value),
        "shoot": ("shoots", value),
        "min": ("minutes", value),
        "minutes": ("minutes", value),
        "%": ("share", value / 100),
        "percent": ("share", value / 100),
    }
    name, number = numbers.get(unit, ("", 0.0))
    if not name or name in found or (name == "shoots" and number != int(number)):
        cursor.at = start
        return False
    if _within(cursor, start, name, number, limits=DETAIL_RANGE[name]):
        found[name] = int(number) if name == "shoots" else number
    return True


def _strands(cursor: Cursor, start: int, value: float | None, found: Found) -> bool:
    low, high = DETAIL_RANGE["strands"]
    if value is None or value != int(value) or not low <= value <= high or "strands" in found:
        cursor.at = start
        return False
    found["strands"] = int(value)
    return True


def _third(cursor: Cursor, work: Work, found: Found) -> bool:
    del work
    share = {"third": 1 / 3, "quarter": 0.25}.get(cursor.word)
    following = match_act(cursor.words, cursor.at + 1)
    if share is None or (following and isinstance(following[0], Work)):
        return False
    taken = _once(found, "share", share)
    cursor.at += taken
    return taken


def _gauge(cursor: Cursor, work: Work, found: Found) -> bool:
    del work
    start = cursor.at
    if "gauge_mm" in found or (value := cursor.length(gauge=True)) is None:
        return False
    if cursor.word in DAY_UNITS:
        cursor.at = start
        return False
    if _within(cursor, start, "Wire", value, limits=DETAIL_RANGE["gauge_mm"], unit="mm"):
        found["gauge_mm"] = value
    return True


def _bite(cursor: Cursor, work: Work, found: Found) -> bool:
    del work
    start = cursor.at
    if "bite" in found:
        return False
    if cursor.take("bite") or cursor.take("bitten"):
        grade = _whole(cursor, "bite", "bite")
        if grade is None:
            if cursor.at == start + 1:
                cursor.at = start
                return False
            return True
        found["bite"] = grade
        return True
    grade = BITE_WORDS.get(cursor.word)
    if grade is None:
        return False
    found["bite"] = grade
    cursor.at += 1 + (cursor.words[cursor.at + 1 : cursor.at + 2] == ["over"])
    return True


def _ordinal(cursor: Cursor) -> int | None:
    """Read ``1``, ``first``, ``two``; ``the`` before it is passed over."""
    start = cursor.at
    cursor.take("the")
    found = read_position(cursor.words, cursor.at)
    if found is None or found[0] != int(found[0]) or not 1 <= found[0] <= 60:
        cursor.at = start
        return None
    cursor.at = found[1]
    return int(found[0])


_COUNTED_ENDS = {
    "pair": "pair",
    "pairs": "pair",
    "leaf": "leaf",
    "leaves": "leaf",
    "node": "node",
    "nodes": "node",
    "bud": "bud",
    "buds": "bud",
}
_PLAIN_ENDS = ("base", "outline", "stub", "collar", "inner shoot", "inner shoots", "live wood")


def _cut_end(cursor: Cursor, work: Work, found: Found) -> bool:
    """Read where a cut goes: ``to pair 1``, ``to the first pair``, ``past node 1``, ``to base``."""
    del work
    start = cursor.at
    past = cursor.take("past") or cursor.take("to", "past")
    if "to" in found or not (past or cursor.take("to") or cursor.take("above")):
        cursor.at = start
        return False
    cursor.take("the")
    for end in _PLAIN_ENDS:
        if not past and cursor.take(*end.split()):
            found["to"] = end
            return True
    number = _ordinal(cursor)
    end = _COUNTED_ENDS.get(cursor.word, "")
    if not end:
        cursor.at = start
        return False
    cursor.at += 1
    if number is None:
        number = _ordinal(cursor)
    found["to"] = f"{'past ' if past else ''}{end} {number or 1}"
    return True


def _until(cursor: Cursor, work: Work, found: Found) -> bool:
    """Read ``until base 14``, ``until 14 mm`` or ``until 1 August``."""
    del work
    start = cursor.at
    if (
        "until" in found
        or "until_base_mm" in found
        or not (cursor.take("until") or cursor.take("to"))
    ):
        return False
    day = read_day(cursor.words, cursor.at, cursor.day, ahead=True)
    if day is not None:
        cursor.at = day.after
        if day.day is None or day.day < cursor.day:
            cursor.refuse(start, f"Until {day.said} was not taken. Name a day to come.")
        else:
            found["until"] = day.day
        return True
    cursor.take("the")
    cursor.take("base")
    cursor.take("is")
    value = cursor.length()
    if value is None:
        cursor.at = start
        return False
    if _within(cursor, start, "A base of", value, limits=DETAIL_RANGE["until_base_mm"], unit="mm"):
        found["until_base_mm"] = value
    return True


def _donor(cursor: Cursor, work: Work, found: Found) -> bool:
    """Read where a graft comes from: a branch, or words as far as the next act."""
    start = cursor.at
    if "donor" in found or not cursor.take("from"):
        return False
    name = read_name(cursor.words, cursor.at)
    if name is not None:
        found["donor"], cursor.at = str(name[0]), name[1]
        return True
    words = _free(cursor, stop_at_acts=work is Work.GRAFT_ON)
    if not words:
        cursor.at = start
        return False
    found["donor"] = words
    return True


_COMMON: tuple[_Reader, ...] = (_counted, _third, _word_of(AMOUNTS, "amount"), _method)
_OF_WORK: Mapping[Work, tuple[_Reader, ...]] = {
    Work.WIRE_ON: (
        _word_of(METALS, "metal"),
        _word_of(FITS, "fit"),
        _word_of(BENDS, "bend"),
        _word_of(STRANDS, "strands"),
    ),
    Work.WIRE_OFF: (_bite,),
    Work.GUY_ON: (_word_of(BENDS, "bend"),),
    Work.CUT: (_cut_end,),
    Work.PINCH: (_cut_end,),
    Work.LET_RUN: (_until,),
    Work.GRAFT_IN: (_donor,),
    Work.GRAFT_ON: (_donor,),
}
_AFTER: Mapping[Work, tuple[_Reader, ...]] = {Work.WIRE_ON: (_gauge,)}


def read_work(cursor: Cursor, work: Work) -> Worked:
    """Read the details of a work whose name has just been taken, in whatever order they come."""
    readers = (*_OF_WORK.get(work, ()), *_COMMON, *_AFTER.get(work, ()))
    found: Found = {}
    while True:
        start = cursor.at
        cursor.skip()
        if not any(reader(cursor, work, found) for reader in readers):
            cursor.at = start
            return Worked(work, **found)


# --- signs, measures, promises, looks, notes ------------------------------------------------------


def read_sign(cursor: Cursor, sign: Sign) -> Saw:
    """Read the grade or the amount of a sign whose name has just been taken."""
    if sign is Sign.BITE:
        return Saw(sign, grade=_whole(cursor, "bite", "grade"))
    amount = AMOUNTS.get(cursor.word)
    if amount is None or (sign in STAGES and amount not in SHARES):
        return Saw(sign)
    cursor.at += 1
    return Saw(sign, amount=amount)


def read_measure(cursor: Cursor, what: Quantity) -> Measured | None:
    """Read the value of a measure whose name has just been taken; ``None`` when none is given."""
    start, unit = cursor.at, QUANTITY_UNIT[what]

    def read() -> float | None:
        return cursor.length() if unit == "mm" else cursor.amount_of(_UNITS_OF[unit])

    value = read()
    if value is None:
        return None
    earlier, here = None, cursor.at
    if cursor.take("to"):
        later = read()
        if later is None:
            cursor.at = here
        else:
            earlier, value = value, later
    limits = QUANTITY_RANGE[what]
    for number in (value, earlier):
        if number is not None and not _within(
            cursor, start, what.value, number, limits=limits, unit=unit
        ):
            return None
    found: Found = {}
    while _reading_detail(cursor, found):
        pass
    return Measured(what, value, earlier=earlier, **found)


def _reading_detail(cursor: Cursor, found: Found) -> bool:
    start = cursor.at
    if cursor.take("marked"):
        return _once(found, "marked", True)
    if cursor.word in HOW:
        cursor.at += 1
        return _once(found, "how", cursor.words[cursor.at - 1])
    if cursor.take("±"):
        sd = cursor.length(gauge=True)
        low, high = DETAIL_RANGE["sd"]
        if sd is not None and low <= sd <= high:
            return _once(found, "sd", sd)
    cursor.at = start
    return False


def read_promise(cursor: Cursor, start: int) -> Promised | None:
    """Read a promise whose words from ``start`` on have just been taken."""
    what = PROMISE_ACTS[" ".join(cursor.words[start : cursor.at])]
    if what == "until":
        cursor.at -= 1
        found: Found = {}
        if not _until(cursor, Work.LET_RUN, found) or not found:
            return None
        return Promised("until base" if "until_base_mm" in found else "until", **found)
    if what == "swap when":
        return Promised(what, words=_free(cursor))
    if what in {"for graft", "for scar"}:
        place = read_place(cursor.words, cursor.at)
        if place is not None:
            cursor.at = place[1]
            return Promised(what, words=place[0])
    return Promised(what)


def read_look(cursor: Cursor, act_at: int) -> LookAgain | None:
    """Read when to look again, from the day of the work: ``10d``, ``3 weeks``, ``20 June``."""
    start = cursor.at
    cursor.take("in")
    day = read_day(cursor.words, cursor.at, cursor.day, ahead=True)
    if day is not None:
        due, cursor.at = day.day, day.after
    else:
        value = 1.0 if cursor.take("a") else cursor.number()
        unit = DAY_UNITS.get(cursor.word)
        if value is None or unit is None:
            cursor.at = start
            return None
        cursor.at += 1
        days, (low, high) = value * unit, DETAIL_RANGE["look_days"]
        fits = low <= days <= high and days == int(days)
        due = shift_day(cursor.day, days) if fits else None
    if due is None or due < cursor.day:
        when = " ".join(cursor.words[start : cursor.at])
        cursor.refuse(act_at, f"Look {when} was not taken. Name a day to come.")
        return None
    return LookAgain(due)


def read_note(cursor: Cursor) -> Noted:
    """Keep the rest of the clause as words."""
    start, cursor.at = cursor.at, len(cursor.words)
    return Noted(said(cursor.tokens[start:]))


def read_because(cursor: Cursor) -> str:
    """Read the words of a reason, up to a look or the end."""
    return _free(cursor)


def _free(cursor: Cursor, *, stop_at_acts: bool = False) -> str:
    """Take words as they were said up to ``because``, a look, an act if asked, or the end."""
    start = cursor.at
    while cursor.at < len(cursor.words):
        act = match_act(cursor.words, cursor.at)
        if act is not None:
            if act[0] in {"because", "except"} and cursor.at > start:
                break
            if act[0] == "look" and _is_look(cursor, act[1]):
                break
            if stop_at_acts and isinstance(act[0], Work):
                break
        cursor.at += 1
    return said(cursor.tokens[start : cursor.at]).rstrip(",.")


def _is_look(cursor: Cursor, after: int) -> bool:
    word = cursor.words[after] if after < len(cursor.words) else ""
    return bool(
        read_position(cursor.words, after)
        or word in {"in", "a", *ORDINALS}
        or read_day(cursor.words, after, cursor.day, ahead=True)
    )


def read_act(cursor: Cursor) -> Body | str | None:
    """Read the act at hand with its details.

    Returns
    -------
    Body, str or None
        The body; ``because`` or ``except`` for the caller to go on with; ``None``, with nothing
        taken, when no act stands here or it lacks what it needs.
    """
    start = cursor.at
    found = match_act(cursor.words, start)
    if found is None:
        return _read_bare(cursor)
    act, cursor.at = found
    body: Body | str | None
    if isinstance(act, Work):
        body = read_work(cursor, act)
    elif isinstance(act, Sign):
        body = read_sign(cursor, act)
    elif isinstance(act, Quantity):
        body = read_measure(cursor, act)
    else:
        body = _OTHER[act](cursor, start)
    if body is None and not cursor.unread.intersection(range(start, cursor.at)):
        cursor.at = start
    return body


_OTHER: Mapping[str, Callable[[Cursor, int], Body | str | None]] = {
    "will": read_promise,
    "look": read_look,
    "note": lambda cursor, start: read_note(cursor),
    "because": lambda cursor, start: "because",
    "except": lambda cursor, start: "except",
}


def _read_bare(cursor: Cursor) -> Worked | None:
    """Read ``two`` (a cluster to two), and ``wire 2 al`` without its ``on``."""
    start = cursor.at
    if cursor.take("two") and cursor.word not in {"cluster", "clusters"}:
        return read_work(cursor, Work.TWO)
    if cursor.take("wire"):
        work = read_work(cursor, Work.WIRE_ON)
        if work.gauge_mm is not None:
            return work
    cursor.at = start
    return None
