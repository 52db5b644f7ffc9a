"""The facts of a tree and of its branches: seen, mended, added; names, front, and what is gone."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Final, Literal

from fastapi import APIRouter, Depends, Query, Request
from fastapi.responses import HTMLResponse, Response

from boughwright.errors import TextError
from boughwright.journal.names import SIDES, head_to_foot
from boughwright.journal.terms import QUANTITY_UNIT, GraftKind, Quantity
from boughwright.units import parse_number
from boughwright.usecases.enter import REFS, branch_fields, enter_branch, enter_tree
from boughwright.usecases.enter_branches import enter_branches
from boughwright.usecases.enter_readings import enter_readings
from boughwright.usecases.entry import FieldFault, fault_of
from boughwright.usecases.tidy import (
    HOWS,
    branch_back,
    branch_gone,
    graft_between,
    new_sides,
    tree_gone,
    turn_front,
)
from boughwright.web.branch_rows import cells_at_fault, rows_sent, rows_shown
from boughwright.web.forms import (
    Entry,
    Sent,
    day_shown,
    faulty,
    given,
    groups_of,
    see,
    sent_form,
    told_plainly,
    writer_of,
)
from boughwright.web.naming import branch_choices, species_offers, unknown_species, where_choices
from boughwright.web.speech import page_texts
from boughwright.web.state import Bench, bench, tree_day

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from boughwright.journal.events import FieldValue
    from boughwright.usecases.day import TreeDay
    from boughwright.verdicts.facts import BranchFacts
    from boughwright.web.speech import Speaker

router = APIRouter(prefix="/trees/{tree}")
AtBench = Annotated[Bench, Depends(bench)]
Form = Annotated[Sent, Depends(sent_form)]
Saved = Annotated[str, Query(max_length=20)]
ESSENTIAL: Final = {"tree": ("species", "phase", "height_mm"),
                    "branch": ("height_mm", "clock")}  # fmt: skip
"""Facts that most of the verdicts rest on."""
TREE_READINGS: Final = (Quantity.TRUNK, Quantity.HEIGHT, Quantity.DRAIN, Quantity.WEIGHT)
BRANCH_READINGS: Final = (
    Quantity.BASE, Quantity.TRUNK, Quantity.NODE, Quantity.ROOM, Quantity.LENGTH,
    Quantity.EXTENSION,
)  # fmt: skip
GRAFT_READINGS: Final = (Quantity.EXIT, Quantity.ENTRY)
SCAR_READINGS: Final = (Quantity.OPEN,)
SAVED: Final = frozenset({"new", "facts", "read", "front", "gone", "back", "branches"})
"""What a page may say was written."""


# --- the tree -------------------------------------------------------------------------------------


@router.get("/facts")
def show_tree(request: Request, tree: str, bench: AtBench, saved: Saved = "") -> HTMLResponse:
    """Show a tree's facts and its branches."""
    return _tree(request, bench, tree_day(bench, tree), saved=saved)


@router.post("/facts")
def change_tree(request: Request, tree: str, bench: AtBench, sent: Form) -> Response:
    """Enter new facts of a tree."""
    day = tree_day(bench, tree)
    fields = given("tree", sent, bench.speaker())
    entered = enter_tree(bench.book, day.facts.tree, fields, writer_of(bench))
    if not entered.ok:
        return _tree(request, bench, day, sent, entered.faults)
    return see(f"/trees/{day.facts.tree}/facts?saved=facts")


@router.post("/facts/readings")
def read_tree(request: Request, tree: str, bench: AtBench, sent: Form) -> Response:
    """Enter readings of the whole tree."""
    day = tree_day(bench, tree)
    readings = {what.value: sent.get(what.value) for what in TREE_READINGS}
    entered = enter_readings(bench.book, day.facts.tree, None, readings, writer_of(bench))
    if not entered.ok:
        return _tree(request, bench, day, sent, entered.faults, part="readings")
    return see(f"/trees/{day.facts.tree}/facts?saved=read")


@router.post("/facts/front")
def change_front(request: Request, tree: str, bench: AtBench, sent: Form) -> Response:
    """Turn a tree's front."""
    day = tree_day(bench, tree)
    try:
        degrees = parse_number(sent.get("degrees"))
    except TextError as error:
        return _tree(request, bench, day, sent, (fault_of("degrees", error),), part="front")
    if sent.get("way") == "against":
        degrees = -degrees
    entered = turn_front(bench.book, day.facts.tree, degrees, writer_of(bench))
    if not entered.ok:
        return _tree(request, bench, day, sent, entered.faults, part="front")
    return see(f"/trees/{day.facts.tree}/facts?saved=front#front")


