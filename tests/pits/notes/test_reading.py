"""Forms in which people write and dictate a pit, all invented; what is kept, bounded, noted or refused."""

from __future__ import annotations

import pytest

from geoprofile.errors import InputError
from geoprofile.pits.notes.reader import READER, tables_of


def _rows(text: str, **more):
    return tables_of(text, "notes.txt", **more).horizons.cells


def _one(body: str) -> dict:
    return _rows(f"Pit 1\nAh 0-12 cm; {body}\n").iloc[0].to_dict()


@pytest.mark.parametrize(
    ("written", "upper", "lower"),
    [
        ("Ah 0 to 9 inches;", "0", "22.86"), ("Bt 17-45 cm;", "17", "45"), ("Ck 45+ cm;", "45", ""), ("Ck 45 cm and below,", "45", ""),
        ("LFH 4-0 cm;", "4", "0"), ("Ap 0-15 (10-21) cm;", "0", "15 (10-21)"), ("Bm from about 17 down to 45 centimetres,", "17", "45"),
        ("Ah from zero to fifteen, perhaps seventeen cm,", "0", "15-17"), ("R--35 inches;", "88.9", ""), ("Oi--2 1/2 inches to 1 inch;", "6.35", "2.54"),
        ("A--0 to 20 centimeters (0 to 8 inches);", "0", "20"), ("Bk--30 to 66+ cm;", "30", "66+"), ("C 112+ cm;", "112", ""),
        ("0-20 cm Ap;", "0", "20"), ("Next horizon, Bt1, 20 to twenty-five cm,", "20", "25"), ("E--O to 5 inches;", "0", "12.7"),
        ("II Ck 40+ cm;", "40", ""), ("B t from 20 to 40 cm,", "20", "40"), ("Bm: 12 cm to 30 cm,", "12", "30"),
    ],
)  # fmt: skip
def test_depths_as_written(written, upper, lower):
    row = _rows(f"Pit 1\n{written} loam\n").iloc[0]
    assert (row["upper depth (cm)"], row["lower depth (cm)"]) == (upper, lower)
    assert row["texture"] == "loam"


@pytest.mark.parametrize(
    ("written", "moist", "dry"),
    [
        ("10YR 4 over 4", "10YR 4/4", ""), ("ten YR four over three dry", "", "10YR 4/3"), ("brown (10YR 5/3), dark brown (10YR 3/3) moist", "10YR 3/3", ""),
        ("N 5/", "N 5/", ""), ("10YR 4.5/2 m, 10YR 6/2 d", "10YR 4.5/2", "10YR 6/2"), ("brown (10YR 5/3 dry; 10YR 4/2 moist)", "10YR 4/2", "10YR 5/3"),
        ("dark yellowish-brown (10YR4/4)", "10YR 4/4", ""), ("gray (lOYR 5/1)", "10YR 5/1", ""), ("pale yellow (2.5Y 7/3), light brown (2.5Y 6/3), moist", "2.5Y 6/3", ""),
    ],
)  # fmt: skip
def test_colours_moist_and_dry(written, moist, dry):
    row = _rows(f"Pit 1. {'Colours are for dry soil unless stated.' if ', ' in written and 'moist' in written else ''}\nAh 0-12 cm; {written}; friable\n").iloc[0]
    assert row.get("colour moist", "") == moist
    if dry:
        assert row["colour dry"] == dry


def test_a_matrix_of_two_colours_keeps_both_with_their_shares():
    row = _one("60 percent brown (10YR 5/3) and 40 percent gray (10YR 5/1) clay loam")
    assert row["colour moist"] == "10YR 5/3" and row["matrix moist"] == "60% 10YR 5/3 + 40% 10YR 5/1"


def test_colours_of_mottles_films_and_other_things_are_not_those_of_the_soil():
    row = _one("brown (10YR 4/3) loam; many coarse prominent strong brown (7.5YR 5/6) mottles; few gray (10YR 5/1) clay films; extract colour is white (10YR 8/1)")
    assert row["colour moist"] == "10YR 4/3" and "matrix moist" not in row
    assert (row["mottles"], row["mottle contrast"]) == ("many", "prominent")
    assert "clay films" in row["horizon remarks"] and "extract colour" in row["horizon remarks"]


def test_compound_structure_and_old_terms_are_kept_with_a_note():
    notes = tables_of("Pit 1\nBt 0-12 cm; strong medium prismatic breaking into moderate fine angular and subangular blocky; medium acid\n", "notes.txt")
    row = notes.horizons.cells.iloc[0]
    assert row["structure more"] == "parting to moderate fine angular blocky and subangular blocky"
    assert row["reaction"] == "moderately acid"
    assert any("medium acid is called moderately acid now" in problem.what for problem in notes.problems)


