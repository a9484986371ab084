"""The layouts people use come out as the same pits, horizons and readings."""

from __future__ import annotations

import io

import numpy as np
import openpyxl
import pytest

from geoprofile.errors import InputError

EXPECTED = [("P1", "Ah", 0, 15), ("P1", "Bm", 15, 40), ("P1", "Ck", 40, 80), ("P2", "Ap", 0, 20), ("P2", "Ck", 20, 60)]

PITS = "pit_id,easting,northing,slope_percent,drainage\nP1,500000,5700000,3,well\nP2,500200,5700000,5,well\n"
HORIZONS = "pit_id,designation,upper (cm),lower (cm)\n" + "".join(f"{p},{d},{u},{b}\n" for p, d, u, b in EXPECTED)
LONG_EVERY = (
    "pit_id,easting,northing,slope_percent,drainage,designation,upper (cm),lower (cm)\n"
    + "".join(f"{p},{500000 if p == 'P1' else 500200},5700000,{3 if p == 'P1' else 5},well,{d},{u},{b}\n" for p, d, u, b in EXPECTED)
)  # fmt: skip
LONG_FIRST = (
    "pit_id,easting,northing,slope_percent,drainage,designation,upper (cm),lower (cm)\n"
    "P1,500000,5700000,3,well,Ah,0,15\nP1,,,,,Bm,15,40\nP1,,,,,Ck,40,80\nP2,500200,5700000,5,well,Ap,0,20\nP2,,,,,Ck,20,60\n"
)
WIDE = (
    "pit_id,easting,northing,slope_percent,drainage,H1 designation,H1 upper (cm),H1 lower (cm),H2 designation,H2 upper (cm),H2 lower (cm),"
    "H3 designation,H3 upper (cm),H3 lower (cm)\n"
    "P1,500000,5700000,3,well,Ah,0,15,Bm,15,40,Ck,40,80\nP2,500200,5700000,5,well,Ap,0,20,Ck,20,60,,,\n"
)
WIDE_BEHIND = WIDE.replace("H1 designation", "designation 1").replace("H2 designation", "designation 2").replace("H3 designation", "designation 3")
for _n in "123":
    WIDE_BEHIND = WIDE_BEHIND.replace(f"H{_n} upper (cm)", f"upper {_n} (cm)").replace(f"H{_n} lower (cm)", f"lower {_n} (cm)")


def said(pits):
    rows = pits.horizons
    return list(zip(rows["pit_id"], rows["designation"], rows["upper_cm"], rows["lower_cm"], strict=True))


def check(pits):
    assert said(pits) == EXPECTED
    assert list(pits.pits["pit_id"]) == ["P1", "P2"]
    assert [shape.x for shape in pits.pits.geometry] == [500000, 500200]
    assert list(pits.pits["slope_percent"]) == [3, 5] and list(pits.pits["drainage"]) == ["well", "well"]
    assert not (pits.problems["severity"] == "error").any()
    assert "slope_percent" not in pits.horizons.columns


def test_two_tables(read_survey):
    check(read_survey({"p.csv": PITS, "h.csv": HORIZONS}, pits={"file": "p.csv"}, horizons={"file": "h.csv"}))


def test_two_sheets_of_one_workbook(read_survey):
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, text in (("pits", PITS), ("horizons", HORIZONS)):
        page = book.create_sheet(name)
        for line in text.splitlines():
            page.append([float(cell) if cell.replace(".", "").isdigit() else cell for cell in line.split(",")])
    out = io.BytesIO()
    book.save(out)
    check(read_survey({"s.xlsx": out.getvalue()}, pits={"file": "s.xlsx", "sheet": "pits"}, horizons={"file": "s.xlsx", "sheet": "horizons"}))


@pytest.mark.parametrize("text", [LONG_EVERY, LONG_FIRST], ids=["coordinates on every row", "coordinates on the first row only"])
def test_one_long_table(read_survey, text):
    check(read_survey({"h.csv": text}, horizons={"file": "h.csv"}))


