"""Coordinates in the words of notes: degrees with letters or winds, spoken or written, and UTM with its zone before or behind.

A text is taken apart into tokens first, so that signs, blanks and words of number make no difference. A pair is read
only where both of it are plain: letters or winds tell which is which, or the number of figures of a UTM pair does.
What looks like coordinates and is not read so is for the reader to list (R17: nothing is swapped in silence).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from ..angles import parse_angle
from .tokens import Token, tokens

Place = tuple[int, int]
NEW_LINE, UNSURE = "\u00b6", "\u00a6"
"""Stand in the row of tokens for a line break, and between two spoken numbers that may be one."""

_WORTH = re.compile(r"(?i)[°º]|\bdeg|\d\s?[NSEW]\b|\b[NSEW]\s?\d|(?<!\d)\d{6,7}(?!\d)|\b(?:north|south|east|west)\b|\bgps\b|\blat(?:itude)?\b|\bposition\b|\bcoordinates?\b")
_COMMA = re.compile(r"(?i)(?<![\d,.])(\d{1,3}),(?=\d{3,7}\s*°?\s*[NSEW]\b)")
_LOOKS = re.compile(
    r"(?i)(?:\bdegrees?\b.*\b(?:north|south|east|west|minutes?)\b|(?<!\d)\d{6}(?:\.\d+)?\s*m?\s*[EN]?[\s,;/]+\d{7}(?!\d)|(?<!\d)\d{7}(?:\.\d+)?\s*m?\s*N?[\s,;/]+\d{6}(?!\d)"
    r"|-?\d{2,3}\.\d{2,}\s*°?\s*[NSEW]?[\s,;/]+-?\d{2,3}\.\d{2,}|\d\s*[°º]\s*\d|(?<![\d.])\d{1,3}\.\d{3,}\s*°?\s*[NSEW]\b"
    r"|(?<![\d.])\d{2} \d{1,2} \d{1,2}(?:\.\d+)?[ ,;]+-?\d{2,3} \d{1,2} \d{1,2}\b|\b(?:north|south)\b[ ,]+(?:and )?(?:[\w-]+ ){1,4}(?:east|west)\b)"
)
_WAY = re.compile(r"(?i)\b(?:feet|ft|foot|miles?|m|km|metres|meters|yards|paces|chains|rods|of|corner|section|quarter)\b")
"""Words of a way to a place."""

_N = r"\d{1,3}(?:\.\d+)?"
_BODY = rf"{_N}(?: (?:°|º|deg|degrees?|d)(?: [.,])?)?(?: {_N}(?: (?:'|minutes?|mins?|m)(?: [.,])?)?(?: {_N}(?: (?:\"|' '|seconds?|secs?|s(?= [nsew]\b))(?: \.)?)?)?)?"
_BETWEEN = rf" (?:(?:[,;/.{NEW_LINE}]|and|by) )*"
_NOT_BEHIND = r"(?:(?=\D)|(?<![a-z] - ))" + "".join(f"(?<!{word} )" for word in ("pit", "site", "hole", "plot", "profile", "pedon", "core", "no", "no .", "#", "number", "inspection", "obs", "obs .", "observation", "station"))
_LETTER = r"(?!(?:e|east) 0?\d{6}(?!\d)|(?:n|north) \d{7}(?!\d))(?:[c-hj-np-x]|north|south)\b"
"""Band or hemisphere; before six figures an E is the easting's, before seven an N is the northing's."""
_ZONE = rf"(?:(?:utm )?zone (?P<utm_zone>\d{{1,2}}(?: {_LETTER})?)|utm (?P<utm_zone_>\d{{1,2}}(?: {_LETTER})?)|(?P<utm_zone__>\d{{1,2}} {_LETTER}))"


@dataclass(frozen=True)
class Position:
    """``cells``: field name -> (value, its place); ``place`` of the whole."""

    cells: dict[str, tuple[str, Place]]
    place: Place


def find_position(text: str, start: int, end: int) -> Position | None:
    """The first pair of coordinates between two places of a text that letters, winds or figures make plain."""
    if not _WORTH.search(text, start, end):
        return None
    row = _spoken(tokens(_COMMA.sub(r"\1.", text[start:end]), start))
    line, at = "", []
    for before, token in zip((None, *row), row):
        if before is not None:
            line += f" {NEW_LINE} " if "\n" in text[before.end : token.start] else " "
            if before.text[-1:].isalpha() and token.text[:1].isalpha() and before.kind == token.kind == "number":
                line += f"{UNSURE} "  # one thirteen
        at.append(len(line))
        line += token.key.casefold()
    for pattern in _pairs():
        for found in pattern.finditer(line):
            position = _position(found, row, at, text)
            if position:
                return position
    return None


def looks_like_one(words: str) -> bool:
    """Whether words that were not read look like coordinates."""
    found = _LOOKS.search(words)
    return bool(found) and not (re.search(r"[a-z]{4}", found.group()) and _WAY.search(found.group()))


def _position(found: re.Match, row: list[Token], at: list[int], text: str) -> Position | None:
    def place(first: int, last: int) -> Place:
        inside = [token for token, spot in zip(row, at) if first <= spot < last]
        return inside[0].start, inside[-1].end

    cells = {}
    angles = " | ".join(said for name, said in found.groupdict().items() if said and name in ("latitude", "longitude"))
    if angles and not re.search(r"°|º|deg|\d\.\d\d|\d [^|\d]*\d", angles) and "lat" not in found.group():
        return None  # 5 north, 3 west
    for name, said in found.groupdict().items():
        if not said:
            continue
        where = place(*found.span(name))
        field = name.rstrip("_")
        if field in ("latitude", "longitude"):
            written = " ".join(text[slice(*where)].split())
            value = written if parse_angle(written).problem != "this is not an angle" else _plain(said)
        else:
            value = " ".join(text[slice(*where)].split()) if field == "utm_zone" else said
        cells[field] = (value, where)
    return Position(cells, place(*found.span())) if cells else None


def _plain(said: str) -> str:
    """``53 degrees 10 minutes north`` as ``53 10 N``."""
    winds = re.findall(r"\b(north|south|east|west|[nsew])\b", said)
    letter = (winds[0] if said[0].isalpha() else winds[-1])[0].upper() if winds else ""
    return ("-" if said.startswith("-") else "") + " ".join(filter(None, (*re.findall(_N, said), letter)))


def _spoken(row: list[Token]) -> list[Token]:
    """Numbers as they are said: figures one by one behind ``point``, ``oh`` for nought, ``minus``."""
    ready: list[Token] = []
    at = 0
    while at < len(row):
        token = row[at]
        at += 1
        if token.kind == "number" and ready and ready[-1].end == token.start and ready[-1].key.isalpha() and len(ready[-1].key) > 2:  # WGS84
            ready[-1] = Token(ready[-1].text + token.text, ready[-1].key + token.key, "word", ready[-1].start, token.end)
            continue
        if token.key == "minus" and at < len(row) and row[at].kind == "number":
            token = Token(token.text, "-", "mark", token.start, token.end)
        elif token.kind == "number" and at + 1 < len(row) and row[at].key == "point" and "." not in token.key and _figure(row[at + 1]):
            token, at = Token("point", f"{token.key}.", "number", token.start, row[at].end), at + 1
        if token.text.split(" ")[-1].isalpha() and "." in token.key:
            while at < len(row) and _figure(row[at]):
                token = Token("point", token.key + _figure(row[at]), "number", token.start, row[at].end)
                at += 1
        ready.append(token)
    return ready


def _figure(token: Token) -> str:
    """The one figure that a word says; '' for anything else."""
    if token.key in ("oh", "o", "nought"):
        return "0"
    return token.key if token.kind == "number" and token.text.isalpha() and len(token.key) == 1 else ""


@cache
def _pairs() -> tuple[re.Pattern, ...]:
    lat, lon = r"(?:(?:latitude|lat)(?: \.)?(?: [:=])? )?", r"(?:(?:longitude|long|lon)(?: \.)?(?: [:=])? )?"
    ns, ew = r"(?:n|s|north|south)", r"(?:e|w|east|west)"
    sign = r"(?:- )?"
    easting = r"(?:(?:easting|east|e|m e|me)(?: [:=])? )?(?P<easting>0?\d{6}(?:\.\d+)?)(?: (?:m e|me|e|m east|east|m)\b)?(?: \.)?"
    northing = r"(?:(?:northing|north|n|m n|mn)(?: [:=])? )?(?P<northing>\d{7}(?:\.\d+)?)(?: (?:m n|mn|n|m north|north|m)\b)?(?: \.)?"
    apart = rf" (?:(?:[,;/{NEW_LINE}]|and) )*"
    forms = []
    for first, second in ((easting, northing), (northing, easting)):
        both = first + apart + second
        forms.append(rf"{_ZONE}(?: [:,;{NEW_LINE}])? {both}")
        forms.append(rf"(?:utm )?{both}{apart}(?:\( )?(?:utm )?zone (?P<utm_zone>\d{{1,2}}(?: (?:[c-hj-np-x]|north|south))?)\b(?: \))?")
        forms.append(rf"\b(?:utm(?: [:,])? (?=\d)|(?=(?:easting|northing|[en]) [:=]? ?\d)|(?=\d{{6,7}}(?:\.\d+)? (?:m )?[en]\b)){both}")
    forms.append(rf"{lat}(?P<latitude>{ns} {_BODY}){_BETWEEN}{lon}(?P<longitude>{ew} {_BODY})")
    forms.append(rf"{lat}(?P<latitude>{_BODY} {ns}\b)(?: latitude| lat)?(?: \.)?{_BETWEEN}{lon}(?P<longitude>{_BODY} {ew}\b)(?: longitude| long)?")
    forms.append(rf"(?:latitude|lat)(?: \.)?(?: [:=])? (?P<latitude>{sign}{_N}){_BETWEEN}(?:longitude|long|lon)(?: \.)?(?: [:=])? (?P<longitude>{sign}{_N})(?! [.\d°'nsew])")
    forms.append(rf"\b(?:gps|position|coordinates?)(?: [:=])? (?P<latitude>{sign}\d{{1,2}}\.\d{{2,}}) (?:[,;/] )?(?P<longitude>{sign}\d{{1,3}}\.\d{{2,}})(?! [.\d°'nsew])")
    return tuple(re.compile(rf"(?<![^ ]){_NOT_BEHIND}{form}(?![^ ])") for form in forms)
