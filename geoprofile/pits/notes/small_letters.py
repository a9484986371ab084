"""Horizons typed on a phone, without capitals: ``ae 0-8 7.5yr 7/1 moist sandy loam``, ``lfh 4-0``, ``ck 33-70+``.

A word in small letters is a designation only at the beginning of a line, where all of
it is one with its capitals, depths follow at once, and these go on from the horizon above.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

from .depths import Depths, depths_at, goes_on_from
from .entries import HEAD, Entry, is_designation
from .spelled import cased
from .tokens import tokens

_WORD = re.compile(r"\s*(?:[-*\u2022]\s+)?(?P<name>(?:\d|i{1,3}|iv)?[a-z]{1,5}\d{0,2}[a-z]{0,2})(?P<behind>\s*[:,\u2010-\u2015-]*\s*)(?=\d|[<>+~])")
_FORM = re.compile(r"(\d|i{1,3}|iv)?([a-z]{1,5})(\d{0,2})([a-z]{0,2})")
_ENGLISH = frozenset({"a", "of", "oh", "ah", "be", "he", "ha"})
"""Words of the language that are designations too: only at the surface, or right below an organic horizon."""
NOTE = "a designation in small letters is read with its capitals"


def small_letters_at(text: str, start: int, end: int, last: Entry | None) -> Entry | None:
    """The horizon that begins a line in small letters below ``last`` (None at the beginning of a pit); None where there is none."""
    found = _WORD.match(text, start, end)
    name = with_capitals(found["name"]) if found else ""
    if not name:
        return None
    row = tokens(text[found.end() : min(end, found.end() + HEAD)], found.end())
    depths = depths_at(row, 0)
    if depths is None or not _goes_on(depths[0], last, is_a_word=found["name"] in _ENGLISH):
        return None
    noted = replace(depths[0], notes=(*depths[0].notes, NOTE))
    return Entry(start, name, found.span("name"), noted, noted.end, True)


@lru_cache(maxsize=2_000)
def with_capitals(word: str) -> str:
    """``bfgj`` is Bfgj, ``lfh`` LFH, ``ab`` AB, ``iick`` IICk; '' where no convention knows the whole word as a designation."""
    form = _FORM.fullmatch(word)
    if not form:
        return ""
    for before, letters in ((form[1] or "", form[2]), ("", (form[1] or "") + form[2])):
        if letters.isalpha():
            name = f"{before.upper()}{cased([letter.upper() for letter in letters])}{form[3]}{form[4]}"
            if is_designation(name):
                return name
    return ""


def _goes_on(depths: Depths, last: Entry | None, is_a_word: bool) -> bool:
    """Whether depths follow the last, or are at the surface; below another in small letters they may leave a gap."""
    if depths.lower is None and not depths.open_plainly:
        return False
    at_surface = depths.lower is not None and 0 in (depths.upper.value, depths.lower.value)
    if last is None or last.depths is None or last.depths.lower is None:
        return at_surface or (last is None and not is_a_word and depths.lower is not None and depths.lower.value < depths.upper.value)
    follows = goes_on_from(depths, last.depths)
    if is_a_word:
        return at_surface or (follows and last.designation[0] in "OLFH")
    return follows or at_surface or (NOTE in last.depths.notes and depths.upper.low >= last.depths.lower.high)
