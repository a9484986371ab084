"""What every reader gives: text cells with their place in the file, nothing interpreted.

Ids such as ``007``, ``1E5`` and ``NA`` survive because no reader guesses a
type; meaning begins in ``columns.py``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import geopandas as gpd
import numpy as np
import pandas as pd

INVISIBLE = re.compile("[\ufeff\u200b-\u200f\u202a-\u202e\u2060-\u2064\u2066-\u2069\u00ad\u034f\u061c\u180e]")
"""Byte-order mark, zero-width marks, marks of writing direction, soft hyphen: never meant, never seen."""


@dataclass(frozen=True)
class Fault:
    """A cell or a row that could not be read as it stands. ``heading`` is empty for a whole row."""

    position: int
    heading: str
    what: str
    found: str = ""
    remedy: str = ""


@dataclass(frozen=True)
class Shown:
    """A cell that holds no text: how it is shown (``""`` where that is not certain), and what it holds."""

    text: str
    holds: str


@dataclass(frozen=True, eq=False)
class RawTable:
    """Text cells of one table.

    Attributes
    ----------
    cells : one column a heading, unique headings, every value text, ``""`` where nothing stands.
    rows : source row of each row, 1 = first line (features of a layer are counted from 1).
    file, sheet : where it comes from, as the survey file names it.
    geometry : points with their system, when the file has them.
    decimal, has_decimals : decimal mark of the numbers, and whether any number has one.
    dates : (position, heading) of cells that the program holds as dates; their text is ISO.
    shown : (position, heading) -> Shown, of cells that hold true or false, or a number under a format of its own.
    letters : heading -> column letter of a workbook, for cell addresses.
    faults : cells that hold no readable value.
    notes : what was decided while reading.
    """

    cells: pd.DataFrame
    rows: np.ndarray
    file: str = ""
    sheet: str = ""
    geometry: gpd.GeoSeries | None = None
    decimal: str = "."
    has_decimals: bool = True
    dates: frozenset[tuple[int, str]] = frozenset()
    shown: dict[tuple[int, str], Shown] = field(default_factory=dict)
    letters: dict[str, str] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def shifted_rows(self) -> np.ndarray:
        """Rows of text with more cells than headings: their values may stand in the wrong columns, so they are not used."""
        bad = np.zeros(len(self.rows), bool)
        if self.geometry is None:
            bad[[fault.position for fault in self.faults if not fault.heading]] = True
        return bad

    def address(self, position: int, heading: str) -> str:
        """``cell B7`` in a workbook, else ``column 'depth'``."""
        letter = self.letters.get(heading)
        return f"cell {letter}{self.rows[position]}" if letter else f"column {heading!r}"


def clean_heading(text: str) -> str:
    """A heading without invisible characters and double blanks (R4)."""
    text = INVISIBLE.sub("", text).replace("\u00a0", " ").replace("\u202f", " ")
    return " ".join(text.split())


def unique_headings(headings: Iterable[str]) -> tuple[list[str], list[str]]:
    """Cleaned headings made unique (``name (2)``), and notes on those that had to be changed.

    A blank heading becomes ``column 5``: its data are not lost.
    """
    seen: dict[str, int] = {}
    names, notes = [], []
    for number, text in enumerate(headings, start=1):
        name = clean_heading(text) or f"column {number}"
        if name in seen:
            seen[name] += 1
            new = f"{name} ({seen[name]})"
            notes.append(f"the heading {name!r} stands twice; the later one is read as {new!r}")
            name = new
        seen.setdefault(name, 1)
        names.append(name)
    return names, notes


def first_filled(records: Sequence[Sequence[str]], header_row: int) -> int:
    """The row of the headings, counted from 1: ``header_row``, or the first below it that is not blank."""
    while header_row <= len(records) and not any(cell.strip() for cell in records[header_row - 1]):
        header_row += 1
    return header_row


def table_of(headings: Sequence[str], records: Sequence[Sequence[str]], rows: Sequence[int], **more) -> RawTable:
    """A RawTable of records as long as ``headings``; rows and blank-headed columns without any text are left out.

    ``dates``, ``shown`` and ``faults`` in ``more`` are given by (record, column number) and are moved along.
    """
    names, notes = unique_headings(headings)
    cells = pd.DataFrame(list(records), columns=names, dtype=object) if records else pd.DataFrame(columns=names, dtype=object)
    filled = (cells != "").to_numpy() & np.array([text.strip() != "" for text in cells.to_numpy().ravel()], dtype=bool).reshape(cells.shape)
    faults: dict[tuple[int, int], tuple[str, str, str]] = more.pop("faults", {})
    dates: set[tuple[int, int]] = more.pop("dates", set())
    shown: dict[tuple[int, int], Shown] = more.pop("shown", {})
    for record, column in faults:
        filled[record, max(column, 0)] = True
    keep_rows = filled.any(axis=1)
    keep_columns = filled.any(axis=0) | np.array([clean_heading(text) != "" for text in headings], bool)
    position = np.cumsum(keep_rows) - 1
    return RawTable(
        cells=cells.loc[keep_rows, keep_columns].reset_index(drop=True),
        rows=np.asarray(rows, dtype=np.int64)[keep_rows] if len(rows) else np.zeros(0, np.int64),
        dates=frozenset((int(position[r]), names[c]) for r, c in dates),
        shown={(int(position[r]), names[c]): what for (r, c), what in shown.items()},
        faults=tuple(
            Fault(int(position[r]), names[c] if c >= 0 else "", *text) for (r, c), text in sorted(faults.items())
        ),
        notes=(*more.pop("notes", ()), *notes),
        **more,
    )


def text_of(value: object) -> str:
    """A value as a person would have typed it: no ``.0`` on whole numbers, nothing for nothing (R8)."""
    if value is None:
        return ""
    if isinstance(value, bool | np.bool_):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float | np.floating):
        if np.isnan(value):
            return ""
        return str(int(value)) if float(value).is_integer() and abs(value) < 1e15 else repr(float(value))
    return str(value)
