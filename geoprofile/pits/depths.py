"""Depths as people write them, in centimetres: ranges of horizons, and single depths and readings.

``10-25``, ``25 - 45 cm``, ``45+``, ``6"-12"``, ``100-120/130``; ``>126``, ``15-21``,
``absent``. A date that a spreadsheet made of a depth is proposed, never applied;
a unit that contradicts the stated one is a problem, never averaged away.
"""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from dataclasses import dataclass, replace
from functools import lru_cache

CM_IN = {"mm": 0.1, "cm": 1.0, "m": 100.0, "in": 2.54, "ft": 30.48}
"""Centimetres in each unit."""

UNIT_WORDS = {
    "mm": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "cm": "cm",
    "cms": "cm",
    "centimetre": "cm",
    "centimetres": "cm",
    "centimeter": "cm",
    "centimeters": "cm",
    "m": "m",
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
    "in": "in",
    "ins": "in",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "''": "in",
    "ft": "ft",
    "foot": "ft",
    "feet": "ft",
    "'": "ft",
}
MONTHS = {
    name: number
    for number, name in enumerate(
        ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"), start=1
    )
}

_UNIT = "|".join(sorted((re.escape(word) for word in UNIT_WORDS), key=len, reverse=True))
_NUMBER = r"[-+]?\d+(?:[.,]\d+)?(?:\s+\d/\d)?"
_DEPTH = rf"(?P<{{0}}>{_NUMBER})\s*(?:(?P<{{0}}_unit>{_UNIT})\.?(?![a-z]))?"


def _depth(name: str) -> str:
    return _DEPTH.format(name)


_OR = r"\s*(?:/|\bor\b)\s*"
_TO = r"\s*(?:-+|\bto\b|\.{2,3}|~|\bthrough\b)\s*"
_RANGE = re.compile(
    rf"{_depth('upper')}(?:{_OR}{_depth('upper_other')})?{_TO}"
    rf"(?P<deeper>>=?\s*)?{_depth('lower')}(?:{_OR}{_depth('lower_other')})?\s*(?P<open>\+|and (?:below|deeper|more))?"
    rf"(?:\s*(?P<late_unit>{_UNIT})\.?)?"
)
_OPEN = re.compile(
    rf"(?:>=?\s*{_depth('first')}|{_depth('second')}\s*(?:\+|-+\s*\??|and (?:below|deeper|more)|-+\s*(?:open|bottom))"
    rf"(?:\s*(?P<late_unit>{_UNIT})\.?)?)"
)
_ONE = re.compile(rf"(?P<sign>>=?|<=?|~)?\s*{_depth('one')}\s*(?P<open>\+)?(?:\s*(?P<late_unit>{_UNIT})\.?)?")
_BETWEEN = re.compile(rf"{_depth('low')}\s*(?:-+|/|\bto\b|\.{{2,3}}|\band\b)\s*{_depth('high')}")
_WITH_LIMITS = re.compile(rf"{_depth('one')}\s*\(\s*{_depth('low')}{_TO}{_depth('high')}\s*\)(?:\s*(?P<late_unit>{_UNIT})\.?)?")
_WORDED = (
    (re.compile(r"^(?:at least|more than|deeper than|greater than|over|below|exceeds)\s+"), ">"),
    (re.compile(r"^(?:at most|less than|shallower than|within|up to|under)\s+"), "<"),
    (re.compile(r"^(?:about|approximately|approx\.?|circa|ca\.?|c\.)\s*"), "~"),
)
_ABSENT = {"absent", "none", "nil", "not present", "no", "not there"}
_NOT_SEEN = {"not seen", "not reached", "not encountered", "not met", "not found"}
_NOT_DESCRIBED = {"", "not described", "not recorded", "not observed", "not tested", "unknown"}
_SURFACE = {"surface", "at surface", "at the surface"}
_PLAUSIBLE_CM = 10000.0
_DATED = "a date stands where a depth belongs: the spreadsheet changed what was typed"


@dataclass(frozen=True, slots=True)
class DepthRange:
    """Upper and lower depth of a horizon, cm, as written: not yet turned to a datum.

    ``upper_low`` ... ``lower_high`` are the limits where a range was written
    (``100-120/130``: lower 125, between 120 and 130). ``open_below`` marks ``45+``.
    ``unit`` is the unit the cell itself states, '' where it states none.
    ``proposal`` is what may have been meant, not applied; ``problem`` says in one
    phrase why the text was not (or not safely) read.
    """

    upper: float | None = None
    lower: float | None = None
    upper_low: float | None = None
    upper_high: float | None = None
    lower_low: float | None = None
    lower_high: float | None = None
    open_below: bool = False
    unit: str = ""
    proposal: str = ""
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Depth:
    """One depth or direct reading, cm, in the words of an interval (status, presence)."""

    low: float | None = None
    high: float | None = None
    status: str = "unknown"
    presence: str = "not_described"
    unit: str = ""
    about: bool = False
    """Written as approximate (``~17``)."""
    stated: float | None = None
    """The depth itself where its limits are written beside it (``15 (10-21)``)."""
    proposal: str = ""
    problem: str = ""

    @property
    def value(self) -> float | None:
        """The depth, where it is one number."""
        if self.stated is not None:
            return self.stated
        return self.low if self.low == self.high else None


