"""Which column holds what: the survey file's word first, then the trade's own headings.

A near miss is proposed as a problem and never applied. Units come from the
heading; the table of headings and units is data (vocabulary/tables/headings.toml).
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import cache, cached_property

import numpy as np

from ..errors import SettingsError
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
    """A column of the source that was recognised. ``unit`` is the heading's own, lower case, or empty."""

    field: Field
    heading: str
    unit: str = ""
    probe: int = 1


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
    whole = _words(clean)
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
    return Heading(_words(clean), unit, whole)


def _words(text: str) -> str:
    return " ".join(re.findall(r"[^\W_]+", text.replace("(", " ").replace(")", " ")))


def map_columns(raw: RawTable, role: str, given: dict[str, str | tuple[str, ...]], *, also: tuple[str, ...] = (),
                missing: tuple[str, ...] = ("",), missing_for: dict[str, tuple[str, ...]] | None = None,
                stated_units: dict[str, str] | None = None) -> Mapped:
    """Recognise the columns of a table.

    Parameters
    ----------
    role : points, pits, horizons or inspections; ``also`` names further roles whose fields may stand in it.
    stated_units : our name = unit, for columns whose heading does not say it.
    given : our name = their heading (or several headings: probes), from the survey file; applied first.

    Raises SettingsError when the survey file names a heading that is not there, or a field that nearly is one of ours.
    """
    headings = list(raw.cells.columns)
    roles = {role, *also}
    fields = {name: entry for name, entry in known_fields().items() if roles & set(entry.tables)}
    columns: dict[str, tuple[Column, ...]] = {}
    taken: set[str] = set()
    for name, theirs in given.items():
        entry = _field_named(name, fields, role)
        wanted = (theirs,) if isinstance(theirs, str) else tuple(theirs)
        if len(wanted) > 1 and entry.kind not in SEVERAL:
            raise SettingsError("this field is read from one column only", where=f"[pits.columns.{role}] {name}", found=", ".join(wanted),
                                allowed="several columns for an id, for direct readings (probes) and for text such as remarks",
                                remedy="name one heading")
        found = [_heading_named(wish, headings, name, role, raw.file) for wish in wanted]
        columns[entry.name] = tuple(
            Column(entry, heading, parse_heading(heading).unit, probe) for probe, heading in enumerate(found, start=1)
        )
        taken.update(found)

    parsed = {heading: parse_heading(heading) for heading in headings if heading not in taken}
    problems: list[Problem] = []
    for name, entry in fields.items():
        if name in columns:
            continue
        match = _recognised(entry, parsed)
        if match:
            columns[name] = match
            for column in match:
                parsed.pop(column.heading)
    _propose(parsed, fields, columns, role, raw, problems)
    for name, unit in (stated_units or {}).items():
        _state_unit(columns, name, unit)
    return Mapped(raw, columns, tuple(parsed), problems, missing, missing_for or {})


def _state_unit(columns: dict[str, tuple[Column, ...]], name: str, unit: str) -> None:
    """Give a column the unit that the survey file states. SettingsError where the unit is unknown or the heading says another."""
    found = next((key for key, parts in columns.items() if name in (key, parts[0].field.column)), None)
    if found is None:
        return  # the column may stand in another table
    entry = columns[found][0].field
    known = units().get(entry.unit, {})
    if unit.lower() not in known and not (entry.kind == "slope" and unit.lower() in units()["degrees"]):
        raise SettingsError("the unit is not known", where=f"[pits.units] {name}", found=unit, allowed=", ".join(known) or "this field has no unit")
    for column in columns[found]:
        if column.unit and known.get(column.unit) != known.get(unit.lower()):
            raise SettingsError("the heading says another unit", where=f"[pits.units] {name}", found=unit, allowed=column.unit)
    columns[found] = tuple(replace(column, unit=unit.lower()) for column in columns[found])


def _recognised(entry: Field, parsed: dict[str, Heading]) -> tuple[Column, ...]:
    """The first of the field's names that the table has; for a reading also its numbered probes."""
    for name in (_words(entry.name), _words(entry.column), *entry.names):
        for heading, parts in parsed.items():
            if parts.base == name and (not parts.unit or _fits(entry, parts.unit)):
                return (Column(entry, heading, parts.unit),)
            if parts.whole == name != parts.base:
                return (Column(entry, heading),)
    if entry.kind == "reading":
        for name in (_words(entry.name), *entry.names):
            probes = []
            for heading, parts in parsed.items():
                number = re.fullmatch(re.escape(name) + r" (?:probe )?(\d+)", parts.base)
                if number:
                    probes.append(Column(entry, heading, parts.unit, int(number[1])))
            if probes:
                return tuple(sorted(probes, key=lambda column: column.probe))
    return ()


def _fits(entry: Field, unit: str) -> bool:
    """A heading whose unit cannot be the field's is another thing: 'clay films (cm)' is not clay."""
    if entry.kind in ("range", "depth", "reading"):
        return unit in units()["cm"] or unit == "%"  # '%' for readings of a share; refused later with a reason
    if entry.kind == "slope":
        return unit in units()["%"] or unit in units()["degrees"]
    if entry.kind == "angle":
        return unit in units()["degrees"]
    return not entry.unit or unit in units().get(entry.unit, {})


def _field_named(name: str, fields: dict[str, Field], role: str) -> Field:
    if name in fields:
        return fields[name]
    for entry in fields.values():
        if name in (entry.column, *(part for part, _ in entry.parts)):
            return entry
    near = get_close_matches(name, fields, 1, 0.8)
    if near or not re.fullmatch("[a-z][a-z0-9_]*", name):
        raise SettingsError(
            "there is no such field", where=f"[pits.columns.{role}] {name}", found=name,
            allowed=", ".join(sorted(fields)), remedy=f"did you mean {near[0]!r}?" if near else "use lower case and _",
        )
    # anything else keeps the name the survey file gives it: a measured property of horizons, a text of pits
    return Field(name=name, kind="number" if role == "horizons" else "text", unit="", column=name, names=(), tables=(role,))


def _heading_named(wish: str, headings: list[str], name: str, role: str, file: str) -> str:
    clean = clean_heading(wish)
    if clean in headings:
        return clean
    same = [heading for heading in headings if heading.lower() == clean.lower()]
    near = same or get_close_matches(clean, headings, 1, 0.6)
    raise SettingsError(
        "the table has no such heading", where=f"[pits.columns.{role}] {name}, {file}", found=wish,
        allowed=", ".join(headings), remedy=f"did you mean {near[0]!r}?" if near else "write the heading as it stands in the file",
    )


def _propose(parsed, fields, columns, role, raw, problems) -> None:
    names = {name: entry for entry in fields.values() if entry.name not in columns for name in (_words(entry.name), *entry.names)}
    for heading, parts in parsed.items():
        near = get_close_matches(parts.base, [name for name in names if len(name) > 3], 1, 0.88)
        if near and not _differs_in_a_symbol(parts.base, near[0]):
            ours = names[near[0]].name
            problems.append(Problem(
                "warning", "heading", f"the heading {heading!r} is not known; it looks like {ours}, and was not used",
                file=raw.file, sheet=raw.sheet, field=heading, found=heading,
                remedy=f'if it is, add {ours} = "{heading}" to [pits.columns.{role}]',
            ))


def _differs_in_a_symbol(one: str, other: str) -> bool:
    """'depth to ba' is not a slip for 'depth to bt': short last words are symbols, not spellings."""
    last = one.split()[-1:] + other.split()[-1:]
    return last[0] != last[-1] and min(map(len, last)) <= 3
