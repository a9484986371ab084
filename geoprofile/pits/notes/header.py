"""The head of a pit: labels, and what is said without one."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from functools import cache

from ...vocabulary.tables import table
from ..columns import known_fields, parse_heading
from .found import Found
from .header_values import NUMBERS, value_of
from .lexicon import items
from .pit_lines import bare_id, lead_pattern, name_pattern
from .position import find_position, looks_like_one

TO_LINE_END = ("photos", "remarks")
"""Labels whose text may hold semicolons and full stops."""
BEHIND = ("stopped_by", "observed_to", "drainage", "slope", "aspect")
"""What is read behind the horizons as well."""
POSITION = ("latitude", "longitude", "utm_zone", "easting", "northing")
MONTHS = "January|February|March|April|May|June|July|August|September|October|November|December|Jan|Feb|Mar|Apr|Jun|Jul|Aug|Sept|Sep|Oct|Nov|Dec"
_DATE = re.compile(
    rf"(?i)\d{{4}}[-/.]\d{{1,2}}[-/.]\d{{1,2}}|\d{{1,2}}[-/.]\d{{1,2}}[-/.]\d{{2,4}}|\d{{1,2}}(?:st|nd|rd|th)?\s+(?:{MONTHS})\.?,?\s+\d{{4}}|(?:{MONTHS})\.?\s+\d{{1,2}}(?:st|nd|rd|th)?,?\s+\d{{4}}"
)
_OTHER_LABEL = re.compile(r"[ \t]{2,}(?=[A-Z][\w/-]*(?: [\w/-]+){0,2}[ \t]*:)")
"""Any label behind several blanks: the value before it is over."""
_NUMBER = re.compile(r"[<>~]?\s*\d[\d,.]*(?:\s*(?:-|\u2013|to)\s*\d[\d.]*)?\s*(?:%|percent|per cent|pct|°|degrees?|deg\b|cm\b|mm\b|m\b|metres|meters|centimetres|centimeters|inches|in\b|feet|ft\b)?")


@dataclass
class Header:
    """``cells``: field name -> text; places are in the whole text."""

    cells: dict[str, str] = field(default_factory=dict)
    found: list[Found] = field(default_factory=list)
    left: list[tuple[int, int]] = field(default_factory=list)
    unplaced: list[tuple[int, int]] = field(default_factory=list)
    """Of these, what looks like coordinates, where none were read."""
    default_state: str = ""
    bracket_state: str = ""
    """moist or dry, of notations in brackets."""
    is_series: bool = False

    def remarks(self, text: str) -> str:
        return "; ".join(" ".join(text[start:end].split()) for start, end in self.left)


def read_header(text: str, start: int, end: int, headings: Iterable[tuple[int, int]] = ()) -> Header:
    """The head between two places of the text, of which ``headings`` are those of a table's columns."""
    header = Header()
    taken: list[tuple[int, int]] = list(headings)
    header.found += [Found("headings", "of the columns", *place) for place in headings]
    brackets = _state_said("bracket_state", text, start, end)
    if brackets:
        header.bracket_state = brackets[0]
        header.found.append(Found("colours in brackets are", *brackets))
        taken.append(brackets[1:])
    spans = ((start, brackets[1]), (brackets[2], end)) if brackets else ((start, end),)
    state = next((found for first, last in spans if (found := _state_said("default_state", text, first, last))), None)
    if state:
        header.default_state = state[0]
        header.found.append(Found("colours are", *state))
        taken.append(state[1:])
    _series(header, text, start, end, taken)
    _place(header, text, start, end, taken)
    _id_of_first_line(header, text, start, end, taken)
    _labels(header, text, start, end, taken)
    for pattern in _patterns():
        _apply(header, pattern, text, start, end, taken)
    header.left = _rest(text, start, end, taken)
    if not set(POSITION) & set(header.cells):
        header.unplaced = [place for place in header.left if looks_like_one(text[slice(*place)])]
    return header


def add_to_header(header: Header, more: Header) -> None:
    """What a further head of the same pit says; where the two differ, the first stands and the second goes to the remarks."""
    known = {name.replace("_", " ") for name in header.cells}
    for one in more.found:
        differs = one.what in known and header.cells.get(one.what.replace(" ", "_")) != one.read
        if differs:
            header.left.append((one.start, one.end))
        else:
            header.found.append(one)
    header.cells = {**more.cells, **header.cells}
    header.left += more.left
    header.default_state = header.default_state or more.default_state
    header.bracket_state = header.bracket_state or more.bracket_state


