"""Direction of the steepest of eight neighbours (geostat.md 5.5)."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.kernels.terrain_flow import NO_ELEVATION, steepest_neighbour


def plane(azimuth: float) -> np.ndarray:
    """Five by five cells of 1 m that fall by 0.1 towards ``azimuth``."""
    x, y = np.meshgrid(np.arange(5.0), -np.arange(5.0))
    return -0.1 * (np.sin(np.radians(azimuth)) * x + np.cos(np.radians(azimuth)) * y)


@pytest.mark.parametrize(("azimuth", "code"), [(110, 1), (63.4349488, 128), (200, 4), (315, 32), (90, 1)])
def test_a_plane_drains_to_the_neighbour_nearest_its_fall(azimuth, code):
    assert steepest_neighbour(plane(azimuth))[2, 2] == code


def test_the_published_slope_window_drains_south():
    window = np.array([[50, 45, 50], [30, 30, 30], [8, 10, 10]], float)
    assert steepest_neighbour(window)[1, 1] == 4


def test_the_lowest_cell_of_a_pothole_drains_nowhere_and_gaps_are_marked():
    z = np.full((3, 4), 5.0)
    z[1, 1], z[0, 3] = 4.0, np.nan
    code = steepest_neighbour(z)
    assert code[1, 1] == 0
    assert code[0, 3] == NO_ELEVATION
    assert code[0, 0] == 2
