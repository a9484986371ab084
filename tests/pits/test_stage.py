"""The stage as a whole: places, dates, units, datum, what a record carries; bad rows listed once, good rows go on."""

from __future__ import annotations

import datetime
import io

import geopandas as gpd
import numpy as np
import openpyxl
import pandas as pd
import pytest
import shapely

from geoprofile import store
from geoprofile.errors import InputError
from geoprofile.products import HORIZON_COLUMNS, PIT_COLUMNS, READING_COLUMNS, Pits

LONG = {"horizons": {"file": "h.csv"}}
ONE = {"pits": {"file": "p.csv"}}
H = "pit_id,designation,upper (cm),lower (cm)\n"


def workbook(rows, change=None) -> bytes:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    if change:
        change(book.active)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def check(pits, name):
    return pits.problems[pits.problems["check"] == name]


# the product


def test_the_product_keeps_its_contract_and_saves_without_loss(read_survey, folder):
    pits = read_survey({"h.csv": H + "A,Ah,0,10\nA,Bm,10,30\n"}, **LONG)
    assert list(pits.pits.columns) == [*PIT_COLUMNS, "geometry"]
    assert list(pits.horizons.columns)[: len(HORIZON_COLUMNS)] == list(HORIZON_COLUMNS)
    assert list(pits.readings.columns) == list(READING_COLUMNS)
    again = store.load(Pits, store.save(pits, folder / "saved"))
    pd.testing.assert_frame_equal(again.horizons, pits.horizons)
    pd.testing.assert_frame_equal(pd.DataFrame(again.pits.drop(columns="geometry")), pd.DataFrame(pits.pits.drop(columns="geometry")))
    assert again.notes == pits.notes and again.problems.equals(pits.problems)


def test_every_row_knows_its_file_sheet_and_row(read_survey):
    rows = [["pit_id", "designation", "upper (cm)", "lower (cm)"], ["A", "Ah", 0, 10], ["A", "Bm", 10, 30]]
    pits = read_survey({"h.xlsx": workbook(rows)}, horizons={"file": "h.xlsx"})
    assert list(zip(pits.horizons["file"], pits.horizons["sheet"], pits.horizons["row"], strict=True)) == [("h.xlsx", "Sheet", 2), ("h.xlsx", "Sheet", 3)]


def test_what_a_record_must_carry_is_read(read_survey):
    text = (
        "pit_id,kind,observed to (cm),stopped by,acid to (cm),ec to (cm),mottles to (cm),soil series,map unit,slope %,slope class,slope position,"
        "aspect,elevation (m),drainage,stoniness,parent material,land use,date,surveyor,photos,accuracy (m),notes,x,y\n"
        "A,auger,60,stones,60,0,60,Tansy,TK1,4,3,mid slope,270,255.5,well,1,till,cultivated,2024-05-31,KL,IMG_1;IMG_2,4,dry year,500000,5700000\n"
    )
    row = read_survey({"p.csv": text}, **ONE).pits.iloc[0]
    assert (row["kind"], row["observed_to_cm"], row["stopped_by"]) == ("auger", 60, "stones")
    assert (row["acid_to_cm"], row["ec_to_cm"], row["mottles_to_cm"]) == (60, 0, 60)
    assert (row["recorded_soil"], row["map_unit"], row["slope_percent"], row["aspect_degrees"]) == ("Tansy", "TK1", 4, 270)
    assert (row["elevation_m"], row["drainage"], row["parent_material"], row["land_use"]) == (255.5, "well", "till", "cultivated")
    assert (row["date"], row["surveyor"], row["photos"], row["position_accuracy_m"], row["remarks"]) == ("2024-05-31", "KL", "IMG_1;IMG_2", 4, "dry year")


# rows


def test_bad_rows_are_listed_once_and_good_rows_go_on(read_survey):
    text = H + "A,Ah,0,10\nA,Bm,ten,30\nA,BC,30,25\nA,Ck,30,60\nB,Ah,,10\n"
    pits = read_survey({"h.csv": text}, **LONG)
    assert list(zip(pits.horizons["pit_id"], pits.horizons["designation"], strict=True)) == [("A", "Ah"), ("A", "Ck")]
    errors = pits.problems[pits.problems["severity"] == "error"]
    assert sorted(errors["row"]) == [3, 4, 6]
    assert list(pits.horizons["order"]) == [1, 2]