def test_a_misspelt_word_is_read_and_said():
    notes = tables_of("Pit 1\nBt 0-12 cm; strongly effervescemt; weak tine granular structure\n", "notes.txt")
    assert notes.horizons.cells.iloc[0]["effervescence"] == "strong"
    assert {problem.what for problem in notes.problems} >= {"effervescemt read as effervescent", "tine read as fine"}


def test_a_thickness_of_this_pit_is_a_bound_and_that_of_a_series_is_a_remark():
    assert _one("clear wavy boundary; 10 to 17 cm thick")["thickness (cm)"] == "10-17"
    series = _rows("TYPICAL PEDON: Invented loam, pasture.\nAp--0 to 5 inches; loam. (4 to 6 inches thick)\n").iloc[0]
    assert "thickness (cm)" not in series and "4 to 6 inches thick" in series["horizon remarks"]


def test_several_pits_with_free_heads(read_survey):
    text = """Pit 7, 12 June 2024, 49 30 15.2 N, 112 18 4 W, slope of 5 percent, moderately well drained.
Parent material: till; Vegetation: native grassland. Stopped by stones at 80 cm.
Ah 0-12 cm, 10YR 2/1 m; loam
Bm 12-30 cm

Site 8
Date: 2024-06-13; Latitude: 49.51; Longitude: -112.3; Drainage: imperfectly drained; Elevation: 2,952 ft
Ap 0-15 cm
"""
    pits = read_survey({"notes.txt": text}, crs="EPSG:3402", notes={"file": "notes.txt"}).pits.set_index("pit_id")
    first = pits.loc["7"]
    assert (first["date"], first["slope_percent"], first["drainage"], first["stopped_by"]) == ("2024-06-12", 5, "moderately well", "stones")
    assert (first["parent_material"], first["land_use"], first["observed_to_cm"]) == ("till", "native grassland", 80)
    assert pits.loc["8", "elevation_m"] == pytest.approx(899.8, abs=0.1)
    assert all(shape is not None for shape in pits.geometry)


def test_a_text_under_horizons_is_read_as_notes_and_a_table_stays_a_table(read_survey):
    notes = read_survey({"a.txt": "Pit 1\nAh 0-12 cm; loam\nBm 12-30 cm\n"}, horizons={"file": "a.txt"})
    table = read_survey({"b.txt": "pit\tdesignation\tupper\tlower\n1\tAh\t0\t12\n1\tBm\t12\t30\n"}, horizons={"file": "b.txt"}, depth_unit="cm")
    for pits in (notes, table):
        assert pits.horizons["designation"].tolist() == ["Ah", "Bm"] and pits.horizons["lower_cm"].tolist() == [12, 30]


def test_depths_without_any_unit_are_refused_and_take_the_surveys_unit():
    with pytest.raises(InputError, match="unit of depths"):
        _rows("Pit 1\nAh 0-12, loam\n")
    assert _rows("Pit 1\nAh 0-10, loam\n", depth_unit="in").iloc[0]["lower depth (cm)"] == "25.4"


def test_bounds_reach_the_product(read_survey):
    pits = read_survey({"n.txt": "Pit 1\nAh 0-15 (10-21) cm\nBm 15-30 cm\n"}, notes={"file": "n.txt"})
    assert pits.horizons.loc[0, ["lower_cm", "lower_low_cm", "lower_high_cm"]].tolist() == [15, 10, 21]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"), (b" \n \n", "empty"), (b"\0\1\2" * 1000, "not a text file"), (b"A 0-10 cm " * 1_000_000, "too long"),
        (b"the weather was fine and nothing was dug\n" * 25_000, "no horizon"), (bytes(range(128, 256)) * 4000, "neither UTF-8 nor cp1252"),
        (b"zq xv 7 ,;\n" * 4_000 + b"Ah 0-3 cm\n" + b"gg hh 88\n" * 40_000, "hardly anything"),
    ],
    ids=["empty", "blank", "binary", "one line", "prose", "bytes", "noise"],
)  # fmt: skip
def test_what_is_no_description_ends_in_a_plain_error(tmp_path, data, said):
    (tmp_path / "n.txt").write_bytes(data)
    with pytest.raises(InputError, match=said):
        READER.read_notes(tmp_path / "n.txt", depth_unit="cm")
