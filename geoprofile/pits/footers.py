"""Rows below a table that are no part of it: ``Logged by: crew 2``, a total, a footnote. They are left out, and that is said.

Common practice, no source: workbooks of field data end so.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pandas as pd

from ..problems import Problem
from .columns import Mapped
from .readers.raw import RawTable

_REMARK = re.compile(
    r"\s*(?:\*+|note[sd]?\b|remarks?\b|comments?\b|legend\b|key\b|source\b|totals?\b|sub-?totals?\b|grand total\b|sum\b|mean\b|average\b|count\b|min(?:imum)?\b|max(?:imum)?\b"
    r"|(?:logged|described|surveyed|recorded|compiled|prepared|checked|reviewed|entered|drawn|dug|sampled|printed|updated|approved|signed) (?:by|on)\b|number of\b"
    r"|page \d|end of\b|all depths\b|depths? (?:are|in)\b|colou?rs? (?:are|by)\b|see\b|printed\b|prepared\b|revision\b|last (?:updated|edited)\b|\S[^:]{2,40}:\s+\S)",
    re.IGNORECASE,
)
"""How such a row begins. An id does not: a label with a colon and words behind it, a word of sums, who wrote the table."""

MOST_CELLS = 3
"""A remark fills no more cells than these, and less than half of the columns where there are many."""

MOST_WORDS = 3
"""A lone cell of more words is no id."""

BEGINS = {"horizons": ("designation", "depth", "upper_depth"), "pits": ("easting", "northing", "longitude", "latitude")}
"""Fields without any of which a row of the table is none of its own."""


def without_footer(mapped: Mapped, role: str) -> Mapped:
    """The table without the remarks below it; each is listed as a note. Only rows behind the last row of the table count."""
    cells = mapped.raw.cells
    if role not in BEGINS or not mapped.has("pit_id") or len(cells) < 2:
        return mapped
    told = np.zeros(len(cells), bool)
    for name in BEGINS[role]:
        told |= mapped.text(name) != ""
    last = len(cells)
    while last > 1 and not told[last - 1] and _is_remark(cells.iloc[last - 1].astype(str).str.strip().to_numpy(object)):
        last -= 1
    ids = mapped.text("pit_id")
    if any(_REMARK.match(text) for text in set(ids[:last])):
        return mapped  # here ids themselves look so
    if last == len(cells):
        return mapped
    for position in range(last, len(cells)):
        text = " ".join(filter(None, (" ".join(str(cell).split()) for cell in cells.iloc[position])))
        mapped.problems.append(Problem("note", "below the table", "this looks like a remark below the table and is left out", file=mapped.raw.file, sheet=mapped.raw.sheet,
                                       row=int(mapped.raw.rows[position]), found=text[:120],
                                       remedy="nothing, if it is one; if it is a row of the table, write its pit id and its depths" if role == "horizons" else
                                       "nothing, if it is one; if it is a pit, write its id and where it is"))  # fmt: skip
    return replace(mapped, raw=_first_rows(mapped.raw, last))


def _is_remark(cells: np.ndarray) -> bool:
    filled = [text for text in cells if text]
    few = len(filled) <= MOST_CELLS and (len(filled) == 1 or 2 * len(filled) <= len(cells))
    return bool(filled) and few and bool(_REMARK.match(filled[0]) or (len(filled) == 1 and len(filled[0].split()) > MOST_WORDS))


def _first_rows(raw: RawTable, count: int) -> RawTable:
    cells: pd.DataFrame = raw.cells.iloc[:count]
    return replace(
        raw, cells=cells, rows=raw.rows[:count], geometry=None if raw.geometry is None else raw.geometry.iloc[:count],
        dates=frozenset(place for place in raw.dates if place[0] < count), faults=tuple(fault for fault in raw.faults if fault.position < count),
    )  # fmt: skip
