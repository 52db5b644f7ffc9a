"""Wire in stock: whether it lasts, what to order and by when; and the form that counts a spool."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

from fastapi import APIRouter, Depends, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from boughwright.errors import BoughwrightError
from boughwright.journal.terms import Metal
from boughwright.units import parse_length_mm, parse_number
from boughwright.usecases.stock import (
    DELIVERY_DAYS,
    Metres,
    Stock,
    StockLine,
    Use,
    count_wire,
    stock_of,
)
from boughwright.web.state import Bench, bench

if TYPE_CHECKING:
    from boughwright.web.speech import Speaker

router = APIRouter()
AtBench = Annotated[Bench, Depends(bench)]
Typed = Annotated[str, Form(max_length=40)]


@router.get("/stock")
def wire_in_stock(
    request: Request,
    bench: AtBench,
    counted: Annotated[str, Query(pattern=r"^(al|cu)-\d{1,3}(\.\d{1,3})?$|^$")] = "",
) -> HTMLResponse:
    """Show the wire; ``counted`` was just written down."""
    return _page(request, bench, counted=counted)


def _page(
    request: Request,
    bench: Bench,
    *,
    status: int = 200,
    counted: str = "",
    typed: dict[str, str] | None = None,
    faults: dict[str, str] | None = None,
) -> HTMLResponse:
    answer, words = stock_of(bench.day()), bench.speaker()
    lines = [_Shown(line, words) for line in answer.lines]
    return bench.render(
        request,
        "stock.html",
        status=status,
        answer=answer,
        lines=lines,
        sentence=_sentence(answer, words),
        metals=list(Metal),
        ahead=DELIVERY_DAYS,
        typed=typed or {"gauge": "", "metal": Metal.ALUMINIUM.value, "metres": "", "grams": ""},
        faults=faults or {},
        receipt=next((line for line in lines if line.key == counted and line.counted), None),
    )


def _sentence(answer: Stock, words: Speaker) -> str:
    until = words.day(answer.until)
    if not answer.lines:
        return words.t("stock.none", day=until)
    orders = [line.order_by for line in answer.lines if line.order_by is not None]
    if orders:
        return words.t("stock.order", n=len(orders), day=words.day(min(orders)))
    unsure = [line for line in answer.lines if line.short_m is None]
    if not unsure:
        return words.t("stock.enough", day=until)
    never = sum(line.counted_m is None for line in unsure)
    what = (words.t("stock.unsure_count", n=never) if never
            else words.t("stock.unsure_length"))  # fmt: skip
    return words.t("stock.unsure", day=until, what=what)


class _Shown:
    """One kind of wire with its numbers told."""

    def __init__(self, line: StockLine, words: Speaker) -> None:
        self.key = f"{line.metal.value}-{line.gauge_mm:g}"
        self.size = words.t("stock.size", size=words.length(line.gauge_mm),
                            metal=words.word(line.metal))  # fmt: skip
        self.per_metre = words.t("stock.per_metre", n=words.number(line.grams_a_metre, 0))
        self.counted = "" if line.counted_m is None or line.counted_on is None else words.t(
            "stock.counted_on", metres=_metres(line.counted_m, words),
            day=words.day(line.counted_on),
        )  # fmt: skip
        self.used = length(line.used, words)
        self.left = _left(line, words)
        self.need = length(line.need, words)
        self.short = _short(line, words)
        self.must_order = line.order_by is not None
        self.uses = [_use(use, words) for use in line.uses]
        self.needs = [_use(use, words) for use in line.needs]


def _metres(metres: float, words: Speaker) -> str:
    return words.t("stock.metres", n=words.number(metres, 1))


def _span(low: float, high: float, words: Speaker) -> str:
    if words.number(low, 1) == words.number(high, 1):
        return _metres(high, words)
    return words.t("stock.range", low=words.number(low, 1), high=words.number(high, 1))


def length(metres: Metres, words: Speaker) -> str:
    """Return a length of wire as a range; what is unknown is told."""
    if metres.high is not None:
        return _span(metres.low, metres.high, words)
    unknown = words.t("stock.unknown_n", n=metres.unknown)
    if metres.low <= 0.0:
        return unknown
    return f"{words.t('stock.at_least', low=words.number(metres.low, 1))}, {unknown}"


def _left(line: StockLine, words: Speaker) -> str:
    if line.left_high_m is None or line.left_low_m is None:
        return words.t("stock.unknown")
    return _span(line.left_low_m, line.left_high_m, words)


def _short(line: StockLine, words: Speaker) -> str:
    if line.short_m is None:
        return words.t("stock.unknown")
    if line.order_by is None:
        return words.t("stock.enough_short")
    return words.t("stock.order_by", metres=_metres(line.short_m, words),
                   day=words.day(line.order_by))  # fmt: skip


def _use(use: Use, words: Speaker) -> str:
    return words.t("stock.use_line", tree=use.tree, place=words.place(use.place),
                   day=words.day(use.on), length=length(use.length, words))  # fmt: skip


@router.post("/stock")
def count_a_spool(
    request: Request,
    bench: AtBench,
    gauge: Typed = "",
    metal: Typed = "",
    metres: Typed = "",
    grams: Typed = "",
) -> Response:
    """Write down what is on a spool."""
    words = bench.speaker()
    typed = {"gauge": gauge, "metal": metal, "metres": metres, "grams": grams}
    faults = _missing(typed, words)
    values: dict[str, Any] = {}
    for name, read in (
        ("gauge", lambda text: parse_length_mm(text, bare=words.units)),
        ("metres", parse_number),
        ("grams", parse_number),
    ):
        try:
            values[name] = read(typed[name]) if typed[name].strip() else None
        except BoughwrightError as error:
            faults[name] = _told(error, words)
    if not faults:
        try:
            count_wire(bench.book, values["gauge"], Metal(metal), on=bench.today,
                       metres=values["metres"], grams=values["grams"],
                       who=bench.settings.who)  # fmt: skip
        except BoughwrightError as error:
            faults[
                "gauge"
                if "gauge" in error.where or "gauge" in error.what
                else "metres"
                if values["grams"] is None
                else "grams"
            ] = _told(error, words)
    if faults:
        return _page(request, bench, status=422, typed=typed, faults=faults)
    key = f"{metal}-{round(values['gauge'], 3):g}"
    return RedirectResponse(f"/stock?counted={key}", status_code=303)


def _missing(typed: dict[str, str], words: Speaker) -> dict[str, str]:
    faults = {}
    if not typed["gauge"].strip():
        faults["gauge"] = words.t("stock.need_gauge")
    if typed["metal"] not in {metal.value for metal in Metal}:
        faults["metal"] = " / ".join(words.word(metal) for metal in Metal)
    given = [name for name in ("metres", "grams") if typed[name].strip()]
    if not given:
        faults["metres"] = words.t("stock.need_number")
    elif len(given) > 1:
        faults["grams"] = words.t("stock.one_number")
    return faults


def _told(error: BoughwrightError, words: Speaker) -> str:
    told = (error.what, error.allowed, error.todo)
    return ". ".join(str(words.say(one)).rstrip(".") for one in told if one)
