"""Colours that cannot be, names of colours, and what e, h, g and an Ap ask of a colour."""

from __future__ import annotations

import pytest

NAN = float("nan")


def of(problems, check):
    return [problem for problem in problems if problem.check == check]


# notations and names


def test_a_hue_between_the_pages_of_the_charts_is_a_note(found):
    problems = of(found([("Ah", 0, 10), ("Bm", 10, 40)], colour_moist=["9YR 3/1", "7.5YR 4/4"]), "colour")
    assert [(problem.severity, problem.found) for problem in problems] == [("note", "9YR 3/1")]


@pytest.mark.parametrize("text", ["10YR 2/8", "5Y 3/12", "12YR 4/3", "10YR 10.5/2", "N 12/"])
def test_a_chip_beyond_the_published_colours_is_a_fault(found, text):
    """Newhall, Nickerson & Judd 1943: no surface of value 2 in 10YR has chroma 8."""
    assert [problem.severity for problem in of(found([("Ah", 0, 10)], colour_moist=[text]), "colour")] == ["warning"]


def test_a_name_of_another_chip_is_a_fault(found):
    """P3 of the published profiles: very pale brown printed beside 10YR 3/2."""
    (problem,) = of(found([("Ae", 0, 10)], colour_name=["very pale brown"], colour_moist=["10YR 3/2"]), "colour name")
    assert problem.found == "very pale brown (10YR 3/2)" and "10YR 7/3" in problem.allowed


@pytest.mark.parametrize(("name", "text"), [("dark brown", "10YR 4/3"), ("brown", "10YR 4/3"), ("dark brown", "7.5YR 4/4"), ("Very dark-grayish brown, moist", "10YR 3/2"), ("beige", "10YR 3/2")])
def test_names_of_both_editions_of_the_charts_pass(found, name, text):
    """Government descriptions call 10YR 4/3 and 7.5YR 4/4 dark brown; later charts say brown."""
    assert not of(found([("Ae", 0, 10)], colour_name=[name], colour_moist=[text]), "colour name")


def test_a_name_may_be_that_of_the_dry_colour(found):
    assert not of(found([("Ah", 0, 10)], colour_name=["grayish brown"], colour_moist=["10YR 3/2"], colour_dry=["10YR 5/2"]), "colour name")


def test_a_name_in_the_cell_of_the_notation_is_held_against_it(read_survey):
    table = "pit,horizon,from (cm),to (cm),colour moist\n1,Ae,0,10,very pale brown (10YR 3/2)\n1,Bm,10,40,brown (10YR 4/3)\n"
    pits = read_survey({"horizons.csv": table}, horizons={"file": "horizons.csv"})
    problems = pits.problems[pits.problems["check"] == "colour name"]
    assert list(problems["row"]) == [2] and "very pale brown is" in problems.iloc[0]["allowed"]
    assert list(pits.horizons["colour_moist"]) == ["10YR 3/2", "10YR 4/3"]  # told, not repaired


# e and h


def test_ae_is_a_unit_lighter_than_the_b_when_dry(found):
    rows = [("Ah", 0, 10), ("Ae", 10, 20), ("AB", 20, 25), ("Bt", 25, 60)]
    assert [problem.severity for problem in of(found(rows, colour_dry=["", "10YR 5/2", "", "10YR 5/3"]), "eluvial colour")] == ["warning"]
    assert not of(found(rows, colour_dry=["", "10YR 6/2", "", "10YR 5/3"]), "eluvial colour")


def test_by_moist_colours_only_a_darker_ae_is_asked_about(found):
    """P8 (Brunelle et al. 1976): Ae 10YR 3/2 moist over Bnt 10YR 4/2 moist."""
    rows = [("Ahe", 13, 26), ("Ae", 26, 36), ("Bnt", 36, 50)]
    assert [problem.severity for problem in of(found(rows, colour_moist=["10YR 4/3", "10YR 3/2", "10YR 4/2"]), "eluvial colour")] == ["note"]
    assert not of(found(rows, colour_moist=["10YR 4/3", "10YR 4/2", "10YR 4/2"]), "eluvial colour")


def test_ah_is_darker_than_what_lies_below_or_richer_in_carbon(found):
    rows, colours = [("Ah", 0, 3), ("Bm", 3, 28)], {"colour_moist": ["10YR 4/2", "7.5YR 4/2"]}
    assert len(of(found(rows, **colours), "dark colour")) == 1
    assert not of(found(rows, **colours, organic_carbon_percent=[3.0, 1.0]), "dark colour")
    assert not of(found(rows, **colours, colour_dry=["10YR 4/2", "10YR 5/3"]), "dark colour")


def test_an_organic_layer_holds_17_percent_organic_carbon(found):
    problems = of(found([("LFH", -5, 0), ("Ah", 0, 10), ("Bm", 10, 40)], organic_carbon_percent=[12.0, 20.0, 1.0]), "organic carbon")
    assert [problem.found for problem in problems] == ["12 %", "20 %"]


# g and drainage


@pytest.mark.parametrize(
    ("colour", "mottles", "expected"),
    [("10YR 6/3", "none", ["warning"]), ("10YR 6/3", "", ["note"]), ("10YR 6/3", "common", []), ("10YR 5/1", "", []), ("5GY 5/2", "none", []), ("N 5/", "none", [])],
)  # fmt: skip
def test_g_asks_for_grey_or_mottles(found, colour, mottles, expected):
    """Canadian System 1998: chroma of 1 or less, hues bluer than 10Y, or mottles (P19: Bmg 10YR 6/3)."""
    assert [problem.severity for problem in of(found([("Ah", 0, 10), ("Bg", 10, 40)], colour_moist=["", colour], mottles=["", mottles]), "gleying")] == expected


