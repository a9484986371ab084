"""Moist and dry colours in tables: the cell decides, then the column of states, then the heading; a guess is said.

A dry colour is one to three units of value lighter than the moist one (Soil Survey Manual 2017, chapter 3), so a dry
colour stored as moist makes a topsoil look like ploughed-up subsoil.
"""

from __future__ import annotations

import pytest

PITS = "Pit,Easting,Northing\n" + "".join(f"{name},{506200 + 20 * number},5997200\n" for number, name in enumerate("ABCD"))


@pytest.fixture
def colours_of(read_survey):
    """Colours (moist, dry) and remarks of horizons whose cells are given, one pit; and the problems of colours."""

    def read(headings: str, *cells: str, **pits):
        rows = "".join(f"A,Bm,{10 * number}-{10 * number + 10},{cell}\n" for number, cell in enumerate(cells))
        found = read_survey({"pits.csv": PITS, "horizons.csv": f"Pit,Horizon,Depth,{headings}\n{rows}"}, crs="EPSG:26911", depth_unit="cm",
                            pits={"file": "pits.csv"}, horizons={"file": "horizons.csv"}, **pits)
        about = found.problems[found.problems["check"].isin(["colour state", "colour", "two values", "value"])]
        pairs = list(zip(found.horizons["colour_moist"].fillna(""), found.horizons["colour_dry"].fillna("")))
        return pairs, list(about.itertuples()), list(found.horizons["remarks"].fillna(""))

    return read


@pytest.mark.parametrize("cell", ["10YR 4/2 d", "10YR 4/2 (d)", "10YR 4/2 dry", "10YR 4/2 (dry)", "d 10YR 4/2", "10YR 4/2d", "10YR 4/2 D", "dry: 10YR 4/2", "brown 10YR 4/2 dry"])
def test_a_dry_colour_is_never_stored_as_moist(colours_of, cell):
    pairs, problems, _ = colours_of("Colour", cell)
    assert pairs == [("", "10YR 4/2")] and not problems


@pytest.mark.parametrize("cell", ["10YR4/2 m / 10YR5/2 d", "10YR 5/2 d; 10YR 4/2 m", "10YR 4/2 (10YR 5/2 dry)", "10YR 4/2 m, 5/2 d", "10YR 4/2,5/2d", "10YR 4/2,10YR 5/2 d"])
def test_a_cell_with_both_states_gives_both(colours_of, cell):
    pairs, problems, remarks = colours_of("Colour", f'"{cell}"')
    assert pairs == [("10YR 4/2", "10YR 5/2")] and not problems and remarks == [""]


@pytest.mark.parametrize("heading", ["Colour (dry)", "Dry colour", "Colour d", "Munsell dry"])
def test_the_heading_decides_for_its_column_and_a_cell_against_it_is_a_problem(colours_of, heading):
    pairs, problems, remarks = colours_of(heading, "10YR 4/2", "10YR 4/2 d", "10YR 3/2 m")
    assert pairs == [("", "10YR 4/2"), ("", "10YR 4/2"), ("", "")]
    assert [(one.severity, one.found.split(" (")[0]) for one in problems] == [("error", "10YR 3/2 m")] and "the cell says moist, its heading dry" in problems[0].what
    assert remarks[2] == "colour as written: 10YR 3/2 m", "nothing is lost"


def test_colours_without_a_state_are_read_as_moist_and_that_is_said_once_with_their_number(colours_of):
    pairs, problems, _ = colours_of("Colour", "10YR 4/2", "10YR 5/2 d", "10YR 4/3")
    assert pairs == [("10YR 4/2", ""), ("", "10YR 5/2"), ("10YR 4/3", "")]
    (said,) = problems
    assert said.severity == "note" and said.what.startswith("2 of 3 colours say neither moist nor dry") and 'colour_dry = "Colour"' in said.remedy


@pytest.mark.parametrize("name", ["colour_moist", "colour_dry"])
def test_the_survey_file_says_the_state_of_cells_that_say_none(colours_of, name):
    pairs, problems, _ = colours_of("Chips", "10YR 4/2", "10YR 5/2 d", "10YR 4/3 m", columns={"horizons": {name: "Chips"}})
    assert pairs == [("10YR 4/2", "") if name == "colour_moist" else ("", "10YR 4/2"), ("", "10YR 5/2"), ("10YR 4/3", "")]
    assert [one.severity for one in problems] == ["note"] and "though the survey file" in problems[0].what


