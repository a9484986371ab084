"""A description cut where its groups end: at semicolons and full stops outside of brackets."""

from __future__ import annotations

import re

from ...vocabulary.tables import table

_BREAK = re.compile(r"[;()\[\]]|\.(?=\s|$)|(?<=[^\s])\t(?=[^\s])|\|")
_LAST_WORD = re.compile(r"([A-Za-z]+)$")


_GAP = re.compile(r"(?<=\S)[ ]{2,}(?=\S)")


def segments(text: str) -> list[tuple[int, int]]:
    """(start, end) of the groups of a description, without the marks between them."""
    found = _cut(text, brackets=True)
    found = found if found is not None else _cut(text, brackets=False)
    return [part for first, last in found for part in _columns(text, first, last)] if _is_in_columns(text) else found


def _is_in_columns(text: str) -> bool:
    """Whether blanks part the fields of one line: more gaps than marks."""
    gaps = len(_GAP.findall(text)) if "  " in text else 0
    return gaps >= 2 and gaps > text.count(",") + text.count(";") and "\n" not in text.strip()


def _columns(text: str, first: int, last: int) -> list[tuple[int, int]]:
    parts, start = [], first
    for gap in _GAP.finditer(text, first, last):
        parts.append((start, gap.start()))
        start = gap.end()
    return [*parts, (start, last)]


def _cut(text: str, brackets: bool) -> list[tuple[int, int]] | None:
    short = table("notes")["abbreviations"]["words"]
    found, start, depth = [], 0, 0
    for match in _BREAK.finditer(text):
        mark = match.group()
        if mark in "([":
            depth += 1
        elif mark in ")]":
            depth = max(depth - 1, 0)
        elif depth and brackets:
            continue
        elif mark in ";\t|" or not _is_abbreviation(text, match.start(), short):
            found.append((start, match.start()))
            start = match.end()
    if depth and brackets:
        return None  # a bracket that is never closed must not swallow the rest
    found.append((start, len(text)))
    return [(first, last) for first, last in found if text[first:last].strip()]


def _is_abbreviation(text: str, at: int, short: list[str]) -> bool:
    word = _LAST_WORD.search(text[max(at - 12, 0) : at])
    return bool(word) and word[1].casefold() in short
