"""Tables that lie on their side: a property in each line and a horizon in each column, as forms and spreadsheets have them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from ..columns import parse_heading
from .entries import designation_in
from .fields import HEADS, Cell, Label, label_of

Place = tuple[int, int]
_GAP = re.compile(r"\t|[ \u00a0]*\|[ \u00a0]*|[ \u00a0]{2,}")
_LINE = re.compile(r"[^\n]+")
LEAST_LINES, LEAST_HORIZONS = 3, 2
NAMES = ("name", "horizon", "hor", "hz", "layer", "designation", "symbol")
"""Labels of the line that names the horizons."""


@dataclass
class SideTable:
    """``columns``: the cells of each horizon; ``labels``: places of the properties."""

    start: int
    stop: int
    columns: list[list[Cell]] = field(default_factory=list)
    labels: list[Place] = field(default_factory=list)


def read_side_tables(text: str, inside: list[Place]) -> Iterator[SideTable]:
    """Every such table; none begins within ``inside``, places of others in order."""
    block: list[tuple[Place, Label, list[Place]]] = []
    done = 0
    for line in _LINE.finditer(text):
        if not line.group().strip(" \t|+-=:"):
            continue
        row = None if any(first <= line.start() < last for first, last in inside) else _row(text, line.start(), line.end())
        apart = "\n\n" in text[done : line.start()]
        if block and (row is None or apart or len(row[2]) != len(block[0][2])):
            yield from _table(text, block)
            block = []
        if row:
            block.append(row)
        done = line.end()
    yield from _table(text, block)


def _row(text: str, start: int, end: int) -> tuple[Place, Label, list[Place]] | None:
    """(place of the label, label, places of the values) of a line whose first cell is a known label with two values or more behind it."""
    pieces, at = [], start
    for gap in _GAP.finditer(text, start, end):
        pieces.append((at, gap.start()))
        at = gap.end()
    pieces.append((at, end))
    if pieces and pieces[0][0] == pieces[0][1]:
        pieces = pieces[1:]
    if pieces and not text[slice(*pieces[-1])].strip():
        pieces = pieces[:-1]
    if len(pieces) <= LEAST_HORIZONS or not text[slice(*pieces[0])].strip():
        return None
    written = text[slice(*pieces[0])].strip(" \t:.")
    label = label_of(written)
    if not label.field and parse_heading(written).base in NAMES:
        label = replace(label, field="designation")
    return (pieces[0], label, pieces[1:]) if written[:1].isalpha() or written[:1] == "%" else None


def _table(text: str, block: list[tuple[Place, Label, list[Place]]]) -> Iterator[SideTable]:
    """The table of a block of lines, where one of them names horizons and others give depths and a third thing."""
    named = next((number for number, (_, label, values) in enumerate(block) if label.field == "designation" and _all_named(text, values)), None)
    fields = {label.field for _, label, _ in block if label.field}
    if named is None or not fields & {"depth", "upper_depth"} or len(fields) < LEAST_LINES:
        return
    rows = block[named:]
    table = SideTable(block[0][0][0], rows[-1][2][-1][1], labels=[place for place, *_ in block])
    table.start = text.rfind("\n", 0, table.start) + 1
    stop = text.find("\n", table.stop)
    table.stop = len(text) if stop < 0 else stop
    for column in range(len(rows[0][2])):
        cells = [Cell(label, (values[column],)) for _, label, values in rows if text[slice(*values[column])].strip()]
        table.columns.append(sorted(cells, key=lambda cell: cell.label.field not in HEADS))
    yield table


def _all_named(text: str, values: list[Place]) -> bool:
    found = [designation_in(text, *value) for value in values]
    return all(one is not None and one[1] == value for one, value in zip(found, values)) and len(values) >= LEAST_HORIZONS
