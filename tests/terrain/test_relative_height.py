"""Classes of relative height after Weiss 2001 (geostat.md 5.4)."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.terrain_sums import half_widths, relative_elevation
from geoprofile.terrain.relative_height import LEGEND, relative_height_classes, spread_counts, standard_deviation


@pytest.mark.parametrize(
    ("deviations", "slope", "name"),
    [
        (1.01, 0, "ridge"), (1.0, 9, "upper slope"), (0.51, 9, "upper slope"), (0.5, 5.1, "middle slope"), (0.0, 5.0, "flat"),
        (-0.5, 2, "flat"), (-0.51, 9, "lower slope"), (-1.0, 9, "lower slope"), (-1.01, 0, "valley"),
    ],
)  # fmt: skip
def test_limits_are_those_of_the_poster(deviations, slope, name):
    code = relative_height_classes(np.array([2.5 * deviations]), np.array([float(slope)]), 2.5)
    assert LEGEND[int(code[0])] == name


def test_where_slope_or_relative_elevation_is_missing_there_is_no_class():
    code = relative_height_classes(np.array([np.nan, 1.0]), np.array([1.0, np.nan]), 1.0)
    assert code.tolist() == [0, 0]


def test_level_ground_without_any_spread_is_flat():
    assert relative_height_classes(np.zeros(2), np.zeros(2), 0.0).tolist() == [4, 4]


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 7), st.floats(0.01, 3000))
def test_counts_of_any_windows_add_up_to_the_standard_deviation_of_the_grid(seed, size, spread):
    rng = np.random.default_rng(seed)
    relative = rng.normal(0, spread, (11, 13))
    relative[rng.random(relative.shape) < 0.2] = np.nan
    total = Counter()
    for row in range(0, 11, size):
        for column in range(0, 13, size):
            total.update(spread_counts(relative[row : row + size, column : column + size]))
    assert total == Counter(spread_counts(relative))
    assert standard_deviation(total) == pytest.approx(np.nanstd(relative), abs=2e-4)


def test_no_cells_have_no_spread():
    assert standard_deviation(spread_counts(np.full((2, 2), np.nan))) == 0.0


def test_a_ridge_beside_a_valley_has_ridge_on_top_and_valley_at_the_bottom():
    x = np.arange(200) * 5.0
    z = np.tile(20 * np.sin(2 * np.pi * x / 400), (60, 1))
    relative, _ = relative_elevation(z, half_widths(20.0))
    inner = relative[25:35, 25:175]
    deviation = standard_deviation(spread_counts(inner))
    slope = np.degrees(np.arctan(abs(np.gradient(z, 5.0, axis=1))))[25:35, 25:175]
    names = [LEGEND[int(code)] for code in relative_height_classes(inner, slope, deviation)[5]]
    crest, foot, middle = 100 - 25, 60 - 25, 80 - 25  # x = 500, 300 and 400 m
    assert (names[crest], names[foot], names[middle]) == ("ridge", "valley", "middle slope")
