"""A workbook whose bytes depend on its content alone, and whose text is never a formula."""

from __future__ import annotations

import datetime
import io
import re
import zipfile
from collections.abc import Sequence

import numpy as np
import pandas as pd

from ..products import AttributeDefinition
from .columns import describe
from .names import safe_names
from .sheet_layout import WIDEST, column_width, heading_height, row_height, set_up_pages, sheet_names

LONGEST = 32_767
"""Characters that a cell can hold (Office Open XML, ECMA-376)."""

_STAMP = datetime.datetime(2000, 1, 1)
_ZIP_STAMP = (2000, 1, 1, 0, 0, 0)


def workbook_bytes(
    tables: dict[str, pd.DataFrame], about: Sequence[str], definitions: Sequence[AttributeDefinition] = ()
) -> bytes:
    """One sheet a table behind a sheet ``about``, and a sheet ``columns`` with the meaning of each column."""
    from openpyxl import Workbook

    book = Workbook(write_only=True)
    book.properties.creator = "geoprofile"
    book.properties.created = _STAMP
    names = sheet_names(["about", *tables, "columns"])
    front = book.create_sheet(names["about"])
    front.column_dimensions["A"].width = 120
    set_up_pages(front, [120])
    shortened = [f"Sheet {new} holds the table {old}." for old, new in names.items() if new != old]
    for line in (*about, *([""] if shortened else []), *shortened):
        front.append([_text_cell(front, line)])
    meanings = []
    for table_name, table in tables.items():
        columns = {new: (old, describe(old, definitions, table_name)) for old, new in safe_names(table.columns).items()}
        _fill(book.create_sheet(names[table_name]), table, [column.heading for _, column in columns.values()])
        meanings += [
            {"table": names[table_name], "heading": column.heading, "name": new, "unit": column.unit, "meaning": column.help}
            for new, (_, column) in columns.items()
        ]
    frame = pd.DataFrame(meanings, columns=["table", "heading", "name", "unit", "meaning"])
    _fill(book.create_sheet(names["columns"]), frame, ["Table", "Heading", "Name in survey.gpkg and CSV", "Unit", "Meaning"])
    sink = io.BytesIO()
    book.save(sink)
    return without_clock(sink.getvalue())


def _fill(sheet, table: pd.DataFrame, headings: Sequence[str]) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter

    sheet.freeze_panes = "B2"
    columns = [[_plain(value) for value in table[name]] for name in table.columns]
    widths = [column_width(heading, [str(value) for value in column if value is not None])
              for heading, column in zip(headings, columns, strict=True)]  # fmt: skip
    for number, width in enumerate(widths, start=1):
        sheet.column_dimensions[get_column_letter(number)].width = width
    set_up_pages(sheet, widths)
    # a space before texts keeps them off the figures of the column before
    top = Alignment(vertical="top")
    text, wrapped = (Alignment(horizontal="left", vertical="top", indent=1, wrap_text=wrap) for wrap in (None, True))
    head = []
    for heading in headings:
        cell = _text_cell(sheet, heading)
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", fgColor="E4EBF0")
        cell.alignment = wrapped
        head.append(cell)
    sheet.row_dimensions[1].height = heading_height(headings, widths)
    sheet.append(head)
    tall = [number for number, column in enumerate(columns)
            if widths[number] >= WIDEST or any(isinstance(value, str) and "\n" in value for value in column)]  # fmt: skip
    for place, row in enumerate(zip(*columns, strict=True), start=2):
        if tall:
            height = row_height([str(row[number] or "") for number in tall], [widths[number] for number in tall])
            if height is not None:
                sheet.row_dimensions[place].height = height
        sheet.append([
            _cell(sheet, value, (wrapped if number in tall else text) if isinstance(value, str) else top)
            for number, value in enumerate(row)
        ])  # fmt: skip


def _plain(value: object) -> int | float | str | None:
    """What a cell holds: a number with the digits that CSV has, a text, or nothing."""
    from .tables import is_missing

    if is_missing(value):
        return None
    if isinstance(value, (bool, np.bool_)):
        return "yes" if value else "no"
    if isinstance(value, (int, np.integer)):
        return int(value)
    if isinstance(value, (float, np.floating)):
        short = float(f"{value:.12g}")
        return int(short) if short.is_integer() and abs(short) < 1e15 else short
    return str(value)


def _cell(sheet, value: int | float | str | None, alignment):
    from openpyxl.cell import WriteOnlyCell

    if value is None:
        return None
    cell = _text_cell(sheet, value) if isinstance(value, str) else WriteOnlyCell(sheet, value=value)
    cell.alignment = alignment
    return cell


def _text_cell(sheet, text: str):
    """A cell that stays text whatever it begins with: 007 keeps its zeros, =1+1 is not run."""
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    clean = ILLEGAL_CHARACTERS_RE.sub("\N{REPLACEMENT CHARACTER}", text).encode("utf-8", "replace").decode("utf-8")
    if len(clean) > LONGEST:
        clean = clean[: LONGEST - 24] + " ... (cut; see the CSV)"
    cell = WriteOnlyCell(sheet, value=None)
    cell.value = clean
    cell.data_type = "s"  # openpyxl would take a leading = for a formula
    cell.number_format = "@"
    return cell


def without_clock(content: bytes) -> bytes:
    """The same workbook with fixed dates in its properties and its archive."""
    sink = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as source, zipfile.ZipFile(sink, "w", zipfile.ZIP_DEFLATED) as target:
        for item in source.infolist():
            data = source.read(item)
            if item.filename == "docProps/core.xml":
                data = re.sub(rb"(<dcterms:(created|modified)[^>]*>)[^<]*", rb"\g<1>2000-01-01T00:00:00Z", data)
            entry = zipfile.ZipInfo(item.filename, _ZIP_STAMP)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            target.writestr(entry, data)
    return sink.getvalue()
