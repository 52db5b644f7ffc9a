"""Reading a garden folder: its settings, its tables and its weather, forgiving but never guessing.

``records.csv`` holds every record and is taken when it is there. Without it the readable tables
become records, each with an id worked out from what its row says, so that reading the same tables
again adds nothing.
"""

from __future__ import annotations

import json
import tomllib
from collections import Counter, defaultdict
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

from boughwright.errors import BoughwrightError, FileError, RecordError
from boughwright.intake.folder_gather import Gathering
from boughwright.intake.folder_happenings import read_happenings, read_records, read_species
from boughwright.intake.folder_sheet import RowRead, Sheet
from boughwright.intake.folder_things import (
    enter_branches,
    enter_trees,
    read_branches,
    read_places,
    read_shelves,
    read_trees,
)
from boughwright.intake.tables import Line
from boughwright.intake.tables_problems import Problem
from boughwright.intake.weather import read_weather
from boughwright.journal.check import check_field
from boughwright.journal.codec import body_to_json
from boughwright.journal.columns import (
    BRANCHES,
    FORMAT,
    GARDEN_FILE,
    HAPPENINGS,
    PLACES,
    RECORDS_FILE,
    SHELVES,
    SPECIES,
    TABLES,
    TREES,
    VERSION,
    WEATHER_FOLDER,
    station_of,
)
from boughwright.journal.events import GardenSet, standing
from boughwright.journal.fields import GARDEN_FIELDS
from boughwright.tree.replay import replay

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from uuid import UUID

    from boughwright.intake.weather_dates import DateOrder
    from boughwright.intake.weather_rows import WeatherDay
    from boughwright.journal.columns import Table
    from boughwright.journal.events import Event, FieldValue

OnBad: TypeAlias = Literal["refuse", "skip"]
"""``refuse``: with anything that cannot be taken, nothing is. ``skip``: the rest is."""

_SEE = "See docs/garden-folder.md for the files of a garden folder"


@dataclass(frozen=True, slots=True)
class FolderRead:
    """What a garden folder gave.

    Parameters
    ----------
    path : Path
    events : tuple of Event
        Empty when something was refused and nothing is to go in.
    weather : mapping of str to tuple of WeatherDay
        Days by station.
    problems : tuple of Problem
        What was not taken, and what was taken but cannot be right; see `Problem.refused`.
    notes : tuple of str
        How the folder was read: files and columns passed over, encodings guessed.
    whole : bool
        The records came from the table of all records, not from the readable tables.
    """

    path: Path
    events: tuple[Event, ...]
    weather: Mapping[str, tuple[WeatherDay, ...]]
    problems: tuple[Problem, ...]
    notes: tuple[str, ...]
    whole: bool

    @property
    def refused(self) -> tuple[Problem, ...]:
        """What was not taken."""
        return tuple(problem for problem in self.problems if problem.refused)

    def new_to(self, known: Iterable[Event]) -> tuple[Event, ...]:
        """Return the events that a journal does not hold yet.

        An event is held when its id is known. One made from a readable table is held too when a
        standing event of the journal says the same of the same day; each counts for one row.
        """
        known = list(known)
        ids = {event.id for event in known}
        fresh = [event for event in self.events if event.id not in ids]
        if self.whole:
            return tuple(fresh)
        said = Counter(_content(event) for event in standing(known))
        new: list[Event] = []
        for event in fresh:
            content = _content(event)
            if said[content]:
                said[content] -= 1
            else:
                new.append(event)
        return tuple(new)


def _content(event: Event) -> str:
    kind, _, details = body_to_json(event.body)
    parts = [event.tree, event.branch, event.on.isoformat(), kind, details]
    return json.dumps(parts, sort_keys=True)