def test_a_row_with_too_many_cells_is_not_used(read_survey):
    pits = read_survey({"h.csv": "pit_id,designation,upper (cm),lower (cm),note\nA,Ah,0,10,x\nA,Bm,10,30,sandy, loose\n"}, **LONG)
    assert list(pits.horizons["designation"]) == ["Ah"]
    assert "more cells than there are headings" in check(pits, "cell")["what"].iloc[0]


def test_a_date_in_a_depth_cell_is_proposed_by_its_address_and_never_read_R5(read_survey):
    rows = [["pit_id", "depth"], ["A", "0-10"], ["A", datetime.datetime(2026, 10, 15)], ["A", "15-40"]]
    pits = read_survey({"h.xlsx": workbook(rows)}, horizons={"file": "h.xlsx"}, depth_unit="cm")
    assert list(pits.horizons["lower_cm"]) == [10, 40]
    problem = check(pits, "depth").iloc[0]
    assert "cell B3" in problem["found"] and "10-15" in problem["remedy"] and problem["severity"] == "error"


def test_a_formula_without_a_value_names_its_cell_and_is_no_blank_R11(read_survey):
    rows = [["pit_id", "upper (cm)", "lower (cm)", "clay %"], ["A", 0, 10, "=12+3"], ["A", 10, 30, 20]]
    pits = read_survey({"h.xlsx": workbook(rows)}, horizons={"file": "h.xlsx"})
    assert np.isnan(pits.horizons["clay_percent"].iloc[0]) and pits.horizons["clay_percent"].iloc[1] == 20
    problem = check(pits, "cell").iloc[0]
    assert "cell D2" in problem["found"] and problem["severity"] == "error"


def test_values_below_a_limit_never_become_a_number_R15(read_survey):
    text = "pit_id,upper (cm),lower (cm),organic carbon %\nA,0,10,<0.05\nA,10,20,tr\nA,20,30,0.4\n"
    pits = read_survey({"h.csv": text}, **LONG)
    assert pits.horizons["organic_carbon_percent"].isna().tolist() == [True, True, False]
    assert list(check(pits, "value")["found"]) == ["<0.05", "tr"]


def test_both_decimal_marks_in_one_column_are_an_error_naming_the_rows_R1(read_survey):
    text = "pit_id;upper (cm);lower (cm);clay\nA;0;10;12,5\nA;10;20;13.5\nA;20;30;14,5\n"
    pits = read_survey({"h.csv": text}, **LONG)
    assert pits.horizons["clay_percent"].isna().tolist() == [False, True, False]
    problem = check(pits, "decimal mark").iloc[0]
    assert problem["severity"] == "error" and "rows 3" in problem["found"]


def test_thousands_marks_are_never_stripped_R2(read_survey):
    text = 'pit_id,upper (cm),lower (cm),organic carbon %,elevation (m)\nA,0,10,1.234,"1,234"\nA,10,20,2.5,"1,234"\n'
    pits = read_survey({"h.csv": text}, **LONG)
    assert list(pits.horizons["organic_carbon_percent"]) == [1.234, 2.5]
    assert np.isnan(pits.pits["elevation_m"].iloc[0])  # 1.234 or 1234: not read, and said
    assert "thousands or decimals" in check(pits, "decimal mark")["what"].iloc[0]


def test_shares_beyond_100_percent_are_not_used_until_the_unit_is_said_R16(read_survey):
    text = "pit_id,upper (cm),lower (cm),clay\nA,0,10,350\nA,10,20,60\n"
    pits = read_survey({"h.csv": text}, **LONG)
    assert pits.horizons["clay_percent"].isna().tolist() == [True, False]
    assert "[pits.units]" in check(pits, "unit")["remedy"].iloc[0]
    told = read_survey({"h.csv": text}, **LONG, units={"clay": "g/kg"})
    assert list(told.horizons["clay_percent"]) == [35, 6]


# dates


@pytest.mark.parametrize(
    ("written", "read"),
    [("31.05.2024", "2024-05-31"), ("5/31/2024", "2024-05-31"), ("2024-05-31", "2024-05-31"), ("31 May 2024", "2024-05-31"), ("20240531", "2024-05-31")],
)  # fmt: skip
def test_dates_that_can_mean_one_day_only_are_read(read_survey, written, read):
    assert read_survey({"p.csv": f"pit_id,date\nA,{written}\n"}, **ONE).pits["date"].iloc[0] == read


