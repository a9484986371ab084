"""Values of .xls, .xlsb and .ods workbooks, through calamine.

Only values can be seen there: formulas, hidden rows and columns are not
reported, and a note says so.
"""

from __future__ import annotations

import datetime
from pathlib import Path

from ...errors import InputError
from .raw import RawTable, Shown, first_filled, table_of, text_of
from .workbook import choose_sheet


class OlderWorkbook:
    """A sheet of an .xls, .xlsb or .ods workbook: its values."""

    suffixes = (".xls", ".xlsb", ".ods")

    def read(self, path: Path, *, sheet: str | None = None, header_row: int = 1) -> RawTable:
        import python_calamine

        path = Path(path)
        try:
            book = python_calamine.load_workbook(str(path))
            pages = {name: book.get_sheet_by_name(name) for name in book.sheet_names}
        except Exception as error:  # the library has its own kinds of error for each format
            raise InputError("the workbook cannot be opened", where=str(path), found=str(error),
                             remedy="open it in the spreadsheet program and save it as .xlsx") from error
        values = {name: page.to_python(skip_empty_area=False) for name, page in pages.items()}
        name = choose_sheet({title: len(rows) > 1 and len(rows[0]) > 1 for title, rows in values.items()}, sheet, path)
        grid = [[_text(value) for value in row] for row in values[name]]
        header_row = first_filled(grid, header_row)
        if len(grid) < header_row:
            raise InputError("the sheet has no row of headings", where=f"{path}, sheet {name}, row {header_row}")
        dates = {
            (r, c) for r, row in enumerate(values[name][header_row:]) for c, value in enumerate(row)
            if isinstance(value, datetime.date)
        }
        shown = {
            (r, c): Shown(text_of(value), "true or false") for r, row in enumerate(values[name][header_row:]) for c, value in enumerate(row)
            if isinstance(value, bool)
        }
        for (top, left), (bottom, right) in getattr(pages[name], "merged_cell_ranges", None) or ():
            for r in range(top, bottom + 1):
                for c in range(left, right + 1):
                    grid[r][c] = grid[top][left]
        return table_of(
            grid[header_row - 1], grid[header_row:], range(header_row + 1, len(grid) + 1), sheet=name, dates=dates, shown=shown,
            notes=("values only: this format does not show formulas, hidden rows, hidden columns or how numbers are shown (an id shown as 008 is read as 8)",),
        )


def _text(value: object) -> str:
    if isinstance(value, datetime.datetime):
        return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(sep=" ")
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return text_of(value)


READER = OlderWorkbook()
