"""Ids are text as their cell shows it; where a spreadsheet holds something else, or a mark that nobody sees, it is said."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from .columns import Column, Mapped
from .readers.raw import INVISIBLE

AS_TEXT = "format the column of ids as text and write these again"


def ids_as_shown(mapped: Mapped) -> None:
    """Put the text that cells show in place of the numbers they hold, in columns of ids; list once a column what is not certain.

    Changes ``mapped.raw``, whose other columns stay, and adds to ``mapped.problems``.
    """
    for column in mapped.columns.get("pit_id", ()):
        heading, raw = column.heading, mapped.raw
        cells = raw.cells[heading].to_numpy(object).copy()
        dates = sorted(position for position, of in raw.dates if of == heading)
        shown = {position: what for (position, of), what in raw.shown.items() if of == heading}
        for position, what in shown.items():
            cells[position] = what.text or cells[position]
        logical = [position for position, what in shown.items() if what.holds == "true or false"]
        doubtful = [position for position, what in shown.items() if not what.text]
        unseen = [position for position, text in enumerate(cells) if INVISIBLE.search(text)]
        for position in unseen:
            cells[position] = INVISIBLE.sub("", cells[position])
        _tell(mapped, column, cells, dates, "held as {} by the spreadsheet", ("a date", "dates"), [cells[at] for at in dates])
        _tell(mapped, column, cells, logical, "held as true or false by the spreadsheet", ("", ""), [cells[at] for at in logical])
        _tell(mapped, column, cells, doubtful, "{} that may be shown otherwise than read", ("a number", "numbers"),
              [f"{cells[at]}, {re.sub('^the ', '', shown[at].holds)}" for at in doubtful])
        _tell(mapped, column, cells, unseen, "written with a mark that nobody sees, and read without it", ("", ""),
              [f"{cells[at]} with U+{ord(INVISIBLE.search(raw.cells[heading].iat[at])[0]):04X}" for at in unseen], "write the id again without it")
        if shown or unseen:
            left = {key: what for key, what in raw.shown.items() if key[1] != heading}
            mapped.raw = replace(raw, cells=raw.cells.assign(**{heading: cells}), shown=left)


def _tell(mapped: Mapped, column: Column, cells: np.ndarray, positions: list[int], words: str, one_or_many: tuple[str, str], found: list[str],
          remedy: str = AS_TEXT) -> None:
    if not positions:
        return
    many = len(positions) > 1
    rows = ", ".join(map(str, mapped.raw.rows[np.array(positions)][:12])) + (" ..." if len(positions) > 12 else "")
    mapped.problem(
        positions[0], "warning", "id", (f"{len(positions)} ids are " if many else "the id is ") + words.format(one_or_many[many]), field=column.field.name,
        pit_id=str(cells[positions[0]]), found=found[0] + (f"; rows {rows}" if many else ""), remedy=remedy,
    )  # fmt: skip
