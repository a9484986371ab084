"""Shade of the ground."""

import numpy as np
import pytest

from geoprofile.kernels.terrain_shade import hillshade

WINDOW = np.array([[2450, 2461, 2483], [2452, 2461, 2483], [2447, 2455, 2477]], float)


def test_a_published_window_has_its_published_shade():
    """154.03 of 255 with cells of 5 m, light from the north-west 45 degrees high (geostat.md 5.1, window 3)."""
    share = (hillshade(WINDOW, 5.0)[1, 1] - 1) / 254
    assert share == pytest.approx(154.0287 / 255, abs=0.5 / 254)


def test_level_ground_and_a_slope_square_to_the_light():
    x = np.arange(5) * 10.0
    level, facing = np.zeros((5, 5)), np.tile(x, (5, 1))  # rises eastward at 45 degrees: faces west
    assert hillshade(level, 10.0)[2, 2] == round(1 + 254 * np.sin(np.radians(45)))
    assert hillshade(facing, 10.0, 270.0, 45.0)[2, 2] == 255
    assert hillshade(facing, 10.0, 90.0, 45.0)[2, 2] == 1


def test_a_window_that_lacks_a_cell_has_no_shade():
    z = np.zeros((7, 7))
    z[3, 3] = np.nan
    assert np.isnan(hillshade(z, 10.0)[2:5, 2:5]).all() and np.isnan(hillshade(z, 10.0)[0]).all()
    assert not np.isnan(hillshade(z, 10.0)[1, 1])
