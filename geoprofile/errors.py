"""Every error a user can meet, as one tree.

    GeoprofileError            1  our fault
    +-- SettingsError          2  usage, or the survey file
    +-- InputError             3  a file that was given to us
    +-- TooLittleData          4  too few pits for the method asked for
    +-- PluginError            5  a plug-in that failed to load or broke its contract
    +-- OutputError            6  something we were to write
    +-- Cancelled            130  stopped by the user (Ctrl-C or SIGTERM)

The number is the exit code. An error holds its fields; the text is rendered
once, here.
"""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class GeoprofileError(Exception):
    """An error a person can act on: the fault, its place, the value met, the values accepted, the next step.

    Parameters
    ----------
    what : one sentence without the place.
    where : file, sheet, row or key.
    found, allowed, remedy : text, shown when given.
    others : further errors found in the same go, reported together.
    """

    exit_code = 1

    def __init__(
        self,
        what: str,
        *,
        where: str = "",
        found: str = "",
        allowed: str = "",
        remedy: str = "",
        others: tuple[GeoprofileError, ...] = (),
    ) -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.found = found
        self.allowed = allowed
        self.remedy = remedy
        self.others = tuple(others)

    def __str__(self) -> str:
        lines = [f"{self.where}: {self.what}" if self.where else self.what]
        for label, text in (("found", self.found), ("allowed", self.allowed), ("do", self.remedy)):
            if text:
                lines.append(f"  {label + ':':<9}{text}")
        return "\n".join([*lines, *(str(other) for other in self.others)])

    def as_dict(self) -> dict[str, object]:
        """The same fields for ``--json``."""
        return {
            "error": type(self).__name__,
            "what": self.what,
            "where": self.where,
            "found": self.found,
            "allowed": self.allowed,
            "remedy": self.remedy,
            "others": [other.as_dict() for other in self.others],
        }

    def __reduce__(self):  # keyword-only arguments do not pickle by themselves
        return (_rebuild, (type(self), self.__dict__.copy()))


def _rebuild(kind: type, fields: dict[str, object]) -> GeoprofileError:
    return kind(**{name: value for name, value in fields.items() if not name.startswith("_")})


class SettingsError(GeoprofileError):
    """A command line or a survey file that cannot be followed."""

    exit_code = 2


class InputError(GeoprofileError):
    """A file that cannot be read, or whose content cannot be used."""

    exit_code = 3


class TooLittleData(GeoprofileError):
    """Fewer usable pits than the method needs."""

    exit_code = 4


class PluginError(GeoprofileError):
    """A plug-in that does not load or does not keep its contract."""

    exit_code = 5


class OutputError(GeoprofileError):
    """An output that could not be written; what was there before is untouched."""

    exit_code = 6


def not_written(error: OSError, place: Path) -> OutputError:
    """What the system said when ``place``, a file or folder of ours, could not be written."""
    elsewhere = "choose another folder (of a run: -o FOLDER, or [survey] output)"
    if isinstance(error, IsADirectoryError):
        what, found, remedy = "a folder stands where this file is to be written", "a folder", "move or rename the folder, then run again"
    elif isinstance(error, (FileExistsError, NotADirectoryError)):
        what, found, remedy = "a file stands where a folder is to be made", error.strerror, f"move or rename that file, or {elsewhere}"
    elif isinstance(error, PermissionError):
        what, found = "this may not be written or replaced", error.strerror
        remedy = f"close it in other programs and see that you may write there, or {elsewhere}"
    elif error.errno in (errno.ENOSPC, errno.EDQUOT):
        what, found, remedy = "there is no room to write this", error.strerror, f"make room, or {elsewhere}"
    else:
        what, found, remedy = "this could not be written", error.strerror or str(error), f"close it in other programs and run again, or {elsewhere}"
    return OutputError(what, where=str(place), found=found, remedy=remedy)


@contextmanager
def writing(place: Path) -> Iterator[None]:
    """What the system says against writing ``place`` becomes an OutputError that names it."""
    try:
        yield
    except OSError as error:
        raise not_written(error, place) from error


class Cancelled(GeoprofileError):
    """The user stopped the run; nothing half-written is left."""

    exit_code = 130
