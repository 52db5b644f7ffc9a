"""The program's own server for the browser's tests: ``bench_server.py BOOK PORT``.

It differs from ``boughwright serve`` in one thing: a test may ask as often as it likes.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from pathlib import Path

import uvicorn

from boughwright.usecases.devices import Doorkeeper
from boughwright.web.app import create_app
from boughwright.web.guard import GuardOptions, Listening
from boughwright.web.guard.rates import Rate

if __name__ == "__main__":
    book, port = Path(sys.argv[1]), int(sys.argv[2])
    guard = GuardOptions(
        keeper=Doorkeeper(book, lambda: datetime.now(UTC)),
        doors=(Listening("http", port),),
        page_rate=Rate(burst=1e9, per_s=1e9),
    )
    app = create_app(book, guard=guard)
    app.state.bench.kept.day()
    app.state.bench.warm = True
    uvicorn.run(app, host="127.0.0.1", port=port, log_level="warning")