def test_one_long_table_named_as_the_table_of_pits(read_survey):
    check(read_survey({"h.csv": LONG_FIRST}, pits={"file": "h.csv"}))


def test_merged_ids_of_a_long_sheet_belong_to_all_their_rows_R10(read_survey):
    book = openpyxl.Workbook()
    page = book.active
    for line in LONG_FIRST.splitlines():
        page.append([float(cell) if cell.isdigit() else cell for cell in line.split(",")])
    for row in (3, 4, 6):
        page.cell(row, 1).value = None
    page.merge_cells("A2:A4")
    page.merge_cells("A5:A6")
    out = io.BytesIO()
    book.save(out)
    check(read_survey({"h.xlsx": out.getvalue()}, horizons={"file": "h.xlsx"}))


def test_an_id_missing_outside_a_merge_is_not_filled_down_R10(read_survey):
    pits = read_survey({"h.csv": LONG_FIRST.replace("P1,,,,,Bm", ",,,,,Bm")}, horizons={"file": "h.csv"})
    assert ("P1", "Bm", 15, 40) not in said(pits)
    blank = pits.problems[pits.problems["check"] == "id"]
    assert list(blank["row"]) == [3] and "not filled down" in blank["remedy"].iloc[0]


@pytest.mark.parametrize("text", [WIDE, WIDE_BEHIND], ids=["H1 designation", "designation 1"])
def test_one_wide_row_a_pit_with_numbered_horizons(read_survey, text):
    pits = read_survey({"p.csv": text}, pits={"file": "p.csv"})
    check(pits)
    assert list(pits.horizons["row"]) == [2, 2, 2, 3, 3]


def test_points_in_a_file_of_their_own(read_survey):
    points = "name,x,y\nP1,500000,5700000\nP2,500200,5700000\n"
    bare = "pit_id,slope_percent,drainage\nP1,3,well\nP2,5,well\n"
    check(read_survey({"p.csv": bare, "h.csv": HORIZONS, "w.csv": points}, pits={"file": "p.csv"}, horizons={"file": "h.csv"},
                      points={"file": "w.csv", "id": "name"}))


def test_one_wide_row_a_pit_with_ready_depths(read_survey):
    text = (
        "Pit,Easting,Northing,Topsoil (cm),Depth to Bt (cm),Depth to lime (cm),Depth to rock (cm)\n"
        "1,500000,5700000,18,31.4,0,>126\n2,500100,5700000,0,None,>60,15-21\n3,500200,5700000,14/16/15,<30,,not reached\n"
    )
    pits = read_survey({"p.csv": text}, pits={"file": "p.csv"})
    readings = {(row.pit_id, row.attribute, row.probe): row for row in pits.readings.itertuples()}

    def interval(pit, attribute, probe=1):
        row = readings[pit, attribute, probe]
        return tuple(None if np.isnan(limit) else limit for limit in (row.low, row.high)) + (row.status, row.presence)

    assert interval("1", "topsoil_thickness") == (18, 18, "measured", "present")
    assert interval("1", "depth_to_bt") == (31.4, 31.4, "measured", "present")
    assert interval("1", "depth_to_carbonates") == (0, 0, "at_surface", "present")
    assert interval("1", "depth_to_rock") == (126, None, "at_least", "not_seen")
    assert interval("2", "topsoil_thickness") == (0, 0, "absent", "absent")
    assert interval("2", "depth_to_bt") == (None, None, "absent", "absent")
    assert interval("2", "depth_to_carbonates") == (60, None, "at_least", "not_seen")
    assert interval("2", "depth_to_rock") == (15, 21, "between", "present")
    assert [interval("3", "topsoil_thickness", probe)[0] for probe in (1, 2, 3)] == [14, 16, 15]
    assert interval("3", "depth_to_bt") == (None, 30, "at_most", "present")
    assert ("3", "depth_to_carbonates", 1) not in readings  # blank is not recorded
    assert readings["1", "depth_to_rock", 1].text == ">126"


