"""What a group's pits say, with bounds never used as values."""

from __future__ import annotations

import numpy as np
import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.intervals import (
    absent_depth,
    absent_thickness,
    at_least,
    at_most,
    at_surface,
    between,
    measured,
    unknown,
)
from geoprofile.products import AttributeDefinition
from geoprofile.zones.summary import COUNTS, summarise

DEPTH = AttributeDefinition("depth_to_bt", "Depth to Bt", "cm", "depth", "", "", True)
THICKNESS = AttributeDefinition("bt_thickness", "Bt thickness", "cm", "thickness", "", "", True)


def rows(*intervals):
    return pd.DataFrame({
        "low": [np.nan if one.low is None else one.low for one in intervals],
        "high": [np.nan if one.high is None else one.high for one in intervals],
        "status": [one.status for one in intervals],
    })  # fmt: skip


def test_where_all_are_known_there_is_a_mean_and_a_spread():
    row = summarise(rows(measured(10), measured(20), at_surface(), unknown()), DEPTH)
    assert (row["mean"], row["sd"], row["least"], row["most"]) == (10, 10, 0, 20)
    assert (row["pits"], row["unknown"], row["at_surface"]) == (4, 1, 1)
    assert row["text"] == "0 to 20 in 3 of 4; unknown in 1"


def test_R15_with_a_bound_there_is_no_mean_but_limits_and_words():
    values = [
        measured(20),
        measured(40),
        *[at_least(60)] * 5,
        between(15, 21),
        at_most(30),
        absent_depth(),
        unknown(),
        unknown(),
    ]
    row = summarise(rows(*values), DEPTH)
    assert np.isnan(row["mean"]) and np.isnan(row["sd"]) and np.isnan(row["most"])
    assert row["text"] == "20 to 40 in 2 of 12; between 15 and 21 in 1; >60 in 5; <30 in 1; absent in 1; unknown in 2"
    assert row["mean_low"] == (20 + 40 + 5 * 60 + 15 + 0) / 9 and np.isnan(row["mean_high"])
    # nine pits say something: the fifth of the lows 0, 15, 20, 40, 60 ... is 60; of the highs 20, 21, 30, 40, none it is none
    assert row["median_low"] == 60 and np.isnan(row["median_high"])


def test_R15_the_median_is_what_the_bounds_alone_say_and_the_assumption_has_a_name_of_its_own():
    """Two pits of 120 and 150 and three that ended at 60: the third of 60, 60, 60, 120, 150 is 60.

    Turnbull (1976), and Kaplan & Meier (1958) for such values: a pit that ended is dealt out over those beyond its end,
    so that half of all is reached at 120 only.
    """
    row = summarise(rows(measured(120), measured(150), *[at_least(60)] * 3), DEPTH)
    assert (row["median_low"], row["median_if_ends_tell_nothing_low"], row["median_if_ends_tell_nothing_high"]) == (60, 120, 150)
    assert np.isnan(row["median_high"])
    known = summarise(rows(measured(10), measured(20)), DEPTH)
    assert {known[name] for name in known if name.startswith("median")} == {15.0}


@settings(max_examples=50, deadline=None)
@given(st.lists(st.sampled_from([measured(10), measured(31), at_least(20), at_most(25), between(5, 16), absent_depth(), unknown()]), max_size=9))
def test_R15_the_tables_and_the_report_say_the_same_median(intervals):
    from geoprofile.outputs.report_facts import median_text

    row, told = summarise(rows(*intervals), DEPTH), median_text(rows(*intervals), DEPTH)
    low, high = row["median_low"], row["median_high"]
    if np.isnan(low):
        assert told == "not known"
    elif np.isnan(high):
        assert told.startswith("at least ") and float(told.removeprefix("at least ")) == low
    else:
        assert [float(one) for one in told.split("-")] == ([low] if low == high else [low, high])


def test_an_absent_thickness_is_0_and_an_absent_depth_is_no_depth():
    assert summarise(rows(absent_thickness(), measured(10)), THICKNESS)["mean"] == 5
    assert summarise(rows(absent_depth(), measured(10)), DEPTH)["mean"] == 10


def test_nobody_knows_and_nobody_was_there():
    assert summarise(rows(unknown(), unknown()), DEPTH)["text"] == "unknown in 2 of 2"
    row = summarise(rows(), DEPTH)
    assert row["text"] == "no pits" and row["pits"] == 0 and np.isnan(row["mean_low"])


@settings(max_examples=50, deadline=None)
@given(
    st.lists(
        st.sampled_from(
            [
                measured(10),
                measured(30),
                at_least(20),
                at_most(25),
                between(5, 15),
                at_surface(),
                absent_depth(),
                unknown(),
            ]
        ),
        max_size=12,
    )
)
def test_counts_add_up_and_limits_are_in_order(intervals):
    row = summarise(rows(*intervals), DEPTH)
    assert sum(row[name] for name in COUNTS) == row["pits"] == len(intervals)
    if not np.isnan(row["mean_high"]):
        assert row["mean_low"] <= row["mean_high"]
    if not np.isnan(row["median_high"]):
        assert row["median_low"] <= row["median_high"]
    if any(one.is_bounded for one in intervals):
        assert np.isnan(row["mean"])
