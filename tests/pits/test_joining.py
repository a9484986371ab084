"""Who belongs to whom, and what happens to ids that stand twice."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.errors import InputError
from geoprofile.pits.joining import loose

TWO = {"pits": {"file": "p.csv"}, "horizons": {"file": "h.csv"}}
H = "pit_id,designation,upper (cm),lower (cm)\n"


def listed(pits, check):
    return list(pits.problems[pits.problems["check"] == check]["pit_id"])


def test_horizons_of_an_unknown_pit_are_listed_once_and_pits_without_horizons_too_R9(read_survey):
    pits = read_survey({"p.csv": "pit_id\nA\nb1\n", "h.csv": H + "A,Ah,0,10\nB1,Ah,0,10\nB1,Bm,10,30\n"}, **TWO)
    assert listed(pits, "no pit") == ["B1"] and listed(pits, "no horizons") == ["b1"]
    stray = pits.problems[pits.problems["check"] == "no pit"].iloc[0]
    assert stray["found"] == "B1: 2 rows" and "is it the pit 'b1'" in stray["remedy"]


def test_no_match_at_all_is_an_error_G9(read_survey):
    with pytest.raises(InputError, match="no horizon has the id of a pit"):
        read_survey({"p.csv": "pit_id\nA\n", "h.csv": H + "X,Ah,0,10\n"}, **TWO)
    with pytest.raises(InputError, match="no pit has the id of a point"):
        read_survey({"p.csv": "pit_id\nA\n", "w.csv": "id,x,y\nX,500000,5700000\n"}, pits={"file": "p.csv"}, points={"file": "w.csv"})


def test_horizons_are_listed_also_where_no_pit_is_left(read_survey):
    pits = read_survey({"p.csv": "pit_id,x,y\nA,500000,5700000\nA,500900,5700000\n", "h.csv": H + "A,Ah,0,10\nB,Ah,0,10\n"}, **TWO)
    assert pits.pits.empty and pits.horizons.empty
    assert listed(pits, "repeated id") == ["A", "A"] and listed(pits, "no pit") == ["B"]


def test_rows_never_multiply_R9(read_survey):
    pits = read_survey({"p.csv": "pit_id,x,y\nA,500000,5700000\nA,500000,5700000\n", "h.csv": H + "A,Ah,0,10\nA,Bm,10,30\n"}, **TWO)
    assert len(pits.pits) == 1 and len(pits.horizons) == 2


def test_one_id_at_two_places_is_used_at_neither(read_survey):
    pits = read_survey({"p.csv": "pit_id,x,y\nA,500000,5700000\nA,500900,5700000\nB,500100,5700000\n", "h.csv": H + "A,Ah,0,10\nB,Ah,0,20\n"}, **TWO)
    assert list(pits.pits["pit_id"]) == ["B"] and list(pits.horizons["pit_id"]) == ["B"]
    assert len(pits.problems[pits.problems["what"].str.contains("two places")]) == 2


VISITS_P = "pit_id,x,y,date\nA,500000,5700000,2019-06-01\nB,500100,5700000,2019-06-01\nA,500000,5700000,2024-06-01\n"
VISITS_H = H + "A,Ah,0,10\nA,Bm,10,30\nB,Ah,0,20\nA,Ah,0,12\nA,Bm,12,35\n"


def test_of_two_visits_the_latest_counts_with_its_own_horizons(read_survey):
    pits = read_survey({"p.csv": VISITS_P, "h.csv": VISITS_H}, **TWO)
    of_a = pits.horizons[pits.horizons["pit_id"] == "A"]
    assert list(of_a["lower_cm"]) == [12, 35] and set(pits.pits["pit_id"]) == {"A", "B"}
    assert listed(pits, "older visit") == ["A"] and "row 4" in pits.problems[pits.problems["check"] == "older visit"]["found"].iloc[0]


FULLER = [
    ("more horizons", ("A,Ah,0,10\nA,Bm,10,90\n", "A,Ah,0,9\nA,Bm,9,30\nA,Ck,30,60\n"), 60),
    ("then the deeper", ("A,Ah,0,10\nA,Bm,10,30\n", "A,Ah,0,9\nA,Bm,9,45\n"), 45),
    ("then the first", ("A,Ah,0,10\nA,Bm,10,30\n", "A,Ah,0,9\nA,Bm,9,30\n"), 30),
    ("horizons written twice count once", ("A,Ah,0,10\nA,Bm,10,30\n", "A,Ah,0,9\nA,Bm,9,20\nA,Bm,9,20\n"), 30),
]


@pytest.mark.parametrize("dates", ["2019-06-01 2019-06-01", " ", "2019-06-01 ", " 2019-06-01"])
@pytest.mark.parametrize(("why", "copies", "deepest"), FULLER, ids=[case[0] for case in FULLER])
def test_of_copies_that_dates_do_not_order_the_fuller_description_is_used(read_survey, dates, why, copies, deepest):
    one, other = dates.split(" ")
    sites = f"pit_id,x,y,date\nA,500000,5700000,{one}\nB,500100,5700000,\nA,500000,5700000,{other}\n"
    pits = read_survey({"p.csv": sites, "h.csv": H + copies[0] + "B,Ah,0,20\n" + copies[1]}, **TWO)
    assert pits.horizons[pits.horizons["pit_id"] == "A"]["lower_cm"].iloc[-1] == deepest
    (problem,) = pits.problems[pits.problems["check"] == "repeated id"].to_dict("records")
    assert "more horizons, then the deeper" in problem["allowed"] and f"to {deepest} cm" in problem["found"].split("used: ")[1]


def test_a_copy_without_a_place_gives_way_to_its_equal(read_survey):
    pits = read_survey({"p.csv": "pit_id,x,y\nA,,\nA,500000,5700000\n", "h.csv": H + "A,Ah,0,10\n"}, **TWO)
    assert pits.pits.geometry.iloc[0] is not None and len(pits.horizons) == 1


def test_readings_go_with_the_row_they_stand_in(read_survey):
    text = "pit_id,x,y,date,Depth to Bt (cm)\nA,500000,5700000,2019-06-01,20\nA,500000,5700000,2024-06-01,30\n"
    latest = read_survey({"p.csv": text}, pits={"file": "p.csv"})
    assert list(latest.readings["low"]) == [30] and listed(latest, "older visit") == ["A"]
    both = read_survey({"p.csv": text}, pits={"file": "p.csv"}, visits="all")
    assert dict(zip(both.readings["pit_id"], both.readings["low"])) == {"A visit 1": 20, "A": 30}


def test_an_inspection_under_an_id_of_another_line_is_used_once(read_survey):
    text = "Place,x,y,Topsoil (cm)\nI1,500000,5700000,14\nI2,500100,5700000,9\nI1,500000,5700000,20\n"
    pits = read_survey({"i.csv": text}, inspections={"file": "i.csv"})
    assert dict(zip(pits.readings["pit_id"], pits.readings["low"])) == {"I1": 14, "I2": 9}
    assert listed(pits, "repeated id") == ["I1"] and len(pits.pits) == 2


def test_horizons_that_no_visit_claims_stay_with_the_visit_that_counts(read_survey):
    pits = read_survey({"p.csv": VISITS_P, "h.csv": H + "A,Ah,0,10\nA,Bm,10,30\nB,Ah,0,20\n"}, **TWO)
    assert list(pits.pits.set_index("pit_id")["date"][["A"]]) == ["2024-06-01"]
    assert list(pits.horizons[pits.horizons["pit_id"] == "A"]["designation"]) == ["Ah", "Bm"]


def test_all_visits_can_be_kept_under_names_of_their_own_at_one_place(read_survey):
    pits = read_survey({"p.csv": VISITS_P, "h.csv": VISITS_H}, **TWO, visits="all")
    assert set(pits.pits["pit_id"]) == {"A visit 1", "B", "A"}
    assert list(pits.horizons[pits.horizons["pit_id"] == "A visit 1"]["lower_cm"]) == [10, 30]
    places = pits.pits.set_index("pit_id")["place_id"]
    assert places["A"] == places["A visit 1"] == "A visit 1"


def test_visits_can_be_an_error(read_survey):
    with pytest.raises(InputError, match="pit ids stand more than once"):
        read_survey({"p.csv": VISITS_P, "h.csv": VISITS_H}, **TWO, visits="error")


def test_two_dates_under_one_id_of_a_long_table_are_two_visits(read_survey):
    text = "pit_id,date,designation,upper (cm),lower (cm)\nA,2019-06-01,Ah,0,10\nA,,Bm,10,30\nA,2024-06-01,Ah,0,12\nA,2024-06-01,Bm,12,35\n"
    pits = read_survey({"h.csv": text}, horizons={"file": "h.csv"})
    assert list(pits.horizons["lower_cm"]) == [12, 35] and list(pits.pits["date"]) == ["2024-06-01"]


def test_pits_at_one_place_with_dates_are_visits_and_the_older_is_set_aside(read_survey):
    pits = read_survey({"p.csv": "pit_id,x,y,date\nA,500000,5700000,2019-06-01\nA2,500001,5700000,2024-06-01\n", "h.csv": H + "A,Ah,0,10\nA2,Ah,0,12\n"}, **TWO)
    assert list(pits.pits["pit_id"]) == ["A2"] and list(pits.pits["place_id"]) == ["A2"]
    assert listed(pits, "older visit") == ["A"]
    told = pits.problems[pits.problems["check"] == "older visit"].iloc[0]
    assert "within 2 m" in told["what"] and "same_place_m = 0" in told["remedy"], "who knows better is told how to say so"


def test_two_pits_of_their_own_at_arms_length_are_kept_where_the_survey_says_so(read_survey):
    tables = {"p.csv": "pit_id,x,y,date\nA,500000,5700000,2019-06-01\nA2,500001,5700000,2024-06-01\n", "h.csv": H + "A,Ah,0,10\nA2,Ah,0,12\n"}
    apart = read_survey(tables, **TWO, same_place_m=0)
    assert list(apart.pits["place_id"]) == ["A", "A2"] and not listed(apart, "older visit")
    both = read_survey(tables, **TWO, visits="all")
    assert list(both.pits["pit_id"]) == ["A", "A2"] and list(both.pits["place_id"]) == ["A", "A"]


def test_pits_on_one_waypoint_without_dates_are_all_kept_and_asked_about(read_survey):
    pits = read_survey({"p.csv": "pit_id,x,y\nA,500000,5700000\nB,500000,5700000\nC,500001,5700000\nD,500050,5700000\n",
                        "h.csv": H + "A,Ah,0,10\nB,Ah,0,12\nC,Ah,0,9\nD,Ah,0,9\n"}, **TWO)
    assert list(pits.pits["place_id"]) == ["A", "A", "A", "D"]
    asked = pits.problems[pits.problems["check"] == "one place"]
    assert len(asked) == 1 and asked["found"].iloc[0] == "A, B, C" and "vehicle" in asked["remedy"].iloc[0]


def test_horizons_written_twice_are_used_once(read_survey):
    pits = read_survey({"p.csv": "pit_id\nA\n", "h.csv": H + "A,Ah,0,10\nA,Bm,10,30\nA,Ah,0,10\nA,Bm,10,30\n"}, **TWO)
    assert list(pits.horizons["designation"]) == ["Ah", "Bm"] and listed(pits, "repeated") == ["A"]


def test_points_of_one_id_at_several_places_are_not_used(read_survey):
    pits = read_survey({"p.csv": "pit_id\nA\nB\n", "w.csv": "id,x,y\nA,500000,5700000\nA,500500,5700000\nB,500100,5700000\n"},
                       pits={"file": "p.csv"}, points={"file": "w.csv"})
    assert [shape is None for shape in pits.pits.geometry] == [True, False]
    assert "several places" in pits.problems[pits.problems["check"] == "repeated id"]["what"].iloc[0]


def test_an_id_may_be_made_of_several_columns(read_survey):
    text = "farm,pit no,designation,upper (cm),lower (cm)\nE,1,Ah,0,10\nW,1,Ah,0,12\n"
    pits = read_survey({"h.csv": text}, horizons={"file": "h.csv"}, columns={"horizons": {"pit_id": ["farm", "pit no"]}})
    assert list(pits.pits["pit_id"]) == ["E/1", "W/1"]


@pytest.mark.parametrize(("one", "other"), [("p2", "P2"), ("7", "007"), ("101.0", "101"), ("P 1", "p1"), ("AH07", "AH-07"), ("AH-7", "ah 007"), ("TP_1", "TP-1")])
def test_keys_that_look_alike_are_proposed(one, other):
    assert loose(one) == loose(other)


@pytest.mark.parametrize(("one", "other"), [("AH07", "AH70"), ("A1", "A10"), ("1.05", "1.5"), ("AH07", "AH07a")])
def test_keys_that_differ_in_more_are_not(one, other):
    assert loose(one) != loose(other)


def test_an_id_written_otherwise_in_the_other_table_is_asked_about_on_both_sides_and_never_joined(read_survey):
    pits = read_survey({"p.csv": "pit_id\nA\nAH-07\n", "h.csv": H + "A,Ah,0,10\nAH07,Ah,0,10\nAH07,Bm,10,30\n"}, **TWO)
    assert list(pits.horizons["pit_id"]) == ["A"]
    about = pits.problems[pits.problems["check"].isin(["no pit", "set aside", "no horizons"])]
    assert sorted(about["remedy"]) == ["are its horizons those of 'AH07'? Write the same id in both tables"] + 2 * ["is it the pit 'AH-07'? Write the same id in both tables"]


def test_tables_none_of_whose_ids_agree_are_asked_about_by_their_likeness(read_survey):
    with pytest.raises(InputError, match="is 'A07' the pit 'A-7'"):
        read_survey({"p.csv": "pit_id\nA-7\n", "h.csv": H + "A07,Ah,0,10\n"}, **TWO)


@given(st.text(min_size=1, max_size=8))
@settings(max_examples=50)
def test_a_loose_key_is_stable(key):
    assert loose(loose(key)) == loose(key) or key.strip("0. ") == ""


def test_waypoints_place_inspections_too_when_these_bring_no_coordinates(read_survey):
    files = {"p.csv": "pit_id\nA\n", "h.csv": H + "A,Ah,0,10\n", "i.csv": "Place,Topsoil (cm)\nI1,14\n", "w.csv": "id,x,y\nA,500000,5700000\nI1,500200,5700000\n"}
    pits = read_survey(files, **TWO, points={"file": "w.csv"}, inspections={"file": "i.csv"})
    assert [shape.x for shape in pits.pits.geometry] == [500000, 500200] and list(pits.pits["kind"]) == ["unknown", "inspection"]
    assert not listed(pits, "no pit")


def test_a_pit_far_from_its_point_is_asked_about(read_survey):
    files = {"p.csv": "pit_id,x,y\nA,500000,5700000\nB,500400,5700000\nC,500800,5700000\n", "w.csv": "id,x,y\nA,500005,5700000\nB,500900,5700000\n"}
    pits = read_survey(files, pits={"file": "p.csv"}, points={"file": "w.csv"})
    assert [shape.x for shape in pits.pits.geometry] == [500005, 500900, 500800]
    assert listed(pits, "two places") == ["B"] and listed(pits, "no point") == ["C"]
    assert "own coordinates" in pits.problems[pits.problems["check"] == "no point"]["what"].iloc[0]
