"""Smoothing to the analysis scale."""

from __future__ import annotations

import numpy as np

from geoprofile.terrain.smoothing import smooth


def plane(rows=30, columns=40):
    y, x = np.mgrid[:rows, :columns]
    return 700 + 0.3 * x - 0.2 * y


def test_a_plane_stays_a_plane_up_to_its_edges_and_gaps():
    z = plane()
    z[10:14, 20:23] = np.nan
    np.testing.assert_allclose(smooth(z, 40.0, 10.0), z, atol=1e-9)


def test_cells_without_elevation_stay_without_and_do_not_spread():
    """T2: one marker, and it neither grows nor shrinks."""
    z = plane()
    z[5, 5] = np.nan
    assert np.array_equal(np.isnan(smooth(z, 60.0, 10.0)), np.isnan(z))


def test_a_wave_keeps_the_share_that_a_gaussian_leaves_of_it():
    """Amplitude times exp(-(2 pi s / L)^2 / 2), s = half the scale: the Fourier transform of the Gaussian."""
    x = np.arange(400) * 10.0
    wave = np.tile(np.sin(2 * np.pi * x / 400), (60, 1))
    left = smooth(wave, 100.0, 10.0)[30, 100:300]
    assert abs(left.max() - np.exp(-0.5 * (2 * np.pi * 50 / 400) ** 2)) < 0.005


def test_a_scale_below_the_cell_changes_nothing():
    z = np.random.default_rng(0).normal(size=(9, 9))
    assert smooth(z, None, 10.0) is z
    assert smooth(z, 5.0, 10.0) is z


def test_an_island_of_cells_in_one_line_gets_their_mean_not_a_wild_plane():
    z = np.full((9, 9), np.nan)
    z[4, 3:6] = [10.0, 11.0, 12.0]
    smoothed = smooth(z, 60.0, 10.0)
    assert np.nanmin(smoothed) >= 10 and np.nanmax(smoothed) <= 12
