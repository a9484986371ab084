"""The plane fitted about each cell against a plain least-squares fit, cell by cell."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.terrain_smoothing import local_plane


def gaussian(deviation: float) -> np.ndarray:
    away = np.arange(-int(np.ceil(3 * deviation)), int(np.ceil(3 * deviation)) + 1)
    weight = np.exp(-0.5 * (away / deviation) ** 2)
    return weight / weight.sum()


def fitted(z: np.ndarray, row: int, column: int, weight: np.ndarray) -> float:
    """Intercept of the weighted least-squares plane about one cell."""
    reach = weight.size // 2
    y, x = np.mgrid[: z.shape[0], : z.shape[1]]
    near = (abs(y - row) <= reach) & (abs(x - column) <= reach) & ~np.isnan(z)
    y, x, z = y[near] - row, x[near] - column, z[near]
    root = np.sqrt(weight[y + reach] * weight[x + reach])
    terms = np.column_stack([np.ones(z.size), x, y]) * root[:, None]
    return float(np.linalg.lstsq(terms, z * root, rcond=None)[0][0])


@pytest.mark.parametrize("deviation", [0.5, 1.3])
def test_near_gaps_and_edges_it_is_the_weighted_least_squares_plane(deviation):
    rng = np.random.default_rng(2)
    z = rng.normal(500, 3, (14, 17))
    z[rng.random(z.shape) < 0.25] = np.nan
    z[4:7, 5:9] = np.nan
    weight = gaussian(deviation)
    found = local_plane(z, weight, deviation)
    assert np.array_equal(np.isnan(found), np.isnan(z))
    for row, column in np.argwhere(~np.isnan(z)):
        assert found[row, column] == pytest.approx(fitted(z, row, column, weight), abs=1e-8)


def test_in_the_open_it_is_the_weighted_mean():
    z = np.random.default_rng(3).normal(500, 3, (15, 15))
    weight = gaussian(1.0)
    expected = (z[4:11, 4:11] * np.outer(weight, weight)).sum()
    assert local_plane(z, weight, 1.0)[7, 7] == pytest.approx(expected, abs=1e-10)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0.4, 2.5), st.floats(0, 0.2))
def test_a_window_with_its_halo_has_the_same_bits_gaps_and_edges_included(seed, deviation, gaps):
    """T13"""
    rng = np.random.default_rng(seed)
    z = rng.normal(500, 3, (33, 41))
    z[rng.random(z.shape) < gaps] = np.nan
    weight = gaussian(deviation)
    reach = weight.size // 2
    whole = local_plane(z, weight, deviation)
    row, column = rng.integers(0, 25), rng.integers(0, 33)
    top, left = max(0, row - reach), max(0, column - reach)
    part = local_plane(z[top : row + 8 + reach, left : column + 8 + reach], weight, deviation)
    inner = part[row - top : row - top + 8, column - left : column - left + 8]
    np.testing.assert_array_equal(inner, whole[row : row + 8, column : column + 8])


def test_rasters_smaller_than_the_weights_are_smoothed_too():
    z = np.array([[1.0, 2.0, 3.0]])
    np.testing.assert_allclose(local_plane(z, gaussian(3.0), 3.0)[0].mean(), 2.0, atol=0.2)
    assert np.isnan(local_plane(np.full((2, 2), np.nan), gaussian(1.0), 1.0)).all()