def test_a_date_column_that_settles_nothing_stops_until_the_order_is_stated_R13(read_survey):
    text = "pit_id,date\nA,03/04/2024\nB,05/06/2024\n"
    with pytest.raises(InputError, match="no date tells day from month"):
        read_survey({"p.csv": text}, **ONE)
    assert list(read_survey({"p.csv": text}, **ONE, date_order="day_first").pits["date"]) == ["2024-04-03", "2024-06-05"]
    assert list(read_survey({"p.csv": text}, **ONE, date_order="month_first").pits["date"]) == ["2024-03-04", "2024-05-06"]


def test_one_row_that_settles_the_order_settles_the_column_R13(read_survey):
    assert list(read_survey({"p.csv": "pit_id,date\nA,03/04/2024\nB,31/05/2024\n"}, **ONE).pits["date"]) == ["2024-04-03", "2024-05-31"]
    with pytest.raises(InputError, match="both orders"):
        read_survey({"p.csv": "pit_id,date\nA,13/04/2024\nB,05/31/2024\n"}, **ONE)


# places


def test_degrees_minutes_and_seconds_with_signs_and_letters_R18(read_survey):
    text = 'pit_id,latitude,longitude\nA,51 30 00 N,99 30 00 W\nB,51.5,-99.5\nC,"51°30\'00""N","99°30\'00""W"\nD,51 30 N,-99 30 W\n'
    pits = read_survey({"p.csv": text}, **ONE, crs="EPSG:3158", same_place_m=0)
    shapes = list(pits.pits.geometry)
    assert shapes[0].distance(shapes[1]) < 1e-6 and shapes[0].distance(shapes[2]) < 1e-6
    assert any("read as WGS 84" in note for note in pits.notes)
    assert "WGS 84" in pits.pits["position_by"].iloc[0] and "accuracy" in pits.pits["position_by"].iloc[0]  # R21


def test_exchanged_latitude_and_longitude_stop_the_run_R17(read_survey, folder):
    text = "pit_id,latitude,longitude\n" + "".join(f"P{n},{-99.5 + n / 1000},{51.5 + n / 1000}\n" for n in range(5))
    with pytest.raises(InputError, match="exchanged"):
        read_survey({"p.csv": text}, **ONE, crs="EPSG:3158")


def test_exchanged_columns_that_could_be_degrees_either_way_stop_too_R17(read_survey):
    """Around 51 E, 12 N both orders are places on the globe; the survey's system tells them apart."""
    text = "pit_id,latitude,longitude\n" + "".join(f"P{n},{12 + n / 1000},{48 + n / 1000}\n" for n in range(5))
    with pytest.raises(InputError, match="exchanged"):
        read_survey({"p.csv": text}, **ONE, crs="EPSG:32632")


def test_the_utm_zone_is_a_field_of_each_row_R20(read_survey):
    text = "pit_id,easting,northing,zone\nA,700000,5700000,13N\nB,300000,5700000,14N\nC,300000,5700000,\n"
    pits = read_survey({"p.csv": text}, **ONE, crs="EPSG:3158")
    shapes = list(pits.pits.geometry)
    assert shapes[0].distance(shapes[1]) < 25_000 and shapes[2] is None
    assert list(check(pits, "position")["pit_id"]) == ["C"]


def test_a_stated_system_holds_for_plain_x_and_y(read_survey):
    at = gpd.GeoSeries([shapely.Point(-99.5, 51.5)], crs="EPSG:4326")
    for system in ("EPSG:4326", "EPSG:32614"):
        point = at.to_crs(system).iloc[0]
        # the pits' own system is a setting of [pits]; the survey's stays EPSG:3158
        pits = read_survey({"w.csv": f"id,x,y\nA,{point.x},{point.y}\n", "p.csv": "pit_id\nA\n"}, **ONE, points={"file": "w.csv", "crs": system})
        assert pits.pits.geometry.iloc[0].distance(at.to_crs("EPSG:3158").iloc[0]) < 0.01


def test_waypoints_bring_the_places_and_the_descriptions_the_soil(read_survey):
    way = (
        '<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
        '<wpt lat="51.5" lon="-99.5"><name>007</name></wpt><wpt lat="51.6" lon="-99.5"><name>truck</name></wpt></gpx>'
    )
    pits = read_survey({"w.gpx": way, "h.csv": H + "007,Ah,0,10\n8,Ah,0,10\n"}, **LONG, points={"file": "w.gpx", "id": "name", "accuracy_m": 4})
    frame = pits.pits.set_index("pit_id")
    assert frame.loc["007"].geometry is not None and frame.loc["8"].geometry is None and frame.loc["007", "position_accuracy_m"] == 4
    assert list(check(pits, "no pit")["pit_id"]) == ["truck"] and list(check(pits, "no point")["pit_id"]) == ["8"]


