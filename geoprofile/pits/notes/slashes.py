"""Entries whose fields are parted by slashes: ``Ap 0-6 in / 10YR 3/3 / sil / 1 f gr / mvfr``.

A slash with blanks on both sides parts fields, where the line shows that it is written
so: by a slash right behind the depths, or by more such slashes than commas and
semicolons. It is then read as a semicolon. The slash of a colour (``10YR 4 / 3``), of
a date, of two coordinates and of a combination horizon (``E / B 10-20``) is none of these.
"""

from __future__ import annotations

import re

_APART = re.compile(r"(?:(?<=[ \t])|^)/(?=[ \t\r]|$)", re.MULTILINE)
_HALF_APART = re.compile(r"(?<=[^\s/])/(?=[ \t]+\S)|(?<=\S[ \t])/(?=[^\s/])")
_LINES = re.compile(r"[^\n]+")
_HUE_BEFORE = re.compile(r"(?i)(?:YR|GY|BG|PB|RP|[YRGBPN])\s*\d+(?:\.\d+)?\s*$")
_DATE = re.compile(r"\b\d{1,4} / \d{1,2} / \d{2,4}\b")
_COORDINATE_BEFORE = re.compile(r"\d{5,}(?:\.\d+)?\s*$")
_COMBINATION = re.compile(r"\s*[\^\dIVX]{0,3}[A-Z]{1,2}[a-z]{0,3}\d? /(?= [A-Z]{1,2}[a-z]{0,3}\d?[\s:,\u2010-\u2015-]+\d)")
_BEHIND_DEPTHS = re.compile(r"\s*(?:[^\W\d_][\w'\u2019]{0,8}|\d[A-Z][\w'\u2019]{0,8})\s*[:,\u2010-\u2015-]*\s*\d[\d\s.,+'\"\u2032\u2033\u201d\u2010-\u2015\u00bc-\u00be-]*(?:to\s*\d[\d.]*\s*)?(?:inches|inch|in\.?|cm|centimet(?:re|er)s)?\+?\s*$")


def fields_apart(text: str) -> str:
    """``text`` with a semicolon for each slash that parts fields; as long as the text. A line that goes on with such an entry is read as it is."""
    if not _APART.search(text):
        return text
    read, at, goes_on, last = [], 0, False, -1
    for line in _LINES.finditer(text):
        goes_on = goes_on and line.start() == last + 1
        last = line.end()
        places = _slashes(line.group())
        if not places:
            goes_on = goes_on and bool(line.group().strip())
            continue
        goes_on = goes_on or _is_apart(line.group(), places)
        if goes_on:
            for place in places:
                read += [text[at : line.start() + place], ";"]
                at = line.start() + place + 1
    return "".join([*read, text[at:]])


def _slashes(line: str) -> list[int]:
    """Places of slashes between blanks that are not part of a colour, a date, coordinates or a designation."""
    if "/" not in line:
        return []
    not_these = {date.start() + place for date in _DATE.finditer(line) for place, mark in enumerate(date.group()) if mark == "/"}
    combination = _COMBINATION.match(line)
    if combination:
        not_these.add(combination.end() - 1)
    apart = [*_APART.finditer(line)]
    if len(apart) > 1:  # sg / ST/ clear
        apart = sorted([*apart, *_HALF_APART.finditer(line)], key=lambda found: found.start())
    return [
        found.start() for found in apart
        if found.start() not in not_these and not (re.match(r"\s*\d", line[found.end() :]) and (_HUE_BEFORE.search(line[: found.start()]) or _COORDINATE_BEFORE.search(line[: found.start()])))
    ]  # fmt: skip


def _is_apart(line: str, places: list[int]) -> bool:
    return _BEHIND_DEPTHS.match(line[: places[0]]) is not None or len(places) > max(1, line.count(",") + line.count(";"))
