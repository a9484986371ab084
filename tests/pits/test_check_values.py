"""A number that cannot be is told and not used, and a table in another unit is asked about (R16)."""

from __future__ import annotations

import numpy as np
import pytest

PITS = "pit,easting,northing\nA1,567000,5827500\n"
SETTINGS = {"pits": {"file": "pits.csv"}, "horizons": {"file": "horizons.csv"}, "depth_unit": "cm"}


def read(read_survey, head, *rows):
    return read_survey({"pits.csv": PITS, "horizons.csv": "\n".join([f"pit,horizon,upper,lower,{head}", *rows])}, **SETTINGS)


def test_a_ph_of_71_is_an_error_and_does_not_enter_the_product(read_survey):
    pits = read(read_survey, "ph", "A1,Ap,0,15,71", "A1,Bm,15,60,7.2")
    told = pits.problems[pits.problems["check"] == "impossible value"]
    assert list(told["severity"]) == ["error"] and told.iloc[0]["found"] == "71" and "was not used" in told.iloc[0]["what"]
    np.testing.assert_array_equal(pits.horizons["ph"].astype(float), [np.nan, 7.2])


def test_conductivities_of_hundreds_of_ds_m_are_not_used_and_the_likely_unit_is_named(read_survey):
    pits = read(read_survey, "ec (dS/m),ec extract", "A1,Ap,0,15,400,paste", "A1,Bm,15,60,900,paste")
    told = pits.problems[pits.problems["check"] == "impossible value"]
    assert len(told) == 2 and told["remedy"].str.contains("µS/cm").all()
    assert pits.horizons["ec_ds_m"].isna().all()


def test_conductivities_mostly_above_sea_water_are_asked_about_and_used(read_survey):
    pits = read(read_survey, "ec (dS/m)", "A1,Ap,0,15,120", "A1,Bm,15,40,90", "A1,Ck,40,60,4")
    told = pits.problems[pits.problems["check"] == "unit"]
    assert len(told) == 1 and "sea water" in told.iloc[0]["what"] and told.iloc[0]["severity"] == "warning"
    assert list(pits.horizons["ec_ds_m"]) == [120, 90, 4]
    assert "unit" not in set(read(read_survey, "ec (dS/m)", "A1,Ap,0,15,60", "A1,Bm,15,40,30", "A1,Ck,40,60,4").problems["check"])


def test_what_cannot_be_proves_nothing_in_other_checks(found):
    """400 dS/m under a horizon without sa or z: only the number is told, not that the letters lack."""
    told = found([("Ah", 0, 15), ("Ck", 15, 60)], ec_ds_m=[0.4, 400.0])
    assert [(one.check, one.severity) for one in told] == [("impossible value", "error")]


def test_a_column_of_numbers_that_cannot_be_is_one_fault(found):
    rows = [("Bm", 5 * n, 5 * n + 5) for n in range(20)]
    told = [one for one in found(rows, ph=[71.0] * 20) if one.check == "impossible value"]
    assert len(told) == 1 and "20 horizons" in told[0].what


@pytest.mark.parametrize(("text", "kept"), [("40-60", 40), ("60", 60), (">60", 60), ("1 m", 100)])
def test_of_a_range_only_the_lesser_depth_is_surely_observed(read_survey, text, kept):
    pits = read_survey({"pits.csv": f"pit,easting,northing,observed to\nA1,567000,5827500,{text}\n", "horizons.csv": "pit,horizon,upper,lower\nA1,Ap,0,15\n"}, **SETTINGS)
    assert list(pits.pits["observed_to_cm"]) == [kept]
    assert ("a range is taken" in " ".join(pits.problems["what"])) is (text == "40-60")
