"""Ramps and legends."""

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from matplotlib.colors import to_rgb

from geoprofile.outputs.map_colours import (
    CLASSES,
    NAMED_CLASSES,
    OTHER_GREY,
    RAMPS,
    named_class_colours,
    number_legend,
    ramp,
    round_limits,
)


def lightness(colour: str) -> float:
    return float(np.dot(to_rgb(colour), (0.299, 0.587, 0.114)))


@pytest.mark.parametrize("name", RAMPS)
def test_a_ramp_grows_darker_at_every_step_so_that_it_reads_in_grey(name):
    steps = [lightness(colour) for colour in ramp(name, 8)]
    assert (np.diff(steps) < -0.02).all()


def test_class_colours_are_nine_different_ones():
    assert len(set(CLASSES)) == 9


def test_classes_from_the_pits_get_twelve_colours_the_lightest_where_they_cover_most():
    names = [f"soil {k}" for k in range(11)] + ["other classes"]
    colours = named_class_colours(names, [float(k) for k in range(11)] + [99.0])
    assert colours[10] == NAMED_CLASSES[0] and colours[11] == OTHER_GREY and len(set(colours)) == 12


@example(1.9, 0.5)
@given(st.floats(-100, 1000), st.floats(0.01, 2000))
def test_limits_are_few_round_and_inside(low, span):
    limits = round_limits(low, low + span)
    assert len(limits) <= 8 and limits == sorted(limits)
    assert all(low < limit < low + span for limit in limits)


def test_a_legend_has_the_unit_in_every_class_and_leaves_no_gap_W12():
    rows = number_legend("cm", "depth", [10.0, 25.0])
    assert [row["label"] for row in rows] == ["less than 10 cm", "10 to 25 cm", "25 cm and more"]
    assert [row["below"] for row in rows] == [10.0, 25.0, None]


def test_a_surface_of_one_value_has_one_class():
    assert [row["label"] for row in number_legend("cm", "depth", round_limits(5, 5))] == ["all cm"]
