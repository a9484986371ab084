"""A designation with one depth alone, ``Ap 15 cm`` or ``Ap 15 cm thick``: the first horizon of a pit down to there, or a horizon without depths.

One number may be a thickness, the upper or the lower depth. It is read only for the first
horizon, and only where the next one begins at that depth; elsewhere the horizon stands
without depths, which the checks list with its name, and takes nothing of the others with it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from ...vocabulary.conventions import CONVENTIONS
from ...vocabulary.designations import parse_designation
from .depth_numbers import JOINS, number_at, unit_at
from .depths import Depths, Limit
from .entries import HEAD, Entry, behind_words, designation_in, entry_at, is_designation, lead_end
from .phrases import OF_THE_SOIL, find_phrases
from .pit_lines import starts_pit
from .tokens import tokens

FROM_THE_SURFACE = "one depth of the first horizon, where the next begins, is read as going from 0 to there"
ABOVE_THE_SURFACE = "one depth of an organic layer above a horizon that begins at 0 is read as its thickness"
NO_RANGE = "one depth alone is read as a range only for the first horizon, where the next begins at it: this horizon is without depths"
_BETWEEN = re.compile(r"[\s,.:;=(~\u2010-\u2015-]*(?:(?:down\s+)?to\s+)?(?:about\s+|approx\.?\s+)?")
_PLAIN_END = re.compile(r"\s*(?:$|[,;:|/\n)]|\.(?!\d)|(?:-{1,3}|[\u2013\u2014])(?!\s?\d))")
_MARK = re.compile(r"\s*[,;./|]\s*|\s+(?:-{1,3}|[\u2013\u2014])\s+|\s+(?=[\dIVX]{0,3}[A-Z])")
_UNITS = ("cm", "in")
_THICK = ("thick", "deep")
_LINES = 8
"""The next horizon begins within so many lines."""


@dataclass(frozen=True, slots=True)
class _One:
    name: str
    place: tuple[int, int]
    value: float
    unit: str
    start: int
    end: int
    plain: bool
    """Whether a mark, the end of the line or a field of a horizon stands behind it, and not ``wide ditch``."""


def single_depth_at(text: str, start: int, end: int, last: Entry | None, after_blank: bool = False) -> Entry | None:
    """The horizon that begins at ``start`` with one depth alone; ``last`` is the one above it."""
    one = _one_at(text, start, end)
    if one is None:
        return None
    if _may_be_first(one, last, after_blank):
        below = _next_in_line(text, one.end, end) or _next_in_lines(text, end)
        surface, other = Limit(0.0, 0.0, 0.0, one.unit), Limit(one.value, one.value, one.value, one.unit)
        limits = (surface, other, FROM_THE_SURFACE) if below and _begins_at(below, one) else (other, surface, ABOVE_THE_SURFACE) if below and last is None and _is_above(one, below) else None
        if limits:
            return Entry(start, one.name, one.place, Depths(limits[0], limits[1], one.unit, False, one.start, one.end, (limits[2],)), one.end, True)
    return Entry(start, one.name, one.place, None, one.end, True, lead=(one.start, one.end), notes=(NO_RANGE,)) if one.plain else None


def first_from_the_surface(entries: list[Entry]) -> list[Entry]:
    """The horizons of a pit, the first (or the first below organic layers that end at 0) from 0 to its one depth where the next begins at it.

    So that ``Ap: 15 cm`` and ``Depth: 15 cm`` on a card, read as where the horizon begins, mean what ``Ap 15 cm`` means.
    """
    for at, (entry, below) in enumerate(zip(entries, entries[1:])):
        above = entries[at - 1].depths if at else None
        if at and not (above and above.lower and above.lower.value == 0):
            continue
        one, next_ = entry.depths, below.depths
        if not one or not next_ or one.lower or one.open_plainly or next_.lower is None or one.upper.value <= 0 or next_.upper.value != one.upper.value or (next_.unit or one.unit) != (one.unit or next_.unit):
            continue
        depths = replace(one, upper=Limit(0.0, 0.0, 0.0, one.unit), lower=one.upper, open_below=False, notes=(*one.notes, FROM_THE_SURFACE))
        return [*entries[:at], replace(entry, depths=depths), *entries[at + 1 :]]
    return entries


def _one_at(text: str, start: int, end: int) -> _One | None:
    at = lead_end(text, start, end)
    named = designation_in(text, at, min(end, at + 40))
    if named is None or not is_designation(named[0]):
        return None
    spot = behind_words(text, _BETWEEN.match(text, named[1][1], end).end(), end)
    row = tokens(text[spot : min(end, spot + HEAD)], spot)
    number = number_at(row, 0)
    unit = unit_at(row, number[1]) if number else None
    if not number or not unit or unit[0] not in _UNITS:
        return None
    behind = unit[1]
    if behind < len(row) and (row[behind].key in ("+", "plus") or (row[behind].key in JOINS and number_at(row, behind + 1))):
        return None
    thick = behind < len(row) and row[behind].key in _THICK
    behind += thick
    last = row[behind - 1].end
    plain = bool(_PLAIN_END.match(text, last, end) and (len(named[0]) > 1 or not thick)) or (len(named[0]) > 1 and _describes(text[last : min(end, last + HEAD)]))
    return _One(*named, number[0], unit[0], row[0].start, last, plain)


def _describes(behind: str) -> bool:
    """Whether words begin with a field of a horizon: ``10YR 3/2 loam``."""
    phrases = find_phrases(behind)[0]
    return bool(phrases) and not behind[: phrases[0].start].strip() and phrases[0].what in ("matrix", *OF_THE_SOIL)


def _may_be_first(one: _One, last: Entry | None, after_blank: bool) -> bool:
    """Whether it may begin at the surface: the first of a pit, below an organic layer that ends there, or that of the next pit."""
    if last is None:
        return True
    if last.depths is None or last.depths.lower is None:
        return False
    return last.depths.lower.value == 0 or (after_blank and one.value < last.depths.lower.value)


def _begins_at(entry: Entry, one: _One) -> bool:
    upper, unit = entry.depths.upper, entry.depths.unit or one.unit
    return unit == one.unit and upper.low <= one.value <= upper.high


def _is_above(one: _One, below: Entry) -> bool:
    """``LFH 5 cm``, ``Ah 0-12``: an organic layer above a horizon that begins at 0 is as thick as its one depth."""
    organic, also = (any(parse_designation(name, convention).organic for convention in CONVENTIONS) for name in (one.name, below.designation))
    return organic and not also and below.depths.upper.value == 0


def _next_in_line(text: str, start: int, end: int) -> Entry | None:
    for mark in _MARK.finditer(text, start, end):
        entry = entry_at(text, mark.end(), end)
        if entry and entry.known and entry.depths and (entry.depths.lower or entry.depths.open_plainly):
            return entry
    return None


def _next_in_lines(text: str, at: int) -> Entry | None:
    for _ in range(_LINES):
        at = text.find("\n", at) + 1
        if not at:
            return None
        end = text.find("\n", at)
        end = len(text) if end < 0 else end
        if starts_pit(text[at:end]):
            return None
        entry = entry_at(text, at, end)
        if entry:
            return entry if entry.depths else None
    return None
