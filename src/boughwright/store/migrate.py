"""Bring a book to the layout this program writes, in one transaction."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from alembic import command
from alembic.config import Config

if TYPE_CHECKING:
    from sqlalchemy import Connection

MIGRATIONS = Path(__file__).parent / "migrations"


def config(connection: Connection | None = None) -> Config:
    """Return Alembic's settings; no ini file is needed, so it works from an installed wheel."""
    settings = Config()
    settings.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    settings.set_main_option("path_separator", "os")
    settings.attributes["connection"] = connection
    return settings


def upgrade(connection: Connection) -> None:
    """Run the missing steps inside the transaction that ``connection`` has begun."""
    command.upgrade(config(connection), "head")
