"""The variety of the trade, all invented: how designations, depths, colours, textures, codes and heads are written."""

from __future__ import annotations

import pytest

from geoprofile.pits.notes.codes import code_clauses
from geoprofile.pits.notes.entries import entry_at
from geoprofile.pits.notes.mending import mend, without_markup
from geoprofile.pits.notes.reader import READER, tables_of


def _one(line: str, state: str = "moist") -> dict:
    text = f"Pit 1. Colors are for {state} soil unless otherwise stated.\n{line}\n"
    return tables_of(text, "n.txt", depth_unit="cm").horizons.cells.iloc[0].to_dict()


def _head(text: str) -> dict:
    return tables_of(f"{text}\nAh 0-12 cm; loam\n", "n.txt").profiles[0].header.cells


@pytest.mark.parametrize(
    ("written", "designation", "depths"),
    [
        ("Ap [0-15 cm]: x", "Ap", "0-15 cm"), ("(1) Ap 0-15 cm x", "Ap", "0-15 cm"), ("Horizon 1: Ap, 0-15 cm, x", "Ap", "0-15 cm"), ("**Ap** 0-15 cm; x", "Ap", "0-15 cm"),
        ("Depth 0-15 cm: Ap x", "Ap", "0-15 cm"), ("Ap: depth 0-15 cm; x", "Ap", "0-15 cm"), ("Ap- -0 to 7 inches; x", "Ap", "0-7 in"), ("A p--0 to 7 inches; x", "Ap", "0-7 in"),
        ("Bt 1--0 to 3 inches; x", "Bt1", "0-3 in"), ("2 Bt 3--40 to 50 cm; x", "2Bt3", "40-50 cm"), ("II C k 40-50 cm", "IICk", "40-50 cm"), ("B21t--4 to 12 inches; x", "B21t", "4-12 in"),
        ("Ap--0- to 7-inches; x", "Ap", "0-7 in"), ("Ap 0 to7 inches; x", "Ap", "0-7 in"), ("Ap 0 - 6½ inches; x", "Ap", "0-6.5 in"), ("Bt 15-20 to 45 cm; x", "Bt", "15-20-45 cm"),
        ("Ap 0 to 15-20 cm; x", "Ap", "0-15-20 cm"), ("Ap 0-15(20) cm; x", "Ap", "0-15 (15-20) cm"), ("C > 45 cm; x", "C", "45+ cm"), ("C1 below 45 cm; x", "C1", "45+ cm"),
        ("C from 45 cm down; x", "C", "45+ cm"), ("C 45-100 cm or more; x", "C", "45-100+ cm"), ("LFH: +5 to 0 cm; x", "LFH", "5-0 cm"), ("B't–41 to 55 cm; x", "B't", "41-55 cm"),
        ("Next is the Bt, starts at 20 and goes to 35, x", "Bt", "20-35"), ("Then there's a Bm from twelve to thirty-one, x", "Bm", "12-31"),
        ("Below that, C k from ninety on down, x", "Ck", "90+"), ("Ah from the surface to ten cm, x", "Ah", "0-10 cm"),
        ("From 22 to 50, no sorry, 22 to 55, a Bg, x", "Bg", "22-55"), ("Ck from 72 to the bottom at 120, x", "Ck", "72-120"), ("Cr? soft shale 40-55, x", "Cr", "40-55"),
        ("Bt1--l0 to 2O inches; x", "Bt1", "10-20 in"), ("A 10 m wide ditch", None, None), ("A 3 percent slope", None, None), ("I walked 4 km", None, None),
    ],
)  # fmt: skip
def test_the_beginning_of_a_horizon(written, designation, depths):
    entry = entry_at(written, 0, len(written))
    if designation is None:
        assert entry is None
        return
    found = entry.depths
    lower = f"-{found.lower.text(1)}" if found.lower else ""
    assert (entry.designation, f"{found.upper.text(1)}{lower}{'+' if found.open_below else ''} {found.unit}".strip()) == (designation, depths)