def parse_depth_range(text: object, unit: str | None = None, default: str = "cm") -> DepthRange:
    """Upper and lower depth from one cell.

    Parameters
    ----------
    text : the cell, as text or as the date a workbook holds.
    unit : the stated unit (of the heading or of the survey file). A cell that names
        another one has a problem; its depths are still given by its own unit.
    default : unit of a cell that names none when ``unit`` is not stated.

    One number alone is not a range; numbers are never taken from a date (R5, R14,
    R15, R16).
    """
    dated = _date_proposal(text)
    if dated:
        return DepthRange(proposal=dated, problem=_DATED)
    return _range(normal_text(text), unit, default)


def parse_depth(text: object, unit: str | None = None, default: str = "cm") -> Depth:
    """One depth, or a direct reading such as ``>126``, ``<30``, ``15-21``, ``17``, ``absent``, ``not seen``.

    Parameters as in :func:`parse_depth_range`. ``absent`` has neither depth nor
    thickness here: what it means depends on the attribute.
    """
    dated = _date_proposal(text)
    if dated:
        return Depth(proposal=dated, problem=_DATED)
    return _reading(normal_text(text), unit, default)


def normal_text(text: object) -> str:
    """Lower case; plain dashes, quotes, primes and spaces (R14); a half sign becomes 1/2."""
    clean = str(text)
    clean = re.sub(r"(?<=\d)(?=[\u00bc-\u00be])", " ", clean)
    clean = unicodedata.normalize("NFKC", clean).replace("\u2044", "/")
    clean = re.sub("[\u2010-\u2015\u2212\u00ad\ufe63\uff0d]", "-", clean)
    clean = re.sub("[\u201c\u201d\u2033\u201e]", '"', clean).replace("\u2032\u2032", '"')
    clean = re.sub("[\u2018\u2019\u2032\u00b4`]", "'", clean)
    clean = clean.replace("\u2265", ">=").replace("\u2264", "<=").replace("\u2248", "~").replace("\u200b", "")
    return " ".join(clean.casefold().split())


@lru_cache(maxsize=65536)
def _range(clean: str, stated: str | None, default: str) -> DepthRange:
    # two dashes are one long one (10--25), but after a negative depth the second is a sign (-5--2)
    found = _RANGE.fullmatch(re.sub(r"(?<=\d)--(?=\d)", "- -", clean) if clean.startswith("-") else clean)
    opened = None if found else _OPEN.fullmatch(clean)
    if not found and not opened:
        return DepthRange(problem=_why_not_a_range(clean))
    if found:
        groups = found.groupdict()
    else:
        first = "first" if opened["first"] else "second"
        groups = {"upper": opened[first], "upper_unit": opened[f"{first}_unit"], "late_unit": opened["late_unit"]}
    factor, own, problem = _factor(_units(groups), stated, default)
    if factor is None:
        return DepthRange(unit=own, problem=problem)

    def depth(name: str) -> float | None:
        return _number(groups[name], factor) if groups.get(name) else None

    upper, upper_other = depth("upper"), depth("upper_other")
    lower, lower_other = depth("lower"), depth("lower_other")
    upper, upper_low, upper_high = _middle(upper, upper_other)
    lower, lower_low, lower_high = _middle(lower, lower_other)
    is_open = bool(opened or groups.get("open") or groups.get("deeper"))
    if is_open:
        lower_high = None
    return DepthRange(upper, lower, upper_low, upper_high, lower_low, lower_high, is_open, own, problem=problem)


def _why_not_a_range(clean: str) -> str:
    if not clean:
        return "no depth is written"
    if _ONE.fullmatch(clean):
        return "one depth alone is not a range: upper or lower depth is missing"
    return "this is not a range of depths"


