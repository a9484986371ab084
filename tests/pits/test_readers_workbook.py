"""Workbooks: cells as a person sees them."""

from __future__ import annotations

import datetime

import openpyxl
import pytest

from geoprofile.errors import InputError
from geoprofile.pits.readers.older_workbook import READER as OLDER
from geoprofile.pits.readers.workbook import READER


def save(folder, rows, name="pits.xlsx", change=None, sheet="horizons"):
    book = openpyxl.Workbook()
    page = book.active
    page.title = sheet
    for row in rows:
        page.append(row)
    if change:
        change(book, page)
    book.save(folder / name)
    return folder / name


def test_ids_are_text_and_whole_numbers_gain_no_decimals_R6_R8(folder):
    def change(book, page):
        page["A4"].number_format = "000"

    found = READER.read(save(folder, [["pit", "clay"], [101, 12.5], ["007", None], [7, 3], ["1E5", 1]], change=change))
    assert found.cells["pit"].tolist() == ["101", "007", "007", "1E5"]  # 7 under the format 000 is shown as 007
    assert found.cells["clay"].tolist() == ["12.5", "", "3", "1"]


def test_merged_ranges_are_expanded_exactly_and_empty_cells_stay_empty_R10(folder):
    def change(book, page):
        page.merge_cells("A2:A4")

    rows = [["pit", "designation"], ["P1", "Ah"], [None, "Bm"], [None, "Ck"], [None, "R"]]
    found = READER.read(save(folder, rows, change=change))
    assert found.cells["pit"].tolist() == ["P1", "P1", "P1", ""]


def test_a_formula_without_a_stored_value_is_a_fault_of_its_cell_R11(folder):
    found = READER.read(save(folder, [["pit", "clay"], ["P1", "=5+7"], ["P2", 3]]))
    assert [(fault.position, fault.heading) for fault in found.faults] == [(0, "clay")]
    assert found.address(0, "clay") == "cell B2" and "without a stored value" in found.faults[0].what


def test_hidden_rows_and_columns_are_read_and_reported_R12(folder):
    def change(book, page):
        page.row_dimensions[3].hidden = True
        page.column_dimensions["B"].hidden = True

    found = READER.read(save(folder, [["pit", "x", "clay"], ["P1", 1, 10], ["P2", 2, 20]], change=change))
    assert found.cells["clay"].tolist() == ["10", "20"]
    assert any("hidden rows were read too: 3" in note for note in found.notes)
    assert any("hidden columns were read too: B" in note for note in found.notes)


def test_dates_stay_dates_R5(folder):
    found = READER.read(save(folder, [["pit", "depth"], ["P1", datetime.datetime(2026, 10, 15)], ["P2", "15-45"]]))
    assert found.cells["depth"].tolist() == ["2026-10-15", "15-45"]
    assert found.dates == {(0, "depth")}


def test_blank_formatted_rows_are_no_rows(folder):
    found = READER.read(save(folder, [["pit", "clay"], ["P1", 1], [None, None], [None, None], ["P2", 2]]))
    assert found.rows.tolist() == [2, 5]


def test_a_percent_format_reads_as_shown(folder):
    def change(book, page):
        page["B2"].number_format = "0%"

    assert READER.read(save(folder, [["pit", "clay"], ["P1", 0.35]], change=change)).cells["clay"].tolist() == ["35%"]


def test_several_tables_and_none_named_is_an_error_that_lists_them(folder):
    def change(book, page):
        other = book.create_sheet("pits")
        other.append(["pit", "x"])
        other.append(["P1", 1])

    path = save(folder, [["pit", "clay"], ["P1", 1]], change=change)
    with pytest.raises(InputError, match="horizons, pits"):
        READER.read(path)
    assert READER.read(path, sheet="pits").cells.shape == (1, 2)
    with pytest.raises(InputError, match="no such sheet"):
        READER.read(path, sheet="pit")


def test_a_spreadsheet_error_is_a_fault(folder):
    found = READER.read(save(folder, [["pit", "clay"], ["P1", "#DIV/0!"]]))
    assert "error of the spreadsheet" in found.faults[0].what


def test_values_of_xls_and_ods_are_read_as_text(folder):
    xlwt = pytest.importorskip("xlwt")
    book = xlwt.Workbook()
    page = book.add_sheet("horizons")
    for r, row in enumerate([["pit", "clay"], ["007", 12.5], [7, 3]]):
        for c, value in enumerate(row):
            page.write(r, c, value)
    book.save(str(folder / "pits.xls"))
    found = OLDER.read(folder / "pits.xls")
    assert found.cells["pit"].tolist() == ["007", "7"] and found.cells["clay"].tolist() == ["12.5", "3"]

    opendocument = pytest.importorskip("odf.opendocument")
    from odf.table import Table, TableCell, TableRow
    from odf.text import P

    document = opendocument.OpenDocumentSpreadsheet()
    sheet = Table(name="horizons")
    for row in (["pit", "clay"], ["007", "12.5"], ["None", "3"]):
        line = TableRow()
        for value in row:
            cell = TableCell(valuetype="string")
            cell.addElement(P(text=value))
            line.addElement(cell)
        sheet.addElement(line)
    document.spreadsheet.addElement(sheet)
    document.save(str(folder / "pits.ods"))
    assert OLDER.read(folder / "pits.ods").cells["pit"].tolist() == ["007", "None"]


def test_what_is_no_workbook_is_refused(folder):
    (folder / "pits.xlsx").write_text("pit,clay\n")
    with pytest.raises(InputError, match="cannot be opened"):
        READER.read(folder / "pits.xlsx")


def test_merged_ranges_of_an_xls_are_expanded_R10(folder):
    xlwt = pytest.importorskip("xlwt")
    book = xlwt.Workbook()
    page = book.add_sheet("horizons")
    for c, heading in enumerate(["pit", "designation"]):
        page.write(0, c, heading)
    page.write_merge(1, 3, 0, 0, "P1")
    for r, name in enumerate(["Ah", "Bm", "Ck", "R"], start=1):
        page.write(r, 1, name)
    book.save(str(folder / "pits.xls"))
    assert OLDER.read(folder / "pits.xls").cells["pit"].tolist() == ["P1", "P1", "P1", ""]


def test_a_sheet_with_headings_alone_is_a_table_without_rows(folder):
    """The blank form as ``geoprofile new`` makes it."""
    assert len(READER.read(save(folder, [["pit_id", "upper_cm"]]), sheet="horizons").cells) == 0


def test_a_sheet_that_is_not_there_is_told_with_those_that_are_and_what_to_do(folder):
    with pytest.raises(InputError) as caught:
        READER.read(save(folder, [["pit_id"], ["1"]]), sheet="horizon")
    assert caught.value.allowed == "horizons" and "survey file" in caught.value.remedy


def test_blank_rows_before_the_headings_are_skipped_and_rows_keep_their_numbers(folder):
    found = READER.read(save(folder, [[None, None], [None, " "], ["pit", "clay"], ["P1", 20]]))
    assert list(found.cells.columns) == ["pit", "clay"] and found.rows.tolist() == [4]
