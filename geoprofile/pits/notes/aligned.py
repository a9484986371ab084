"""Tables pasted into a text: a line of headings with rows under it, kept apart by blanks, tabs, bars, semicolons or commas."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cache

from ..columns import known_fields, parse_heading
from .entries import designation_in
from .fields import Cell, Label, label_of, listed
from .pit_lines import starts_pit

MARKS = ("|", "\t", ";", ",")
WIDTH = 8
"""Columns of a tab."""
LONGEST = 2_000
"""Characters that a line of a table has at most."""
_APART = re.compile(r"[^\s]+(?:[ \u00a0][^\s]+)*")
_RULE = re.compile(r"[\s|+:=_\u2500-\u257f-]+$")
_UNIT_LINE = re.compile(r"[\s|]*(?:\(?(?:cm|mm|m|in|inches|ft|%|percent|moist|dry|dS/m|mS/cm|from|to|top|bottom)\.?\)?[\s|]*)+$", re.IGNORECASE)


@dataclass
class Row:
    """One horizon's cells, which may go on in lines below."""

    start: int
    stop: int
    cells: list[Cell]


@dataclass
class Table:
    """``headings``: start and end of each line of headings and rules."""

    headings: list[tuple[int, int]]
    rows: list[Row] = field(default_factory=list)


@dataclass(frozen=True)
class _Columns:
    """Headings of a table, and where each begins, counted in columns of the line."""

    labels: tuple[Label, ...]
    starts: tuple[int, ...]
    mark: str

    def find(self, *fields: str) -> int | None:
        return next((number for number, label in enumerate(self.labels) if label.field in fields), None)


Place = tuple[int, int]


def read_tables(text: str) -> Iterator[Table]:
    """Every table of a text whose headings name a designation and depths, and a third thing."""
    done = 0
    for found in _begin().finditer(text):
        at = found.start()
        if at < done:
            continue
        table, done = _table_at(text, at)
        if table and table.rows:
            yield table


def _table_at(text: str, at: int) -> tuple[Table | None, int]:
    end = _line_end(text, at)
    columns = _columns(text, at, end) if end - at <= LONGEST else None
    if columns is None:
        return None, at + 1
    table = Table([(at, end)])
    at, blank = end + 1, False
    while at < len(text):
        end = _line_end(text, at)
        line = text[at:end]
        if not line.strip():
            blank, at = True, end + 1
            continue
        if _RULE.match(line) or (not table.rows and _UNIT_LINE.match(line)):
            if not table.rows and not _RULE.match(line):
                columns = _with_units(columns, text, at, end)
            table.headings.append((at, end))
        else:
            cells = _cells(columns, text, at, end)
            if cells is None or starts_pit(line):
                break
            if _is_row(columns, cells, text):
                table.rows.append(Row(at, end, [Cell(columns.labels[number], spans) for number, spans in cells.items() if spans]))
            elif table.rows and not blank and _goes_on(columns, cells, line):
                _add(table.rows[-1], columns, cells)
                table.rows[-1].stop = end
            else:
                break
        blank, at = False, end + 1
    return table, at


def _columns(text: str, at: int, end: int) -> _Columns | None:
    for mark in (*MARKS[:2], "  ", *MARKS[2:]):
        pieces = _split(text, at, end, mark)
        if mark == "\t" and any(first == last for first, last in pieces[1:-1]):
            continue  # several tabs up to a column: where they lead is what counts
        pieces = [piece for piece in pieces if piece[0] < piece[1]] if mark == "  " else pieces
        if sum(text[first:last] in (":", "=") for first, last in pieces) > 1:
            continue  # Hor : Ap   Depth : 0-8
        labels = tuple(_heading(text[first:last]) for first, last in pieces)
        known = {label.field for label in labels if label.field}
        if "designation" in known and known & {"depth", "upper_depth"} and len(known) >= 3:
            return _Columns(labels, tuple(_column(text, at, first) for first, _ in pieces), mark)
    return None


def _heading(written: str) -> Label:
    label = label_of(written)
    return replace(label, field="pit_id") if not label.field and parse_heading(written).base in _ids() else label


@cache
def _ids() -> frozenset[str]:
    return frozenset(parse_heading(word).base for word in known_fields()["pit_id"].names)


def _split(text: str, at: int, end: int, mark: str) -> list[Place]:
    """Places of the cells of a line, without blanks around them."""
    if mark == "  ":
        return [(found.start(), found.end()) for found in _APART.finditer(text, at, end)]
    found, start = [], at
    for stop in [*(spot.start() for spot in re.compile(re.escape(mark)).finditer(text, at, end)), end]:
        inside = text[start:stop]
        first = start + len(inside) - len(inside.lstrip())
        found.append((first, max(first, start + len(inside.rstrip()))))
        start = stop + 1
    if mark == "|" and text[at:end].lstrip().startswith("|"):
        found = found[1:]
    if mark == "|" and text[at:end].rstrip().endswith("|"):
        found = found[:-1]
    return found


