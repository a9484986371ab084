"""Horizons that are laid out, one field a line or one column a field, as entries with their cells."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from ..depths import UNIT_WORDS
from .aligned import read_tables
from .cards import read_cards
from .depths import Depths, depths_at
from .entries import Entry, designation_in
from .fields import Cell, Label
from .tokens import tokens
from .transposed import read_side_tables

_NAME = re.compile(r"[^\s,;(|]+(?: [^\s,;(|]+){0,2}")
_FREE = Label("", "")


def laid_out(text: str) -> tuple[dict[int, Entry], dict[int, int]]:
    """(start of the line -> horizon, start of a line of column headings -> its end) of all cards and tables of a text."""
    entries: dict[int, Entry] = {}
    headings: dict[int, int] = {}
    for table in read_tables(text):
        rows = _filled_down([found for row in table.rows if (found := entry_of(text, row.cells, row.start, row.stop, ()))])
        if rows:
            headings |= dict(table.headings)
            entries |= {one.start: one for one in rows}
    for side in read_side_tables(text, sorted((one.start, one.stop) for one in entries.values())):
        columns = [found for cells in side.columns if (found := entry_of(text, cells, side.start, side.stop, ()))]
        if columns:
            entries[side.start] = replace(columns[0], labels=tuple(side.labels), beside=tuple(columns[1:]))
    inside = sorted((one.start, one.stop) for one in entries.values())
    for card in read_cards(text, inside):
        found = entry_of(text, card.cells, card.start, card.stop, card.labels)
        if found:
            entries[found.start] = found
    return entries, headings


def _filled_down(rows: list[Entry]) -> list[Entry]:
    """An id that stands in the first row of its pit only is that of the rows below too."""
    for number, row in enumerate(rows[1:], start=1):
        if not row.pit and rows[number - 1].pit:
            rows[number] = replace(row, pit=rows[number - 1].pit)
    return rows


def entry_of(text: str, cells: Iterable[Cell], start: int, stop: int, labels: tuple[tuple[int, int], ...]) -> Entry | None:
    """The horizon of these cells; None where they name none, or one that no convention knows without an upper and a lower depth."""
    rest: list[Cell] = []
    name: tuple[str, tuple[int, int], bool] | None = None
    whole = upper = lower = None
    pit = ""
    for cell in cells:
        first, last = cell.spans[0]
        if cell.label.field == "designation" and name is None and not text[first:last].strip().isdigit():
            name = _named(text, first, last)
            rest += _free(text, name[1][1] if name else first, last)
        elif cell.label.field == "pit_id" and not pit:
            pit = " ".join(text[first:last].split())
            rest.append(cell)
        elif cell.label.field in ("depth", "upper_depth", "lower_depth"):
            row = tokens(text[first:last], first)
            found = depths_at(row, 0)
            if found is None or "boundary" in cell.label.text.casefold():
                rest.append(replace(cell, label=replace(cell.label, field="boundary" if "boundary" in cell.label.text.casefold() else "")))
                continue
            depths = _in_unit(found[0], cell.label.unit)
            rest += _free(text, depths.end, last)
            if cell.label.field == "depth":
                whole = whole or depths
            elif cell.label.field == "upper_depth":
                upper = upper or depths
            else:
                lower = lower or depths
        else:
            rest.append(cell)
    depths = whole or _together(upper, lower)
    if name is None or (not name[2] and (depths is None or depths.lower is None)):  # Depth: 110 cm, Layer: till over shale
        return None
    return Entry(start, name[0], name[1], depths, start, name[2], True, cells=tuple(rest), labels=labels, stop=stop, pit=pit)


def _named(text: str, first: int, last: int) -> tuple[str, tuple[int, int], bool] | None:
    """(designation, place, whether it is known). Under a label a name that no convention knows is one all the same."""
    found = designation_in(text, first, last)
    if found:
        return *found, True
    plain = _NAME.match(text, first, last)
    return (plain.group(), plain.span(), False) if plain and re.search(r"[^\W\d_]", plain.group()) else None


def _free(text: str, at: int, last: int) -> list[Cell]:
    words = re.search(r"\w.*\w|\w", text[at:last], re.DOTALL)
    return [Cell(_FREE, ((at + words.start(), last),))] if words and words.group() not in ("horizon", "layer") else []


def _in_unit(depths: Depths, unit: str) -> Depths:
    known = UNIT_WORDS.get(unit, "")
    return replace(depths, unit=known, upper=replace(depths.upper, unit=known)) if known and not depths.unit else depths


def _together(upper: Depths | None, lower: Depths | None) -> Depths | None:
    """Depths of two cells; a lower one that is missing leaves the horizon open below."""
    if upper is None:
        return None
    if lower is None:
        return replace(upper, open_below=True, open_plainly=True)
    unit = upper.unit or lower.unit
    plus = lower.open_plainly
    return Depths(replace(upper.upper, unit=unit), lower.upper, unit, plus, upper.start, upper.end, (*upper.notes, *lower.notes), plus)
