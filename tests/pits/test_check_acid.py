"""Carbonates against letters, pH, each other and silence; recorded names against them; boundaries and uncertain figures."""

from __future__ import annotations

import pytest

NAN = float("nan")
PROFILE = [("Ah", 0, 15), ("Bm", 15, 30), ("Ck", 30, 90)]


def of(problems, check):
    return [problem for problem in problems if problem.check == check]


def test_each_horizon_with_a_reaction_but_no_k_is_listed_with_its_row(found):
    problems = of(found([("Ah", 0, 15), ("Bm", 15, 30), ("C", 30, 90)], effervescence=["none", "weak", "very strongly calcareous"]), "carbonates")
    assert [(problem.row, problem.found) for problem in problems] == [(3, "weak"), (4, "very strongly calcareous")]


def test_k_without_a_reaction_and_a_word_that_no_table_knows(found):
    assert [problem.row for problem in of(found(PROFILE, effervescence=["none", "none", "none"]), "carbonates")] == [4]
    assert not of(found([("Ah", 0, 15), ("Bm", 15, 30)], effervescence=["not tested", "?"]), "carbonates")


def test_secondary_carbonate_that_does_not_react_is_a_note_outside_of_canada(found):
    problems = found([("A", 0, 15), ("Btk", 15, 60), ("C", 60, 90)], "usda", effervescence=["none", "none", "strong"])
    assert [(problem.severity, problem.row) for problem in of(problems, "carbonates")] == [("note", 3)]


@pytest.mark.parametrize(("ph", "reaction", "faulty"), [(4.6, "", True), (NAN, "extremely acid", True), (4.95, "", True), (5.0, "", False), (NAN, "strongly acid", False), (7.6, "", False)])
def test_below_ph_5_there_are_no_carbonates(found, ph, reaction, faulty):
    """National data dictionary of Canada, layer table: pH (CaCl2) below 5 goes with CaCO3 of 0."""
    problems = found(PROFILE, effervescence=["none", "none", "weak"], ph=[6.0, 6.1, ph], reaction=["", "", reaction])
    assert bool(of(problems, "acidity against carbonates")) is faulty


def test_silence_taken_as_no_reaction_is_told(found):
    (problem,) = of(found(PROFILE, pit={"acid_to_cm": 90.0}, effervescence=["", "none", "strong"]), "silence on acid")
    assert problem.severity == "note" and "Ah 0-15" in problem.found
    assert not of(found(PROFILE, effervescence=["", "none", "strong"]), "silence on acid")


# recorded soil


@pytest.mark.parametrize(
    ("name", "rows", "says"),
    [
        ("Orthic Black Chernozem", [("Ah", 0, 15), ("Bm", 15, 30), ("Ck", 30, 90)], ""),
        ("Orthic Black Chernozem", [("Ah", 0, 15), ("Bmk", 15, 30), ("Ck", 30, 90)], "Calcareous"),
        ("Orthic Black Chernozem", [("Ap", 0, 15), ("Ck", 15, 90)], "Rego, or eroded"),
        ("O.BLC", [("Apk", 0, 15), ("Ck", 15, 90)], "Rego, or eroded"),
        ("Calcareous Dark Brown Chernozem", [("Ah", 0, 15), ("Bmk", 15, 30), ("Ck", 30, 90)], ""),
        ("CA.DBC", [("Ah", 0, 15), ("Bm", 15, 30), ("Ck", 30, 90)], "Orthic or deeper"),
        ("Rego Black Chernozem", [("Ahk", 0, 15), ("Ck", 15, 90)], ""),
        ("GLR.BLC", [("Ah", 0, 15), ("Bmgj", 15, 40), ("Ckgj", 40, 90)], "Orthic or deeper"),
        ("Eluviated Black Chernozem", [("Ah", 0, 15), ("Ae", 15, 20), ("Bt", 20, 60), ("Ck", 60, 90)], ""),
        ("Orthic Gray Luvisol", [("Ap", 0, 15), ("Ck", 15, 90)], ""),
        ("Orthic Brown Chernozemic", [("Ah", 0, 15), ("Bm", 15, 38), ("BC", 38, 61), ("Ck", 66, 91)], ""),
    ],
)
def test_the_recorded_subgroup_follows_the_depth_to_carbonates(found, name, rows, says):
    """Canadian System 1998, chapter 5: Rego has no B, Calcareous carbonates in the B, Orthic a B of 5 cm free of them."""
    problems = of(found(rows, pit={"recorded_soil": name}), "recorded soil")
    assert [problem.allowed.removeprefix("by the depth to carbonates: ") for problem in problems] == ([says] if says else [])