@pytest.mark.parametrize(
    ("body", "moist", "dry", "texture"),
    [
        ("black (N 2/0) broken face and rubbed muck (sapric material)", "N 2/", "", "muck"),
        ("mixed dark brown (7.5YR 3/2) and strong brown (7.5YR 5/6) gravelly loam", "7.5YR 3/2 + 7.5YR 5/6", "", "gravelly loam"),
        ("variegated 7.5YR 5/6, 10YR 6/4 and N 6/0 extremely gravelly loamy coarse sand", "7.5YR 5/6 + 10YR 6/4 + N 6/", "", "extremely gravelly loamy coarse sand"),
        ("multicolored very gravelly sand", "", "", "very gravelly sand"),
        ("brown to dark brown (10YR 4/3) silt loam", "10YR 4/3", "", "silt loam"),
        ("pale brown (10YR 6/3) light silty clay loam", "10YR 6/3", "", "silty clay loam"),
        ("light gray (10YR 7/2) (dry) and grayish brown (10YR 5/2) (moist) loam", "10YR 5/2", "10YR 7/2", "loam"),
        ("dark gray (10YR 4/1) broken face, grayish brown (10YR 5/2) crushed, dry; silt loam", "10YR 4/1", "", "silt loam"),
        ("brown (10YR 4,5/3) moist; 2,5Y 6/2 d, loam", "10YR 4.5/3", "2.5Y 6/2", "loam"),
        ("dense, frozen till, gray (5Y 5/1) clay", "5Y 5/1", "", "clay"),
    ],
)  # fmt: skip
def test_colours_and_texture_of_the_soil(body, moist, dry, texture):
    row = _one(f"Bt--0 to 10 cm; {body}; firm.")
    assert (row.get("matrix moist") or row.get("colour moist", ""), row.get("colour dry", ""), row["texture"]) == (moist, dry, texture)


def test_the_state_behind_the_texture_is_that_of_the_colour():
    row = _one("Btn--15 to 30 cm; brown (10YR 4/3) silty clay, moist; firm.", state="dry")
    assert row["colour moist"] == "10YR 4/3" and "colour dry" not in row


@pytest.mark.parametrize(
    ("clause", "words"),
    [
        ("1 f gr", "weak fine granular"), ("2msbk", "moderate medium subangular blocky"), ("2 m pr / 2 f sbk", "moderate medium prismatic parting to moderate fine subangular blocky"),
        ("mod med gr", "moderate medium granular"), ("cs", "clear smooth boundary"), ("abr sm", "abrupt smooth boundary"), ("es", "strong effervescence"), ("violent eff.", "violent effervescence"),
        ("vfr", "very friable"), ("c2d", "common medium distinct mottles"), ("sl", "sandy loam"), ("mod. acid", "moderately acid"), ("1&2 f gr", "weak and moderate fine granular"), ("1-2 m sbk", "weak to moderate medium subangular blocky"),
        ("very slight efferv", "very slight effervescence"), ("massive", ""), ("CL", ""), ("m", ""),
    ],
)  # fmt: skip
def test_a_clause_of_codes_is_read_as_the_words_it_stands_for(clause, words):
    assert "".join(found for *_, found in code_clauses(clause)) == words


@pytest.mark.parametrize(
    ("written", "texture"),
    [
        ("SIL", "silt loam"), ("SICL", "silty clay loam"), ("SIC", "silty clay"), ("SCL", "sandy clay loam"), ("VFSL", "very fine sandy loam"), ("COSL", "coarse sandy loam"), ("SiL", "silt loam"), ("HC", "heavy clay"),
        ("GR-CL", "gravelly clay loam"), ("GRV-SL", "very gravelly sandy loam"), ("GRX-LS", "extremely gravelly loamy sand"), ("CB-L", "cobbly loam"), ("STV-SICL", "very stony silty clay loam"),
        ("gr-sl", "gravelly sandy loam"), ("GR SL", "gravelly sandy loam"), ("GR-sandy loam", "gravelly sandy loam"), ("10YR 3/2 GR-SL", "gravelly sandy loam"), ("vgSL", "very gravelly sandy loam"), ("C", "clay"),
    ],
)  # fmt: skip
def test_codes_of_textures_are_spelled_out(written, texture):
    """Codes of the Field Book (Schoeneberger et al. 2012) in capitals, modifiers before a hyphen (from memory)."""
    row = _one(f"Bt--0 to 10 cm; {written}; firm.")
    assert row["texture"] == texture and "structure kind" not in row