def read_folder(
    path: Path | str,
    *,
    on_bad: OnBad,
    units: str = "mm",
    now: datetime,
    who: str,
    date_order: DateOrder | None = None,
    today: date | None = None,
) -> FolderRead:
    """Read a garden folder.

    Parameters
    ----------
    path : path
        The folder.
    on_bad : {"refuse", "skip"}
        With something that cannot be taken, take nothing, or take the rest.
    units : {"mm", "in"}
        What a length is in when neither its cell nor its header says.
    now : datetime
        The moment of reading; rows that do not say are taken as entered then. A garden with a
        standing date later than that has its own today.
    who : str
        Who entered rows that name nobody.
    date_order : {"dmy", "mdy"}, optional
        What ``3/4/2026`` means, where a file does not show it.
    today : date, optional
        The day that counts as today; else that of ``now``.

    Returns
    -------
    FolderRead

    Raises
    ------
    FileError
        When there is no such folder, it holds no file that is known, or a newer version wrote it.
    """
    path = Path(path)
    files = _files_of(path)
    moment = now if now.tzinfo is not None else now.replace(tzinfo=UTC)
    here = today or moment.date()
    gathering = Gathering(moment, who, units, date_order, here, here)
    garden = _garden(files.get(GARDEN_FILE), gathering)
    day = garden.get("standing_date")
    if isinstance(day, date):
        gathering.default_day, gathering.today = day, max(day, here)
    whole = RECORDS_FILE in files
    if whole:
        read_records(files[RECORDS_FILE], gathering)
        passed = [table.file for table in TABLES if table.file in files]
        if passed:
            gathering.notes.append(
                f"{RECORDS_FILE} holds everything, so these were not read: {', '.join(passed)}"
            )
    else:
        _tables(files, garden, gathering)
    weather = _weather(path, gathering)
    _contradictions(gathering)
    refused = on_bad == "refuse" and any(problem.refused for problem in gathering.problems)
    return FolderRead(
        path, () if refused else tuple(gathering.events), {} if refused else weather,
        tuple(gathering.problems), (*_strangers(path, files), *gathering.notes), whole,
    )  # fmt: skip


# --- the files -----------------------------------------------------------------------------------


def _files_of(path: Path) -> dict[str, Path]:
    """Return the files that are known by their proper names, whatever their case or number."""
    if not path.exists():
        raise FileError("there is no such folder", where=str(path), todo="Check the name")
    if not path.is_dir():
        raise FileError("this is a file, not a garden folder", where=str(path),
                        allowed="a folder", todo=_SEE)  # fmt: skip
    known = [GARDEN_FILE, RECORDS_FILE, *(table.file for table in TABLES)]
    found: dict[str, Path] = {}
    try:
        there = sorted(path.iterdir())
    except OSError as error:
        raise FileError(f"the folder cannot be read: {error.strerror}", where=str(path),
                        todo="Give yourself the right to read it") from error  # fmt: skip
    for name in known:
        loose = {name, name.replace("s.csv", ".csv"), name.replace("ches.csv", "ch.csv"),
                 name.replace("ves.csv", "f.csv")}  # fmt: skip
        exact = [one for one in there if one.name == name]
        near = [one for one in there if one.name.casefold() in loose]
        if exact or near:
            found[name] = (exact or near)[0]
    if not found and not (path / WEATHER_FOLDER).is_dir():
        raise FileError("no file of a garden folder is in it", where=str(path),
                        allowed=", ".join(known), todo=_SEE)  # fmt: skip
    return found


def _strangers(path: Path, files: Mapping[str, Path]) -> list[str]:
    ours = {WEATHER_FOLDER, *(one.name for one in files.values())}
    others = sorted(one.name for one in path.iterdir() if one.name not in ours)
    others = [name for name in others if not name.startswith(".")]
    return [f"Files not taken: {', '.join(others)}"] if others else []


def _garden(file: Path | None, gathering: Gathering) -> dict[str, FieldValue]:
    """Return the garden's settings; bad ones are listed and left out."""
    if file is None:
        return {}
    try:
        told = _toml(file)
    except FileError as error:
        gathering.refuse_file(file.name, error)
        return {}
    version = told.pop("version", VERSION)
    named = told.pop("format", FORMAT)
    if named != FORMAT or not isinstance(version, int) or version > VERSION:
        raise FileError(f"the folder is of the format {named!r}, version {version}",
                        where=str(file), allowed=f"{FORMAT!r} up to version {VERSION}",
                        todo="Update Boughwright")  # fmt: skip
    kept: dict[str, FieldValue] = {}
    for name, value in told.items():
        if name not in GARDEN_FIELDS:
            gathering.notes.append(f"{file.name}: setting not taken: {name}")
            continue
        try:
            check_field("garden", name, value)
        except BoughwrightError as error:
            gathering.problems.append(
                Problem(file.name, 0, name, error.what, error.allowed, error.todo,
                        line=f"{name} = {value!r}")
            )  # fmt: skip
        else:
            kept[name] = value
    return kept