def test_road_dust_does_not_make_a_rego_chernozem(found):
    rows = [("Apk", 0, 15), ("Bm", 15, 40), ("Ck", 40, 90)]
    problems = found(rows, pit={"recorded_soil": "Orthic Black Chernozem"}, effervescence=["weak", "none", "strong"])
    assert not of(problems, "recorded soil")


def test_the_bounds_of_a_wavy_boundary_are_given_to_the_name(found):
    bounds = {"upper_low_cm": [0.0, 12, 15], "upper_high_cm": [0.0, 18, 25], "lower_low_cm": [12.0, 15, NAN], "lower_high_cm": [18.0, 25, NAN]}
    rows = [("Ah", 0, 15), ("Bm", 15, 19), ("Ck", 19, NAN)]
    assert of(found(rows, pit={"recorded_soil": "O.BLC"}), "recorded soil")
    assert not of(found(rows, pit={"recorded_soil": "O.BLC"}, boundary_form="wavy", **bounds), "recorded soil")


def test_a_calcareous_name_is_not_doubted_where_nobody_used_acid(found):
    assert not of(found([("Ah", 0, 15), ("Bm", 15, 40), ("C", 40, 90)], pit={"recorded_soil": "CA.BLC"}), "recorded soil")


def test_eutric_with_an_extremely_acid_b_and_frost_within_1_m(found):
    """P19: Cryic Gleyed Orthic Eutric Brunisol, extremely acid Bmg, frozen at 84 cm: a Cryosol today."""
    rows = [("L-H", -5, 0), ("Bmg", 0, 15), ("Cg", 15, 84), ("Cz", 84, NAN)]
    problems = of(found(rows, pit={"recorded_soil": "Cryic Gleyed Orthic Eutric Brunisol"}, reaction=["", "extremely acid", "mildly alkaline", ""]), "recorded soil")
    assert len(problems) == 2 and "extremely acid" in problems[0].what and "Cryosol" in problems[1].allowed


@pytest.mark.parametrize(("name", "ph", "faulty"), [("Orthic Eutric Brunisol", 5.8, False), ("Orthic Eutric Brunisol", 5.2, True), ("O.DYB", 5.8, False), ("O.DYB", 6.4, True), ("E.SB", 4.9, False)])
def test_brunisols_are_told_apart_at_ph_5_5(found, name, ph, faulty):
    """A pH in water reads about half a unit higher: 5.8 may still be Dystric."""
    assert bool(of(found([("Ah", 0, 5), ("Bm", 5, 40), ("C", 40, 80)], pit={"recorded_soil": name}, ph=[NAN, ph, NAN]), "recorded soil")) is faulty


def test_a_gleysol_is_not_well_drained(found):
    rows = [("Ah", 0, 15), ("Bg", 15, 60)]
    assert of(found(rows, pit={"recorded_soil": "Orthic Humic Gleysol", "drainage": "well"}), "recorded soil")
    assert not of(found(rows, pit={"recorded_soil": "Orthic Humic Gleysol", "drainage": "poorly"}), "recorded soil")


# boundaries, materials, uncertain figures