@pytest.mark.parametrize("word", ["nonefferv", "non-efferv", "noneff.", "noneffervescent", "no fizz"])
def test_words_for_no_effervescence(word):
    assert _one(f"Bt--0 to 10 cm; loam, {word}, firm")["effervescence"] == "none"


@pytest.mark.parametrize(("written", "grade"), [("weak and moderate", "weak and moderate"), ("moderate to strong", "moderate to strong"), ("weak, and moderate,", "weak and moderate"), ("weak-moderate", "weak to moderate")])
def test_two_grades_both_stand(written, grade, read_survey):
    text = f"Pit 1\nBt 0-10 cm; {written} fine and medium subangular blocky structure; firm\n"
    row = tables_of(text, "n.txt").horizons.cells.iloc[0]
    assert (row["structure grade"], row["structure size"]) == (grade, "fine and medium") and "horizon remarks" not in row or not row["horizon remarks"]
    assert read_survey({"n.txt": text}, notes={"file": "n.txt"}).horizons.loc[0, "structure_grade"] == grade


def test_codes_between_tabs_fill_their_fields():
    row = _one("Ap1\t0-4\"\t10YR 3/2 m\tSiL\t1 f gr\tvfr\tes\tcs")
    assert (row["texture"], row["structure grade"], row["structure kind"], row["consistence"], row["effervescence"], row["boundary form"]) == (
        "silt loam", "weak", "granular", "very friable", "strong", "smooth")  # fmt: skip


def test_leftovers_of_pages_and_line_breaks_keep_every_place():
    text = "<p>Ap&mdash;0 to 5&nbsp;inches; yellow-\n  ish brown (10YR 5/4), pH 6,8; grayish-\nbrown; 12,5 cm; 1,420 feet<br/>Bt"
    read = mend(without_markup(text))
    assert len(read) == len(text)
    assert " ".join(read.split()) == "Ap— 0 to 5 inches; yellowish brown (10YR 5/4), pH 6.8; grayish brown ; 12.5 cm; 1,420 feet Bt"


SERIES = """LOCATION MARROWBY

The Marrowby soils formed in loess. Slopes range from 0 to 12 percent.

TAXONOMIC CLASS: Fine-silty, mixed, mesic Typic Argiustolls
TYPICAL PEDON: Marrowby silt loam on a 3 percent, convex, southeast-facing slope. (Colors are for dry soil unless otherwise noted.)
A--0 to 5 inches; dark grayish brown (10YR 4/2) silt loam; weak
fine granular structure; clear smooth boundary. (4 to 9 inches thick)
Bt--5 to 20 inches; brown (10YR 5/3) clay. RANGE IN CHARACTERISTICS: Depth to lime is 20 inches.

A horizon: 0 to 9 inches. Hue of 10YR.
C horizon: 30 to 60 inches.
TYPE LOCATION: 300 feet north of the corner; lat. 40 degrees 12 minutes 30 seconds N. and long. 98 degrees 2 minutes W.
COMPETING SERIES: Alder.

TYPICAL PEDON: Alder loam, in pasture.
Ap--0 to 7 inches; brown (10YR 4/3) loam.
"""


def test_sections_around_a_published_pedon_are_no_horizons_and_are_kept():
    notes = tables_of(SERIES, "series.txt")
    assert notes.ids == ("Marrowby", "Alder")
    assert notes.horizons.cells["designation"].tolist() == ["A", "Bt", "Ap"]
    first = notes.pits.cells.iloc[0]
    assert (first["slope"], first["aspect"], first["latitude"]) == ("3 percent", "135", "40 degrees 12 minutes 30 seconds N")
    for kept in ("Slopes range from 0 to 12 percent", "C horizon: 30 to 60 inches", "Depth to lime is 20 inches", "Alder"):
        assert kept in first["remarks"]


