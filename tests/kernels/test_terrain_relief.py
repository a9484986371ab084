"""Height of a cell between the lowest and highest ground around it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.terrain_relief import height_within_relief
from geoprofile.kernels.terrain_sums import half_widths, square_widths


def test_the_lowest_ground_is_0_the_highest_100_and_level_ground_has_none():
    z = np.array([[1.0, 2.0, 5.0]])
    assert height_within_relief(z, half_widths(2.0)).tolist() == [[0.0, 25.0, 100.0]]
    assert np.isnan(height_within_relief(np.full((4, 4), 7.0), half_widths(1.0))).all()


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0.5, 9.0), st.booleans())
def test_it_equals_looking_at_each_neighbourhood_by_itself(seed, radius, square):
    rng = np.random.default_rng(seed)
    z = rng.integers(-4000, 4000, (13, 17)) / 4096
    z[rng.random(z.shape) < 0.3] = np.nan
    widths = square_widths(int(radius)) if square else half_widths(radius)
    found = height_within_relief(z, widths)
    rows, columns = np.mgrid[:13, :17]
    for row, column in np.ndindex(z.shape):
        if np.isnan(z[row, column]):
            assert np.isnan(found[row, column])
            continue
        near = (rows - row) ** 2 + (columns - column) ** 2 <= radius**2 + 1e-9
        if square:
            near = (abs(rows - row) <= int(radius)) & (abs(columns - column) <= int(radius))
        low, high = np.nanmin(z[near]), np.nanmax(z[near])
        expected = 100 * (z[row, column] - low) / (high - low) if high > low else np.nan
        assert found[row, column] == pytest.approx(expected, abs=1e-9, nan_ok=True)


@pytest.mark.parametrize("radius", [1.0, 3.7, 7.0, 14.0])
def test_a_window_with_its_halo_gives_the_same_bits(radius):
    """T13"""
    z = np.random.default_rng(4).normal(500, 3, (60, 70))
    widths, halo = half_widths(radius), int(radius)
    whole, part = height_within_relief(z, widths), height_within_relief(z[5:50, 9:61], widths)
    inner = slice(halo, 45 - halo), slice(halo, 52 - halo)
    assert np.array_equal(whole[5:50, 9:61][inner], part[inner])