@pytest.mark.filterwarnings("ignore:'crs' was not provided")
def test_points_without_a_system_are_refused_until_one_is_stated(read_survey, folder):
    gpd.GeoDataFrame({"id": ["A"]}, geometry=[shapely.Point(500000, 5700000)]).to_file(folder / "w.shp")
    with pytest.raises(InputError, match="do not say their coordinate system"):
        read_survey({"h.csv": H + "A,Ah,0,10\n"}, **LONG, points={"file": "w.shp"})
    pits = read_survey({"h.csv": H + "A,Ah,0,10\n"}, **LONG, points={"file": "w.shp", "crs": "EPSG:3158"})
    assert pits.pits.geometry.iloc[0].x == 500000


# depths


def test_organic_layers_and_the_shift_of_each_pit_are_printed(read_survey):
    text = H + "A,Oi,0,4\nA,A,4,16\nB,Oe,0,10\nB,A,10,30\nC,A,0,20\n"
    pits = read_survey({"h.csv": text}, **LONG, convention="usda")
    frame = pits.pits.set_index("pit_id")
    assert list(frame["datum_shift_cm"]) == [-4, -10, 0] and frame.loc["A", "organic_above_cm"] == 4
    assert list(pits.horizons["upper_cm"]) == [-4, 0, -10, 0, 0]
    assert any("counted down" in note for note in pits.notes)
    assert any("A: -4 cm, B: -10 cm" in note for note in pits.notes)


def test_depths_stated_for_the_pit_move_with_its_horizons(read_survey):
    pits = read_survey({"h.csv": H + "A,Oi,0,4\nA,A,4,16\nA,C,16,60\n", "p.csv": "pit_id,observed to (cm),acid to (cm),ec to (cm)\nA,60,60,0\n"}, **ONE, **LONG, convention="usda")
    row = pits.pits.iloc[0]
    assert (row["observed_to_cm"], row["acid_to_cm"], row["ec_to_cm"]) == (56, 56, 0)
    assert not len(check(pits, "depth observed"))


def test_stripped_ground_is_kept_as_stated(read_survey):
    pits = read_survey({"h.csv": H + "A,Bm,0,20\nB,Ah,0,20\n", "p.csv": "pit_id,datum\nA,stripped ground\nB,moon\n"}, **ONE, **LONG)
    assert list(pits.pits["datum"]) == ["stripped ground", "mineral surface"] and list(check(pits, "datum")["found"]) == ["moon"]


def test_the_last_lower_depth_is_the_end_of_the_hole_unless_the_pit_is_known_to_go_deeper(read_survey):
    text = H + "A,Ah,0,17\nA,Bt,17,45\nB,Ah,0,17\nB,Bt,17,45\nC,Ah,0,17\nC,Bt,17,\n"
    pits = read_survey({"h.csv": text, "p.csv": "pit_id,observed to (cm)\nA,\nB,100\nC,60\n"}, **ONE, **LONG)
    ends = {(row.pit_id, row.designation): row.lower_is_end for row in pits.horizons.itertuples()}
    assert ends == {("A", "Ah"): False, ("A", "Bt"): True, ("B", "Ah"): False, ("B", "Bt"): False, ("C", "Ah"): False, ("C", "Bt"): True}
    assert list(pits.pits["observed_to_cm"]) == [45, 100, 60]
    assert any("depth observed was not stated for 1 pit;" in note for note in pits.notes)


def test_horizons_are_put_in_order_of_depth_and_that_is_said(read_survey):
    pits = read_survey({"h.csv": H + "A,Ck,40,60\nA,Ah,0,10\nA,Bm,10,40\n"}, **LONG)
    assert list(pits.horizons["designation"]) == ["Ah", "Bm", "Ck"] and list(pits.horizons["order"]) == [1, 2, 3]
    assert len(check(pits, "order")) == 1


def test_a_wavy_boundary_keeps_its_limits(read_survey):
    pits = read_survey({"h.csv": H + "A,Ah,0,15-21\nA,Bm,15-21,40\n"}, **LONG)
    first, second = pits.horizons.itertuples()
    assert (first.lower_cm, first.lower_low_cm, first.lower_high_cm) == (18, 15, 21)
    assert (second.upper_cm, second.upper_low_cm, second.upper_high_cm) == (18, 15, 21)


