"""Checks of profiles: pains.md R23, the faults of published profiles, and habits of crews."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from geoprofile.pits.checks import check_profiles
from geoprofile.pits.datum import to_datum


def horizons(*rows, **columns):
    frame = pd.DataFrame(rows, columns=["pit_id", "designation", "upper_cm", "lower_cm"])
    return frame.assign(file="pits.xlsx", sheet="horizons", row=np.arange(len(frame)) + 2, **columns)


def pits(*ids, **columns):
    return pd.DataFrame(
        {"pit_id": list(ids), "file": "pits.xlsx", "sheet": "pits", "row": np.arange(len(ids)) + 2, **columns}
    )


def found(frame, of_pits=None, convention="canadian"):
    return check_profiles(pits(*frame["pit_id"].unique()) if of_pits is None else of_pits, frame, convention)


def checks(problems):
    return [(problem.check, problem.severity) for problem in problems]


SOUND = [("a", "LFH", -5, 0), ("a", "Ah", 0, 12), ("a", "Bm", 12, 40), ("a", "Ck", 40, np.nan)]


def test_a_sound_profile_has_no_problem():
    assert found(horizons(*SOUND)) == []
    assert check_profiles(pits(), horizons(), "canadian") == []


# depths


def test_r23_an_overlap_names_both_horizons_and_the_row():
    problems = found(horizons(("a", "Ah", 0, 15), ("a", "Bm", 10, 30)))
    assert checks(problems) == [("overlap", "warning")]
    assert problems[0].found == "5 cm twice" and problems[0].row == 3 and problems[0].sheet == "horizons"
    assert "Ah 0-15" in problems[0].what and "Bm 10-30" in problems[0].what


def test_r23_a_gap_of_a_published_profile_is_found():
    """O.BC of Clayton et al. 1977: BC 38-61, Ck 66-91 leaves 61-66 undescribed."""
    problems = found(horizons(("a", "Ah", 0, 15), ("a", "Bm", 15, 38), ("a", "BC", 38, 61), ("a", "Ck", 66, 91)))
    assert checks(problems) == [("gap", "warning")] and problems[0].found == "5 cm"


def test_r23_rounding_up_to_the_stated_tolerance_passes():
    assert found(horizons(("a", "Ah", 0, 12.4), ("a", "Bm", 12, 40))) == []
    assert found(horizons(("a", "Ah", 0, 12), ("a", "Bm", 12.5, 40))) == []
    assert checks(found(horizons(("a", "Ah", 0, 12), ("a", "Bm", 12.6, 40)))) == [("gap", "warning")]


def test_r23_a_wavy_boundary_meets_any_depth_within_its_limits():
    limits = {
        "upper_low_cm": [0.0, 120.0],
        "upper_high_cm": [0.0, 120.0],
        "lower_low_cm": [120.0, 150.0],
        "lower_high_cm": [130.0, 150.0],
        "boundary_form": ["wavy", ""],
    }
    assert found(horizons(("a", "Bm", 0, 125), ("a", "C", 120, 150), **limits)) == []


def test_r23_inverted_and_zero_thickness():
    problems = found(horizons(("a", "Ah", 0, 12), ("a", "Bm", 40, 12)))
    assert ("inverted", "error") in checks(problems)
    assert checks(found(horizons(("a", "Ah", 0, 12), ("a", "Ae", 12, 12), ("a", "Bt", 12, 40)))) == [
        ("zero thickness", "error")
    ]


def test_r23_horizons_out_of_order_are_noted():
    problems = found(horizons(("a", "Bm", 12, 40), ("a", "Ah", 0, 12)))
    assert checks(problems) == [("order", "note")] and problems[0].row == 3
    put_in_order = horizons(("a", "Bm", 12, 40), ("a", "Ah", 0, 12)).sort_values("upper_cm")
    assert checks(found(put_in_order)) == [("order", "note")]  # the row numbers still tell


def test_missing_depths_are_told_apart_from_an_open_last_horizon():
    assert checks(found(horizons(("a", "Ah", 0, np.nan), ("a", "Bm", 12, 40)))) == [("missing depth", "warning")]
    assert checks(found(horizons(("a", "Ah", 0, 12), ("a", "Bm", np.nan, 40)))) == [("missing depth", "error")]
    assert found(horizons(("a", "Ah", 0, 12), ("a", "Bm", 12, np.nan))) == []


def test_a_profile_that_does_not_start_at_the_surface():
    """B.SS of Brunelle et al. 1976: the first mineral horizon starts at 13, the Ah row is missing."""
    assert checks(found(horizons(("a", "Ahe", 13, 26), ("a", "Ae", 26, 36)))) == [("surface", "warning")]
    assert checks(found(horizons(("a", "Ah", -5, 10), ("a", "Bm", 10, 20)))) == [("surface", "warning")]


def test_r16_depths_that_look_like_another_unit_are_asked_about():
    """Input 7: 150 read as inches is 381 cm."""
    problems = found(horizons(("a", "Ah", 0, 15), ("a", "C", 15, 381)))
    assert checks(problems) == [("unit", "warning")] and "381 cm" in problems[0].what


def test_a_description_listed_twice_is_one_problem_a_pit():
    rows = [("a", "Ah", 0, 12), ("a", "Bm", 12, 40)]
    problems = found(horizons(*rows, *rows))
    assert ("repeated", "warning") in checks(problems)
    assert not any(problem.check == "overlap" for problem in problems)
    assert any("2 horizons" in problem.what for problem in problems)


# designations


def test_an_unknown_designation_is_listed_once_with_the_nearest():
    rows = [(name, text, upper, upper + 10) for name in "abc" for upper, text in ((0, "Ah"), (10, "Btt"))]
    problems = found(horizons(*rows))
    assert checks(problems) == [("designation", "warning")]
    assert "in 3 horizons; pits a, b, c" in problems[0].what and problems[0].remedy == "did you mean Bt?"


def test_a_reading_otherwise_than_written_is_a_note():
    problems = found(horizons(("a", "Ah", 0, 15), ("a", "CK", 15, 40)))
    assert checks(problems) == [("designation", "note")] and problems[0].what == "CK read as Ck"
    normal = horizons(("a", "Ah", 0, 15), ("a", "Ck", 15, 40), designation_as_written=["Ah", "CK"])
    assert [problem.what for problem in found(normal)] == ["CK read as Ck"]


def test_old_forms_are_explained():
    problems = found(horizons(("a", "A1", 0, 15), ("a", "B21t", 15, 40)), convention="usda")
    assert checks(problems) == [("designation", "note")] and "B21t read as Bt1: a form of before 1981" in problems[0].what
    unsure = found(horizons(("a", "A1", 0, 15), ("a", "B2", 15, 40)), convention="usda")
    assert checks(unsure) == [("designation", "warning")] and "1981" in unsure[0].found
    old = found(horizons(("a", "Oe", -2, 0), ("a", "A2", 0, 15), ("a", "Bt", 15, 40)), convention="usda")
    assert "before 1981" in old[0].what


def test_materials_are_numbered_downward():
    assert checks(found(horizons(("a", "Ah", 0, 15), ("a", "IIC", 15, 40), ("a", "C", 40, 60)))) == [
        ("discontinuity", "warning")
    ]
    assert found(horizons(("a", "Ah", 0, 15), ("a", "IIC", 15, 40), ("a", "IIICg", 40, 60))) == []


# values


@pytest.mark.parametrize(
    ("text", "remedy"), [("lOYR 4/3", "did you mean 10YR 4/3?"), ("12YR 4/3", "correct it"), ("brownish", "correct it")]
)
def test_impossible_colours(text, remedy):
    problems = found(
        horizons(("a", "Ah", 0, 15), ("a", "Bm", 15, 40), colour_moist=["10YR 3/1", text], colour_dry=["", "10YR 5/3"])
    )
    assert checks(problems) == [("colour", "warning")]
    assert problems[0].row == 3 and problems[0].remedy.startswith(remedy)


def test_fractions_of_published_profiles_that_do_not_sum_to_100():
    """Bowser et al. and Clayton et al. 1977: sums of 90, 96, 110 and, within rounding, 98 and 101."""
    rows = [("a", "Ah", 0, 10), ("a", "Bm1", 10, 20), ("a", "Bm2", 20, 30), ("a", "BC", 30, 40), ("a", "Ck", 40, 50)]
    problems = found(
        horizons(
            *rows,
            sand_percent=[23.0, 45, 29, 46, 31],
            silt_percent=[25.0, 23, 39, 28, 46],
            clay_percent=[42.0, 28, 42, 24, 24],
        )
    )
    assert [(problem.check, problem.severity, problem.row) for problem in problems] == [
        ("fractions", "warning", 2), ("fractions", "warning", 3), ("fractions", "warning", 4), ("fractions", "note", 5),
    ]  # fmt: skip
    assert "2 horizons sum to 98 to 102 %" in problems[3].what and problems[3].found == "first: BC 30-40, 98 %; pits a"
    assert problems[0].found == "23 + 25 + 42" and "90 %" in problems[0].what


def test_missing_fractions_are_not_a_fault_but_two_above_100_are():
    frame = horizons(
        ("a", "Ah", 0, 10),
        ("a", "Bm", 10, 20),
        sand_percent=[np.nan, 70.0],
        silt_percent=[np.nan] * 2,
        clay_percent=[30.0, 40.0],
    )
    assert [(problem.check, problem.row) for problem in found(frame)] == [("fractions", 3)]


def test_texture_by_hand_and_by_its_fractions_are_compared():
    """O.DGC of Clayton et al. 1977: C by hand, 16/53/31 is silty clay loam."""
    problems = found(
        horizons(
            ("a", "Ahe", 0, 28),
            ("a", "Bt1", 28, 91),
            texture=["FSL", "C"],
            sand_percent=[66.0, 16],
            silt_percent=[17.0, 53],
            clay_percent=[17.0, 31],
        )
    )
    assert [(problem.check, problem.severity, problem.row) for problem in problems] == [("texture", "note", 3)]
    assert "SiCL by its fractions" in problems[0].what


def test_values_out_of_their_range():
    frame = horizons(
        ("a", "Ah", 0, 10),
        ("a", "Bm", 10, 20),
        ph=[7.0, 71.0],
        coarse_fragments_percent=[-5.0, 10.0],
        ec_ds_m=[0.2, 0.3],
    )
    assert [(problem.check, problem.field) for problem in found(frame)] == [
        ("impossible value", "coarse_fragments_percent"),
        ("impossible value", "ph"),
    ]


# ends of holes


def test_ends_of_holes_are_one_note_for_all_pits():
    frame = horizons(("a", "Ah", 0, 17), ("b", "Ah", 0, 20), lower_is_end=[True, True])
    problems = found(frame)
    assert checks(problems) == [("end of the hole", "note")] and "in 2 pits" in problems[0].what


def test_depths_observed_and_tested_that_contradict():
    of_pits = pits("a", observed_to_cm=[30.0], acid_to_cm=[100.0])
    assert (
        checks(found(horizons(("a", "Ah", 0, 15), ("a", "Bm", 15, 45), effervescence="none"), of_pits)) == [("depth observed", "warning")] * 2
    )


# crews


def crew(name, count, shift, litter=5.0):
    rows, ids = [], [f"{name}{number}" for number in range(count)]
    for one in ids:
        rows += [(one, "LFH", -litter, 0), (one, "Ah", shift, shift + 10), (one, "Bm", shift + 10, shift + 40)]
    return ids, rows


def test_a_crew_that_counted_from_the_top_of_the_forest_floor_is_asked_about():
    odd, rows = crew("k", 4, 5.0)
    fine, others = crew("m", 4, 0.0)
    problems = found(horizons(*rows, *others), pits(*odd, *fine, surveyor=["KB"] * 4 + ["MT"] * 4))
    shifted = [problem for problem in problems if problem.check == "shifted depths"]
    assert len(shifted) == 1 and "4 of 4 pits of surveyor KB" in shifted[0].what
    assert shifted[0].found == "mineral soil from 5 cm (median) in k0, k1, k2, k3" and "?" in shifted[0].what


def test_a_forest_floor_told_apart_from_the_horizons_counts_too():
    rows = [(name, text, upper, upper + 10) for name in ("a", "b", "c") for upper, text in ((6, "Ah"), (16, "Bm"))]
    problems = found(horizons(*rows), pits("a", "b", "c", organic_above_cm=[6.0, 6.0, 6.0]))
    assert ("shifted depths", "warning") in checks(problems)


def test_a_crew_whose_pits_start_below_zero_without_a_forest_floor_is_asked_about():
    rows = [(name, text, upper, upper + 10) for name in "abc" for upper, text in ((5, "Ae"), (15, "Bt"))]
    sound = [(name, "Ah", 0, 20) for name in "de"]
    problems = found(horizons(*rows, *sound), pits(*"abcde", surveyor=["KB"] * 3 + ["MT"] * 2))
    shifted = [problem.what for problem in problems if problem.check == "shifted depths"]
    assert len(shifted) == 1 and "3 of 3 pits of surveyor KB" in shifted[0] and "left out?" in shifted[0]


def test_two_odd_pits_are_not_yet_a_habit():
    odd, rows = crew("k", 2, 5.0)
    assert "shifted depths" not in [
        problem.check for problem in found(horizons(*rows), pits(*odd, surveyor=["KB"] * 2))
    ]


def test_plough_layers_all_of_one_depth_are_asked_about():
    rows = [
        (f"p{number}", text, upper, lower)
        for number in range(6)
        for text, upper, lower in (("Ap", 0, 15), ("Bm", 15, 40))
    ]
    ids = [f"p{number}" for number in range(6)]
    problems = found(horizons(*rows), pits(*ids, surveyor=["KB"] * 6))
    assert (
        checks(problems) == [("rounded depths", "warning")]
        and "all 6 plough layers of surveyor KB end at 15 cm" in problems[0].what
    )
    varied = horizons(
        *[
            (p, d, u, 17 if (p, d) == ("p3", "Ap") else low) if d == "Ap" else (p, d, 17 if p == "p3" else u, low)
            for p, d, u, low in rows
        ]
    )
    assert found(varied, pits(*ids, surveyor=["KB"] * 6)) == []


def test_stones_are_not_rock():
    frame = horizons(
        ("a", "Ah", 0, 20),
        ("b", "Ah", 0, 20),
        ("b", "R", 20, np.nan),
        ("c", "Ah", 0, 20),
        coarse_fragments_percent=[10.0, 10, np.nan, 60],
    )
    problems = found(
        frame, pits("a", "b", "c", stopped_by=["bedrock", "stones", "planned depth"], stoniness=["", "", "nonstony"])
    )
    assert [(problem.check, problem.severity, problem.pit_id) for problem in problems] == [
        ("rock", "note", "a"), ("rock", "warning", "b"), ("stones", "note", "c"),
    ]  # fmt: skip


# real


def test_the_known_faults_of_994_real_pits_are_found(shared):
    """USDA-NRCS pits: the source names 3 missing tops; 230 ids are given twice; three colours lack a chroma."""
    frame = pd.read_csv(shared / "data" / "pits-us" / "horizons.csv", dtype={"pit_id": str})
    frame = frame.rename(columns={"upper_depth_cm": "upper_cm", "lower_depth_cm": "lower_cm"}).assign(
        file="horizons.csv", row=np.arange(4636) + 2
    )
    datums = to_datum(frame, "usda")
    problems = check_profiles(datums.pits, datums.horizons, "usda")
    count = pd.Series([problem.check for problem in problems]).value_counts()
    assert count["missing depth"] == 3
    assert 230 <= count["repeated"] <= 240
    assert sorted({problem.found for problem in problems if problem.check == "colour"}) == [
        "10Y 6/",
        "10YR /",
        "7.5YR 3/",
    ]
    assert count["designation"] == 6  # B1, B2, blank; OA and two with brackets as notes
