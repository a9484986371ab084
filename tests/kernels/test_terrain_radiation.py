"""Potential incoming radiation of a day: published figures, an independent sum over the day, symmetries."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.terrain_radiation import level_radiation, radiation, sun_on


def slope_towards(azimuth: float, degrees: float) -> np.ndarray:
    """Three by three cells of 10 m on a plane that falls towards ``azimuth``."""
    x, y = np.meshgrid([-10.0, 0.0, 10.0], [10.0, 0.0, -10.0])
    return -np.tan(np.radians(degrees)) * (np.sin(np.radians(azimuth)) * x + np.cos(np.radians(azimuth)) * y)


def on_a_slope(azimuth: float, degrees: float, day: int, latitude: float) -> float:
    return float(radiation(slope_towards(azimuth, degrees), 10.0, day, latitude)[1, 1])


def minute_by_minute(azimuth: float, degrees: float, day: int, latitude: float) -> float:
    """The same integral by adding up 20,000 moments; the sun's height and azimuth by spherical trigonometry."""
    strength, declination = sun_on(day)
    hour = ((np.arange(20_000) + 0.5) / 20_000 * 2 - 1) * np.pi
    place = np.radians(latitude)
    height = np.arcsin(np.sin(place) * np.sin(declination) + np.cos(place) * np.cos(declination) * np.cos(hour))
    sun = np.arctan2(
        -np.cos(declination) * np.sin(hour),
        np.sin(declination) * np.cos(place) - np.cos(declination) * np.sin(place) * np.cos(hour),
    )
    steep = np.radians(degrees)
    fall = np.sin(height) * np.cos(steep) + np.cos(height) * np.sin(steep) * np.cos(sun - np.radians(azimuth))
    return float(strength * 1440 * np.where(height > 0, np.maximum(fall, 0), 0).mean())


def test_level_ground_at_20_degrees_south_on_the_3rd_of_september_gets_32_2():
    """Worked example 8 of FAO Irrigation and Drainage Paper 56 (Allen and others 1998); the figure is from memory."""
    assert level_radiation(246, -20.0) == pytest.approx(32.2, abs=0.05)


def test_without_a_sunrise_there_is_nothing_and_without_a_sunset_the_whole_day():
    assert level_radiation(355, 80.0) == 0.0
    assert on_a_slope(180, 10, 355, 80.0) == 0.0
    strength, declination = sun_on(172)
    assert level_radiation(172, 80.0) == pytest.approx(strength * 1440 * np.sin(np.radians(80)) * np.sin(declination))


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 360), st.floats(0, 75), st.integers(1, 365), st.floats(-85, 85))
def test_the_closed_form_equals_adding_up_the_day(azimuth, degrees, day, latitude):
    found = on_a_slope(azimuth, degrees, day, latitude)
    assert found == pytest.approx(minute_by_minute(azimuth, degrees, day, latitude), abs=0.01)


def test_a_steep_slope_away_from_the_sun_has_a_morning_and_an_evening():
    """65 degrees towards north at 40 degrees north in June: dark about noon only (Lee 1963)."""
    assert on_a_slope(0, 65, 172, 40.0) == pytest.approx(minute_by_minute(0, 65, 172, 40.0), abs=0.01)
    assert on_a_slope(0, 65, 172, 40.0) > 5


def test_south_slopes_are_warm_in_the_north_and_north_slopes_in_the_south():
    assert on_a_slope(180, 10, 80, 50.0) > level_radiation(80, 50.0) > on_a_slope(0, 10, 80, 50.0)
    assert on_a_slope(0, 10, 80, -50.0) > level_radiation(80, -50.0) > on_a_slope(180, 10, 80, -50.0)


@given(st.floats(1, 60), st.integers(1, 365), st.floats(-60, 60))
@settings(max_examples=20, deadline=None)
def test_east_and_west_get_the_same(degrees, day, latitude):
    assert on_a_slope(90, degrees, day, latitude) == pytest.approx(on_a_slope(270, degrees, day, latitude), abs=1e-9)


def test_relative_to_level_ground_level_ground_is_1_and_gaps_have_none():
    z = np.full((5, 5), 300.0)
    z[0, 0] = np.nan
    share = radiation(z, 10.0, 100, 49.0, relative=True)
    assert share[2, 2] == pytest.approx(1.0)
    assert np.isnan(share[1, 1]) and np.isnan(share[0]).all()


def test_a_window_cut_out_gives_the_same_bits():
    """T13"""
    z = np.random.default_rng(2).normal(500, 3, (20, 31))
    whole, part = radiation(z, 10.0, 172, 50.0), radiation(z[3:15, 6:27], 10.0, 172, 50.0)
    assert np.array_equal(whole[4:14, 7:26], part[1:-1, 1:-1])


def test_the_angle_without_branches_is_that_of_the_mathematics_library():
    from numba import njit

    from geoprofile.kernels.terrain_radiation import _angle

    @njit
    def angle(y, x):
        return _angle(y, x)

    turns = np.linspace(-np.pi, np.pi, 721)[1:]
    for size in (1e-9, 1.0, 3e7):
        found = [angle(size * np.sin(turn), size * np.cos(turn)) for turn in turns]
        assert found == pytest.approx(turns, abs=1e-14)
