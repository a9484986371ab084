"""Degrees, minutes and seconds, and UTM zones, read from text.

The sign holds for the whole angle (R18): ``-0 30 0`` and ``0 30 0 W`` are both
-0.5. A letter S behind a zone may mean south or the band S (R19): it is asked about.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from .depths import normal_text

_ANGLE = re.compile(
    r"(?P<first>[nsewo])?\s*(?P<sign>[-+])?\s*(?P<degrees>\d{1,3}(?:[.,]\d+)?)\s*(?:°|º|deg(?:rees)?\.?|d|:)?\s*"
    r"(?:(?P<minutes>\d{1,2}(?:[.,]\d+)?)\s*(?:'|min(?:utes)?\.?|m|:)?\s*)?"
    r"(?:(?P<seconds>\d{1,2}(?:[.,]\d+)?)\s*(?:\"|''|sec(?:onds)?\.?|s(?=\s*[nsewo]$))?\s*)?(?P<last>[nsewo])?"
)
_ZONE = re.compile(
    r"(?:utm\s*)?(?:zone\s*)?(?P<number>\d{1,2})\s*-?\s*(?P<letter>[a-z]|north|south)?(?:ern hemisphere)?"
)
_PLACE = re.compile(
    r"(?P<zone>(?:utm\s*)?(?:zone\s*)?\d{1,2}(?:[a-z]|\s+(?!e\s*\d)[a-z])?)[\s,;]+"
    r"(?:e\s*)?(?P<easting>\d{5,8}(?:\.\d+)?)\s*(?:m?\s*e)?[\s,;]+"
    r"(?:n\s*)?(?P<northing>\d{5,8}(?:\.\d+)?)\s*(?:m?\s*n)?"
)


@dataclass(frozen=True, slots=True)
class Angle:
    """``degrees`` is None where the text could not be used; ``problem`` says why."""

    degrees: float | None = None
    axis: str = ""
    """latitude or longitude where a letter says so, else ''"""
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Utm:
    """A UTM place or, without numbers, a zone. ``north`` is None where the hemisphere is not known."""

    easting: float | None = None
    northing: float | None = None
    zone: int | None = None
    north: bool | None = None
    problem: str = ""


@lru_cache(maxsize=65536)
def parse_angle(text: str, axis: str = "") -> Angle:
    """An angle in decimal degrees, or degrees with minutes and seconds.

    Parameters
    ----------
    text : ``49 30 15.2 N``, ``N49°30'15.2"``, ``-113:28:04``, ``49.5042``.
    axis : ``latitude`` or ``longitude`` when the column says it; a letter that
        contradicts it is a problem.
    """
    clean = normal_text(text)
    found = _ANGLE.fullmatch(clean)
    if not found:
        return Angle(problem="this is not an angle")
    first, last = found["first"] or "", found["last"] or ""
    if last == "s" and re.search(r"d.*m[^s]*s$", clean):  # 49d30m15s: this s is for seconds
        last = ""
    letter = first or last
    if first and last and first != last:
        return Angle(problem=f"two letters that disagree: {first.upper()} and {last.upper()}")
    if letter == "o":
        return Angle(problem="O is west in French and Spanish, east in German: write W or E")
    named = {"n": "latitude", "s": "latitude", "e": "longitude", "w": "longitude", "": ""}[letter]
    if named and axis and named != axis:
        return Angle(axis=named, problem=f"{letter.upper()} stands in the column of {axis}s")
    axis = axis or named
    degrees, minutes, seconds = (
        float((found[name] or "0").replace(",", ".")) for name in ("degrees", "minutes", "seconds")
    )
    if minutes >= 60 or seconds >= 60:
        return Angle(axis=axis, problem="minutes and seconds are below 60")
    if degrees % 1 and (found["minutes"] or found["seconds"]) or minutes % 1 and found["seconds"]:
        return Angle(axis=axis, problem="only the last of degrees, minutes and seconds may have decimals")
    value = degrees + minutes / 60 + seconds / 3600
    south_or_west = letter in ("s", "w")
    if found["sign"] == "-" and letter in ("n", "e") or found["sign"] == "+" and south_or_west:
        return Angle(
            axis=axis, problem=f"the sign {found['sign']} and the letter {letter.upper()} contradict each other"
        )
    if value > (90 if axis == "latitude" else 180):
        return Angle(axis=axis, problem=f"{value:g} degrees is off the globe")
    value = -value if found["sign"] == "-" or south_or_west else value
    return Angle(value + 0.0, axis)


@lru_cache(maxsize=4096)
def parse_zone(text: str, north: bool | None = None) -> Utm:
    """A UTM zone: ``12N``, ``12U``, ``zone 12 north``, ``12``.

    ``north`` is the hemisphere where the survey area proves it; without it, a zone
    without a letter, or with S alone, has a problem (R19).
    """
    found = _ZONE.fullmatch(normal_text(text))
    if not found or not 1 <= int(found["number"]) <= 60:
        return Utm(problem="this is not a UTM zone (1 to 60 with N or S)")
    zone, letter = int(found["number"]), (found["letter"] or "")[:1]
    spelled = found["letter"] in ("north", "south")
    if letter and letter in "abioyz":
        return Utm(zone=zone, problem=f"{letter.upper()} is not a UTM hemisphere or band")
    if not letter or (letter == "s" and not spelled):
        if north is None:
            why = "S may mean south or the band S" if letter else "the hemisphere is not stated"
            return Utm(zone=zone, problem=f"{why}: write {zone} north or {zone} south")
        return Utm(zone=zone, north=north)
    says_north = found["letter"] == "north" if spelled else letter >= "n"
    if north is not None and north != says_north:
        return Utm(zone=zone, north=says_north, problem="the zone's hemisphere is not that of the survey area")
    return Utm(zone=zone, north=says_north)


def parse_utm(text: str, zone: str = "", north: bool | None = None) -> Utm:
    """A UTM place in one text (``12U 345678 5678901``), or easting and northing with ``zone`` given apart."""
    clean = normal_text(text)
    if zone:
        clean = f"{normal_text(zone)} {clean}"
    found = _PLACE.fullmatch(clean)
    if not found:
        return Utm(problem="this is not a UTM place: zone, easting, northing")
    read = parse_zone(found["zone"], north)
    easting, northing = float(found["easting"]), float(found["northing"])
    problem = read.problem or utm_problem(easting, northing)
    return Utm(easting, northing, read.zone, read.north, problem)


def utm_problem(easting: float, northing: float) -> str:
    """Why a pair cannot be easting and northing of a zone; '' where it can."""
    if 100_000 <= easting <= 900_000 and 0 <= northing <= 10_000_000:
        return ""
    if 100_000 <= northing <= 900_000 and 900_000 < easting <= 10_000_000:
        return "easting and northing look exchanged"
    return "outside of a UTM zone (easting 100,000 to 900,000 m, northing 0 to 10,000,000 m)"
