"""The workbook on the screen and on paper: nothing cut, and pages that can be read."""

import io

import openpyxl
import pandas as pd

from geoprofile.outputs.sheet_layout import WIDEST, column_width, pages_wide, sheet_names
from geoprofile.outputs.workbook import workbook_bytes


def book_of(tables):
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes(tables, ["about"])))


def test_sheet_names_are_legal_and_unique():
    names = sheet_names(["a" * 40, "a" * 41, "A" * 40, "x[1]:?", "columns", "Columns"])
    assert len({name.lower() for name in names.values()}) == 6
    assert all(len(name) <= 31 and not set(name) & set("[]:*?/\\") for name in names.values())


def test_a_name_too_long_for_a_sheet_loses_a_whole_word_and_the_first_sheet_says_so():
    long = "landform_element_attributes_other_units"
    names = sheet_names(["landform_element_attributes", long])
    assert names == {"landform_element_attributes": "landform_element_attributes", long: "landform_element_other_units"}
    front = book_of({long: pd.DataFrame({"pit_id": ["007"]})}).worksheets[0]
    assert f"Sheet landform_element_other_units holds the table {long}." in [cell.value for cell in front["A"]]


def test_a_column_is_as_wide_as_its_texts_and_a_longer_text_is_wrapped():
    assert column_width("Pit", ["TK-001"]) == 9
    assert column_width("Pit", ["x" * 40, "y"]) == 43, "the text counts, not its heading"
    assert column_width("Remarks", ["x" * 500]) == WIDEST
    assert column_width("Remarks", ["ten letter\nten letter"]) == 13, "lines are counted each by itself"
    assert column_width("Mean standardised", []) > 1.2 * len("standardised"), "no word of a heading is cut"
    sheet = book_of({"t": pd.DataFrame({"short": ["x" * 40], "long": ["word " * 100]})})["t"]
    assert (sheet["A2"].alignment.wrap_text, sheet["B2"].alignment.wrap_text) == (None, True)
    assert sheet.column_dimensions["A"].width == 43
    assert sheet.row_dimensions[2].height == 10 * 15, "a hundred words, eleven to a line"


def test_a_sheet_prints_landscape_with_its_heading_row_on_every_page_and_no_column_off_the_page():
    narrow = book_of({"t": pd.DataFrame({"pit_id": ["007"]})})["t"]
    assert narrow.page_setup.orientation == "landscape" and narrow.sheet_properties.pageSetUpPr.fitToPage
    assert (narrow.page_setup.fitToWidth, narrow.page_setup.fitToHeight) == (1, 0)
    assert narrow.print_title_rows == "$1:$1" and not narrow.print_title_cols
    wide = book_of({"t": pd.DataFrame({f"column_{n}": ["x" * 20] for n in range(30)})})["t"]
    assert wide.page_setup.fitToWidth == pages_wide([23] * 30) == 3, "ninety columns on one page would be too small to read"
    assert wide.print_title_cols == "$A:$A", "the pit stands on every page"


def test_figures_have_the_digits_that_the_csv_has():
    sheet = book_of({"t": pd.DataFrame({"mean_cm": [0.1 + 0.2, 15.0]})})["t"]
    assert [cell.value for cell in sheet["A"][1:]] == [0.3, 15]