@lru_cache(maxsize=65536)
def _reading(clean: str, stated: str | None, default: str) -> Depth:
    if clean in _NOT_DESCRIBED:
        return Depth()
    if clean in _ABSENT:
        return Depth(status="absent", presence="absent")
    if clean in _NOT_SEEN:
        return Depth(presence="not_seen")
    if clean in _SURFACE:
        return Depth(0.0, 0.0, "at_surface", "present")
    for pattern, sign in _WORDED:
        clean = pattern.sub(sign, clean)
    found = _ONE.fullmatch(clean)
    pair = None if found else _BETWEEN.fullmatch(clean)
    limits = None if found or pair else _WITH_LIMITS.fullmatch(clean)
    if not found and not pair and not limits:
        return Depth(problem="this is not a depth")
    groups = (limits or found or pair).groupdict()
    factor, own, problem = _factor(_units(groups), stated, default)
    if factor is None:
        return Depth(unit=own, problem=problem)
    if limits:
        value, low, high = (_number(groups[name], factor) for name in ("one", "low", "high"))
        if not low <= value <= high:
            return Depth(unit=own, problem="the limits in brackets do not hold the depth before them")
        return Depth(low, high, "between", "present", own, stated=value, problem=problem)
    if pair:
        low, high = sorted((_number(groups["low"], factor), _number(groups["high"], factor)))
        status = "measured" if low == high else "between"
        return Depth(low, high, status, "present", own, problem=problem)
    value = _number(groups["one"], factor)
    ready = Depth(value, value, "measured", "present", own, groups["sign"] == "~", problem=problem)
    if not own and abs(value) > _PLAUSIBLE_CM:
        return Depth(proposal=_serial_proposal(value), problem="far too deep for a depth; a date stored as a number?")
    if groups["open"] or (groups["sign"] or "").startswith(">"):
        return replace(ready, high=None, status="at_least", presence="not_seen")
    if (groups["sign"] or "").startswith("<"):
        return replace(ready, low=None, status="at_most")
    return ready


def _units(groups: dict[str, str | None]) -> set[str]:
    return {UNIT_WORDS[word] for name, word in groups.items() if name.endswith("unit") and word}


def _factor(units: set[str], stated: str | None, default: str) -> tuple[float | None, str, str]:
    """(centimetres in the unit or None, the cell's own unit, problem)."""
    if len(units) > 1:
        return None, "", f"two units in one cell: {' and '.join(sorted(units))}"
    own = next(iter(units), "")
    if own and stated and own != stated:
        return CM_IN[own], own, f"the cell says {own}, the stated unit is {stated}"
    return CM_IN[own or stated or default], own, ""


def _number(text: str, factor: float) -> float:
    whole, _, fraction = text.replace(",", ".").partition(" ")
    value = float(whole)
    if fraction:
        above, below = fraction.split("/")
        value += (-1 if whole.startswith("-") else 1) * float(above) / float(below)
    return round(value * factor, 6) + 0.0


def _middle(one: float | None, other: float | None) -> tuple[float | None, float | None, float | None]:
    """(value, low, high): the middle and its limits where two were written."""
    if one is None or other is None:
        return one, one, one
    return (one + other) / 2, min(one, other), max(one, other)


def _date_proposal(text: object) -> str:
    """The depths that a spreadsheet may have turned into this date; '' where it is none."""
    if isinstance(text, (dt.datetime, dt.date)):
        if text != text:  # a missing date
            return ""
        return _proposal_of(text.year, text.month, text.day)
    clean = normal_text(text)
    found = re.fullmatch(r"(\d{1,4})[- ]([a-z]{3})[a-z]*\.?(?:[- ,]+(\d{2,4}))?", clean)
    if found and found[2] in MONTHS:
        return _day_month(int(found[1]), MONTHS[found[2]], found[3])
    found = re.fullmatch(r"([a-z]{3})[a-z]*\.?[- ](\d{1,4})(?:[- ,]+(\d{2,4}))?", clean)
    if found and found[1] in MONTHS:
        return f"{MONTHS[found[1]]}-{int(found[2])}"
    found = re.fullmatch(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[ t]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?z?)?", clean)
    if found:
        return _proposal_of(int(found[1]), int(found[2]), int(found[3]))
    found = re.fullmatch(r"(\d{1,2})([/.])(\d{1,2})\2(\d{4})(?:[ t]\d{1,2}:\d{2}(?::\d{2})?)?", clean)
    if found:
        return _ordered(int(found[1]), int(found[3]))
    return ""


def as_text_again(text: str) -> str:
    """What to do with a cell of a workbook that became a date: ``text`` as 2026-04-10; the proposal is never applied."""
    found = re.match(r"(\d{4})-(\d{2})-(\d{2})", text)
    if not found:
        return "format the cell as text and write it again"
    year, month, day = (int(part) for part in found.groups())
    downward, upward = _proposal_of(year, month, day), f"{month}-{day}"  # upward, as 10-4 of litter
    meant = downward if downward == upward or (day == 1 and year < 2000) else f"{downward} or {upward}"
    return f"is it {meant}? Then format the cell as text and write it so"


def _proposal_of(year: int, month: int, day: int) -> str:
    # a month and a number too large for a day become the first of that month in that year: 12-40 is 1 December 1940
    if day == 1 and 1930 <= year < 2000:
        return f"{month}-{year - 1900}"
    return _ordered(month, day)


def _day_month(first: int, month: int, year: str | None) -> str:
    if year and first == 1 and 29 < int(year) % 100:
        return f"{month}-{int(year) % 100}"
    return _ordered(first, month)


def _ordered(one: int, other: int) -> str:
    return f"{min(one, other)}-{max(one, other)}"


def _serial_proposal(value: float) -> str:
    if not 20000 < value < 80000:
        return ""
    day = dt.date(1899, 12, 30) + dt.timedelta(days=int(value))
    return _proposal_of(day.year, day.month, day.day)