@router.post("/facts/gone")
def let_go(request: Request, tree: str, bench: AtBench, sent: Form) -> Response:
    """Write down that a tree is gone, once that is confirmed."""
    day = tree_day(bench, tree)
    if sent.get("sure") != "yes":
        fault = FieldFault("sure", "it is not confirmed", "", "Tick the box first")
        return _tree(request, bench, day, sent, (fault,), part="gone")
    tree_gone(bench.book, day.facts.tree, sent.get("how")[:200], writer_of(bench))
    return see("/trees/all")


def _tree(
    request: Request, bench: Bench, day: TreeDay, sent: Sent | None = None,
    faults: Iterable[FieldFault] = (), *, saved: str = "", part: str = "facts",
) -> HTMLResponse:  # fmt: skip
    words = bench.speaker()
    faults = tuple(faults)
    mine = part == "facts"
    groups = groups_of(
        "tree", words, known=day.tree.facts, sent=sent if mine else None,
        faults=faults if mine else (), required=("name",),
        choices=where_choices(bench.day().garden, words), offers={"species": "species-offers"},
    )  # fmt: skip
    readings = _readings(TREE_READINGS, words, sent if part == "readings" else None, faults,
                         {Quantity.TRUNK: _number(day.tree.facts.get("trunk_mm")),
                          Quantity.HEIGHT: _number(day.tree.facts.get("height_mm"))})  # fmt: skip
    return bench.render(
        request,
        "facts/tree.html",
        status=422 if faults else 200,
        **_shared(day, saved, part, faults, words),
        sentence=_known(words, "tree", day.facts.name, day.tree.facts),
        groups=groups,
        faulty=faulty(groups),
        readings=readings,
        readings_faulty=[one for one in readings if one.fault],
        branches=_listed(day),
        lost=_lost(day),
        species=species_offers(),
        **unknown_species(day),
        sides=new_sides(day.tree),
        typed=sent.typed if sent is not None else {},
    )


def _shared(
    day: TreeDay, saved: str, part: str, faults: tuple[FieldFault, ...], words: Speaker
) -> dict[str, Any]:  # fmt: skip
    return {
        "tree": day.facts.tree,
        "name": day.facts.name,
        "saved": saved if saved in SAVED else "",
        "part": part,
        "wrong": {one.field: told_plainly(None, one, words) for one in faults},
    }


def _known(words: Speaker, of: str, name: str, known: Mapping[str, FieldValue]) -> str:
    """Return how much of what matters most is known, in a sentence."""
    missing = [field for field in ESSENTIAL[of] if known.get(field) is None]
    if not missing:
        return words.t("facts.known", name=name)
    texts = page_texts(words.language)
    told = [str(texts[f"facts.short.{of}.{field}"]) for field in missing]
    return words.t("facts.missing", name=name, what=", ".join(told))


def _listed(day: TreeDay) -> list[tuple[str, BranchFacts, tuple[str, ...]]]:
    """Return the living branches head to foot: key, facts and old names."""
    rows = day.tree.branches
    listed = [(rows.ids[one.row], one, rows.aliases[one.row]) for one in day.branches]
    return sorted(listed, key=lambda one: head_to_foot(one[1].name))


def _lost(day: TreeDay) -> list[tuple[str, str]]:
    rows = day.tree.branches
    return [
        (key, name)
        for key, name, gone in zip(rows.ids, rows.names, rows.gone.tolist(), strict=True)
        if gone
    ]


def _readings(
    whats: Iterable[Quantity], words: Speaker, sent: Sent | None, faults: Iterable[FieldFault],
    last: Mapping[Quantity, float | None],
) -> list[Entry]:  # fmt: skip
    """Return the fields of readings, each with its last value as help."""
    wrong = {one.field: told_plainly(None, one, words) for one in faults}
    found = []
    for what in whats:
        unit = QUANTITY_UNIT[what]
        value = last.get(what)
        help_ = "" if value is None else words.t("facts.last", value=words.length(value))
        found.append(
            Entry(
                what.value, words.t(f"facts.reading.{what.value}"), "number",
                sent.get(what.value) if sent is not None else "", None, help_,
                words.units if unit == "mm" else unit, fault=wrong.get(what.value),
            )
        )  # fmt: skip
    return found


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


# --- new branches and grafts ----------------------------------------------------------------------