# words


def test_words_of_the_trade_come_in_the_words_of_the_convention(read_survey):
    text = (
        "pit_id,designation,upper (cm),lower (cm),texture,structure,boundary,colour,effervescence\n"
        "A,Ah,0,15,silt loam,moderate medium granular,clear wavy,10YR 2/1,\nA,CK,15,40,SiL,massive,abrupt,10 yr 5/4,none\n"
    )
    pits = read_survey({"h.csv": text}, **LONG)
    first, second = pits.horizons.itertuples()
    assert first.texture == second.texture
    assert (first.structure_grade, first.structure_size, first.structure_kind) == ("moderate", "medium", "granular")
    assert (first.boundary_distinctness, first.boundary_form) == ("clear", "wavy")
    assert (first.colour_moist, second.colour_moist) == ("10YR 2/1", "10YR 5/4")
    assert pits.horizons["effervescence"].isna().tolist() == [True, False]
    assert (second.designation, second.designation_as_written) == ("Ck", "CK")


def test_a_word_no_table_knows_is_kept_as_written_and_listed_once(read_survey):
    text = "pit_id,upper (cm),lower (cm),texture\nA,0,15,gloop\nA,15,30,gloop\n"
    pits = read_survey({"h.csv": text}, **LONG)
    assert list(pits.horizons["texture"]) == ["gloop", "gloop"] and len(check(pits, "term")) == 1


def test_every_pit_that_has_an_unknown_word_is_named_beside_it(read_survey):
    rows = "".join(f"P{number},{500000 + 100 * number},5700000,{word}\n" for number, word in enumerate(["MWD", "MWD", "MWD", "WD"], 1))
    pits = read_survey({"p.csv": "Pit,Easting,Northing,Drainage\n" + rows}, pits={"file": "p.csv"})
    first, second = check(pits, "term").to_dict("records")
    assert first["found"].startswith("MWD in 3 pits: P1, P2, P3") and "if moderately well is meant, write that" in first["remedy"]
    assert second["found"].startswith("WD in 1 pit: P4") and "explain drainage" in second["remedy"]


def test_an_unknown_word_of_one_pit_keeps_its_place(read_survey):
    pits = read_survey({"h.csv": "pit_id,upper (cm),lower (cm),texture\nA,0,15,gloop\nB,0,30,loam\n"}, **LONG)
    (only,) = check(pits, "term").to_dict("records")
    assert (only["pit_id"], only["found"]) == ("A", "gloop")


def test_the_rock_of_a_rock_horizon_is_material_and_no_unknown_texture(read_survey):
    """Soil Survey Manual 2017, ch. 3: bedrock stands in place of a texture; which rock it is, is kept as written."""
    text = "pit_id,designation,upper (cm),lower (cm),texture\nA,A,0,15,loam\nA,Cr,15,40,soft weathered shale\nA,R,40,50,mica schist\nB,Bt,0,20,shale\nB,R,20,30,gloop\n"
    pits = read_survey({"h.csv": text}, convention="usda", **LONG)
    assert list(pits.horizons["texture"]) == ["l", "soft weathered shale", "mica schist", "shale", "gloop"]
    assert list(check(pits, "term")["row"]) == [5, 6], "rock in a B, and what is no rock, are still asked about"


def test_words_before_a_texture_are_kept_beside_its_class(read_survey):
    text = "pit_id,upper (cm),lower (cm),texture,remarks\nA,0,15,GRV-SL,roots\nA,15,30,MUCK,\nA,30,40,SR- SL CL,\nA,40,60,SL CL,\n"
    pits = read_survey({"h.csv": text}, **LONG, convention="usda")
    assert list(pits.horizons["texture"]) == ["sl", "muck", "SR- SL CL", "SL CL"], "a word without a code keeps its name"
    assert pits.horizons["remarks"].iloc[0] == "roots; texture GRV-SL" and pits.horizons["remarks"].iloc[1:].isna().all()
    (note,) = check(pits, "term").to_dict("records")
    assert note["severity"] == "note" and note["what"].startswith("2 horizons have several textures") and note["row"] == 4


