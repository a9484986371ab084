"""Lines that are no horizon: those that begin a pit, and the sections behind one."""

from __future__ import annotations

import re
from functools import cache

from ...vocabulary.tables import table
from .entries import is_designation


def starts_pit(line: str) -> bool:
    """Whether a line looks like the head of another pit."""
    return any(pattern.match(line.lstrip()) for pattern in _starts())


def bare_id(text: str, start: int, end: int) -> tuple[int, int] | None:
    """Place of an id of letters and a number with which a line begins without a word before it; None for the symbol of a horizon (``AB12`` is none in use)."""
    found = _bare().match(text, start, end)
    return found.span("pit_id") if found and (re.search(r"[A-Z]{2}\d{2}", found["pit_id"]) or not is_designation(found["pit_id"])) else None


def keyed_id(line: str) -> tuple[str, str] | None:
    """(word, id) of a line that begins ``Pit 5``, ``Site: B-2``; None for any other."""
    found = _keyed().match(line)
    return (found["word"].casefold(), found["pit_id"].rstrip(".:,")) if found else None


def is_placed(line: str) -> bool:
    """Whether a line begins with an id that coordinates follow: ``PW-1  54 02 11 N ...``."""
    return bool(_placed().match(line))


def is_published(line: str) -> bool:
    """Whether a line begins a section that stands behind a published pedon."""
    return bool(_published().match(line))


def is_section(line: str) -> bool:
    """Whether a line ends the horizons of a pit: remarks, where it stopped, or a published section."""
    return bool(_section().match(line)) or is_published(line)


def section_inside(text: str, start: int, end: int) -> int | None:
    """Where a published section begins inside of a line; None where none does."""
    found = _section_inside().search(text, start, end)
    return found.start("name") if found else None


@cache
def _starts() -> tuple[re.Pattern, ...]:
    return tuple(re.compile(pattern.replace("{name}", name_pattern()).replace("{lead}", lead_pattern())) for pattern in table("notes")["pit_start"]["patterns"])


@cache
def name_pattern() -> str:
    """An id without a digit, as it stands behind ``pit``."""
    data = table("notes")["pit_start"]
    return data["name"].replace("{not_names}", "|".join(data["not_names"]))


@cache
def lead_pattern() -> str:
    """Words that lead to the name of a pit (``okay, this is``); a pattern without regard to capitals."""
    return table("notes")["pit_start"]["lead"]


@cache
def _keyed() -> re.Pattern:
    words = r"pit|profile|pedon|plot|site|hole|inspection|core|stop|stake|waypoint|obs(?:\.|(?![a-z]))|observation(?: point)?|station"
    return re.compile(rf"\W*(?:(?i:soil|test|auger) )?(?P<word>(?i:{words}))(?![A-Za-z])\s*(?i:no\.?|number|id|#)?\s*[:=#]?\s*(?P<pit_id>[A-Za-z]{{0,12}}[-_]?\d[\w/-]*(?=$|[\s,;:.(])|{name_pattern()})")


@cache
def _bare() -> re.Pattern:
    return re.compile(table("notes")["pit_start"]["bare"], re.MULTILINE)


@cache
def _placed() -> re.Pattern:
    return re.compile(table("notes")["pit_start"]["with_coordinates"])


@cache
def _published() -> re.Pattern:
    names = "|".join(name.replace(" ", r"\s+") for name in table("notes")["section"]["published"])
    return re.compile(rf"(?i)\W*(?:{names})\b[^.;:\n]{{0,40}}:")


@cache
def _section_inside() -> re.Pattern:
    """The same inside of a line, where it can only be told by its capitals."""
    names = "|".join(name.upper().replace(" ", r"\s+").replace("(?:OTHER )?", "(?:OTHER )?") for name in table("notes")["section"]["published"] if "[" not in name)
    return re.compile(rf"(?<=[.\s])(?P<name>(?:{names})):")


@cache
def _section() -> re.Pattern:
    return re.compile("|".join(re.sub(r"^\(\?i\)(.*)$", r"(?i:\1)", pattern) for pattern in table("notes")["section"]["patterns"]))
