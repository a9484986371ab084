"""Workbooks (.xlsx): cells as a person sees them.

Merged ranges are expanded exactly (R10), a formula without a stored value is a
fault of its cell and never a blank (R11), hidden rows and columns are read and
reported (R12), dates stay dates (R5), leading zeros of a number format stay (R6).
"""

from __future__ import annotations

import datetime
import re
from pathlib import Path

from ...errors import InputError
from .raw import RawTable, Shown, first_filled, table_of, text_of, unique_headings

_ZEROS = re.compile("0{2,}")
_LITERAL = r'((?:"[^"]*"|\\.|[ \-])*)'
_PLAIN_NUMBER = re.compile(_LITERAL + r"(0+)(?:\.(0+))?" + _LITERAL)
"""Formats whose text is certain: digits with leading zeros and decimals, between words in quotes."""


class Workbook:
    """A sheet of an .xlsx or .xlsm workbook."""

    suffixes = (".xlsx", ".xlsm")

    def read(self, path: Path, *, sheet: str | None = None, header_row: int = 1) -> RawTable:
        import openpyxl
        from openpyxl.utils import get_column_letter

        path = Path(path)
        try:
            book = openpyxl.load_workbook(path, data_only=True)
        except Exception as error:  # the library raises many kinds on a file that is no workbook
            raise InputError("the workbook cannot be opened", where=str(path), found=str(error),
                             remedy="open it in the spreadsheet program and save it as .xlsx") from error
        tables = {page.title: page for page in book.worksheets}
        name = choose_sheet({title: _has_data(page) for title, page in tables.items()}, sheet, path)
        page = tables[name]
        formulas = _formulas(path, name)

        values = [list(row) for row in page.iter_rows(min_row=1, max_row=page.max_row, max_col=page.max_column)]
        grid = [[text_of_cell(cell) for cell in row] for row in values]
        dates, faults, shown = set(), {}, {}
        for r, row in enumerate(values):
            for c, cell in enumerate(row):
                if isinstance(cell.value, datetime.datetime | datetime.date):
                    dates.add((r, c))
                elif cell.data_type == "e":
                    faults[(r, c)] = ("the cell holds an error of the spreadsheet", str(cell.value), "correct it there")
                    grid[r][c] = ""
                elif what := shown_of(cell):
                    shown[(r, c)] = what
        for r, c, formula in formulas:
            if r < len(grid) and c < len(grid[r]) and values[r][c].value is None:
                faults[(r, c)] = (
                    "a formula without a stored value cannot be read",
                    formula, "open the workbook in the spreadsheet program and save it, so that values are stored",
                )
        for area in page.merged_cells.ranges:
            at = (area.min_row - 1, area.min_col - 1)
            first = grid[at[0]][at[1]]
            for r in range(area.min_row - 1, min(area.max_row, len(grid))):
                for c in range(area.min_col - 1, min(area.max_col, len(grid[r]))):
                    grid[r][c] = first
                    if at in shown:
                        shown[(r, c)] = shown[at]
        notes = [f"sheet {name!r} read"] if sheet is None and len(tables) > 1 else []
        notes += _hidden(page)
        header_row = first_filled(grid, header_row)
        if len(grid) < header_row:
            raise InputError("the sheet has no row of headings", where=f"{path}, sheet {name}, row {header_row}")
        headings = grid[header_row - 1]
        names, _ = unique_headings(headings)
        return table_of(
            headings, grid[header_row:], range(header_row + 1, len(grid) + 1), sheet=name,
            dates={(r - header_row, c) for r, c in dates if r >= header_row},
            shown={(r - header_row, c): what for (r, c), what in shown.items() if r >= header_row},
            faults={(r - header_row, c): text for (r, c), text in faults.items() if r >= header_row},
            notes=tuple(notes), letters={name: get_column_letter(number) for number, name in enumerate(names, start=1)},
        )


def choose_sheet(has_data: dict[str, bool], sheet: str | None, path: Path) -> str:
    """The sheet asked for, or the only one that holds a table. InputError lists them otherwise."""
    if sheet is not None:
        if sheet not in has_data:
            raise InputError("the workbook has no such sheet", where=str(path), found=sheet, allowed=", ".join(has_data),
                             remedy="correct sheet = \"...\" in the survey file")
        return sheet
    filled = [name for name, filled in has_data.items() if filled]
    if len(filled) != 1:
        raise InputError(
            "the workbook holds several tables and none is named" if filled else "the workbook holds no table",
            where=str(path), found=", ".join(filled), remedy='name one, as { file = "...", sheet = "..." }',
        )
    return filled[0]


def text_of_cell(cell) -> str:
    """The value as shown: ``007`` under the format 000, ``35%`` under a percent format, ISO for dates."""
    value, shape = cell.value, cell.number_format
    if isinstance(value, datetime.datetime):
        return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(sep=" ")
    if isinstance(value, datetime.date):
        return value.isoformat()
    if isinstance(value, int | float) and not isinstance(value, bool) and shape not in (None, "General"):
        if _ZEROS.fullmatch(shape) and float(value).is_integer():
            return str(int(value)).zfill(len(shape))
        if "%" in shape:
            return f"{value * 100:.12g}%"
    return text_of(value)


def shown_of(cell) -> Shown | None:
    """How a cell is shown that holds true or false, or a number under a format of its own; None for all others."""
    value, shape = cell.value, cell.number_format
    if isinstance(value, bool):
        return Shown(text_of(value), "true or false")
    if not isinstance(value, int | float) or shape in (None, "General", "@") or _ZEROS.fullmatch(shape) or "%" in shape:
        return None
    return Shown(formatted(value, shape), f"the number {text_of(value)} under the format {shape}")


def formatted(value: float, shape: str) -> str:
    """A number under a format whose text is certain, such as ``"P"000`` or ``0.0``; ``""`` under all others, and where digits would be lost."""
    found = _PLAIN_NUMBER.fullmatch(shape)
    if not found or value < 0:
        return ""
    before, whole, decimals, behind = found.groups()
    digits = f"{value:.{len(decimals or '')}f}"
    if float(digits) != float(value):
        return ""
    width = len(whole) + (1 + len(decimals) if decimals else 0)
    words = [re.sub(r'"([^"]*)"|\\(.)', lambda match: match[1] if match[1] is not None else match[2], text) for text in (before, behind)]
    return words[0] + digits.zfill(width) + words[1]


def _has_data(page) -> bool:
    return page.max_row > 1 and page.max_column > 1


def _formulas(path: Path, sheet: str) -> list[tuple[int, int, str]]:
    """(row, column, formula) of the formula cells, counted from 0. The second look is taken only when there are any."""
    import zipfile

    import openpyxl

    with zipfile.ZipFile(path) as archive:
        sheets = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        if not any(b"<f" in archive.read(name) for name in sheets):
            return []
    page = openpyxl.load_workbook(path, data_only=False)[sheet]
    return [
        (cell.row - 1, cell.column - 1, str(cell.value))
        for row in page.iter_rows() for cell in row if cell.data_type == "f"
    ]


def _hidden(page) -> list[str]:
    rows = sorted(number for number, shape in page.row_dimensions.items() if shape.hidden)
    columns = sorted(letter for letter, shape in page.column_dimensions.items() if shape.hidden)
    notes = []
    if rows:
        shown = ", ".join(map(str, rows[:8])) + (" ..." if len(rows) > 8 else "")
        notes.append(f"hidden rows were read too: {shown}")
    if columns:
        notes.append(f"hidden columns were read too: {', '.join(columns)}")
    return notes


READER = Workbook()
