"""From nothing to a first verdict: a place, its weather, a tree and three branches."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Final

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse, Response

from boughwright.settings import Settings
from boughwright.usecases.enter import enter_tree
from boughwright.usecases.enter_branches import enter_branches
from boughwright.usecases.start import first_place, first_steps
from boughwright.web.branch_rows import cells_at_fault, rows_sent, rows_shown
from boughwright.web.forms import Sent, faulty, given, groups_of, see, sent_form, writer_of
from boughwright.web.naming import places_here, species_offers, unknown_species, where_choices
from boughwright.web.state import Bench, bench, tree_day

if TYPE_CHECKING:
    from boughwright.usecases.day import GardenDay, TreeDay
    from boughwright.usecases.entry import FieldFault
    from boughwright.usecases.start import FirstSteps

router = APIRouter(prefix="/start")
AtBench = Annotated[Bench, Depends(bench)]
Form = Annotated[Sent, Depends(sent_form)]
PAGES: Final = {"place": "/start/place", "weather": "/start/weather", "tree": "/start/tree",
                "branches": "/start/branches"}  # fmt: skip
"""The page of each step; a first verdict comes by itself."""


@router.get("")
def begin(request: Request, bench: AtBench) -> HTMLResponse:
    """Show how far a new garden has come, and lead on."""
    steps = _steps(bench)
    todo = next((step for step in steps.steps if not step.done and step.key in PAGES), None)
    words = bench.speaker()
    strange = todo is not None and todo.key == "tree" and bool(steps.tree)
    if steps.done or todo is None:
        sentence = words.t("start.done")
    elif strange:
        sentence = words.t("start.next_species")
    elif not any(step.done for step in steps.steps):
        sentence = words.t("start.nothing")
    else:
        sentence = words.t("start.next", step=words.say(todo.what))
    onward = None if todo is None else _page(todo.key, steps)
    return bench.render(
        request,
        "start/begin.html",
        steps=steps,
        onward=onward,
        pages={key: _page(key, steps) for key in PAGES},
        sentence=sentence,
    )


def _steps(bench: Bench) -> FirstSteps:
    if not bench.has_book:
        return first_steps(bench.book)
    return first_steps(bench.book, garden=bench.day())


def _page(key: str, steps: FirstSteps) -> str:
    if key == "tree" and steps.tree:  # it is there, but its species is not known
        return f"/trees/{steps.tree}/facts"
    return f"{PAGES[key]}?tree={steps.tree}" if key == "branches" else PAGES[key]


# --- the place ------------------------------------------------------------------------------------


@router.get("/place")
def ask_place(request: Request, bench: AtBench) -> Response:
    """Ask where the trees stand."""
    if bench.has_book and (known := places_here(bench).places):
        return see(f"/places/{known[0].key}")
    return _place(request, bench)


@router.post("/place")
def take_place(request: Request, bench: AtBench, sent: Form) -> Response:
    """Enter the first place, and how the garden reads."""
    if bench.has_book and places_here(bench).places:
        return see("/start/weather")
    words = bench.speaker()
    entered = first_place(
        bench.book, given("place", sent, words), given("garden", sent, words) | _named(sent),
        writer_of(bench),
    )  # fmt: skip
    if not entered.ok:
        return _place(request, bench, sent, entered.faults)
    return see("/start/weather")


def _named(sent: Sent) -> dict[str, str]:
    """Return the garden's fields that the page of the place asks for; its name is the place's."""
    return {"name": sent.get("name")} if sent.get("name").strip() else {}


def _place(
    request: Request, bench: Bench, sent: Sent | None = None, faults: tuple[FieldFault, ...] = ()
) -> HTMLResponse:
    words = bench.speaker()
    place = groups_of("place", words, sent=sent, faults=faults, required=("name", "latitude"),
                      only=("first",))  # fmt: skip
    plain = Settings()
    known = {"units": plain.units, "temperature": plain.temperature, "dates": plain.dates,
             "language": plain.language}  # fmt: skip
    screens = groups_of("garden", words, known=known, sent=sent, only=("screens",),
                        faults=[one for one in faults if one.field in known])  # fmt: skip
    return bench.render(
        request,
        "start/place.html",
        status=422 if faults else 200,
        fields=[one for one in place[0].entries if one.name != "weather"],
        screens=[one for one in screens[0].entries if one.name in known],
        screens_open=screens[0].open and any(one.fault for one in screens[0].entries),
        faulty=faulty((*place, *screens)),
    )


# --- its weather ----------------------------------------------------------------------------------


@router.get("/weather")
def ask_weather(request: Request, bench: AtBench) -> Response:
    """Ask for the weather of the first place, or to go on without."""
    if not bench.has_book or not (places := places_here(bench).places):
        return see("/start/place")
    place = next((one for one in places if one.home), places[0])
    latitude = place.fields.get("latitude")
    south = isinstance(latitude, int | float) and latitude < 0
    return bench.render(request, "start/weather.html", place=place, south=south)


# --- the first tree -------------------------------------------------------------------------------


@router.get("/tree")
def ask_tree(request: Request, bench: AtBench) -> Response:
    """Ask for the first tree."""
    if not bench.has_book or not places_here(bench).places:
        return see("/start/place")
    return _tree(request, bench)


@router.post("/tree")
def take_tree(request: Request, bench: AtBench, sent: Form) -> Response:
    """Enter the first tree and go on to its branches."""
    if not bench.has_book or not places_here(bench).places:
        return see("/start/place")
    entered = enter_tree(bench.book, None, given("tree", sent, bench.speaker()), writer_of(bench))
    if not entered.ok:
        return _tree(request, bench, sent, entered.faults)
    return see(f"/start/branches?tree={entered.key}")


def _tree(
    request: Request, bench: Bench, sent: Sent | None = None, faults: tuple[FieldFault, ...] = ()
) -> HTMLResponse:
    words = bench.speaker()
    garden: GardenDay = bench.day()
    groups = groups_of(
        "tree", words, sent=sent, faults=faults, required=("name",), only=("first", "stands"),
        choices=where_choices(garden.garden, words), offers={"species": "species-offers"},
    )  # fmt: skip
    asked = [one for one in groups[0].entries if one.name in ("name", "species")]
    rest = [one for one in groups[0].entries if one not in asked]
    return bench.render(
        request,
        "start/tree.html",
        status=422 if faults else 200,
        asked=asked,
        rest=rest,
        rest_open=any(one.fault for one in rest),
        stands=[one for one in groups[1].entries if one.name == "place"]
        if len(garden.garden.places) > 1 else [],
        faulty=faulty(groups),
        species=species_offers(),
    )  # fmt: skip


# --- its branches ---------------------------------------------------------------------------------


@router.get("/branches")
def ask_branches(
    request: Request, bench: AtBench, tree: Annotated[str, Query(max_length=80)] = ""
) -> Response:
    """Ask for the first branches of a tree."""
    if not bench.has_book:
        return see("/start/place")
    key = tree or _steps(bench).tree
    if not key:
        return see("/start/tree")
    return _branches(request, bench, tree_day(bench, key))


@router.post("/species")
def choose_species(bench: AtBench, sent: Form, tree: Annotated[str, Query(max_length=80)] = "") -> (
    Response
):  # fmt: skip
    """Give the first tree one of the species that its own word may mean."""
    key = tree_day(bench, tree).facts.tree
    enter_tree(bench.book, key, {"species": sent.get("species")}, writer_of(bench))
    return see(f"/start/branches?tree={key}")


@router.post("/branches")
def take_branches(
    request: Request, bench: AtBench, sent: Form, tree: Annotated[str, Query(max_length=80)] = ""
) -> Response:
    """Enter the branches and go on to the tree with its first verdicts."""
    day = tree_day(bench, tree)
    if sent.get("more"):
        return _branches(request, bench, day, sent, more=True)
    entered = enter_branches(bench.book, day.facts.tree, rows_sent(sent), writer_of(bench))
    if not entered.ok:
        return _branches(request, bench, day, sent, entered.faults)
    return see(f"/trees/{day.facts.tree}")


def _branches(
    request: Request, bench: Bench, day: TreeDay, sent: Sent | None = None,
    faults: tuple[FieldFault, ...] = (), *, more: bool = False,
) -> HTMLResponse:  # fmt: skip
    rows = rows_shown(sent, bench.speaker(), faults, more=more)
    return bench.render(
        request,
        "start/branches.html",
        status=422 if faults else 200,
        day_of=day,
        tree=day.facts.tree,
        name=day.facts.name,
        rows=rows,
        faulty=cells_at_fault(rows),
        **unknown_species(day),
    )
