"""The small inputs that break naive tools, each with exactly what is owed (pains.md, inputs 1, 2, 4, 5, 7, 11, 15)."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import shapely

from geoprofile.errors import InputError

ONE = {"pits": {"file": "pits.csv"}}
LONG = {"horizons": {"file": "horizons.csv"}}


def problems(pits, **wanted):
    """Problems whose columns have the wanted values."""
    found = pits.problems
    for name, value in wanted.items():
        found = found[found[name] == value]
    return found


def test_input_1_a_german_export_reads_whole_R1_R2_R3_R6_R14(read_survey):
    text = (
        "pit_id;slope_°;top_cm;bottom_cm;clay_pct;note\r\n007;3,5;0;15;12,5;Ap – gestört\r\n"
        '007;3,5;15;45;23,75;Bt\r\n012;1,0;0;30;8,0;"sandig; locker"\r\n'
    )
    pits = read_survey({"horizons.csv": text.encode("cp1252")}, **LONG)
    horizons = pits.horizons
    assert list(pits.pits["pit_id"]) == ["007", "012"]
    assert list(horizons["clay_percent"]) == [12.5, 23.75, 8.0]
    of_007 = horizons[horizons["pit_id"] == "007"]
    thickness = of_007["lower_cm"] - of_007["upper_cm"]
    assert np.average(of_007["clay_percent"], weights=thickness) == pytest.approx(20.0)
    assert list(horizons["remarks"]) == ["Ap – gestört", "Bt", "sandig; locker"]
    assert pits.pits["slope_percent"].iloc[0] == pytest.approx(100 * np.tan(np.radians(3.5)), abs=1e-6)
    assert any("cp1252, semicolon between cells, decimal comma" in note for note in pits.notes)


def test_input_2_depth_text_in_all_its_forms_R4_R5_R14_R15_R16(read_survey):
    depths = ["0-10", "10\u201325", "25 - 45 cm", "45+", "0 to 6 in", '6"-12"', "100-120/130", "30", "15-Oct", "\u22125-0"]
    lines = ["pit_id,depth,clay"] + [f'D{n},"{depth.replace(chr(34), chr(34) * 2)}",10' for n, depth in enumerate(depths, 1)]
    pits = read_survey({"horizons.csv": ("\ufeff" + "\n".join(lines) + "\n")}, **LONG, depth_unit="cm")
    found = {row.pit_id: row for row in pits.horizons.itertuples()}
    expected = {"D1": (0, 10), "D2": (10, 25), "D3": (25, 45), "D5": (0, 15.24), "D6": (15.24, 30.48), "D7": (100, 125)}
    for name, (upper, lower) in expected.items():
        assert (found[name].upper_cm, found[name].lower_cm) == pytest.approx((upper, lower)), name
    assert found["D4"].upper_cm == 45 and np.isnan(found["D4"].lower_cm) and found["D4"].lower_is_end
    assert (found["D7"].lower_low_cm, found["D7"].lower_high_cm) == (120, 130)
    assert (found["D10"].upper_cm, found["D10"].lower_cm) == (-5, 0)
    assert set(found) == {f"D{n}" for n in (1, 2, 3, 4, 5, 6, 7, 10)}
    rejected = problems(pits, check="depth", severity="error").set_index("pit_id")
    assert list(rejected.index) == ["D8", "D9"]
    assert "one depth alone" in rejected.loc["D8", "what"]
    assert "10-15" in rejected.loc["D9", "remedy"] and rejected.loc["D9", "row"] == 10


PITS_4 = "pit_id,slope\n007,1\n7,2\nP1 ,3\np2,4\n1E5,5\nNA,6\n,7\nP3,8\nP3,8\n"
GPS_4 = "id,easting,northing\n" + "".join(
    f"{name},{500000 + 100 * n},5700000\n" for n, name in enumerate(["007", "P1", "P2", "1E5", "NA", "P3", "P9"])
)


def test_input_4_ids_join_as_trimmed_text_and_every_one_without_a_partner_is_listed_R6_R8_R9(read_survey):
    pits = read_survey(
        {"pits.csv": PITS_4, "gps.csv": GPS_4}, **ONE, points={"file": "gps.csv", "id": "id", "accuracy_m": 4}, crs="EPSG:3158"
    )
    frame = pits.pits.set_index("pit_id")
    assert list(frame.index) == ["007", "7", "P1", "p2", "1E5", "NA", "P3"]
    placed = [name for name, shape in frame.geometry.items() if shape is not None]
    assert placed == ["007", "P1", "1E5", "NA", "P3"]
    assert frame.loc["007"].geometry.x == 500000 and frame.loc["NA", "position_accuracy_m"] == 4
    assert list(problems(pits, check="no point")["pit_id"]) == ["7", "p2"]
    assert list(problems(pits, check="no pit")["pit_id"]) == ["P2", "P9"]
    proposal = problems(pits, check="no point", pit_id="p2")["remedy"].iloc[0]
    assert "is it the point 'P2'" in proposal
    assert len(problems(pits, check="id", severity="error")) == 1  # the blank one
    assert list(problems(pits, check="repeated id", severity="error")["pit_id"]) == ["P3"]


def test_input_4_numbers_that_look_alike_stay_apart_R6(read_survey):
    pits = read_survey({"pits.csv": "pit_id\n007\n7\n012\n"}, **ONE)
    assert list(pits.pits["pit_id"]) == ["007", "7", "012"]


def test_input_5_absence_and_blank_are_two_things_R7(read_survey):
    text = (
        "pit_id,top,bottom,mottles,roots,carbonates\nA,0,20,None,Common,None\nA,20,50,,Few,Slight\nB,0,30,NA,none,n/a\n"
    )
    pits = read_survey({"horizons.csv": text}, **LONG, depth_unit="cm", missing=["", "NA", "n/a"], convention="usda")
    horizons = pits.horizons
    assert list(horizons["mottles"].fillna("missing")) == ["none", "missing", "missing"]
    recorded = horizons["mottles"].notna()
    assert (recorded & (horizons["mottles"] == "none")).sum() == 1 and (~recorded).sum() == 2 and (recorded & (horizons["mottles"] != "none")).sum() == 0
    assert list(horizons["roots"]) == ["Common", "Few", "none"]
    assert horizons["effervescence"].iloc[2] is np.nan or horizons["effervescence"].isna().iloc[2]
    assert "none" in horizons["effervescence"].iloc[0] or "non" in horizons["effervescence"].iloc[0]
    assert any("'NA'" in note and "blank" in note for note in pits.notes)  # the list is printed


def test_words_for_missing_can_differ_by_column_R7(read_survey):
    text = "pit_id,top,bottom,designation,roots\nA,0,20,Ah,NA\nA,20,50,Bm,none\n"
    pits = read_survey({"horizons.csv": text}, **LONG, depth_unit="cm", missing_for={"roots": ["NA"]})
    assert pits.horizons["roots"].isna().tolist() == [True, False]


def test_input_7_units_of_depth_and_of_conductivity_by_row_R16(read_survey):
    text = (
        "pit_id,top,bottom,unit,ec\nU1,0,6,in,0.2 dS/m\nU1,6,12,in,180 uS/cm\nU2,0,15,cm,0.3 dS/m\nU3,0,0.3,m,0.1 dS/m\nU4,0,30,,0.2\n"
    )
    pits = read_survey({"horizons.csv": text}, **LONG)
    horizons = pits.horizons
    assert list(zip(horizons["pit_id"], horizons["upper_cm"], horizons["lower_cm"], strict=True)) == [
        ("U1", 0, 15.24), ("U1", 15.24, 30.48), ("U2", 0, 15), ("U3", 0, 30)]
    assert list(horizons["ec_ds_m"]) == pytest.approx([0.2, 0.18, 0.3, 0.1])
    rejected = problems(pits, pit_id="U4", severity="error")
    assert set(rejected["check"]) == {"unit", "value"} and len(rejected) == 2
    assert set(rejected["field"]) == {"top", "ec"}


def test_input_7_inches_that_are_surely_centimetres_are_asked_about_R16(read_survey):
    text = "pit_id,top (in),bottom (in)\nV1,0,30\nV1,30,150\n"
    pits = read_survey({"horizons.csv": text}, **LONG)
    asked = problems(pits, check="unit", severity="warning")
    assert asked["found"].str.contains("150 in is 381 cm").sum() == 1


def test_no_unit_of_depth_anywhere_stops_the_run_R16(read_survey):
    with pytest.raises(InputError, match="unit of depths is not said"):
        read_survey({"horizons.csv": "pit_id,top,bottom\nA,0,20\n"}, **LONG)


def test_a_heading_against_the_survey_file_stops_the_run_R16(read_survey):
    with pytest.raises(InputError, match="not the one in the survey file"):
        read_survey({"horizons.csv": "pit_id,top (in),bottom (in)\nA,0,20\n"}, **LONG, depth_unit="cm")


def test_input_11_pits_inside_outside_and_in_another_system(read_survey, folder):
    gpd.GeoDataFrame({"id": ["field"]}, geometry=[shapely.box(500000, 5399960, 500040, 5400000)], crs="EPSG:32632").to_file(folder / "area.gpkg")
    text = "pit_id,x,y\ninside,500025,5399975\nbad cell,500005,5399995\noutside,499000,5399999\ndegrees,9.0,48.7\n"
    pits = read_survey({"pits.csv": text}, **ONE, crs="EPSG:32632", area="area.gpkg")
    assert list(pits.pits["pit_id"]) == ["inside", "bad cell", "outside", "degrees"]
    assert [shape is not None for shape in pits.pits.geometry] == [True, True, True, False]
    assert list(problems(pits, check="outside the area")["pit_id"]) == ["outside"]
    assert list(problems(pits, check="coordinate system")["pit_id"]) == ["degrees"]
    assert "look like degrees" in problems(pits, check="coordinate system")["what"].iloc[0]


NOTES_15 = [
    "Bt1 `mottled` ", "${horizon name}", "${1+1}", "C:\\data\\2019\\01", "C:\\users", "x</script><script>alert(1)</script>",
    "<img src=x onerror=alert(1)>", "{{ 1234567*9 }}", "{% if %}", "O'Brien \"loam\" <20% & >5", "{# hidden #}", "two\nlines", "a\u2028b",
]  # fmt: skip


def test_input_15_notes_come_through_as_typed_and_a_blank_place_is_listed(read_survey):
    import csv
    import io

    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["pit_id", "x", "y", "note", "date", "slope"])
    for n, note in enumerate(NOTES_15):
        writer.writerow([f"N{n}", 500000 + 50 * n, 5700000, note, "2024-05-31", ["NaN", "inf", "3"][n % 3]])
    writer.writerow(["blank", "", 5700000, "no x", "2024-05-31", "4"])
    pits = read_survey({"pits.csv": out.getvalue()}, **ONE)
    assert list(pits.pits["remarks"]) == [note.strip() for note in NOTES_15] + ["no x"]
    assert pits.pits.geometry.iloc[-1] is None and list(problems(pits, check="no place")["pit_id"]) == ["blank"]
    assert set(pits.pits["date"]) == {"2024-05-31"}
    assert np.isfinite(pits.pits["slope_percent"].dropna()).all() and pits.pits["slope_percent"].notna().sum() == 5
    assert len(problems(pits, check="value", severity="error")) == 9


def test_a_horizons_table_without_an_upper_depth_stops_with_the_headings_found(read_survey):
    """Not one problem a row: the column is missing, so nothing of the table can be used."""
    with pytest.raises(InputError, match="upper depth") as caught:
        read_survey({"h.csv": "pit_id,designation,bottom\n1,Ah,10\n1,Bm,30\n"}, horizons={"file": "h.csv"}, depth_unit="cm")
    assert "designation" in caught.value.found and "upper_depth" in caught.value.remedy


def test_a_folder_in_place_of_a_file_is_called_a_folder(read_survey):
    with pytest.raises(InputError, match="the file of pits is a folder") as wrong:
        read_survey({"horizons.csv": "pit,upper,lower\nA,0,10\n"}, pits={"file": "."}, horizons={"file": "horizons.csv"}, depth_unit="cm")
    assert "horizons.csv" in wrong.value.allowed


def test_zero_zero_is_no_place_and_not_degrees_R17(read_survey):
    rows = "pit,easting,northing\nA1,0,0\nA2,567000,5827500\nA3,-98.0,52.6\n"
    found = read_survey({"pits.csv": rows, "horizons.csv": "pit,upper,lower\nA1,0,10\nA2,0,10\nA3,0,10\n"}, pits={"file": "pits.csv"},
                        horizons={"file": "horizons.csv"}, depth_unit="cm")
    none = problems(found, pit_id="A1", severity="error")
    assert list(none["what"]) == ["0, 0 stands where no place was written"]
    assert list(found.pits.geometry.isna()) == [True, False, True]
    assert "look like degrees" in problems(found, pit_id="A3", severity="error").iloc[0]["what"]


GPX = '<?xml version="1.0"?><gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">{}</gpx>'


def test_a_waypoint_that_cannot_be_placed_is_told_in_one_line_R17(read_survey):
    points = {"A1": (52.59, -98.0), "A2": (0, 0), "A3": (91, -98), "A4": (52.6, -98.01), "A5": (52.61, -98.01)}
    written = GPX.format("".join(f'<wpt lat="{lat}" lon="{lon}"><name>{name}</name></wpt>' for name, (lat, lon) in points.items()))
    found = read_survey({"p.gpx": written, "h.csv": "pit,upper,lower\n" + "".join(f"{name},0,10\n" for name in points), "pits.csv": "pit\n" + "\n".join(points) + "\n"},
                        pits={"file": "pits.csv"}, horizons={"file": "h.csv"}, points={"file": "p.gpx", "id": "name"}, depth_unit="cm")
    told = problems(found, check="position").set_index("pit_id")["what"]
    assert told["A2"].endswith("0, 0 stands where no place was written") and told["A3"].endswith("91 is no latitude")
    assert told.str.len().max() < 120
