"""Delimited text: encoding, separator and decimal mark, nothing guessed of the cells."""

from __future__ import annotations

import pytest

from geoprofile.errors import InputError
from geoprofile.pits.readers.delimited import READER


def table(folder, content: bytes, **how):
    path = folder / "table.csv"
    path.write_bytes(content)
    return READER.read(path, **how)


def test_separator_and_decimal_mark_are_found_together_over_the_whole_file_R1(folder):
    found = table(folder, b"pit;depth;clay\n1;0-15;12,5\n2;15-30;23,75\n")
    assert list(found.cells.columns) == ["pit", "depth", "clay"]
    assert found.decimal == "," and found.cells["clay"].tolist() == ["12,5", "23,75"]
    assert "semicolon between cells, decimal comma" in found.notes[0]


def test_a_comma_file_with_commas_in_quoted_cells_keeps_its_columns(folder):
    found = table(folder, b'pit,note,clay\n1,"sandy, loose",12.5\n2,"a ""word"", and more",9\n')
    assert found.cells["note"].tolist() == ["sandy, loose", 'a "word", and more']
    assert found.decimal == "."


def test_tabs_and_bars_separate_too(folder):
    assert table(folder, b"pit\tclay\n1\t12,5\n").cells.shape == (1, 2)
    assert table(folder, b"pit|clay\n1|12.5\n").cells.shape == (1, 2)


def test_a_table_of_one_column_is_read(folder):
    assert table(folder, b"pit_id\n007\n7\n").cells["pit_id"].tolist() == ["007", "7"]


@pytest.mark.parametrize(
    ("encoded", "name"),
    [("utf-8", "UTF-8,"), ("utf-8-sig", "UTF-8 with byte-order mark"), ("cp1252", "cp1252"), ("utf-16", "UTF-16")],
)
def test_the_encoding_is_found_and_named_R3(folder, encoded, name):
    found = table(folder, "pit;note\n1;Ap \u2013 gest\u00f6rt\n".encode(encoded))
    assert found.cells["note"].tolist() == ["Ap \u2013 gest\u00f6rt"]
    assert name in found.notes[0]


def test_what_is_neither_utf8_nor_cp1252_names_file_line_and_byte_R3(folder):
    with pytest.raises(InputError) as error:
        table(folder, b"pit,note\n1,ok\n2,\x81\x8d\n")
    assert "line 3" in str(error.value) and "0x81" in str(error.value) and "table.csv" in str(error.value)


def test_a_byte_order_mark_and_invisible_blanks_never_stay_in_a_heading_R4(folder):
    clean = table(folder, b"pit_id,upper depth\n1,0\n")
    dirty = table(folder, "\ufeffpit_id\u200b,upper\u00a0depth\n1,0\n".encode())
    assert list(clean.cells.columns) == list(dirty.cells.columns) == ["pit_id", "upper depth"]


def test_every_cell_stays_as_typed_R6_R7_R2(folder):
    words = ["007", "1E5", "12-03", "NA", "None", "", "0", "101.0", "1.234", "TRUE", "null"]
    found = table(folder, ("pit,x\n" + "\n".join(f"{word},a" for word in words)).encode())
    assert found.cells["pit"].tolist() == words


def test_rows_are_numbered_as_an_editor_shows_them_also_behind_a_cell_of_two_lines(folder):
    found = table(folder, b'pit,note\n1,"one\ntwo"\n\n2,x\n')
    assert found.rows.tolist() == [2, 5]


def test_a_row_with_more_cells_than_headings_is_a_fault_and_not_shifted(folder):
    found = table(folder, b"pit,clay\n1,10\n2,sandy, loose\n3,12\n")
    assert [fault.position for fault in found.faults] == [1]
    assert found.shifted_rows.tolist() == [False, True, False]


def test_headings_below_a_title_are_found_by_header_row(folder):
    found = table(folder, b"Survey of 2024,\n,\npit,clay\n1,10\n", header_row=3)
    assert list(found.cells.columns) == ["pit", "clay"] and found.rows.tolist() == [4]


def test_a_heading_twice_is_told_apart_and_said(folder):
    found = table(folder, b"pit,clay,clay\n1,10,20\n")
    assert list(found.cells.columns) == ["pit", "clay", "clay (2)"]
    assert any("stands twice" in note for note in found.notes)


def test_a_workbook_called_csv_is_refused(folder):
    with pytest.raises(InputError, match="not a text file"):
        table(folder, b"PK\x03\x04\x00\x00\x00more")


@pytest.mark.parametrize("blank", [b"\n", b"\r\n\r\n", b",,\n", b"  \n"], ids=["one line", "two lines", "separators", "blanks"])
def test_blank_lines_before_the_headings_are_skipped_and_rows_keep_their_numbers_R4(folder, blank):
    found = table(folder, blank + b"pit,clay,ph\nA1,20,7\n\nA2,30,6\n")
    first = blank.count(b"\n") + 2
    assert list(found.cells.columns) == ["pit", "clay", "ph"] and found.rows.tolist() == [first, first + 2]


def test_a_file_of_blank_lines_is_empty(folder):
    with pytest.raises(InputError, match="empty"):
        table(folder, b"\n\n\n")


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_rows_that_lack_their_last_empty_cells_do_not_hide_the_separator_R1(folder, separator):
    text = "pit,horizon,upper,lower,clay\nA1,Ap,0,15\nA1,Bm,15,60\n".replace(",", separator)
    found = table(folder, text.encode())
    assert found.cells["lower"].tolist() == ["15", "60"] and found.cells["clay"].tolist() == ["", ""]


def test_rows_of_the_full_width_outweigh_short_ones_by_another_separator_R1(folder):
    """Decimal commas make three cells of every row; the headings hold commas too."""
    found = table(folder, b"pit;depth, cm, below;clay, %\nA1;1,5;20,5\nA2;2,5;21,5\n")
    assert found.cells["clay, %"].tolist() == ["20,5", "21,5"]
