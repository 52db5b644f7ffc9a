"""Chart of the bench hours: what each tree wants, what fits the hours at hand, what slips."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from boughwright.report.charts_frame import (
    TIP,
    Row,
    Spec,
    Table,
    Voice,
    chart,
    even_ticks,
    figure,
    labelled,
    part,
    q,
    scale,
    text,
    words,
)
from boughwright.verdicts.verdict import Harm

if TYPE_CHECKING:
    from boughwright.report.charts_data import HoursChart, HoursPart, TreeHours

ROW_TALL: Final = 44
"""A tree's line of words and its bar. [px]"""
KEY_ROW: Final = 0.5
"""Height of a line of the key. [rows]"""
MOST_ROWS: Final = 12
"""Trees drawn; the rest stand together in the last row."""

SETUP_ROLE: Final = "$line"
HARM_ROLE: Final[dict[Harm | None, tuple[str, float]]] = {
    Harm.IRREVERSIBLE: ("$harm", 1.0),
    Harm.WINDOW: ("$act", 1.0),
    Harm.FEEDS: ("$ink", 0.85),
    Harm.IMPROVEMENT: ("$ink", 0.5),
    Harm.COSMETIC: ("$ink", 0.28),
    Harm.NONE: ("$ink", 0.28),
    None: (SETUP_ROLE, 1.0),
}
"""Colour and strength of a harm's part; in black and white the strength alone tells them apart."""