def test_a_smooth_boundary_has_one_depth(found):
    bounds = {"lower_low_cm": [15.0, NAN], "lower_high_cm": [25.0, NAN]}
    words = {"boundary_distinctness": ["clear", ""], "boundary_form": ["smooth", ""]}
    (problem,) = of(found([("Ah", 0, 20), ("Bm", 20, 60)], **bounds, **words), "boundary")
    assert "varies by 10 cm" in problem.what
    for form, distinctness in (("wavy", "clear"), ("smooth", "gradual"), ("smooth", "diffuse")):
        assert not of(found([("Ah", 0, 20), ("Bm", 20, 60)], **bounds, boundary_form=[form, ""], boundary_distinctness=[distinctness, ""]), "boundary")


def test_a_transition_fits_into_its_horizon_and_meets_the_next(found):
    assert of(found([("Ah", 0, 20), ("Ae", 20, 24), ("Bm", 24, 60)], boundary_distinctness=["clear", "diffuse", ""]), "boundary")
    assert not of(found([("Ah", 0, 20), ("Ae", 20, 24), ("Bm", 24, 60)], boundary_distinctness=["clear", "gradual", ""]), "boundary")
    problems = found([("Ah", 0, 20), ("Bm", 26, 60)], boundary_distinctness=["abrupt", ""])
    assert of(problems, "gap") and "part by 6 cm" in of(problems, "boundary")[0].what
    assert not of(found([("Ah", 0, 20), ("Bm", 26, 60)], boundary_distinctness=["gradual", ""]), "boundary")


def test_figures_that_are_uncertain_are_told_once(found):
    """P20: a cemented layer below about 30 cm; P18: depths of a scan whose columns run together."""
    bounds = {"lower_low_cm": [20.0, 30.0, NAN], "lower_high_cm": [20.0, 35.0, NAN], "upper_low_cm": [0.0, 20, 30], "upper_high_cm": [0.0, 20, 35]}
    (problem,) = of(found([("Ae", 0, 20), ("Bfc", 20, 32.5), ("C", 32.5, NAN)], **bounds), "uncertain figures")
    assert problem.severity == "note" and "Bfc down to 30 to 35 cm" in problem.found
    assert not of(found([("Ae", 0, 20), ("Bfc", 20, 32.5), ("C", 32.5, NAN)], **bounds, boundary_form=["", "wavy", ""]), "uncertain figures")
    assert of(found([("Om", 0, 40)], pit={"remarks": "the depths are uncertain"}), "uncertain figures")


@pytest.mark.parametrize(("rows", "convention", "said"), [
    ([("Ah", 0, 10), ("IIIC", 10, 60)], "canadian", "a material is skipped"), ([("IIC", 0, 60)], "canadian", "a material is skipped"),
    ([("A", 0, 10), ("2Bw", 10, 30), ("4C", 30, 60)], "usda", "a material is skipped"), ([("A", 0, 10), ("2Bw", 10, 30), ("C", 30, 60)], "usda", "goes back"),
    ([("A", 0, 10), ("2Bw", 10, 30), ("3C", 30, 60)], "usda", ""), ([("Ah", 0, 10), ("IIC", 10, 60)], "canadian", ""),
])  # fmt: skip
def test_materials_are_numbered_one_by_one(found, rows, convention, said):
    problems = of(found(rows, convention), "discontinuity")
    assert (said in problems[0].what) if said else not problems


@pytest.mark.parametrize(("written", "convention", "note"), [("1C", "usda", "1C read as C"), ("CK", "canadian", "CK read as Ck"), ("Btjn", "canadian", "Btjn read as Bntj"), ("Cksg", "canadian", "Cksg read as Cskg")])
def test_a_number_one_capitals_and_permuted_letters_are_told(found, written, convention, note):
    assert [problem.what for problem in of(found([("A" if convention == "usda" else "Ah", 0, 10), (written, 10, 60)], convention), "designation")] == [note]