def _column(text: str, line: int, place: int) -> int:
    """Column of a place in its line, tabs spread out."""
    if "\t" not in text[line:place]:
        return place - line
    column = 0
    for character in text[line:place]:
        column = (column // WIDTH + 1) * WIDTH if character == "\t" else column + 1
    return column


def _at_column(text: str, line: int, first: int, last: int, column: int) -> int | None:
    """The place between two others that stands in a column, behind a blank."""
    tabs = "\t" in text[line:last]
    places = range(first + 1, last) if tabs else range(max(first + 1, line + column), min(last, line + column + 1))
    return next((place for place in places if text[place - 1] in " \t" and _column(text, line, place) == column), None)


def _cells(columns: _Columns, text: str, at: int, end: int) -> dict[int, tuple[Place, ...]] | None:
    """The cells of a line by column; None where it has more of them than the table has columns, or is no line of a table."""
    if end - at > LONGEST:
        return None
    pieces = _split(text, at, end, columns.mark)
    count = len(columns.labels)
    if columns.mark != "  ":
        full = [piece for piece in pieces[count:] if piece[0] < piece[1]]
        if full or (columns.mark in ";," and len(pieces) != count):
            return None
        return {number: (piece,) if piece[0] < piece[1] else () for number, piece in enumerate(pieces[:count])}
    found: dict[int, list[Place]] = {}
    pieces = [part for piece in pieces for part in _parted(columns, text, at, piece)]
    if len(pieces) == count:
        return {number: (piece,) for number, piece in enumerate(pieces)}
    for first, last in pieces:
        found.setdefault(_nearest(columns, _column(text, at, first), _column(text, at, last)), []).append((first, last))
    return {number: tuple(found.get(number, ())) for number in range(count)}


def _parted(columns: _Columns, text: str, at: int, piece: Place) -> list[Place]:
    """A cell so long that just one blank stands before the next, cut where the next heading begins."""
    parts, (first, last) = [], piece
    for start in columns.starts[1:]:
        spot = _at_column(text, at, first, last, start)
        if spot is not None:
            parts.append((first, spot - 1))
            first = spot
    return [*parts, (first, last)]


def _nearest(columns: _Columns, first: int, last: int) -> int:
    """The column that a cell shares most places with; of two alike the one that begins nearer."""
    ends = (*columns.starts[1:], 10**6)
    shared = [min(last, stop - 1) - max(first, start) for start, stop in zip(columns.starts, ends)]
    return max(range(len(shared)), key=lambda number: (shared[number], -abs(columns.starts[number] - first)))


def _is_row(columns: _Columns, cells: dict[int, tuple[Place, ...]], text: str) -> bool:
    """Whether a line names a horizon: a designation, or any name beside a depth."""
    name = cells.get(columns.find("designation"), ())
    depth = cells.get(columns.find("depth", "upper_depth"), ())
    if not name or not depth:
        return False
    return bool(re.match(r"\W*\d|\W*[Ss]urface", text[slice(*depth[0])])) or bool(designation_in(text, *name[0]))


def _goes_on(columns: _Columns, cells: dict[int, tuple[Place, ...]], line: str) -> bool:
    """Whether a line only goes on with cells of the row above: nothing stands under designation and depths."""
    heads = [number for number, label in enumerate(columns.labels) if label.field in ("designation", "depth", "upper_depth", "lower_depth", "pit_id")]
    return not any(cells.get(number) for number in heads) and (columns.mark != "  " or line[:2].isspace())


def _add(row: Row, columns: _Columns, cells: dict[int, tuple[Place, ...]]) -> None:
    for number, spans in cells.items():
        if not spans:
            continue
        label = columns.labels[number]
        there = next((spot for spot, cell in enumerate(row.cells) if cell.label is label), None)
        if there is None:
            row.cells.append(Cell(label, spans))
        else:
            row.cells[there] = Cell(label, (*row.cells[there].spans, *spans))


def _with_units(columns: _Columns, text: str, at: int, end: int) -> _Columns:
    """A second line of headings: units, or ``from`` and ``to``, below those they belong to."""
    cells = _cells(columns, text, at, end) or {}
    said = {number: " ".join(text[slice(*span)] for span in spans) for number, spans in cells.items() if spans}
    return _Columns(tuple(label_of(f"{label.text} {said[number]}") if number in said else label for number, label in enumerate(columns.labels)), columns.starts, columns.mark)


def _line_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    end = len(text) if end < 0 else end
    return end - 1 if end > at and text[end - 1] == "\r" else end


@cache
def _begin() -> re.Pattern:
    """A line whose first cell is the heading of a column, with another behind it."""
    return re.compile(rf"(?im)^[ \t|]*(?:{listed('designation', 'depth', 'upper_depth')}|{'|'.join(sorted(map(re.escape, _ids()), key=len, reverse=True))}|no|nr|#)\.?(?:[ \t]*\([^)\n|]{{1,12}}\)| (?:in )?(?:cm|inches|in|m)\.?)?[ \t]*(?:\t|\||;|,| {{2}})[^\n]+$")