def read_behind(header: Header, text: str, start: int, end: int, position_only: bool = False) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
    """What stands behind the horizons though it is of the pit: where it stopped, drainage, slope, and coordinates that the head does not give.

    Gives the places of what was read, and of what is still not understood. What the head has said stands.
    """
    placed = bool(set(POSITION) & set(header.cells))
    taken: list[tuple[int, int]] = []
    if not placed:
        _place(header, text, start, end, taken)
    if not position_only:
        _labels(header, text, start, end, taken, BEHIND)
    for pattern in _patterns():
        names = set(pattern.groupindex)
        if (names & set(BEHIND) and not position_only) or ("latitude" in names and not placed):
            _apply(header, pattern, text, start, end, taken)
    return taken, _rest(text, start, end, taken) if taken else [(start, end)]


def _place(header: Header, text: str, start: int, end: int, taken: list[tuple[int, int]]) -> None:
    """Coordinates whose words are plain, with the label before them."""
    position = find_position(text, start, end)
    if position is None:
        return
    for name, (value, place) in position.cells.items():
        _put(header, name, value, *place)
    label = re.compile(r"(?i)(?:\b(?:coordinates?|position|gps|utm|lat(?:itude)?\.?)\s*[:=]?\s*|\()$").search(text[max(start, position.place[0] - 24) : position.place[0]])
    _take(taken, position.place[0] - len(label.group() if label else ""), position.place[1])


def _apply(header: Header, pattern: re.Pattern, text: str, start: int, end: int, taken: list) -> None:
    for match in pattern.finditer(text, start, end):
        groups = {name: value for name, value in match.groupdict().items() if value and not _overlaps(taken, match.span(name))}
        new = {name: value for name, value in groups.items() if name not in header.cells}
        for name, value in new.items():
            _put(header, name, value, match.start(name), match.end(name))
        if new:
            _take(taken, match.start(), match.end())


def _overlaps(taken: list[tuple[int, int]], place: tuple[int, int]) -> bool:
    return any(first < place[1] and place[0] < last for first, last in taken)


def _id_of_first_line(header: Header, text: str, start: int, end: int, taken: list) -> None:
    """``PIT 3-A`` without a colon is the name of the pit, whatever ``Site:`` says further on."""
    for pattern in _patterns():
        if pattern.groupindex.keys() != {"pit_id"} or "pit_id" in header.cells:
            continue
        match = pattern.search(text, start, end)
        if match and ":" not in match.group() and "pit_id" not in header.cells and (any(letter.isdigit() for letter in match["pit_id"]) or match["pit_id"].isupper() or " " in match["pit_id"]):
            _put(header, "pit_id", match["pit_id"], match.start("pit_id"), match.end("pit_id"))
            _take(taken, match.start(), match.end())
    first = re.compile(r"\s*").match(text, start, end).end()
    bare = bare_id(text, first, end) if "pit_id" not in header.cells else None
    if bare:
        _put(header, "pit_id", text[slice(*bare)], *bare)
        _take(taken, *bare)


def _state_said(of: str, text: str, start: int, end: int) -> tuple[str, int, int] | None:
    for pattern in table("notes")[of]["patterns"]:
        found = re.compile(pattern, re.IGNORECASE).search(text, start, end)
        if found:
            return {"m": "moist", "d": "dry"}.get(found[1].lower(), found[1].lower()), found.start(), found.end()
    return None


def _series(header: Header, text: str, start: int, end: int, taken: list) -> None:
    """``TYPICAL PEDON: Armitage cobbly loam, ...``: the words before the texture name the soil, and the pit."""
    found = re.compile(r"TYPICAL PEDON[:\s-]*(?:of\s+)?", re.IGNORECASE).search(text, start, end)
    if not found:
        return
    header.is_series = True
    line = text[found.end() : min(end, found.end() + 80)]
    for item in items(line):
        if {"texture", "modifier", "comma", "dash", "stop", "size"} & set(item.values) and item.start:
            name = line[: item.start].strip()
            if name:
                _put(header, "pit_id", name, found.end(), found.end() + len(name))
            return