@router.get("/facts/new")
def ask_branches(request: Request, tree: str, bench: AtBench) -> HTMLResponse:
    """Show the form of new branches."""
    return _branches(request, bench, tree_day(bench, tree))


@router.post("/facts/new")
def add_branches(request: Request, tree: str, bench: AtBench, sent: Form) -> Response:
    """Enter new branches with their first readings."""
    day = tree_day(bench, tree)
    if sent.get("more"):
        return _branches(request, bench, day, sent, more=True)
    entered = enter_branches(bench.book, day.facts.tree, rows_sent(sent), writer_of(bench))
    if not entered.ok:
        return _branches(request, bench, day, sent, entered.faults)
    return see(f"/trees/{day.facts.tree}/facts?saved=branches#branches")


def _branches(
    request: Request, bench: Bench, day: TreeDay, sent: Sent | None = None,
    faults: tuple[FieldFault, ...] = (), *, more: bool = False,
) -> HTMLResponse:  # fmt: skip
    rows = rows_shown(sent, bench.speaker(), faults, more=more)
    return bench.render(
        request, "facts/branches.html", status=422 if faults else 200,
        **_shared(day, "", "branches", (), bench.speaker()), rows=rows, faulty=cells_at_fault(rows),
    )  # fmt: skip


@router.get("/facts/graft")
def ask_graft(request: Request, tree: str, bench: AtBench) -> HTMLResponse:
    """Show the form of a graft between two branches."""
    return _graft(request, bench, tree_day(bench, tree))


@router.post("/facts/graft")
def add_graft(request: Request, tree: str, bench: AtBench, sent: Form) -> Response:
    """Enter a graft between two branches."""
    day = tree_day(bench, tree)
    kind = next((one for one in GraftKind if one.value == sent.get("kind")), None)
    entered = graft_between(
        bench.book, day.facts.tree, sent.get("lower"), sent.get("upper"), sent.get("side"),
        writer_of(bench), kind=kind, donor=sent.get("donor").strip(),
        own_donor=sent.get("from") != "other",
    )  # fmt: skip
    if not entered.ok:
        return _graft(request, bench, day, sent, entered.faults)
    return see(f"/trees/{day.facts.tree}/branches/{entered.key}/facts?saved=new")


def _graft(
    request: Request, bench: Bench, day: TreeDay, sent: Sent | None = None,
    faults: tuple[FieldFault, ...] = (),
) -> HTMLResponse:  # fmt: skip
    words = bench.speaker()
    rows = day.tree.branches
    primaries = [
        (one.name, one.name)
        for one in sorted(day.branches, key=lambda one: head_to_foot(one.name))
        if one.order == 1 and one.name[:1].isdigit() and not rows.gone[one.row]
    ]
    choices = {
        "lower": primaries,
        "upper": primaries,
        "side": [(letter, words.t(f"facts.sides.{letter}")) for letter in SIDES],
        "kind": [(one.value, words.word(one)) for one in GraftKind],
        "from": [("own", words.t("facts.from_own")), ("other", words.t("facts.from_other"))],
    }
    wrong = {one.field: told_plainly(None, one, words) for one in faults}
    fields = [
        Entry(
            field, words.t(f"facts.graft.{field}"), "choice" if field in choices else "text",
            sent.get(field) if sent is not None else "", choices=choices.get(field, ()),
            fault=wrong.get(field), required=field in ("lower", "upper", "side"),
        )
        for field in ("lower", "upper", "side", "kind", "from", "donor")
    ]  # fmt: skip
    return bench.render(
        request, "facts/graft.html", status=422 if faults else 200,
        **_shared(day, "", "graft", (), words), fields=fields,
        faulty=[one for one in fields if one.fault], enough=len(primaries) > 1,
    )  # fmt: skip


# --- one branch -----------------------------------------------------------------------------------


@router.get("/branches/{branch}/facts")
def show_branch(
    request: Request, tree: str, branch: str, bench: AtBench, saved: Saved = ""
) -> HTMLResponse:
    """Show a branch's facts."""
    return _branch(request, bench, tree_day(bench, tree), branch, saved=saved)


@router.post("/branches/{branch}/facts")
def change_branch(
    request: Request, tree: str, branch: str, bench: AtBench, sent: Form
) -> Response:  # fmt: skip
    """Enter new facts of a branch; a new name renames it."""
    day = tree_day(bench, tree)
    fields = given("branch", sent, bench.speaker())
    entered = enter_branch(bench.book, day.facts.tree, branch, fields, writer_of(bench))
    if not entered.ok:
        return _branch(request, bench, day, branch, sent, entered.faults)
    return see(f"/trees/{day.facts.tree}/branches/{branch}/facts?saved=facts")


