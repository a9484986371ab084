"""The depths of a horizon in running speech: behind its designation, with words between, before it, or cut off by the end of the hole."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cache

from ...vocabulary.tables import table
from .depths import Depths, depths_at, goes_on_from
from .entries import HEAD, behind_words
from .spelled import names_at, number_words
from .tokens import tokens

SENTENCE = re.compile(r"[.!?](?=\s|$)")


def depths_behind(text: str, at: int, end: int, last: Depths | None) -> tuple[Depths, tuple[int, int] | None] | None:
    """The depths behind a designation that go on from the last; and the place of words between the two."""
    spot = at
    while spot < end and text[spot] in " ,:":
        spot += 1
    spot = behind_words(text, spot, end)
    thick = _thick().match(text, spot, end)
    first = thick.end() if thick else spot
    cut_off = _cut_off_depths(text, first, end)
    if cut_off and is_plausible(cut_off, last, directly=True):
        return cut_off, None
    row = tokens(text[first:end], first)
    for number in range(len(row)):
        if number and row[number].kind != "number" and row[number].key != "from":
            if row[number].text[:1].isupper() and names_at(text, row[number].start, end):
                return None  # the depths are those of the next
            continue
        found = depths_at(row, number)
        if found is None or not is_plausible(found[0], last, directly=number == 0):
            continue
        depths = found[0]
        if number and _is_of_the_next(text, depths.end, min(end + 40, len(text))):
            continue
        if depths.lower is None and not depths.open_plainly:
            if not _starts_there().search(text, at, depths.start):
                continue
            depths = replace(depths, open_below=True, open_plainly=True)
        return depths, (at, depths.start) if number or thick else None
    return None


def _cut_off_depths(text: str, at: int, end: int) -> Depths | None:
    """``fifty-eight to, well, I got the auger to ninety``: the end of the observation instead of the lower depth."""
    tools = "|".join(table("notes")["dictation"]["tools"])
    found = re.compile(rf"(?i)(?:from\s+)?(?P<upper>[\w. -]+?)\s+(?:down\s+)?to\s*(?:[,.\u2010-\u2015-]+\s*)+(?:[a-z']+,?\s+){{0,8}}?(?:{tools})\s+(?:down\s+)?to\s+(?:about\s+)?").match(text, at, end)
    upper = depths_at(tokens(f"{found['upper']} to 999", found.start("upper")), 0) if found else None
    lower = depths_at(tokens(text[found.end() : end], found.end()), 0) if found else None
    if upper is None or lower is None or lower[0].lower is not None:
        return None
    notes = ("the lower depth is the end of the observation",)
    return Depths(upper[0].upper, lower[0].upper, lower[0].unit, True, found.start("upper"), lower[0].end, notes, True)


def depths_before(text: str, at: int, since: int, last: Depths | None) -> Depths | None:
    """``from nineteen to fifty-two we've got a B T``: depths right before a designation, with words of a lead between."""
    start = max(since, at - HEAD)
    sentence = list(SENTENCE.finditer(text, start, at))
    start = sentence[-1].end() if sentence else start
    row = tokens(text[start:at], start)
    for number, token in enumerate(row):
        if token.kind != "number" and token.key not in ("from", "surface"):
            continue
        found = depths_at(row, number)
        if found and found[0].lower is not None and (is_plausible(found[0], last, directly=False) or _is_deeper(found[0], last)):
            behind = row[found[1] :]
            if all(one.key == "," or one.text.casefold() in lead_words() for one in behind):
                return found[0]
    return None


def _is_deeper(depths: Depths, last: Depths | None) -> bool:
    """Whether both depths are deeper than the last: right before a designation that is the next horizon, though one of the two is wrong."""
    return last is not None and last.lower is not None and last.lower.value > last.upper.value and depths.lower.low > last.lower.high and depths.upper.low > last.upper.high


def is_plausible(depths: Depths, last: Depths | None, directly: bool) -> bool:
    """Whether depths go on from the last, or begin at the surface; right behind a designation they may leave a gap."""
    if depths.lower is None and not depths.open_plainly:
        return directly and last is not None and goes_on_from(depths, last)  # the C starts at thirty
    if last is None or last.lower is None:
        return last is None and depths.lower is not None and (directly or 0 in (depths.upper.value, depths.lower.value))
    return goes_on_from(depths, last) or (directly and depths.upper.low >= last.lower.high and (depths.lower is None or depths.lower.high > depths.upper.low))


def _is_of_the_next(text: str, at: int, end: int) -> bool:
    """Whether words of a lead and another designation stand behind depths: ``from nine to thirty we have the B T``."""
    while found := re.compile(r"[\s,]*([\w'\u2019]+)").match(text, at, end):
        if names_at(text, found.start(1), end):
            return True
        if found[1].casefold().replace("\u2019", "'") not in lead_words():
            return False
        at = found.end()
    return False


@cache
def _starts_there() -> re.Pattern:
    return re.compile(r"(?i)\b(?:starts?|starting|begins?|beginning|from)\b")


@cache
def _thick() -> re.Pattern:
    """``six centimetres thick, so``: before the depths themselves."""
    return re.compile(rf"(?i)(?:(?:is|about|only|just|some|it's)\s+)*(?:\d+(?:\.\d+)?|(?:{number_words()})(?:[ -](?:{number_words()}))?)\s*(?:cm|centimet(?:re|er)s?|inch(?:es)?|in)?\s+thick[,\s]+(?:(?:so|and|that's|that is|which is|meaning|from)\s+)*")


@cache
def lead_words() -> frozenset[str]:
    """Words that lead to a horizon and say nothing of the one above."""
    return frozenset(table("notes")["dictation"]["leads"])
