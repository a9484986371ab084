"""Depths that belong to no horizon: a layer told without a designation (``Gravel fill 0-30 cm``), and pits of which nothing was read.

Such a layer is no horizon, for nothing says which, and it is no part of the horizon above.
Its words are kept with the pit, and the reader lists them.
"""

from __future__ import annotations

import re
from functools import cache

from ...vocabulary.tables import table
from .depths import depths_at, goes_on_from
from .entries import HEAD, Entry, is_designation
from .lexicon import items
from .tokens import tokens

_UNIT = r"(?:cm|centimetres|centimeters|inches|in\b|\")"
_RANGE = re.compile(rf"(?<![\d.,/-])\d{{1,3}}(?:\.\d+)?\s*{_UNIT}?\s*(?:-|\u2013|\u2014|to)\s*\d{{1,3}}(?:\.\d+)?(?![\d/-]|\.\d)\s*(?P<unit>{_UNIT})?")
_NAME = re.compile(r"([\dIVX]{0,3}[A-Z]\w{0,5})[\s:,(]{1,3}$")
_WORDS = re.compile(r"[\s*\u2022>-]*(?P<words>[A-Za-z][A-Za-z,'/ \t()\u2010-\u2015-]{1,50}?)[\s:,(\u2010-\u2015-]*(?=\d)")
_CLAUSE = re.compile(r"[,;]\s+|\.\s+(?=[A-Z\w])")
_OF_A_HORIZON = {"boundary", "distinctness", "roots", "mottle", "mottled", "noun", "thick"}


def layer_in(text: str, start: int, end: int, last: Entry) -> tuple[int, int] | None:
    """(where the horizon ends, where the layer begins) of a clause in ``text[start:end]`` that tells a layer below the horizon ``last``."""
    if last.depths is None or last.depths.lower is None:
        return None
    for cut, at in reversed(((start, start), *(mark.span() for mark in _CLAUSE.finditer(text, start, end)))):  # loam, gravel fill 30-45 cm
        if is_layer(text, at, end, last):
            return cut, at
    return None


def is_layer(text: str, start: int, end: int, last: Entry) -> bool:
    """Whether words for a material and depths that go on from the horizon ``last`` begin at ``start``."""
    lead = _WORDS.match(text, start, end)
    if not lead or last.depths is None:
        return False
    found = depths_at(tokens(text[lead.end() : min(end, lead.end() + HEAD)], lead.end()), 0)
    if not found or found[0].lower is None or found[0].lower.value <= found[0].upper.value or not goes_on_from(found[0], last.depths) or last.depths.lower.value <= 0:
        return False
    said = items(lead["words"])
    kinds = {kind for one in said for kind in one.values}
    named = bool({"texture", "fragment", "rock", "bedrock"} & kinds) or not _materials().isdisjoint(re.findall(r"[a-z]+", lead["words"].casefold()))
    return named and not _OF_A_HORIZON & kinds


def is_below_a_layer(text: str, start: int, end: int, entry: Entry, last: Entry | None = None) -> bool:
    """Whether ``text[start:end]`` tells depths that a horizon goes on from: right before it (``Gravel fill 0-30 cm, then Bt 30-60``), or from the horizon ``last`` on."""
    if not entry.known or entry.depths is None or entry.depths.lower is None or (last and (last.depths is None or last.depths.lower is None)):
        return False
    for found in _RANGE.finditer(text, start, end):
        upper, lower = (float(number) for number in re.findall(r"\d+(?:\.\d+)?", found.group())[:2])
        begins = last.depths.lower.low <= upper <= last.depths.lower.high if last else not text[found.end() : end].strip(" ,.;:")
        if begins and upper < lower and entry.depths.upper.low <= lower <= entry.depths.upper.high:
            return True
    return False


def depths_in(words: str) -> tuple[str, ...]:
    """The lines of some words in which depths stand: a range with a unit, or behind a designation."""
    return tuple(" ".join(line.split()) for line in words.splitlines() if any(found["unit"] or _is_named(line[: found.start()]) for found in _RANGE.finditer(line)))


def tells_what_lies_above(words: str, upper: float) -> bool:
    """Whether some words tell depths that end at or above the upper depth of the first horizon, in the unit of the notes."""
    for found in _RANGE.finditer(words):
        lower = float(re.findall(r"\d+(?:\.\d+)?", found.group())[1])
        if lower == upper or (lower < upper and (found["unit"] or _is_named(words[: found.start()]))):
            return True
    return False


def _is_named(before: str) -> bool:
    name = _NAME.search(before)
    return name is not None and is_designation(name[1])


@cache
def _materials() -> frozenset[str]:
    return frozenset(table("notes")["layers"]["materials"])
