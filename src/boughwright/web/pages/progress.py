"""How far a long work has come, told as it goes (server-sent events)."""

from __future__ import annotations

import asyncio
import json
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Depends
from fastapi.responses import StreamingResponse

from boughwright.web.state import Bench, bench

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

router = APIRouter()
EVERY_S = 0.2
"""How often the page is told. [s]"""
LONGEST_S = 300
"""After this the page asks anew. [s]"""


@router.get("/progress/day")
def first_day(bench: Annotated[Bench, Depends(bench)]) -> StreamingResponse:
    """Tell how far the first day has come, until it is there."""
    return StreamingResponse(_told(bench), media_type="text/event-stream")


async def _told(bench: Bench) -> AsyncIterator[str]:
    for _ in range(int(LONGEST_S / EVERY_S)):
        done = bench.warm or not bench.working
        yield f"data: {json.dumps({'share': round(bench.share, 3), 'done': done, 'href': ''})}\n\n"
        if done:
            return
        await asyncio.sleep(EVERY_S)