def hours(data: HoursChart, voice: Voice, *, width: int) -> Spec:
    """Return a cascade: each tree's time begins where the one before ended, up to the hours.

    What is planned comes first, full; what slips follows behind it, hollow. A key in words stands
    at the foot.
    """
    shown = _shown(data, voice)
    bars, names = _cascade(shown, voice)
    key = _key(bars, len(shown), voice)
    total = sum(p.minutes for t in shown for p in t.parts) / 60.0
    reach = 1.06 * max(total, data.hours, 0.5)
    ticks, decimals = even_ticks(0.0, reach, max(width // 80, 3))
    sign = text(voice, "hour_sign")
    rows = len(shown) + KEY_ROW * len(key)
    x = q("x", scale=scale(0.0, reach), axis=labelled(
        {t: f"{figure(t, decimals, voice)} {sign}" for t in ticks}, orient="top"))  # fmt: skip
    y = q("y", scale={"domain": [rows - 0.3, -1.2], "nice": False, "zero": False},
          axis=labelled({}, grid=False))  # fmt: skip
    line: list[Row] = [{"x": data.hours, "y": n - 0.22, "y2": n + 0.4} for n in range(len(shown))]
    top: list[Row] = [{"x": data.hours, "y": -0.9, "text": text(
        voice, "hours_at_hand", time=voice.minutes(60.0 * data.hours))}]  # fmt: skip
    late = data.hours > 0.5 * reach
    layers = [
        *_bars(bars, x, y),
        part("rule", line, {"x": x, "y": y, "y2": {"field": "y2"}}, color="$ink", strokeWidth=2),
        words(top, x, y, align="right" if late else "left", dx=1 if late else -1, fontWeight=600),
        words(names, {"value": 0}, y, align="left", dy=-15),
        *(
            part("bar", [row], {"x": {"value": 1}, "x2": {"value": 25}, "y": y}, **_style(row))
            for row in key
        ),
        words(key, {"value": 33}, y, align="left", color="$soft"),
    ]
    return chart({"layer": layers}, width=width, height=round(ROW_TALL * (rows + 0.9)) + 30)


def _bars(bars: list[Row], x: Spec, y: Spec) -> list[Spec]:
    """Return one layer for all parts that look alike."""
    alike: dict[str, list[Row]] = {}
    for row in bars:
        alike.setdefault(str(_style(row)), []).append(row)
    ends = {"x": x, "x2": {"field": "x2"}, "y": y, **TIP}
    return [part("bar", some, ends, **_style(some[0])) for some in alike.values()]


def _style(row: Row) -> Row:
    tall = {"height": 4 if row["role"] == SETUP_ROLE else 12}  # setting up is a mere line
    if row["planned"]:
        return {"color": row["role"], "opacity": row["strength"], **tall}
    return {"fill": "transparent", "stroke": row["role"], "strokeWidth": 1.5,
            "strokeDash": [3, 3], **tall}  # fmt: skip


def _key(bars: list[Row], trees: int, voice: Voice) -> list[Row]:
    """Return what each kind of part is for, in the order of harm, and the hollow ones last."""
    kinds = {(b["rank"], b["role"], b["strength"]): b["what"] for b in bars if b["planned"]}
    rows: list[Row] = [
        {"role": role, "strength": strength, "planned": True, "text": what}
        for (_, role, strength), what in sorted(kinds.items())
    ]
    if any(not b["planned"] for b in bars):
        rows.append({"role": "$ink", "strength": 1.0, "planned": False,
                     "text": text(voice, "slips")})  # fmt: skip
    return [{**row, "y": trees + KEY_ROW * n} for n, row in enumerate(rows)]


def _shown(data: HoursChart, voice: Voice) -> list[TreeHours]:
    """Return the trees that get a row; those past the most stand together in one."""
    trees = [t for t in data.trees if sum(p.minutes for p in t.parts) > 0.0]
    if len(trees) <= MOST_ROWS:
        return trees
    rest = trees[MOST_ROWS - 1 :]
    summed: dict[tuple[Harm | None, bool], float] = {}
    for part_ in (p for tree in rest for p in tree.parts):
        key = (part_.harm, part_.planned)
        summed[key] = summed.get(key, 0.0) + part_.minutes
    parts = tuple(
        type(rest[0].parts[0])(harm, minutes, planned)
        for (harm, planned), minutes in summed.items()
    )
    name = text(voice, "more_trees", n=len(rest))
    return [*trees[: MOST_ROWS - 1], type(rest[0])("", name, parts)]


def _cascade(trees: list[TreeHours], voice: Voice) -> tuple[list[Row], list[Row]]:
    """Return the parts one behind the other, and each tree's name. [h]."""
    bars: list[Row] = []
    start = 0.0
    for planned in (True, False):
        for n, tree in enumerate(trees):
            for one in sorted((p for p in tree.parts if p.planned is planned), key=_rank):
                end = start + one.minutes / 60.0
                role, strength = HARM_ROLE[one.harm]
                bars.append({
                    "x": start, "x2": end, "y": n, "role": role, "strength": strength,
                    "planned": planned, "rank": _rank(one), "what": harm_word(one.harm, voice),
                    "said": _said(tree, one, voice),
                })  # fmt: skip
                start = end
    names: list[Row] = [
        {"y": n, "text": f"{tree.name}, {voice.minutes(sum(p.minutes for p in tree.parts))}"}
        for n, tree in enumerate(trees)
    ]
    return bars, names


def _rank(part_: HoursPart) -> int:
    return -1 if part_.harm is None else int(part_.harm)


def harm_word(harm: Harm | None, voice: Voice) -> str:
    """Return what a part of the hours is for."""
    return text(voice, f"harm_{'setup' if harm is None else harm.name.lower()}")


def _said(tree: TreeHours, one: HoursPart, voice: Voice) -> str:
    key = "part_planned" if one.planned else "part_slips"
    return text(voice, key, tree=tree.name, what=harm_word(one.harm, voice),
                time=voice.minutes(one.minutes))  # fmt: skip


def hours_alt(data: HoursChart, voice: Voice) -> str:
    """Return the sentence that says what is wanted, what is at hand and what slips."""
    if not data.trees:
        return text(voice, "hours_none")
    said = [text(voice, "hours_wanted", wanted=voice.minutes(60.0 * data.wanted),
                 hours=voice.minutes(60.0 * data.hours), n=len(data.trees))]  # fmt: skip
    slips = [t.name for t in data.trees if any(not p.planned for p in t.parts)]
    key = "hours_slip" if slips else "hours_fit"
    return " ".join([*said, text(voice, key, trees=", ".join(slips))])


def hours_rows(data: HoursChart, voice: Voice) -> Table:
    """Return each tree's parts with what becomes of them."""
    rows = tuple(
        (tree.name, harm_word(one.harm, voice), voice.minutes(one.minutes),
         text(voice, "planned" if one.planned else "slips"))
        for tree in data.trees for one in sorted(tree.parts, key=_rank)
    )  # fmt: skip
    heads = ("head_tree", "head_for", "head_time", "head_fate")
    return Table(tuple(text(voice, key) for key in heads), rows)