@pytest.mark.parametrize(
    ("head", "cells"),
    [
        ("PIT 3-A\nDate 14/06/2023. Site: north end of field. Lat 53°22'10.5\" N, Long 113°30'22\" W\nSlope 6 %, aspect NE. PM: till. Veg: barley stubble",
         {"pit_id": "3-A", "date": "14/06/2023", "latitude": "53°22'10.5\" N", "longitude": "113°30'22\" W", "slope": "6 %", "aspect": "45", "parent_material": "till", "land_use": "barley stubble"}),
        ("Pit SW-14; N49 30 15.2 W112 18 04; 3% slope facing south west; developed on lacustrine clay; under aspen forest",
         {"pit_id": "SW-14", "latitude": "N49 30 15.2", "longitude": "W112 18 04", "slope": "3%", "aspect": "225", "parent_material": "lacustrine clay", "land_use": "aspen forest"}),
        ("Pedon 7 (UTM 12U 345678 E 5567890 N)\nSlope: 4 percent, convex, north-facing", {"pit_id": "7", "utm_zone": "12U", "easting": "345678", "northing": "5567890", "slope": "4 percent", "aspect": "0"}),
        ("Pit 9: zone 12 easting 345678 northing 5567890, Date: June 3rd, 2023", {"pit_id": "9", "utm_zone": "12", "easting": "345678", "date": "June 3, 2023"}),
        ("SITE ID: MB-1\nEASTING/NORTHING: 498210 / 6301744 (zone 12)\nDRAINAGE: rapidly     SLOPE: 8%  POSITION: crest",
         {"pit_id": "MB-1", "easting": "498210", "northing": "6301744", "utm_zone": "12", "drainage": "rapidly", "slope": "8%", "slope_position": "crest"}),
        ("PIT 12A - lat 44,20311 lon 5,01882 - slope 9 %, SE aspect - mod well drained", {"pit_id": "12A", "latitude": "44.20311", "longitude": "5.01882", "aspect": "135", "drainage": "moderately well"}),
        ("PW-1  54°02'11.6\"N 115°33'48.2\"W  imperfect drainage : sedges", {"pit_id": "PW-1", "latitude": "54°02'11.6\"N", "drainage": "imperfectly"}),
        ("Hole 22 on the 14th of June 2023. Refusal on bedrock at 118 cm.", {"pit_id": "22", "date": "14 June 2023", "stopped_by": "bedrock", "observed_to": "118 cm"}),
        ("This is pit number fourteen. Well drained, slope four percent, in pasture.", {"pit_id": "14", "drainage": "well", "slope": "4 percent", "land_use": "pasture"}),
        ("Profile No. 12\nClassification: Orthic Dark Brown Chernozem\nDescribed by: K. P.\nPit depth: 110 cm", {"pit_id": "12", "recorded_soil": "Orthic Dark Brown Chernozem", "surveyor": "K. P.", "observed_to": "110 cm"}),
    ],
)  # fmt: skip
def test_heads_as_people_write_them(head, cells):
    found = _head(head)
    assert {name: found.get(name) for name in cells} == cells


def test_a_remark_between_two_horizons_does_not_begin_another_pit():
    notes = tables_of("Pit 1\nAh 0-12 cm; loam\nRemarks: it rained\nBm 12-30 cm; loam\n", "n.txt")
    assert notes.ids == ("1",) and len(notes.horizons.cells) == 2
    assert "it rained" in notes.pits.cells.iloc[0]["remarks"]


def test_horizons_in_prose_are_found_where_they_go_on_from_the_last():
    text = """Hello, call it TF-A. There are 30 cm of fill on top, I called it 1C: 0-30, 10YR 4/3, gravelly loam. Under it sits the old topsoil, IIAhb, 30-46,
10YR 2/1, loam; and IICkb 46-90, clay loam, massive. The trench box weighs 10 t.
"""
    notes = tables_of(text, "mail.txt", depth_unit="cm")
    assert notes.ids == ("TF-A",)
    cells = notes.horizons.cells
    assert cells["designation"].tolist() == ["1C", "IIAhb", "IICkb"] and cells["texture"].tolist() == ["gravelly loam", "loam", "clay loam"]
    assert "Under it sits the old topsoil" in cells["horizon remarks"][1]


