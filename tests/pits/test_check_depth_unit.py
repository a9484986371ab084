"""Depths in another unit than the stated one are told before anybody maps them (R16)."""

from __future__ import annotations

import pytest

HEAD = "pit,horizon,upper,lower\n"
PLACES = {"pits.csv": "pit,easting,northing\n" + "".join(f"A{n},{567000 + 50 * n},5827500\n" for n in range(5))}


def profiles(*bounds, more=""):
    rows = [f"A{n},{name},{upper},{lower}" for n in range(5) for name, upper, lower in zip(("Ap", "Bm", "Ck"), (0, *bounds), bounds)]
    return HEAD + "\n".join(rows) + "\n" + more


def told(pits, check):
    return pits.problems[pits.problems["check"] == check]


def settings(**more):
    return {"pits": {"file": "pits.csv"}, "horizons": {"file": "horizons.csv"}, "depth_unit": "cm", **more}


def test_a_survey_in_metres_read_as_centimetres_is_told_with_the_unit_to_set(read_survey):
    said = told(read_survey({**PLACES, "horizons.csv": profiles(0.1, 0.4, 1.2)}, **settings()), "unit")
    assert len(said) == 1 and said.iloc[0]["severity"] == "warning"
    assert "look like metres" in said.iloc[0]["what"] and 'depth_unit = "m"' in said.iloc[0]["remedy"]
    assert "5 profiles" in said.iloc[0]["found"] and "1.2 cm" in said.iloc[0]["found"]


def test_a_survey_in_feet_is_told_too_and_one_in_centimetres_or_stated_metres_is_not(read_survey):
    feet = told(read_survey({**PLACES, "horizons.csv": profiles(0.5, 1.25, 3.5)}, **settings()), "unit")
    assert len(feet) == 1 and 'depth_unit = "ft"' in feet.iloc[0]["remedy"]
    assert told(read_survey({**PLACES, "horizons.csv": profiles(10, 40, 120)}, **settings()), "unit").empty
    assert told(read_survey({**PLACES, "horizons.csv": profiles(0.1, 0.4, 1.2)}, **settings(depth_unit="m")), "unit").empty


def test_the_few_pits_of_a_survey_that_are_in_metres_are_named(read_survey):
    few = "A4,Ap,0,0.15\nA4,Bm,0.15,0.5\n"
    rows = profiles(10, 40, 120).replace("A4,Ap,0,10\nA4,Bm,10,40\nA4,Ck,40,120\n", few)
    said = told(read_survey({**PLACES, "horizons.csv": rows}, **settings()), "unit")
    assert list(said["pit_id"]) == ["A4"] and "in metres?" in said.iloc[0]["what"] and said.iloc[0]["found"] == "A4 to 0.5 cm"


def test_two_centimetres_over_rock_are_a_shallow_soil(read_survey):
    rows = profiles(10, 40, 120).replace("A4,Ap,0,10\nA4,Bm,10,40\nA4,Ck,40,120\n", "A4,Ah,0,2\nA4,R,2,\n")
    assert told(read_survey({**PLACES, "horizons.csv": rows}, **settings()), "unit").empty


@pytest.mark.parametrize(
    ("base", "observed", "words", "remedy"),
    [("1.2", "120", "100 times", "horizons are in m"), ("120", "1.2", "1/100 of", "depth observed is in m"),
     ("4", "122", "30.48 times", "horizons are in ft"), ("48", "122", "2.54 times", "horizons are in in"), ("120", "1200", "10 times", "depth observed is in mm")],
)  # fmt: skip
def test_a_depth_observed_that_differs_by_the_factor_of_a_unit_is_told_once(read_survey, base, observed, words, remedy):
    rows = HEAD + "".join(f"A{n},Ap,0,{base}\n" for n in range(5))
    places = "pit,easting,northing,observed to\n" + "".join(f"A{n},{567000 + 50 * n},5827500,{observed}\n" for n in range(5))
    said = told(read_survey({"pits.csv": places, "horizons.csv": rows}, **settings()), "depth observed")
    assert len(said) == 1
    assert words in said.iloc[0]["what"] and "5 pits" in said.iloc[0]["what"] and remedy in said.iloc[0]["remedy"]


def test_one_pit_that_was_augered_ten_times_as_deep_as_it_is_described_is_no_slip(found):
    assert found([("Ah", 0, 12)], pit={"observed_to_cm": 120.0}) == []
    assert found([("Ah", 0, 40), ("Bm", 40, 48)], pit={"observed_to_cm": 122.0}) == []


def test_a_depth_observed_beyond_three_metres_is_asked_about(found):
    problems = found([("Ah", 0, 15), ("Bm", 15, 40)], pit={"observed_to_cm": 6000.0})
    assert [(one.check, one.severity) for one in problems] == [("unit", "warning")]
    assert "6000 cm" in problems[0].what and problems[0].field == "observed_to_cm"
