"""One tree of errors. Each says what is wrong, where, what is allowed and what to do."""

from __future__ import annotations


class BoughwrightError(Exception):
    """Anything Boughwright refuses, told so that the reader can mend it.

    Parameters
    ----------
    what : str
        What is wrong, with the offending value in it.
    where : str
        File and row, command argument, tree or branch. Empty when the caller adds it later.
    allowed : str
        What would have been accepted.
    todo : str
        What to do next.
    """

    slug = "error"

    def __init__(self, what: str, *, where: str = "", allowed: str = "", todo: str = "") -> None:
        self.what, self.where, self.allowed, self.todo = what, where, allowed, todo
        super().__init__(str(self))

    def __str__(self) -> str:
        """Return the whole sentence. The slug is for programs, not for reading."""
        parts = [f"{self.where}: {self.what}" if self.where else self.what]
        if self.allowed:
            parts.append(f"Allowed: {self.allowed}")
        if self.todo:
            parts.append(self.todo)
        return ". ".join(part.rstrip(".") for part in parts) + "."

    def at(self, where: str) -> BoughwrightError:
        """Return the same error with its place put in front of any place it already has."""
        place = f"{where}, {self.where}" if self.where else where
        return type(self)(self.what, where=place, allowed=self.allowed, todo=self.todo)


class RangeError(BoughwrightError):
    """A number lies outside what is physically or sensibly possible."""

    slug = "out-of-range"


class TextError(BoughwrightError):
    """A word, date or number could not be read."""

    slug = "not-understood"


class FileError(BoughwrightError):
    """A file is missing, empty, of the wrong kind, too large or in the wrong encoding."""

    slug = "file"


class UnknownNameError(BoughwrightError):
    """No tree, branch, place, shelf, species or setting of that name."""

    slug = "unknown-name"


class AmbiguousNameError(BoughwrightError):
    """A name fits more than one tree, branch or species."""

    slug = "two-fit"


class RecordError(BoughwrightError):
    """An event cannot be taken: a field is missing, of the wrong type or of a newer version."""

    slug = "record"


class StoreError(BoughwrightError):
    """The book cannot be opened, written, backed up or restored."""

    slug = "book"
