"""Sums over circles and blocks, counted in whole steps of 2^-12 m."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.terrain_sums import STEPS_PER_METRE, block_means, circle_sums, half_widths, to_steps


def test_a_circle_of_two_cells_radius_holds_13_cells():
    assert half_widths(2.0).tolist() == [2, 1, 0]
    _, counts = circle_sums(np.zeros((9, 9), np.int64), np.ones((9, 9), bool), half_widths(2.0))
    assert counts[4, 4] == 13
    assert counts[0, 0] == 6


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0.5, 5.0))
def test_circle_sums_equal_adding_up_cell_by_cell(seed, radius):
    rng = np.random.default_rng(seed)
    steps, valid = rng.integers(-(10**6), 10**6, (8, 11)), rng.random((8, 11)) > 0.2
    sums, counts = circle_sums(steps, valid, half_widths(radius))
    rows, columns = np.mgrid[:8, :11]
    for row, column in ((0, 0), (4, 5), (7, 10)):
        near = ((rows - row) ** 2 + (columns - column) ** 2 <= radius**2 + 1e-9) & valid
        assert (sums[row, column], counts[row, column]) == (steps[near].sum(), near.sum())


def test_a_part_of_a_raster_gives_the_same_sums_to_the_last_digit():
    """T13: whole numbers add up the same wherever a block starts."""
    z = np.random.default_rng(1).normal(700, 5, (40, 50))
    whole, _ = circle_sums(to_steps(z), np.ones(z.shape, bool), half_widths(4.0))
    part, _ = circle_sums(to_steps(z[10:30, 5:45]), np.ones((20, 40), bool), half_widths(4.0))
    assert np.array_equal(whole[14:26, 9:41], part[4:16, 4:36])


def test_block_means_count_only_cells_with_elevation_and_need_half_of_them():
    z = np.array([[1.0, 3, np.nan, np.nan], [5, 7, np.nan, 8]])
    assert block_means(z, 2)[0, 0] == 4.0
    assert np.isnan(block_means(z, 2)[0, 1])
    z[0, 2] = 4
    assert block_means(z, 2)[0, 1] == 6.0


def test_a_block_cut_by_the_edge_is_judged_by_the_whole_block():
    means = block_means(np.arange(25.0).reshape(5, 5), 2)
    assert means.shape == (3, 3)
    assert means[0, 0] == 3.0
    assert means[0, 2] == 6.5  # two of four cells
    assert np.isnan(means[2, 2])  # one of four


def test_steps_are_a_quarter_of_a_millimetre():
    assert 1000 / STEPS_PER_METRE == pytest.approx(0.244, abs=1e-3)