@router.post("/branches/{branch}/readings")
def read_branch(
    request: Request, tree: str, branch: str, bench: AtBench, sent: Form
) -> Response:  # fmt: skip
    """Enter readings of a branch."""
    day = tree_day(bench, tree)
    names = (*BRANCH_READINGS, *GRAFT_READINGS, *SCAR_READINGS)
    readings = {what.value: sent.get(what.value) for what in names}
    entered = enter_readings(
        bench.book, day.facts.tree, branch, readings, writer_of(bench),
        marked=sent.get("marked") == "yes",
    )  # fmt: skip
    if not entered.ok:
        return _branch(request, bench, day, branch, sent, entered.faults, part="readings")
    return see(f"/trees/{day.facts.tree}/branches/{branch}/facts?saved=read")


@router.post("/branches/{branch}/gone")
def lose_branch(
    request: Request, tree: str, branch: str, bench: AtBench, sent: Form
) -> Response:  # fmt: skip
    """Write down that a branch is gone."""
    day = tree_day(bench, tree)
    entered = branch_gone(
        bench.book, day.facts.tree, branch, sent.get("how"), sent.get("gone_on"), writer_of(bench)
    )
    if not entered.ok:
        return _branch(request, bench, day, branch, sent, entered.faults, part="gone")
    return see(f"/trees/{day.facts.tree}/branches/{branch}/facts?saved=gone")


@router.post("/branches/{branch}/back")
def regain_branch(tree: str, branch: str, bench: AtBench) -> Response:
    """Take back that a branch is gone."""
    day = tree_day(bench, tree)
    branch_back(bench.book, day.facts.tree, branch, writer_of(bench))
    return see(f"/trees/{day.facts.tree}/branches/{branch}/facts?saved=back")


def _branch(
    request: Request, bench: Bench, day: TreeDay, branch: str, sent: Sent | None = None,
    faults: Iterable[FieldFault] = (), *, saved: str = "",
    part: Literal["facts", "readings", "gone"] = "facts",
) -> HTMLResponse:  # fmt: skip
    words, faults = bench.speaker(), tuple(faults)
    events = bench.kept.garden_events() + bench.kept.events(day.facts.tree)
    known = branch_fields(day.tree, events, branch)
    row = day.tree.branches.ids.index(branch)
    facts = next((one for one in day.branches if one.row == row), None)
    mine = part == "facts"
    groups = groups_of(
        "branch", words, known=known, sent=sent if mine else None, faults=faults if mine else (),
        required=("name",), choices=dict.fromkeys(REFS, branch_choices(day.tree, branch)),
    )  # fmt: skip
    readings = _readings(
        _asked(facts), words, sent if part == "readings" else None, faults, _last(facts)
    )
    called = str(known.get("name") or branch)
    return bench.render(
        request,
        "facts/branch.html",
        status=422 if faults else 200,
        **_shared(day, saved, part, faults, words),
        branch=branch,
        called=called,
        aliases=day.tree.branches.aliases[row],
        gone=facts is None,
        sentence=_known(
            words, "branch",
            words.t("facts.branch_of", branch=called, tree=day.facts.name), known,
        ),
        groups=groups,
        faulty=faulty(groups),
        readings=readings,
        readings_faulty=[one for one in readings if one.fault],
        marked=sent.get("marked") if sent is not None else "",
        hows=HOWS,
        how=sent.get("how") if sent is not None else "",
        gone_on=sent.get("gone_on") if sent is not None and part == "gone"
        else day_shown(bench.today, words),
    )  # fmt: skip


def _asked(facts: BranchFacts | None) -> tuple[Quantity, ...]:
    """Return what is measured on a branch of its kind."""
    kind = "" if facts is None else facts.kind.value
    if kind == "scar":
        return SCAR_READINGS
    return (*BRANCH_READINGS, *GRAFT_READINGS) if kind == "graft" else BRANCH_READINGS


def _last(facts: BranchFacts | None) -> dict[Quantity, float | None]:
    if facts is None:
        return {}
    return {
        Quantity.BASE: facts.base_mm,
        Quantity.TRUNK: facts.trunk_mm,
        Quantity.NODE: facts.node_mm,
        Quantity.ROOM: facts.room_mm,
        Quantity.EXTENSION: facts.extension_mm,
    }
