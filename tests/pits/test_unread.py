"""Rows that cannot be used leave a mark: what stood there is not known."""

import numpy as np
import pytest

from geoprofile.pits.unread import followed_by

H = "pit_id,designation,upper (cm),lower (cm)\n"
LONG = {"horizons": {"file": "h.csv"}}


def marked(pits):
    column = pits.horizons.get("unread_below")
    return None if column is None else dict(zip(pits.horizons["designation"], column.tolist(), strict=True))


@pytest.mark.parametrize("row", ["A,Ck,40,6O", "A,Ck,40,2025-10-05", "A,Ck,,60", "A,R,40x,60", "A,Ck,60,40"])
def test_the_horizon_before_a_row_that_cannot_be_used_says_so(read_survey, row):
    pits = read_survey({"h.csv": f"{H}A,Ap,0,15\nA,Bm,15,40\n{row}\nB,Ah,0,20\n"}, **LONG)
    assert marked(pits) == {"Ap": False, "Bm": True, "Ah": False}
    assert (pits.problems["severity"] == "error").sum() == 1


def test_where_every_row_was_used_there_is_no_such_column(read_survey):
    assert marked(read_survey({"h.csv": f"{H}A,Ap,0,15\nA,Bm,15,\nA,Ck,40,60\n"}, **LONG)) is None


def test_a_row_of_another_pit_or_before_the_first_marks_nothing():
    ids = np.array(["A", "B", "A", "B", "B"], object)
    used = np.array([False, True, True, False, True])
    assert followed_by(ids, used, ~used).tolist() == [False, True, False, False, False]


@pytest.mark.parametrize("rows, limits", [
    ("A,Ap,0,>15\nA,C,>15,60\n", [(0, 0, 15, 60), (15, 60, 60, 60)]),
    ("A,Ap,0,>15\nA,C,20,60\n", [(0, 0, 15, 20), (20, 20, 60, 60)]),
    ("A,Ap,0,15+\nA,C,15,60\n", [(0, 0, 15, 15), (15, 15, 60, 60)]),
])  # fmt: skip
def test_at_least_between_two_horizons_is_a_range_and_never_the_number(read_survey, rows, limits):
    found = read_survey({"h.csv": H + rows}, **LONG).horizons
    columns = ["upper_low_cm", "upper_high_cm", "lower_low_cm", "lower_high_cm"]
    assert [tuple(row) for row in found[columns].to_numpy()] == limits
