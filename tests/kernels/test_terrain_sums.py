"""Sums over circles and blocks, counted in whole steps of 2^-12 m."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.terrain_sums import (
    STEPS_PER_METRE,
    block_means,
    cells_in,
    circle_sums,
    half_widths,
    relative_elevation,
    square_widths,
    to_steps,
)


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


def test_a_square_of_one_cell_without_its_middle_is_elevation_minus_the_mean_of_eight():
    """geostat.md 5.2: the bowl 0.0005 (x2 + y2) at 10 m gives -0.075, the saddle 0."""
    x, y = np.meshgrid(10.0 * np.arange(5), 10.0 * np.arange(5))
    bowl, saddle = 0.0005 * (x**2 + y**2), 0.0005 * (x**2 - y**2)
    assert relative_elevation(bowl, square_widths(1), middle=False)[0][2, 2] == pytest.approx(-0.075, abs=2e-4)
    assert relative_elevation(saddle, square_widths(1), middle=False)[0][2, 2] == pytest.approx(0, abs=2e-4)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 2**32 - 1), st.sampled_from([half_widths(3.3), square_widths(2)]), st.booleans())
def test_relative_elevation_is_elevation_minus_the_mean_around(seed, widths, middle):
    rng = np.random.default_rng(seed)
    z = rng.integers(-9000, 9000, (9, 12)) / 4096
    z[rng.random(z.shape) < 0.2] = np.nan
    relative, counts = relative_elevation(z, widths, middle=middle)
    rows, columns = np.mgrid[:9, :12]
    for row, column in ((0, 0), (4, 5), (8, 11)):
        if np.isnan(z[row, column]):
            continue
        away = abs(rows - row)
        near = (away < widths.size) & (abs(columns - column) <= widths[np.minimum(away, widths.size - 1)]) & ~np.isnan(z)
        near[row, column] = middle
        assert counts[row, column] == near.sum()
        assert relative[row, column] == pytest.approx(z[row, column] - z[near].mean(), abs=1e-12)


def test_a_large_circle_on_high_ground_counts_as_exactly_as_a_small_one():
    """Sum and count share one number where they fit; where they do not, two sums give the same."""
    steps, valid = np.full((3, 600), 8_000 * STEPS_PER_METRE), np.ones((3, 600), bool)
    widths = square_widths(500)
    assert cells_in(widths) * steps.max() > 2**42
    sums, counts = circle_sums(steps, valid, widths)
    assert counts[1, 50] == 3 * 551
    assert sums[1, 50] == 3 * 551 * 8_000 * STEPS_PER_METRE


def test_relative_elevation_of_a_window_with_its_halo_has_the_same_bits():
    """T13"""
    z = np.random.default_rng(8).normal(700, 5, (50, 60))
    whole, part = (relative_elevation(part, half_widths(6.0))[0] for part in (z, z[4:40, 10:55]))
    assert np.array_equal(whole[10:34, 16:49], part[6:-6, 6:-6])