def test_colour_in_the_survey_file_lets_each_cell_say_its_state(colours_of):
    pairs, problems, _ = colours_of("Matrix Colour (Munsell)", "10YR 4/2 m", "10YR 5/2 d", columns={"horizons": {"colour": "Matrix Colour (Munsell)"}})
    assert pairs == [("10YR 4/2", ""), ("", "10YR 5/2")] and not problems


def test_a_column_of_states_decides_for_hue_value_and_chroma(colours_of):
    pairs, problems, _ = colours_of("Hue,Value,Chroma,Colour state", "10YR,5,2,dry", "10YR,4,2,M", "10YR,4,3,air-dry", "10YR,3,2,")
    assert pairs == [("", "10YR 5/2"), ("10YR 4/2", ""), ("", "10YR 4/3"), ("10YR 3/2", "")]
    assert [one.what.split(" say")[0] for one in problems] == ["1 of 4 colours"]


def test_a_column_of_states_beside_one_column_of_colours_and_a_cell_against_it(colours_of):
    pairs, problems, remarks = colours_of("Colour,Moist or dry", "10YR 5/2,dry", "10YR 4/2 m,dry", "10YR 4/2,crushed")
    assert pairs == [("", "10YR 5/2"), ("", ""), ("10YR 4/2", "")]
    assert [one.severity for one in problems] == ["warning", "error", "note"] and remarks[1] == "colour as written: 10YR 4/2 m, dry"


def test_hue_value_and_chroma_in_three_columns_reach_the_horizon_whole(colours_of):
    """Only the hue did."""
    pairs, _, _ = colours_of("Hue moist,Value moist,Chroma moist,Hue dry,Value dry,Chroma dry", "10YR,4,2,10YR,6,2")
    assert pairs == [("10YR 4/2", "10YR 6/2")]


@pytest.mark.parametrize(("cell", "pair", "severity"), [("10YR 4/2 / 10YR 5/3", ("", ""), "warning"), ("10YR 4/2 m, mottles 7.5YR 5/6 d", ("", ""), "warning"),
                                                        ("10YR 4/2 moist and dry", ("", ""), "error"), ("10YR 4/2 to 10YR 4/3 d", ("", ""), "warning"), ("10YR 5/2 / 10YR 4/2 d", ("", ""), "warning"),
                                                        ("10YR4/2/10YR5/2", ("", ""), "warning"), ("10YR 4/2, 5/3", ("", ""), "warning"), ("10YR 4/2-4/3 m", ("10YR 4/2", ""), "warning")])  # fmt: skip
def test_colours_that_cannot_be_told_apart_are_kept_with_the_remarks(colours_of, cell, pair, severity):
    pairs, problems, remarks = colours_of("Colour", f'"{cell}"')
    assert pairs == [pair] and [one.severity for one in problems] == [severity] and remarks == [f"colour as written: {cell}"]


def test_two_columns_that_give_one_state_are_listed_and_its_own_column_counts(colours_of):
    pairs, problems, _ = colours_of("Colour,Colour (dry)", "10YR 4/2 m / 10YR 5/2 d,10YR 6/2", "10YR 4/2,10YR 6/2")
    assert pairs == [("10YR 4/2", "10YR 6/2")] * 2 and [one.check for one in problems] == ["two values"]


def test_dry_colours_are_no_ploughed_up_subsoil(read_survey):
    rows = "".join(f"{pit},Ap,0-15,10YR 4/2 {state}\n{pit},Bm,15-40,10YR 4/3 {state}\n" for pit in "ABCD" for state in ["d"])
    found = read_survey({"pits.csv": PITS, "horizons.csv": f"Pit,Horizon,Depth,Colour\n{rows}"}, crs="EPSG:26911", depth_unit="cm",
                        pits={"file": "pits.csv"}, horizons={"file": "horizons.csv"})  # fmt: skip
    assert not found.problems["check"].isin(["ploughed-up subsoil", "plough layer"]).any()