def _toml(file: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(file.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        raise FileError(f"the file cannot be read: {error.strerror}",
                        todo="Give yourself the right to read it") from error  # fmt: skip
    except UnicodeDecodeError as error:
        raise FileError("the file is not in UTF-8", todo="Save it in UTF-8") from error
    except tomllib.TOMLDecodeError as error:
        raise FileError(f"the settings cannot be read: {error}", allowed='name = "My garden"',
                        todo="Mend that line") from error  # fmt: skip


# --- tables --------------------------------------------------------------------------------------


def _tables(
    files: Mapping[str, Path], garden: Mapping[str, FieldValue], gathering: Gathering
) -> None:
    """Read the readable tables. Names are learnt before anything that uses them."""

    def sheet(table: Table) -> Sheet | None:
        return Sheet(files[table.file], table, gathering) if table.file in files else None

    places, shelves, species = sheet(PLACES), sheet(SHELVES), sheet(SPECIES)
    trees, branches = sheet(TREES), sheet(BRANCHES)
    undated = [
        *(read_places(places, gathering) if places else ()),
        *(read_shelves(shelves, gathering) if shelves else ()),
    ]
    if trees:
        enter_trees(trees, gathering)
    if branches:
        enter_branches(branches, gathering)
    for table in HAPPENINGS:
        one = sheet(table)
        if one:
            read_happenings(one, table, gathering)
    if trees:
        read_trees(trees, gathering)
    if branches:
        read_branches(branches, gathering)
    traits = read_species(species, SPECIES, gathering) if species else []
    rule = min(gathering.earliest, gathering.default_day)
    for row, body in (*undated, *traits):
        _add_undated(gathering, row, body, rule)
    if garden:
        row = RowRead(files[GARDEN_FILE].name, Line(0, [f"{k}={v}" for k, v in garden.items()]))
        gathering.add(row, GardenSet(dict(garden)), rule, given=False)


def _add_undated(gathering: Gathering, row: RowRead, body: Any, rule: date) -> None:
    """Take a place, a shelf or a species value, dated by rule when its row has no day."""
    on = row.values.get("on")
    day = on if isinstance(on, date) else rule
    if "on" in row.bad or not gathering.day_fits(row, "on", day):
        return
    tree = None
    if row.text("tree"):
        tree = gathering.tree_of(row)
        if tree is None:
            return
    gathering.add(row, body, day, given=isinstance(on, date), tree=tree)


# --- weather -------------------------------------------------------------------------------------


def _weather(path: Path, gathering: Gathering) -> dict[str, tuple[WeatherDay, ...]]:
    folder = path / WEATHER_FOLDER
    found: dict[str, tuple[WeatherDay, ...]] = {}
    if not folder.is_dir():
        return found
    for file in sorted(folder.iterdir()):
        name = f"{WEATHER_FOLDER}/{file.name}"
        if file.suffix.casefold() != ".csv":
            if not file.name.startswith("."):
                gathering.notes.append(f"{name} was not read: it is no table")
            continue
        try:
            read = read_weather(file, today=gathering.today, on_bad="skip",
                                date_order=gathering.date_order)  # fmt: skip
        except BoughwrightError as error:
            gathering.refuse_file(name, error)
            continue
        gathering.problems += [
            Problem(name, bad.row, "", bad.what, bad.allowed, bad.todo) for bad in read.refused
        ]
        more = read.refused_count - len(read.refused)
        if more:
            gathering.refuse_file(
                name,
                RecordError(
                    f"{more} more rows were not taken", todo="Mend those listed, then load it again"
                ),
            )
        gathering.notes += [f"{name}: {note}" for note in read.notes]
        found[station_of(f"{file.stem}.csv")] = read.days
    return found


# --- contradictions ------------------------------------------------------------------------------


def _contradictions(gathering: Gathering) -> None:
    """List what was taken but cannot all be right; nothing is mended."""
    by_tree: dict[str, list[Event]] = defaultdict(list)
    shared: list[Event] = []
    for event in gathering.events:
        if event.tree is None:
            shared.append(event)
        else:
            by_tree[event.tree].append(event)
    for key, events in by_tree.items():
        tree = replay(key, (*events, *shared))
        for fault in tree.contradictions:
            file, row = _where(gathering, fault.events)
            told = f"{tree.name}: {fault.what}"
            gathering.problems.append(Problem(file, row, "", told, todo=fault.todo, refused=False))


def _where(gathering: Gathering, events: Iterable[UUID]) -> tuple[str, int]:
    """Return the place of the last of the records behind a contradiction."""
    places = [gathering.origin[event] for event in events if event in gathering.origin]
    return places[-1] if places else (RECORDS_FILE, 0)