def test_a_reading_that_says_at_least_a_thickness_has_seen_the_feature(read_survey):
    pits = read_survey({"p.csv": "Pit,Topsoil (cm)\n1,30+\n"}, pits={"file": "p.csv"})
    row = pits.readings.iloc[0]
    assert (row["low"], row["status"], row["presence"]) == (30, "at_least", "present") and np.isnan(row["high"])


def test_inspections_beside_pits_with_several_probes(read_survey):
    lines = "Place,x,y,Topsoil 1 (cm),Topsoil 2 (cm),Topsoil 3 (cm),Depth to lime (cm)\nI1,500300,5700000,14,16,15,>60\nP1,500001,5700000,13,,,35\n"
    pits = read_survey({"p.csv": PITS, "h.csv": HORIZONS, "i.csv": lines}, pits={"file": "p.csv"}, horizons={"file": "h.csv"}, inspections={"file": "i.csv"})
    assert list(pits.pits["pit_id"]) == ["P1", "P2", "I1"]
    assert list(pits.pits["kind"]) == ["unknown", "unknown", "inspection"]
    of_place = pits.readings[pits.readings["pit_id"] == "I1"]
    topsoil = of_place[of_place["attribute"] == "topsoil_thickness"]
    assert list(topsoil["low"]) == [14, 16, 15] and list(topsoil["probe"]) == [1, 2, 3]
    assert set(pits.readings[pits.readings["pit_id"] == "P1"]["attribute"]) == {"topsoil_thickness", "depth_to_carbonates"}


def test_an_inspection_far_from_the_pit_of_its_id_is_a_place_of_its_own(read_survey):
    lines = "Place,x,y,Topsoil (cm)\nP1,500300,5700400,14\n"
    pits = read_survey({"p.csv": PITS, "h.csv": HORIZONS, "i.csv": lines}, pits={"file": "p.csv"}, horizons={"file": "h.csv"}, inspections={"file": "i.csv"})
    assert list(pits.pits["pit_id"]) == ["P1", "P2", "P1 (inspection)"]
    assert list(pits.readings["pit_id"]) == ["P1 (inspection)"]
    assert (pits.problems["check"] == "repeated id").sum() == 1


def test_inspections_alone_are_a_survey(read_survey):
    pits = read_survey({"i.csv": "Place,x,y,Topsoil (cm)\n1,500300,5700000,14\n2,500400,5700000,None\n"}, inspections={"file": "i.csv"})
    assert len(pits.pits) == 2 and len(pits.horizons) == 0 and list(pits.readings["status"]) == ["measured", "absent"]


def test_rows_of_one_pit_that_say_different_things_are_listed(read_survey):
    text = LONG_EVERY.replace("P1,500000,5700000,3,well,Ck", "P1,500000,5700000,9,well,Ck")
    pits = read_survey({"h.csv": text}, horizons={"file": "h.csv"})
    assert pits.pits["slope_percent"].iloc[0] == 3
    two = pits.problems[pits.problems["check"] == "two values"]
    assert list(two["row"]) == [4] and two["found"].iloc[0].startswith("9")


def test_columns_that_were_not_used_are_named(read_survey):
    pits = read_survey({"h.csv": LONG_EVERY.replace("pit_id,", "pit_id,xyz thing,", 1).replace("P1,5", "P1,q,5").replace("P2,5", "P2,q,5")}, horizons={"file": "h.csv"})
    assert any("columns not used: xyz thing" in note for note in pits.notes)


def test_a_survey_file_without_descriptions_is_refused(read_survey):
    with pytest.raises(InputError, match="names no descriptions"):
        read_survey({})


def test_a_table_without_an_id_column_says_which_headings_it_has(read_survey):
    with pytest.raises(InputError, match="known to hold the pit id"):
        read_survey({"h.csv": "thing,top (cm),bottom (cm)\n1,0,20\n"}, horizons={"file": "h.csv"})


def test_a_missing_file_names_its_neighbours(read_survey):
    with pytest.raises(InputError, match="horizons.csv"):
        read_survey({"horizons.csv": HORIZONS}, horizons={"file": "horizon.csv"})