def _labels(header: Header, text: str, start: int, end: int, taken: list, only: Collection[str] = ()) -> None:
    pattern, names = _label_pattern()
    for match in pattern.finditer(text, start, end):
        name = names[parse_heading(match["label"]).base]
        if only and name not in only:
            continue
        if re.search(r"[^\W\d] $", text[max(start, match.start() - 2) : match.start()]) and match["label"][0].islower():
            continue  # imperfect drainage : phalaris
        if _overlaps(taken, match.span()):
            continue
        stop = _end_of_line(text, match.end(), end)
        if name not in TO_LINE_END:
            stop = min(_next_stop(text, match.end(), stop), _next_label(pattern, text, match.end(), stop))
        value = text[match.end() : stop].strip(" ,;.\t")
        if re.search(r"\b[A-Z]$", value) and text[match.end() : stop].rstrip().endswith(f"{value}."):
            value += "."  # initials
        if name in NUMBERS and not re.search(r"\d", value):  # MESO SLOPE: upper
            continue
        number = _NUMBER.match(value) if name in NUMBERS else _DATE.match(value) if name == "date" else None
        value = number.group().strip(" ,.") if number else value
        if not value or name in header.cells or (name in ("slope_position", "stopped_by") and not value[0].isalpha()):
            continue
        at = text.index(value, match.end())
        if name == "place":
            continue
        _put(header, name, f"{value} {match['unit'] or ''}".strip(), at, at + len(value))
        _take(taken, match.start("label"), at + len(value))


def _end_of_line(text: str, at: int, end: int) -> int:
    found = text.find("\n", at, end)
    return end if found < 0 else found


def _next_stop(text: str, at: int, end: int) -> int:
    found = re.compile(r"[;\n]|(?<!\b[A-Z])\.\s+(?=[A-Z])").search(text, at, end)
    return found.start() if found else end


def _next_label(pattern: re.Pattern, text: str, at: int, end: int) -> int:
    other = _OTHER_LABEL.search(text, at, end)
    found = pattern.search(text, at, other.start() if other else end)
    return found.start() if found else other.start() if other else end


def _put(header: Header, name: str, value: str, start: int, end: int) -> None:
    header.cells[name] = read = value_of(name, value)
    header.found.append(Found(name.replace("_", " "), read, start, end))


def _take(taken: list[tuple[int, int]], start: int, end: int) -> None:
    taken.append((start, end))


def _rest(text: str, start: int, end: int, taken: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """What no label and no pattern took, piece by piece, without marks at the ends."""
    left, at = [], start
    for first, last in [*sorted(taken), (end, end)]:
        for piece in re.finditer(r"[^;\n]+", text[at : max(first, at)]):
            words = re.search(r"(?:[-+~<>](?=\d))?\w.*\w|\w", piece.group())
            if words:
                left.append((at + piece.start() + words.start(), at + piece.start() + words.end()))
        at = max(at, last)
    return left


@cache
def _patterns() -> tuple[re.Pattern, ...]:
    numbers = "|".join((*table("notes")["numbers"]["words"], *table("notes")["numbers"]["tens"]))
    number = rf"(?:\d+(?:\.\d+)?|\b(?:a hundred|{numbers})(?:[ -](?:hundred|and(?=[ -](?:{numbers})\b)|point|{numbers})\b)*)"
    return tuple(re.compile(entry["pattern"].replace("{number}", number).replace("{month}", MONTHS).replace("{name}", name_pattern()).replace("{lead}", lead_pattern())) for entry in table("notes")["header"])


@cache
def _label_pattern() -> tuple[re.Pattern, dict[str, str]]:
    names: dict[str, str] = {}
    for entry in known_fields().values():
        if "pits" in entry.tables:
            for word in (entry.name.replace("_", " "), *entry.names):
                names.setdefault(parse_heading(word).base, entry.name)
    for name, words in table("notes")["labels"].items():
        for word in words:
            names[parse_heading(word).base] = name
    listed = "|".join(re.escape(word).replace(r"\ ", r"[ \t_]+") for word in sorted(names, key=len, reverse=True) if len(word) > 1)
    return re.compile(rf"(?i)(?<![A-Za-z])(?P<label>{listed})\.?\s*(?:\((?P<unit>[^)\n]{{1,12}})\)\s*)?[:=]\s*(?=\S)"), names