def test_reading_twice_gives_the_same(read_survey):
    files = {"h.csv": H + "A,Ah,0,10\nA,Bm,10,xx\nB,Ah,0,10\n"}
    one, two = read_survey(files, **LONG), read_survey(files, **LONG)
    assert one.problems.equals(two.problems) and one.horizons.equals(two.horizons) and one.notes == two.notes


def test_a_depth_heading_without_unit_follows_the_others_of_its_table_and_says_so_R16(read_survey):
    pits = read_survey({"h.csv": "pit_id,upper (in),lower (in),observed to,topsoil\nA,0,10,20,5\n"}, **LONG)
    assert pits.pits["observed_to_cm"].iloc[0] == pytest.approx(50.8) and pits.readings["low"].iloc[0] == pytest.approx(12.7)
    assert set(check(pits, "unit")["field"]) == {"observed to", "topsoil"} and set(check(pits, "unit")["severity"]) == {"note"}


def test_heights_of_a_receiver_are_not_taken_as_elevation_R22(read_survey):
    way = (
        '<?xml version="1.0"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'
        '<wpt lat="51.5" lon="-99.5"><ele>312.5</ele><name>A</name></wpt></gpx>'
    )
    pits = read_survey({"w.gpx": way, "h.csv": H + "A,Ah,0,10\n"}, **LONG, points={"file": "w.gpx"})
    assert np.isnan(pits.pits["elevation_m"].iloc[0]) and any("not used: ele" in note for note in pits.notes)


def test_a_reader_can_be_named_for_a_file_of_any_ending(read_survey):
    files = {"h.dat": H + "A,Ah,0,10\n"}
    with pytest.raises(InputError, match="no reader takes a file with this ending"):
        read_survey(files, horizons={"file": "h.dat"})
    assert len(read_survey(files, horizons={"file": "h.dat", "reader": "delimited"}).horizons) == 1
    assert len(read_survey(files, horizons={"file": "h.dat"}, reader="delimited").horizons) == 1


def test_a_date_stored_as_a_number_is_no_depth_R5(read_survey):
    pits = read_survey({"h.csv": H + "A,Ah,0,10\nA,Bm,10,45945\n"}, **LONG)
    assert list(pits.horizons["designation"]) == ["Ah"]
    assert "10-15" in check(pits, "depth")["remedy"].iloc[0]  # day 45945 of the spreadsheet is 15 October 2025


def test_what_the_survey_file_names_besides_the_contract_is_kept(read_survey):
    files = {"p.csv": "pit_id,Landform,x,y\nA,knoll,500000,5700000\n", "h.csv": "pit_id,upper (cm),lower (cm),N tot\nA,0,10,0.4\n"}
    pits = read_survey(files, **ONE, **LONG, columns={"pits": {"landform": "Landform"}, "horizons": {"total_nitrogen": "N tot"}})
    assert list(pits.pits["landform"]) == ["knoll"] and list(pits.horizons["total_nitrogen"]) == [0.4]


def test_probes_in_one_cell_may_share_a_unit(read_survey):
    pits = read_survey({"p.csv": "pit_id,topsoil\nA,14/16/15 cm\n"}, **ONE)
    assert list(pits.readings["low"]) == [14, 16, 15] and list(pits.readings["probe"]) == [1, 2, 3]


def test_pits_and_horizons_may_lie_in_one_geopackage(read_survey, folder):
    import fiona

    gpd.GeoDataFrame({"pit_id": ["007", "8"], "drainage": ["well", None]}, geometry=[shapely.Point(500000, 5700000), None], crs="EPSG:3158").to_file(
        folder / "s.gpkg", layer="pits")
    schema = {"geometry": "None", "properties": {"pit_id": "str", "designation": "str", "upper_cm": "float", "lower_cm": "float"}}
    with fiona.open(folder / "s.gpkg", "w", driver="GPKG", layer="horizons", schema=schema) as target:
        for row in (("007", "Ah", 0.0, 10.0), ("007", "Bm", 10.0, 30.0), ("8", "Ap", 0.0, 20.0)):
            target.write({"geometry": None, "properties": dict(zip(schema["properties"], row, strict=True))})
    pits = read_survey({}, pits={"file": "s.gpkg", "sheet": "pits"}, horizons={"file": "s.gpkg", "sheet": "horizons"})
    assert list(pits.pits["pit_id"]) == ["007", "8"] and [shape is None for shape in pits.pits.geometry] == [False, True]
    assert list(pits.horizons["designation"]) == ["Ah", "Bm", "Ap"] and list(pits.horizons["sheet"]) == ["horizons"] * 3
