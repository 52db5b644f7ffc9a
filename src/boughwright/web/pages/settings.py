"""Settings of the garden, for all devices; and of this device alone."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse, Response

from boughwright.usecases.enter import enter_garden
from boughwright.usecases.garden import read_garden
from boughwright.web.forms import Sent, faulty, given, groups_of, see, sent_form, writer_of
from boughwright.web.naming import place_choices
from boughwright.web.state import HANDS, LIGHTS, VIEW_COOKIE, Bench, bench

if TYPE_CHECKING:
    from boughwright.usecases.entry import FieldFault
    from boughwright.web.speech import Speaker

router = APIRouter(prefix="/settings")
AtBench = Annotated[Bench, Depends(bench)]
Form = Annotated[Sent, Depends(sent_form)]
COOKIE_S: Final = 400 * 86_400
"""How long a device keeps its wishes. [s]"""
EXAMPLE_MM: Final = 12.1
EXAMPLE_C: Final = -3.0
EXAMPLE_MIN: Final = 90.0
OWN: Final = "garden"
"""A device without a wish of its own follows the garden's."""


@router.get("")
def show_settings(
    request: Request, bench: AtBench, saved: Annotated[str, Query(max_length=20)] = ""
) -> Response:
    """Show the settings."""
    if not bench.has_book:
        return see("/start")
    return _page(request, bench, saved=saved)


@router.post("")
def change_settings(request: Request, bench: AtBench, sent: Form) -> Response:
    """Enter new settings of the garden."""
    if not bench.has_book:
        return see("/start")
    entered = enter_garden(bench.book, given("garden", sent, bench.speaker()), writer_of(bench))
    if not entered.ok:
        return _page(request, bench, sent, entered.faults)
    return see("/settings?saved=garden")


@router.post("/device")
def change_device(request: Request, sent: Form) -> Response:
    """Keep this device's own wishes on the device."""
    hand, light = sent.get("own_hand"), sent.get("own_light")
    answer = see("/settings?saved=device#device")
    answer.set_cookie(
        VIEW_COOKIE,
        f"{hand if hand in HANDS else ''}-{light if light in LIGHTS else ''}",
        max_age=COOKIE_S,
        samesite="lax",
        httponly=True,
        secure=request.url.scheme == "https",
    )
    return answer


def _page(
    request: Request, bench: Bench, sent: Sent | None = None,
    faults: tuple[FieldFault, ...] = (), *, saved: str = "",
) -> HTMLResponse:  # fmt: skip
    words = bench.speaker()
    garden, _ = read_garden(bench.book)
    settings = bench.settings
    shown = {name: getattr(settings, name) for name in settings.__slots__}
    groups = groups_of(
        "garden", words, known={**shown, **garden.fields}, sent=sent, faults=faults,
        choices={"home": place_choices(garden)},
    )  # fmt: skip
    hand, _, light = request.cookies.get(VIEW_COOKIE, "").partition("-")
    return bench.render(
        request,
        "settings/page.html",
        status=422 if faults else 200,
        groups=groups,
        faulty=faulty(groups),
        examples=_examples(words, bench),
        hands=HANDS,
        lights=LIGHTS,
        own_hand=hand if hand in HANDS else OWN,
        own_light=light if light in LIGHTS else OWN,
        saved=saved if saved in ("garden", "device") else "",
    )


def _examples(words: Speaker, bench: Bench) -> list[tuple[str, str]]:
    """Return how lengths, temperatures, days and hours look, each with its label."""
    today = bench.today
    return [
        (words.t("settings.a_length"), words.length(EXAMPLE_MM)),
        (words.t("settings.a_temperature"), words.temp(EXAMPLE_C)),
        (words.t("settings.a_day"), words.day_long(today)),
        (words.t("settings.a_span"), words.range(today, today + timedelta(days=6))),
        (words.t("settings.a_time"), words.minutes(EXAMPLE_MIN)),
        (words.t("settings.a_season"), words.season(today)),
    ]
