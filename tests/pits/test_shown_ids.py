"""Ids are text as a person sees them (R4, R6, R8)."""

from __future__ import annotations

import datetime
import io

import openpyxl
import pytest

from geoprofile.pits.readers.workbook import formatted


def workbook(ids, formats=(), merge=None):
    book = openpyxl.Workbook()
    pits = book.active
    pits.title = "pits"
    pits.append(["pit", "easting", "northing"])
    horizons = book.create_sheet("horizons")
    horizons.append(["pit", "upper", "lower"])
    for number, name in enumerate(ids):
        pits.append([name, 567000 + 100 * number, 5827500])
        horizons.append([name, 15 * number, 15 * number + 15])
        if number < len(formats) and formats[number]:
            pits.cell(number + 2, 1).number_format = horizons.cell(number + 2, 1).number_format = formats[number]
    if merge:
        horizons.merge_cells(merge)
    written = io.BytesIO()
    book.save(written)
    return {"b.xlsx": written.getvalue()}


def read(read_survey, *args, **more):
    return read_survey(workbook(*args, **more), pits={"file": "b.xlsx", "sheet": "pits"}, horizons={"file": "b.xlsx", "sheet": "horizons"}, depth_unit="cm")


def told(pits, sheet="pits"):
    return pits.problems[(pits.problems["check"] == "id") & (pits.problems["sheet"] == sheet)]


def test_numbers_are_read_as_their_format_shows_them_R6(read_survey):
    pits = read(read_survey, [8, 8, 7, 9, 12], ["000", '"P"000', "0.0", '0"-b"', None])
    assert list(pits.pits["pit_id"]) == ["008", "P008", "7.0", "9-b", "12"]
    assert set(pits.horizons["pit_id"]) == set(pits.pits["pit_id"]) and told(pits).empty


def test_a_number_whose_format_is_not_certain_is_told_R6(read_survey):
    pits = read(read_survey, [1234, 567], ["00-00", "#,##0"])
    assert list(pits.pits["pit_id"]) == ["1234", "567"]
    said = told(pits)
    assert len(said) == 1 and "2 ids are numbers that may be shown otherwise" in said.iloc[0]["what"]
    assert "00-00" in said.iloc[0]["found"] and "rows 2, 3" in said.iloc[0]["found"]


def test_a_date_and_a_truth_as_ids_are_told_R5(read_survey):
    pits = read(read_survey, [datetime.datetime(2025, 10, 5), True, "A1"])
    assert list(pits.pits["pit_id"]) == ["2025-10-05", "TRUE", "A1"]
    said = told(pits)
    assert list(said["what"]) == ["the id is held as a date by the spreadsheet", "the id is held as true or false by the spreadsheet"]
    assert list(said["pit_id"]) == ["2025-10-05", "TRUE"] and list(said["row"]) == [2, 3]
    assert set(said["severity"]) == {"warning"}


def test_an_id_merged_over_its_horizons_is_shown_alike_R10(read_survey):
    pits = read(read_survey, [7, "A"], ['"P"00'], merge="A2:A3")
    assert list(pits.horizons["pit_id"]) == ["P07", "P07"]


@pytest.mark.parametrize(
    ("value", "shape", "text"),
    [(8, '"P"000', "P008"), (8, "\\P000", "P008"), (8.0, "0.00", "8.00"), (8.5, "00.0", "08.5"), (8.4, '0" in"', ""), (8, "#,##0", ""), (-8, '"P"0', ""), (8, "yyyy", "")],
)  # fmt: skip
def test_a_format_is_followed_only_where_its_text_is_certain(value, shape, text):
    assert formatted(value, shape) == text


def test_an_id_with_a_mark_that_nobody_sees_is_the_id_without_it_and_told_R4(read_survey):
    files = {"pits.csv": "pit,easting,northing\nA1\u200e,567000,5827500\nA2,567100,5827500\n", "horizons.csv": "pit,upper,lower\nA1,0,15\nA2,0,15\n"}
    pits = read_survey(files, pits={"file": "pits.csv"}, horizons={"file": "horizons.csv"}, depth_unit="cm")
    assert list(pits.pits["pit_id"]) == ["A1", "A2"] and len(pits.horizons) == 2
    said = pits.problems[pits.problems["check"] == "id"]
    assert list(said["found"]) == ["A1 with U+200E"] and list(said["pit_id"]) == ["A1"] and said.iloc[0]["row"] == 2


def test_an_id_that_equals_another_but_for_the_mark_is_the_same_id_twice_R9(read_survey):
    files = {"pits.csv": "pit,easting,northing\nA1\u200e,567000,5827500\nA1,567100,5827500\n", "horizons.csv": "pit,upper,lower\nA1,0,15\n"}
    pits = read_survey(files, pits={"file": "pits.csv"}, horizons={"file": "horizons.csv"}, depth_unit="cm")
    assert {"id", "repeated id"} <= set(pits.problems["check"]) and pits.pits.empty


def test_numbered_columns_of_a_wide_table_tell_it_once(read_survey):
    files = {"pits.csv": "pit,easting,northing,h1 upper,h1 lower,h2 upper,h2 lower\nA1\u200e,567000,5827500,0,15,15,40\n"}
    pits = read_survey(files, pits={"file": "pits.csv"}, depth_unit="cm")
    assert list(pits.horizons["pit_id"]) == ["A1", "A1"] and (pits.problems["check"] == "id").sum() == 1
