"""A reading cannot lie below the bottom of its hole."""

from __future__ import annotations

HEAD = "id,easting,northing,topsoil (cm),depth to lime (cm),observed to (cm)\n"


def read(read_survey, *rows, **more):
    return read_survey({"i.csv": HEAD + "\n".join(rows)}, inspections={"file": "i.csv"}, depth_unit="cm", **more)


def beyond(pits):
    return pits.problems[pits.problems["check"] == "reading beyond the pit"]


def test_lime_at_150_in_a_hole_of_60_is_an_error_and_not_used(read_survey):
    pits = read(read_survey, "I1,567000,5827500,15,150,60")
    told = beyond(pits)
    assert list(told["severity"]) == ["error"] and told.iloc[0]["found"] == "150 read, observed to 60 cm"
    assert len(pits.readings) == 1 and 15 in set(pits.readings["low"])


def test_deeper_than_150_in_a_hole_of_60_says_deeper_than_60(read_survey):
    pits = read(read_survey, "I1,567000,5827500,15,>150,60")
    assert list(beyond(pits)["severity"]) == ["warning"]
    lime = pits.readings[pits.readings["attribute"].str.contains("carbonates")]
    assert list(lime["low"]) == [60] and list(lime["status"]) == ["at_least"]


def test_readings_to_the_bottom_or_without_a_stated_depth_stand(read_survey):
    pits = read(read_survey, "I1,567000,5827500,15,60,60", "I2,567100,5827500,15,150,", "I3,567200,5827500,15,>60,60")
    assert beyond(pits).empty and len(pits.readings) == 6


def test_a_hole_augered_beside_a_pit_may_be_deeper_than_the_pit(read_survey):
    files = {"pits.csv": "pit,easting,northing,observed to (cm)\nI1,567000,5827500,60\n", "horizons.csv": "pit,horizon,upper,lower\nI1,Ap,0,15\nI1,Bm,15,60\n"}
    pits = read_survey({**files, "i.csv": HEAD + "I1,567000,5827500,15,110,120"}, inspections={"file": "i.csv"}, pits={"file": "pits.csv"},
                       horizons={"file": "horizons.csv"}, depth_unit="cm")
    assert beyond(pits).empty and 110 in set(pits.readings["low"])


def test_horizons_described_below_the_stated_depth_count(read_survey):
    files = {"pits.csv": "pit,easting,northing,observed to (cm),depth to lime (cm)\nA,567000,5827500,60,100\n",
             "horizons.csv": "pit,horizon,upper,lower\nA,Ap,0,15\nA,Bm,15,100\nA,Ck,100,120\n"}
    pits = read_survey(files, pits={"file": "pits.csv"}, horizons={"file": "horizons.csv"}, depth_unit="cm")
    assert beyond(pits).empty and list(pits.readings["low"]) == [100]