def test_in_usda_terms_a_chroma_of_2_is_grey(found):
    rows = [("A", 0, 10), ("Bg", 10, 40), ("Cg", 40, 90)]
    assert [problem.what[-10:] for problem in of(found(rows, "usda", colour_moist=["", "10YR 5/2", "10YR 6/4"]), "gleying")] == ["(Cg 40-90)"]


def test_a_part_of_the_matrix_or_mottles_in_the_remarks_are_enough(found):
    rows, colour = [("A", 0, 10), ("Bg", 10, 40)], {"colour_moist": ["", "7.5YR 5/6"]}
    assert of(found(rows, "usda", **colour), "gleying")
    assert not of(found(rows, "usda", **colour, matrix_moist=["", "60% 7.5YR 5/6 + 40% 10YR 5/1"]), "gleying")
    assert not of(found(rows, "usda", **colour, remarks=["", "many coarse redoximorphic depletions"]), "gleying")


def test_gj_and_faint_mottles(found):
    assert of(found([("Ah", 0, 10), ("Bmgj", 10, 40)], mottles=["", "none"]), "gleying")
    faint = {"colour_moist": ["", "10YR 4/4"], "mottles": ["", "few"], "mottle_contrast": ["", "faint"]}
    assert "faint" in of(found([("Ah", 0, 10), ("Bg", 10, 40)], **faint), "gleying")[0].what
    assert not of(found([("Ah", 0, 10), ("Bg", 10, 40)], **{**faint, "mottle_contrast": ["", "prominent"]}), "gleying")


def test_drainage_and_gleying_go_together(found):
    gleyed, plain = [("Ah", 0, 10), ("Bg", 10, 60)], [("Ah", 0, 10), ("Bm", 10, 40), ("C", 40, 90)]
    bright = {"colour_moist": ["10YR 3/3", "10YR 4/4", "10YR 5/4"]}
    assert of(found(gleyed, pit={"drainage": "well"}), "drainage") and not of(found(gleyed, pit={"drainage": "poorly"}), "drainage")
    assert of(found(plain, pit={"drainage": "poorly"}, **bright), "drainage")
    assert not of(found(plain, pit={"drainage": "poorly"}), "drainage")  # no colours: nothing is known
    assert not of(found(plain, pit={"drainage": "poorly"}, mottles=["", "common", ""], **bright), "drainage")
    assert not of(found(plain, pit={"drainage": "well"}, **bright), "drainage")
    assert not of(found([("Ah", 0, 10), ("Bm", 10, 70), ("Cg", 70, 90)], pit={"drainage": "well"}), "drainage")  # below 50 cm


# mottles


def test_recorded_contrast_is_held_against_the_colours(found):
    """Soil Survey Technical Note 2: 10YR 5/2 and 7.5YR 5/6 differ by one page of hue and four of chroma: prominent."""
    rows = [("A", 0, 10), ("Bt", 10, 60)]
    faint = ["", "common medium faint strong brown (7.5YR 5/6) mottles; firm"]
    (problem,) = of(found(rows, "usda", colour_moist=["", "10YR 5/2"], remarks=faint), "mottle contrast")
    assert problem.allowed == "prominent" and "faint" in problem.what
    assert not of(found(rows, "usda", colour_moist=["", "10YR 5/2"], remarks=["", faint[1].replace("faint", "prominent")]), "mottle contrast")
    columns = {"mottle_colour": ["", "7.5YR 5/6"], "mottle_contrast": ["", "faint"]}
    assert of(found(rows, "usda", colour_moist=["", "10YR 5/2"], **columns), "mottle contrast")


def test_clay_films_and_nodules_are_no_mottles(found):
    remarks = ["", "many distinct dark yellowish brown (10YR 4/4) clay films on faces of peds; few fine faint iron nodules (10YR 2/1)"]
    assert not of(found([("A", 0, 10), ("Bt", 10, 60)], "usda", colour_moist=["", "10YR 4/3"], remarks=remarks), "mottle contrast")


# Ap


def test_an_ap_of_the_colour_of_the_c_is_asked_about(found):
    rows = [("Ap", 0, 15), ("Ck", 15, 60)]
    (problem,) = of(found(rows, colour_moist=["10YR 5/3", "10YR 5/3"]), "plough layer")
    assert problem.severity == "note" and "colour" in problem.what
    assert not of(found(rows, colour_moist=["10YR 3/2", "10YR 5/3"]), "plough layer")
    assert "carbonates" in of(found(rows, colour_moist=["10YR 3/2", "10YR 5/3"], effervescence=["weak", "strong"]), "plough layer")[0].what


@pytest.mark.parametrize(("ap", "b"), [("5YR 4/3", "5YR 4/4"), ("7.5YR 3/3", "7.5YR 3/4")])
def test_a_naturally_red_topsoil_is_not_accused(found, ap, b):
    """Typical pedons of USDA series (Calvin, Kroeker): not eroded."""
    assert not of(found([("Ap", 0, 20), ("Bw", 20, 60)], "usda", colour_moist=[ap, b]), "plough layer")
    sandy = {"sand_percent": [30.0, 30.0], "silt_percent": [45.0, 44.0], "clay_percent": [25.0, 26.0]}
    assert "clay" in of(found([("Ap", 0, 20), ("Bt", 20, 60)], "usda", colour_moist=["5YR 4/3", "5YR 4/4"], **sandy), "plough layer")[0].what
