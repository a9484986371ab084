"""Names of pits on the ground line: above, or below where something runs through them above."""

import numpy as np
import pytest

from geoprofile.outputs.transect_names import Box, stand_below

PROFILE = Box(10, 20, 100, 110)


def sides(profiles, ground, along=(0.0, 100.0), width=20.0):
    return stand_below(profiles, [width] * len(profiles), 5.0, 1.0, np.array(along), np.array(ground, float))


@pytest.mark.parametrize("ground, below", [
    ([150, 150], False), ([110.5, 110.5], False), ([113, 113], True), ([96, 96], False), ([113, np.nan], False), ([105, 105], False),
])  # fmt: skip
def test_a_name_goes_below_where_the_ground_runs_through_it_above(ground, below):
    assert sides([PROFILE], ground) == [below]


def test_a_name_through_which_the_ground_runs_on_both_sides_stays_above():
    steep = ([0.0, 7.0, 15.0, 16.0, 30.0], [113.0, 113.0, 113.0, 96.0, 96.0])
    assert sides([PROFILE], steep[1], steep[0]) == [False]


def test_a_line_that_only_touches_a_corner_of_the_span_is_seen():
    """It rises through the box between two points that both lie outside of it."""
    assert Box(0, 10, 0, 1).is_crossed(np.array([-5.0, 15.0]), np.array([-10.0, 10.0]))
    assert not Box(0, 10, 0, 1).is_crossed(np.array([-5.0, 15.0]), np.array([2.0, 3.0]))


def test_a_name_does_not_stand_on_another_profile_nor_on_another_name():
    above = Box(12, 22, 112, 120)
    assert sides([PROFILE, above], [150, 150]) == [True, False]
    beside = Box(22, 32, 100, 110)
    assert sides([PROFILE, beside], [150, 150]) == [False, True]


def test_without_ground_names_stand_above():
    assert stand_below([PROFILE], [5.0], 5.0, 1.0, np.zeros(1), np.full(1, np.nan)) == [False]
