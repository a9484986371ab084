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
    front.column_dimensions["A"].width = 110
    for line in about:
        front.append([_text_cell(front, line)])
    meanings = []
    for table_name, table in tables.items():
        columns = {new: (old, describe(old, definitions)) for old, new in safe_names(table.columns).items()}
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


def sheet_names(names: Sequence[str]) -> dict[str, str]:
    """Names of sheets: at most 31 characters, none of []:*?/\\, unique ignoring case."""
    chosen: dict[str, str] = {}
    for name in names:
        base = new = re.sub(r"[\[\]:*?/\\']", "_", name)[:31] or "sheet"
        number = 2
        while new.lower() in {other.lower() for other in chosen.values()}:
            new = f"{base[: 30 - len(str(number))]}_{number}"
            number += 1
        chosen[name] = new
    return chosen


def _fill(sheet, table: pd.DataFrame, headings: Sequence[str]) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.utils import get_column_letter

    sheet.freeze_panes = "B2"
    # headings as a program has them may be long: the row wraps, the column stays readable
    for number, heading in enumerate(headings, start=1):
        sheet.column_dimensions[get_column_letter(number)].width = min(max(len(heading) * 0.6, 11), 26)
    head = []
    for heading in headings:
        cell = _text_cell(sheet, heading)
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", fgColor="E4EBF0")
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        head.append(cell)
    sheet.append(head)
    columns = [list(table[name]) for name in table.columns]
    for row in zip(*columns, strict=True):
        sheet.append([_cell(sheet, value) for value in row])


def _cell(sheet, value: object):
    from .tables import is_missing

    if is_missing(value):
        return None
    if isinstance(value, (bool, np.bool_)):
        return _text_cell(sheet, "yes" if value else "no")
    if isinstance(value, (int, np.integer)):
        return int(value)
    if isinstance(value, (float, np.floating)):
        return float(value)
    return _text_cell(sheet, str(value))


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
