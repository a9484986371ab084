"""Directions, shares and catchments (geostat.md 5.5; numbers/terrain/flow.txt)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.terrain_flow import (
    INFINITE,
    MULTIPLE_FREEMAN,
    MULTIPLE_QUINN,
    NO_ELEVATION,
    STEEPEST,
    catchment,
    down_to_channel,
    infinite_direction,
    shares,
    steepest_neighbour,
)

E, SE, S, SW, W, NW, N, NE = range(8)


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


@pytest.mark.parametrize("azimuth", [110, 63.4349488, 200, 315, 90, 0.5, 271.3])
def test_the_infinite_direction_of_a_plane_is_exact_where_one_neighbour_is_not(azimuth):
    """Tarboton 1997: slope 0.1 and azimuth of the plane exactly; the steepest neighbour gives 0.093969 at 110 degrees."""
    found, fall = infinite_direction(plane(azimuth), 1.0)
    assert found[2, 2] == pytest.approx(azimuth, abs=1e-9)
    assert fall[2, 2] == pytest.approx(0.1, abs=1e-12)


def test_the_published_slope_window_falls_4_019950_towards_185_71():
    azimuth, fall = infinite_direction(np.array([[50, 45, 50], [30, 30, 30], [8, 10, 10]], float), 5.0)
    assert (azimuth[1, 1], fall[1, 1]) == pytest.approx((185.710593, 4.019950), abs=1e-6)


FREEMAN = {
    110: {NE: 0.153484, E: 0.369662, S: 0.121612, SE: 0.355242},
    63.4349488: {N: 0.163571, NE: 0.374086, E: 0.350621, SE: 0.111722},
    200: {W: 0.121612, SW: 0.355242, S: 0.369662, SE: 0.153484},
    315: {NW: 0.422647, N: 0.288676, W: 0.288676},
    90: {NE: 0.288676, E: 0.422647, SE: 0.288676},
}
QUINN = {
    110: {NE: 0.134624, E: 0.422791, S: 0.153883, SE: 0.288702},
    200: {W: 0.153883, SW: 0.288702, S: 0.422791, SE: 0.134624},
    315: {NW: 0.333614, N: 0.333193, W: 0.333193},
    90: {NE: 0.250158, E: 0.499684, SE: 0.250158},
}


@pytest.mark.parametrize("azimuth", FREEMAN)
def test_water_shared_after_freeman_1991_has_the_reference_shares(azimuth):
    found = shares(plane(azimuth), 2, 2, MULTIPLE_FREEMAN, 1.1)
    assert found == pytest.approx([FREEMAN[azimuth].get(k, 0) for k in range(8)], abs=5e-7)


@pytest.mark.parametrize("azimuth", QUINN)
def test_water_shared_after_quinn_1991_has_the_reference_shares(azimuth):
    """The reference takes 0.354 for the contour of a corner, as printed; we take the square root of 2 over 4."""
    found = shares(plane(azimuth), 2, 2, MULTIPLE_QUINN, 1.1)
    assert found == pytest.approx([QUINN[azimuth].get(k, 0) for k in range(8)], abs=5e-4)
    if azimuth == 90:
        assert found == pytest.approx([0.5, 0.25, 0, 0, 0, 0, 0, 0.25], abs=1e-12)


def test_the_published_slope_window_is_shared_as_in_the_reference():
    found = shares(np.array([[50, 45, 50], [30, 30, 30], [8, 10, 10]], float), 1, 1, MULTIPLE_FREEMAN, 1.1)
    assert found[[SW, S, SE]] == pytest.approx([0.310672, 0.409578, 0.27975], abs=1e-6)


def test_the_infinite_way_shares_by_angle_between_the_two_that_bound_the_facet():
    """Azimuth 110 is 20 of 45 degrees from east towards south-east."""
    found = shares(plane(110), 2, 2, INFINITE, 1.1)
    assert found[SE] == pytest.approx(20 / 45)
    assert found[E] == pytest.approx(25 / 45)


def test_beside_a_gap_water_still_finds_its_lower_neighbour():
    z = np.full((3, 3), np.nan)
    z[1] = [3.0, 2.0, 1.0]
    assert shares(z, 1, 1, INFINITE, 1.1)[E] == 1.0
    assert np.isnan(infinite_direction(z, 1.0)[0][1, 1])


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1), st.sampled_from([STEEPEST, INFINITE, MULTIPLE_FREEMAN, MULTIPLE_QUINN]))
def test_shares_add_up_to_one_and_lead_down_only(seed, way):
    z = np.random.default_rng(seed).integers(0, 6, (5, 5)).astype(float)
    for row, column in np.ndindex(z.shape):
        share = shares(z, row, column, way, 1.1)
        around = np.pad(z, 1, constant_values=np.inf)[row : row + 3, column : column + 3].ravel()[[5, 8, 7, 6, 3, 0, 1, 2]]
        assert (share[around >= z[row, column]] == 0).all()
        assert share.sum() == pytest.approx(1.0 if (around < z[row, column]).any() else 0.0)


def test_directions_of_a_window_with_its_halo_have_the_same_bits():
    """T13"""
    z = np.random.default_rng(3).normal(500, 3, (20, 30))
    part = z[4:15, 7:22].copy()
    assert np.array_equal(steepest_neighbour(z)[5:14, 8:21], steepest_neighbour(part)[1:-1, 1:-1])
    for whole, cut in zip(infinite_direction(z, 10.0), infinite_direction(part, 10.0), strict=True):
        np.testing.assert_array_equal(whole[5:14, 8:21], cut[1:-1, 1:-1])


def test_water_that_would_run_in_circles_is_told():
    across = np.array([[1, 16, 0]], np.uint8)
    _, stuck = catchment(np.zeros((1, 3)), across, STEEPEST, 1.1)
    assert stuck == 2


def test_height_above_and_way_to_the_channel_follow_the_water():
    direction = np.array([[1, 2, 0], [1, 1, 4], [0, 64, 0]], np.uint8)
    z = np.array([[5.0, 4, 9], [8, 3, 2], [7, 6, 1]])
    channel = np.zeros(z.shape, bool)
    channel[2, 2] = True
    height, distance = down_to_channel(direction, z, channel, 10.0)
    assert height[2, 2] == 0 and distance[2, 2] == 0
    assert height[0, 0] == 4.0
    assert distance[0, 0] == pytest.approx(10 + np.sqrt(2) * 10 + 10)
    assert distance[2, 1] == pytest.approx(30.0)
    assert np.isnan([height[0, 2], height[2, 0], distance[2, 0]]).all()
