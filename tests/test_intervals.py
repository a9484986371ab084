"""An attribute is an interval with a status and a presence, never a bare number."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile import intervals
from geoprofile.intervals import Interval


@pytest.mark.parametrize(
    ("interval", "text"),
    [
        (intervals.measured(17), "17"),
        (intervals.measured(17.5), "17.5"),
        (intervals.at_least(60), ">60"),
        (intervals.at_most(30), "<30"),
        (intervals.between(15, 21), "15-21"),
        (intervals.absent_thickness(), "absent"),
        (intervals.absent_depth(), "absent"),
        (intervals.at_surface(), "0"),
        (intervals.unknown(), "unknown"),
    ],
)
def test_an_interval_reads_as_a_mapper_writes_it(interval, text):
    assert interval.text() == text


def test_an_absent_thickness_is_zero_but_an_absent_depth_has_no_value():
    assert (intervals.absent_thickness().low, intervals.absent_thickness().high) == (0, 0)
    assert (intervals.absent_depth().low, intervals.absent_depth().high) == (None, None)


def test_an_interval_of_no_width_is_a_measurement():
    assert intervals.between(20, 20).status == "measured"


@pytest.mark.parametrize(
    "wrong",
    [
        dict(low=60, high=60, status="at_least", presence="present"),
        dict(low=None, high=None, status="measured", presence="present"),
        dict(low=15, high=21, status="measured", presence="present"),
        dict(low=15, high=15, status="between", presence="present"),
        dict(low=21, high=15, status="between", presence="present"),
        dict(low=0, high=0, status="unknown", presence="not_described"),
        dict(low=5, high=5, status="absent", presence="absent"),
        dict(low=math.nan, high=None, status="at_least", presence="present"),
        dict(low=1, high=1, status="seen", presence="present"),
        dict(low=1, high=1, status="measured", presence="perhaps"),
    ],
)
def test_a_status_that_does_not_go_with_its_limits_is_refused(wrong):
    with pytest.raises(ValueError):
        Interval(**wrong)


@settings(max_examples=60)
@given(st.floats(0, 500), st.floats(0, 500))
def test_only_bounds_count_as_bounded(a, b):
    low, high = sorted((a, b))
    assert intervals.at_least(low).is_bounded and intervals.at_most(high).is_bounded
    assert intervals.between(low, high).is_bounded == (low < high)
    assert not intervals.measured(low).is_bounded
