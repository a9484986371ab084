"""The labels and headings of a description that is laid out: which field each names, in which state and unit."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from ...vocabulary.tables import table
from ..columns import known_fields, parse_heading
from ..depths import UNIT_WORDS

HEADS = ("designation", "depth", "upper_depth", "lower_depth")
"""Fields that say which horizon it is."""


SECOND = "second_"
"""Before the field of a part of the structure that the first parts to."""
_SECOND = re.compile(r"(?i)(?:2nd|second|secondary)\s+(?:(?:str|struct|structure)\s+)?(grade|class|size|kind|type|shape)")


@dataclass(frozen=True, slots=True)
class Label:
    """A label as written. ``field`` is '' where none is known; ``state`` moist or dry; ``unit`` what stands in its brackets."""

    text: str
    field: str
    state: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Cell:
    """What stands at a label: ``spans`` are places in the whole text, several where a cell goes on in the next row."""

    label: Label
    spans: tuple[tuple[int, int], ...]


@lru_cache(maxsize=20_000)
def label_of(written: str) -> Label:
    """``Moist colour`` -> colour_moist; ``Depth (cm)`` -> depth in cm; ``Sampled by`` -> no field."""
    clean = " ".join(written.strip(" \t.:*_#|").split())
    second = _SECOND.fullmatch(clean)
    if second:
        part = {"grade": "grade", "class": "size", "size": "size"}.get(second[1].casefold(), "kind")
        return Label(clean, f"{SECOND}structure_{part}")
    heading = parse_heading(clean)
    field = names_of_horizons().get(heading.base) or names_of_horizons().get(heading.whole, "")
    words = heading.whole.split()
    state = next((state for state in ("moist", "dry") if state in words), "")
    unit = heading.unit or next((UNIT_WORDS[word] for word in words[1:] if word in UNIT_WORDS and len(word) > 1), "")
    if field == "colour" and clean.split()[-1].strip("()").casefold() in ("m", "d"):
        state, unit = {"m": "moist", "d": "dry"}[clean.split()[-1].strip("()").casefold()], ""
    if not field and unit:
        field = names_of_horizons().get(" ".join(word for word in words if word not in UNIT_WORDS), "")
    return Label(clean, field, state, unit)


@cache
def names_of_horizons() -> dict[str, str]:
    """Heading in plain words -> field of a horizon. What the notes say of a colour outranks the headings of tables."""
    names: dict[str, str] = {}
    for field, words in table("notes")["laid_out"]["headings"].items():
        for word in words:
            names.setdefault(parse_heading(word).base, field)
    for entry in known_fields().values():
        if "horizons" in entry.tables and ("pits" not in entry.tables or entry.name == "remarks"):
            for word in (entry.name.replace("_", " "), *entry.names):
                names.setdefault(parse_heading(word).base, entry.name)
    return names


@cache
def names_of_pits() -> frozenset[str]:
    """Labels that speak of the pit and not of a horizon."""
    names = {parse_heading(word).base for entry in known_fields().values() if "pits" in entry.tables for word in (entry.name.replace("_", " "), *entry.names)}
    names |= {parse_heading(word).base for words in table("notes")["labels"].values() for word in words}
    return frozenset(names - set(names_of_horizons()))


@cache
def listed(*fields: str) -> str:
    """A pattern of the labels of the fields (of all fields where none is named), longest first."""
    names = [name for name, field in names_of_horizons().items() if not fields or field in fields]
    return "|".join(r"[\s_]+".join(map(re.escape, name.split())) for name in sorted(names, key=len, reverse=True))
