"""The ``boughwright`` command. Each sub-command is loaded only when it is run."""

from __future__ import annotations

import gc
import sys
from importlib import import_module

import click

from boughwright import __version__
from boughwright.errors import BoughwrightError

COMMANDS = {
    "demo": ("demo", "Make the demonstration garden, show its week and open it."),
    "serve": ("serve", "Open the book at the bench, in a browser."),
    "call-up": ("call_up", "What needs the bench this week, against your hours."),
    "sheet": ("sheet", "One tree head to foot: every branch, what to do and why."),
    "wire": ("wire", "All wire on all trees: look by, off by, and how much is used."),
    "stages": ("stages", "Where each tree is in its year, and what the weather threatens."),
    "may-i": ("may_i", "May this work be done on this tree or branch now?"),
    "gauge": ("gauge", "Which wire holds a bend on this branch."),
    "say": ("say", "Write down what you did or saw, as a bench phrase."),
    "records": ("records", "What is written of a tree or a branch."),
    "withdraw": ("withdraw", "Take back one record, however old."),
    "species": ("species", "What is reckoned for a species, and where each value comes from."),
    "doubts": ("doubts", "Records that cannot both be right."),
    "load": ("load", "Take a garden folder of plain tables into the book."),
    "save": ("save", "Write the whole book out as a garden folder."),
    "load-weather": ("load_weather", "Take a daily weather file into the book."),
    "backup": ("backup", "Copy the book, checked."),
    "restore": ("restore", "Put a copy back in the book's place."),
}
"""Command name: module in this folder, and its one line in the help."""


class _Lazy(click.Group):
    """A group that knows its commands' names and lines without loading them."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, name: str) -> click.Command | None:
        if name not in COMMANDS:
            return None
        command: click.Command = import_module(f"boughwright.cli.{COMMANDS[name][0]}").command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.group(
    cls=_Lazy,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80},
    help="Memory, measurement and a clock for every branch of your deciduous trees.",
    epilog="Every command takes --on DATE, --units mm|in and --json. "
    "The book is garden.book in your data folder unless --book names another.",
)
@click.option("--book", metavar="NAME", help="Book to use: a word, or a path to a file.")
@click.version_option(__version__, message="Boughwright %(version)s")
@click.pass_context
def _root(ctx: click.Context, book: str | None) -> None:
    ctx.obj = book


def main() -> None:
    """Run the command; an error of ours is one plain message and exit status 2."""
    gc.disable()  # a command is over before collecting would pay; it saves a tenth of a call-up
    try:
        _root(prog_name="boughwright")
    except BoughwrightError as error:
        _refuse(str(error))
    except OSError as error:  # the disk's own refusal, where no reader of ours told it better
        _refuse(f"{error.filename or 'The disk'}: {error.strerror or error}. Name another place.")


def _refuse(told: str) -> None:
    from boughwright.usecases.spoken import spoken  # noqa: PLC0415

    click.echo(f"Not done. {spoken(told, 'mm')}", err=True)
    sys.exit(2)
