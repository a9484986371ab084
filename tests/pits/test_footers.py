"""Remarks below a table are no pits and no horizons; what could be one is never taken for a remark."""

from __future__ import annotations

import pytest

PITS = "Pit,Easting,Northing,Drainage\nA,500000,5700000,well\nB,500100,5700000,well\n"
HORIZONS = "Pit,Horizon,Depth,Texture,Remarks\nA,Ah,0-15,L,\nB,Ah,0-12,L,\n"
BOTH = {"pits": {"file": "pits.csv"}, "horizons": {"file": "h.csv"}, "depth_unit": "cm"}


@pytest.mark.parametrize("rows", ["Logged by: crew 2,,,,\n", "Total,,,,2\n", ",,,Described by crew 2,\n", "Note: colours are moist,,,,\n,,,,\nall depths in cm from the mineral surface,,,,\n"])
def test_a_remark_below_the_horizons_is_left_out_and_said(read_survey, rows):
    found = read_survey({"pits.csv": PITS, "h.csv": HORIZONS + rows}, **BOTH)
    assert list(found.horizons["pit_id"]) == ["A", "B"] and list(found.pits["pit_id"]) == ["A", "B"]
    said = found.problems[found.problems["check"] == "below the table"]
    assert len(said) == sum(row.strip(",\n") != "" for row in rows.splitlines()) and set(said["severity"]) == {"note"}
    assert said["what"].iloc[0] == "this looks like a remark below the table and is left out"
    assert not (found.problems["severity"] == "error").any() and not found.problems["remedy"].str.contains("write its upper depth").any()


def test_a_remark_below_the_pits_is_no_pit(read_survey):
    found = read_survey({"pits.csv": PITS + "Surveyed by crew 2,,,\n", "h.csv": HORIZONS}, **BOTH)
    assert list(found.pits["pit_id"]) == ["A", "B"] and list(found.problems[found.problems["check"] == "below the table"]["row"]) == [4]


@pytest.mark.parametrize("row", ["B,,,,\n", "C,,,,\n", "B,Bm,,,\n", "Note 1,Bm,12-30,,\n", "B,,,,Total depth not reached\n"])
def test_a_row_that_could_be_a_horizon_is_none_of_them(read_survey, row):
    found = read_survey({"pits.csv": PITS, "h.csv": HORIZONS + row}, **BOTH)
    assert not (found.problems["check"] == "below the table").any() and (found.problems["severity"] == "error").any()


def test_ids_that_look_like_remarks_everywhere_stay_ids(read_survey):
    text = "Pit,Drainage,Remarks\nNorth field: 1,well,\nNorth field: 2,well,\nNorth field: 3,,\n"
    found = read_survey({"pits.csv": text}, pits={"file": "pits.csv"})
    assert len(found.pits) == 3


def test_a_remark_in_the_middle_of_a_table_is_still_asked_about(read_survey):
    found = read_survey({"pits.csv": PITS, "h.csv": HORIZONS.replace("B,Ah", "Logged by: crew 2,,,,\nB,Ah")}, **BOTH)
    assert (found.problems["severity"] == "error").any()
