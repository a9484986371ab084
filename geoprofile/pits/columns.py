"""The fields we know, headings taken apart, and a table whose columns are known.

Units come from the heading; the table of headings and units is data (vocabulary/tables/headings.toml).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cache, cached_property

import numpy as np

from ..problems import Problem
from ..vocabulary.tables import table
from .readers.raw import INVISIBLE, RawTable, clean_heading

SEVERAL = ("id", "reading", "text")
"""Kinds of field that may stand in several columns: an id of parts, probes of one reading, remarks."""


@dataclass(frozen=True)
class Field:
    """A field we know: how its cells are read, the unit we keep, the column of the product it becomes."""

    name: str
    kind: str
    unit: str
    column: str
    names: tuple[str, ...]
    tables: tuple[str, ...]
    term: str = ""
    parts: tuple[tuple[str, str], ...] = ()
    needs_unit: bool = False


@dataclass(frozen=True)
class Column:
    """A column of the source that was recognised. ``unit`` is the heading's own, lower case, or empty.

    ``state`` (of a colour): moist, dry or '' where nobody says it; ``state_by``: heading, survey file or ''.
    """

    field: Field
    heading: str
    unit: str = ""
    probe: int = 1
    state: str = ""
    state_by: str = ""


@dataclass(frozen=True)
class Heading:
    """A heading taken apart: plain words, unit, and the words with the unit left in."""

    base: str
    unit: str
    whole: str


@dataclass(eq=False)
class Mapped:
    """A RawTable whose columns are known. ``columns``: field name -> one or more columns (probes)."""

    raw: RawTable
    columns: dict[str, tuple[Column, ...]]
    unmapped: tuple[str, ...] = ()
    problems: list[Problem] = field(default_factory=list)
    missing: tuple[str, ...] = ("",)
    missing_for: dict[str, tuple[str, ...]] = field(default_factory=dict)

    def has(self, name: str) -> bool:
        return name in self.columns

    def text(self, name: str) -> np.ndarray:
        """Trimmed text of a field, ``""`` where it is not recorded; all blank when there is no such column."""
        if name not in self.columns:
            return np.full(len(self.raw.rows), "", dtype=object)
        if name == "pit_id" and len(self.columns[name]) > 1:  # an id made of several columns
            parts = [self.text_in(column) for column in self.columns[name]]
            return np.array(["/".join(row) if all(row) else "" for row in zip(*parts, strict=True)], dtype=object)
        if len(self.columns[name]) == 3 and self.columns[name][0].field.kind == "colour":
            return _notations(*(self.text_in(column) for column in self.columns[name]))
        if len(self.columns[name]) > 1 and self.columns[name][0].field.kind == "text":  # remarks in several columns: all of them
            parts = [self.text_in(column) for column in self.columns[name]]
            return np.array(["; ".join(dict.fromkeys(filter(None, row))) for row in zip(*parts, strict=True)], dtype=object)
        return self.text_in(self.columns[name][0])

    def text_in(self, column: Column) -> np.ndarray:
        """Trimmed text of one column; what the survey lists as missing becomes ``""``, in an id only what it lists for ids (R6, R7)."""
        values = self.trimmed[column.heading]
        words = self.missing_for.get(column.field.name, () if column.field.kind == "id" else self.missing)
        return np.where(np.isin(values.astype(str), words), "", values) if len(words) else values

    @cached_property
    def trimmed(self) -> dict[str, np.ndarray]:
        headings = {column.heading for columns in self.columns.values() for column in columns}
        return {heading: trim(self.raw.cells[heading].to_numpy(object)) for heading in headings}

    def problem(self, position: int, severity: str, check: str, what: str, *, field: str = "", pit_id: str = "", found: str = "",
                allowed: str = "", remedy: str = "") -> None:
        """List one problem at a row of this table; ``field`` is a field name, shown with its heading."""
        heading = self.columns[field][0].heading if field in self.columns else field
        if heading in self.raw.letters:
            found = f"{found} ({self.raw.address(position, heading)})"
        self.problems.append(Problem(
            severity, check, what, pit_id=str(pit_id), file=self.raw.file, sheet=self.raw.sheet,
            row=int(self.raw.rows[position]), field=heading, found=str(found), allowed=allowed, remedy=remedy,
        ))


def _notations(hue: np.ndarray, value: np.ndarray, chroma: np.ndarray) -> np.ndarray:
    """(n,) ``10YR 4/3`` of three columns; ``""`` where all are blank. What lacks a part stays as it is and is refused as a notation."""
    return np.array([f"{h} {v}/{'' if h.upper() == 'N' and c in ('', '0') else c}" if h or v or c else "" for h, v, c in zip(hue, value, chroma, strict=True)], dtype=object)


def trim(values: np.ndarray) -> np.ndarray:
    """Text without blanks at its ends, non-breaking blanks as blanks, no invisible marks."""
    unique, inverse = np.unique(values.astype(str), return_inverse=True)
    clean = np.array([INVISIBLE.sub("", text).replace("\u00a0", " ").strip() for text in unique], dtype=object)
    return clean[inverse] if len(unique) else values


@cache
def known_fields() -> dict[str, Field]:
    """Every field of the table of headings, by our name."""
    fields = {}
    for name, entry in table("headings")["fields"].items():
        fields[name] = Field(
            name=name, kind=entry["kind"], unit=entry.get("unit", ""), column=entry.get("column", name),
            names=tuple(entry["names"]), tables=tuple(entry["tables"]), term=entry.get("term", ""),
            parts=tuple(entry.get("parts", {}).items()), needs_unit=entry.get("needs_unit", False),
        )
    return fields


@cache
def units() -> dict[str, dict[str, float]]:
    """Unit we keep -> unit as written, lower case -> factor."""
    return {kept: {name.lower(): float(factor) for name, factor in entry.items()} for kept, entry in table("headings")["units"].items()}


@cache
def _unit_words() -> tuple[str, ...]:
    words = {word for entry in units().values() for word in entry} | {"ds_m"}
    return tuple(sorted(words, key=len, reverse=True))


@cache
def parse_heading(text: str) -> Heading:
    """``Depth to Bt (cm)`` -> depth to bt, cm; ``clay_pct`` -> clay, pct; ``slope_°`` -> slope, °."""
    clean = clean_heading(text).lower()
    whole = plain_words(clean)
    unit = ""
    bracket = re.search(r"[\(\[]\s*([^\)\]]+?)\s*[\)\]]\s*$", clean)
    if bracket and bracket[1] in _unit_words():
        unit, clean = bracket[1], clean[: bracket.start()]
    else:
        spaced = clean.replace("_", " ")
        for word in _unit_words():
            if spaced.endswith((" " + word, "," + word)) and len(spaced) > len(word) + 1:
                unit, clean = word, spaced[: -len(word)]
                break
    return Heading(plain_words(clean), unit, whole)


def plain_words(text: str) -> str:
    """The words of a heading, without marks: ``Depth_to-Bt`` -> ``Depth to Bt``."""
    return " ".join(re.findall(r"[^\W_]+", text.replace("(", " ").replace(")", " ")))