def test_a_colour_is_corrected_in_the_same_breath():
    assert _one("BC from 29 to 60 cm, 10YR 5 over 3, no, make that 10YR 5 over 4, loam")["colour moist"] == "10YR 5/4"


def test_the_two_soils_of_a_combination_horizon_both_stand():
    row = _one("Bt/E--31 to 48 cm; 65 percent strong brown (7.5YR 5/6) clay loam (Bt) and 35 percent pale brown (10YR 6/3) silt loam (E); firm.")
    assert (row["matrix moist"], row["texture"]) == ("65% 7.5YR 5/6 + 35% 10YR 6/3", "clay loam + silt loam")


def test_fizz_with_peroxide_is_no_carbonate():
    row = _one("Ap--0 to 10 cm; clay; strong effervescence with hydrogen peroxide")
    assert "effervescence" not in row and "hydrogen peroxide" in row["horizon remarks"]


def test_units_said_in_a_head_or_spoken_of_elsewhere():
    text = "Hole O-1 (depths in INCHES), 43.1207, -77.6610\nAp 0-10 loam\n\nHole O-2 (depths in CM), 43.1219, -77.6588\nAp 0-20 loam\n"
    assert tables_of(text, "n.txt").horizons.cells["lower depth (cm)"].tolist() == ["25.4", "20"]
    assert tables_of("Pit 1, water at 12 cm.\nAh 0-10, loam\n", "n.txt").horizons.cells["lower depth (cm)"].tolist() == ["10"]


@pytest.mark.parametrize("line", ["Comment: dug to 40 cm", "Core 0-30 cm", "Bed 10-20 cm", "Lower: 10-20 cm", "VEG: jack pine", "At 40-50 cm we met water", "Hole O-1 (depths in cm)", "Bog 0-40 cm"])
def test_words_of_the_language_are_no_horizons(line):
    """One convention takes nearly any row of letters for a symbol; a sentence is not one."""
    assert entry_at(line, 0, len(line)) is None


def test_a_text_of_another_kind_is_not_taken_for_notes(tmp_path):
    (tmp_path / "licence.txt").write_text("Files: all\nComment: see below\nCopy 1-2 of the text.\nA person may use 3 to 5 of them.\n", encoding="utf-8")
    assert not READER.recognises(tmp_path / "licence.txt")


def test_a_unit_said_above_the_first_pit_holds_for_every_pit_whatever_the_survey_says():
    text = "Spot checks. Depths in inches.\n\nPit W-1\nAp 0-8, 10YR 3/2, loam\n\nPit W-2\nAp 0-6, 10YR 3/2, loam\n"
    assert tables_of(text, "n.txt", depth_unit="cm").horizons.cells["lower depth (cm)"].tolist() == ["20.32", "15.24"]
    own = text.replace("Spot checks. Depths in inches.\n\nPit W-1", "Pit W-1, depths in inches")
    assert tables_of(own, "n.txt", depth_unit="cm").horizons.cells["lower depth (cm)"].tolist() == ["20.32", "6"]


def test_codes_and_words_of_a_structure_are_read_in_the_order_of_the_text():
    row = _one("Bt--0 to 10 cm; strong medium prismatic, parting to moderate fine abk; firm")
    assert (row["structure kind"], row["structure more"]) == ("prismatic", "parting to moderate fine angular blocky")
    row = _one("Bt--0 to 10 cm; strong medium prismatic, also mod fine gr; firm")
    assert row["structure kind"] == "prismatic" and "mod fine gr" in row["horizon remarks"]


def test_the_acid_itself_is_no_horizon():
    notes = tables_of("Pit 1\nAp 0-10 cm; loam\nHCl: none\n", "n.txt")
    assert notes.horizons.cells["designation"].tolist() == ["Ap"]
