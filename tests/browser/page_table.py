"""Every page of the app, by the pattern of its address, with one address to open it at.

A new page must be entered here: `test_browser_pages` compares the table with the app's own routes.
"""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import boughwright.web.pages as pages_folder
from boughwright.web.app import PAGES as MODULES

PAGES: dict[str, tuple[str, ...]] = {
    "/": ("/", "/?hours=1"),
    "/start": ("/start",),
    "/start/place": ("/start/place",),
    "/start/weather": ("/start/weather",),
    "/start/tree": ("/start/tree",),
    "/start/branches": ("/start/branches?tree={tree}",),
    "/trees": ("/trees",),
    "/trees/all": ("/trees/all",),
    "/trees/new": ("/trees/new",),
    "/trees/{tree}": ("/trees/{tree}", "/trees/gate-hornbeam"),
    "/trees/{tree}/branches/{branch}": ("/trees/{tree}/branches/4r", "/trees/{tree}/branches/1l"),
    "/trees/{tree}/branches/{branch}/facts": ("/trees/{tree}/branches/4r/facts",),
    "/trees/{tree}/facts": ("/trees/{tree}/facts",),
    "/trees/{tree}/facts/graft": ("/trees/{tree}/facts/graft",),
    "/trees/{tree}/facts/new": ("/trees/{tree}/facts/new",),
    "/trees/{tree}/bench": ("/trees/{tree}/bench",),
    "/trees/{tree}/paper": ("/trees/{tree}/paper",),
    "/trees/{tree}/log": ("/trees/{tree}/log?branch=4r", "/trees/{tree}/log?place=all"),
    "/trees/{tree}/records": ("/trees/{tree}/records", "/trees/{tree}/records?branch=4R"),
    "/trees/{tree}/records/{record}": ("found:/trees/{tree}/records",),
    "/trees/{tree}/photos": ("/trees/{tree}/photos",),
    "/trees/{tree}/photos/{name}": ("found:/trees/{tree}/photos",),
    "/trees/{tree}/photos/{name}/day": ("found:/trees/{tree}/photos",),
    "/trees/{tree}/photos/{name}/scale": ("found:/trees/{tree}/photos",),
    "/trees/{tree}/photos/pair": ("found:/trees/{tree}/photos",),
    "/wire": ("/wire",),
    "/wire/strip": ("/wire/strip",),
    "/wire/{tree}/{event}": ("found:/wire",),
    "/weather": ("/weather",),
    "/weather/stages/{tree}": ("/weather/stages/{tree}",),
    "/may-i": ("/may-i", "/may-i?tree={tree}&place=4R", "/may-i?tree={tree}&place=2R&work=cut"),
    "/promises": ("/promises",),
    "/stock": ("/stock",),
    "/sure": ("/sure",),
    "/doubts": ("/doubts",),
    "/sources": ("/sources",),
    "/species": ("/species",),
    "/more": ("/more",),
    "/parts": ("/parts",),
    "/say": ("/say", "/say?tree={tree}"),
    "/said/{line}": ("said",),
    "/settings": ("/settings",),
    "/places": ("/places",),
    "/places/new": ("/places/new",),
    "/places/{place}": ("found:/places",),
    "/places/{place}/shelves/new": ("found:/places/{place}",),
    "/places/{place}/shelves/{shelf}": ("found:/places/{place}",),
    "/keep": ("/keep",),
    "/devices": ("/devices",),
    "/offline": ("/offline",),
}
"""``found:`` takes the first link of that pattern on the page named; ``said`` writes a line first.
Photos are sent first; a tree has none of its own."""

NOT_PAGES = (
    "/api/", "/charts/", "/progress/", "/photos/", "/keep/copy", "/keep/folder.zip",
    "/trees/{tree}/acts", "/trees/{tree}/log/acts", "/trees/{tree}/records.csv",
    "/trees/{tree}/thumb.svg",
)  # fmt: skip
"""Starts of addresses that give a picture, a file, or a part of a page."""

ELSEWHERE = {
    "/pair": "test_guard_browser opens it as another device; here it leads to the list of devices",
    "/works/{work}": "opened by what starts a long work",
}
"""Pages that other tests open."""


def patterns() -> set[str]:
    """Return the patterns of every page that the app answers a GET with."""
    folder = Path(pages_folder.__path__[0])
    found = set()
    for name in (one for one in MODULES if (folder / f"{one}.py").exists()):
        for route in import_module(f"boughwright.web.pages.{name}").router.routes:
            if "GET" in getattr(route, "methods", ()):
                found.add(route.path)
    return {one for one in found if not one.startswith(NOT_PAGES)}
