"""Flat stripping: what comes along and what stays behind."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.salvage.flat_strip import expected_excess, flat_strip, flat_strip_of_pits, strip_of_cells


def test_expected_over_and_under_stripping_of_a_normal_thickness():
    # W9b, constructed: mean 20, sd 6, strip at 17, 20 and 23 cm
    over = expected_excess(np.array([17.0, 20, 23]), np.full(3, 20.0), np.full(3, 6.0))
    under = expected_excess(-np.array([17.0, 20, 23]), np.full(3, -20.0), np.full(3, 6.0))
    assert over == pytest.approx([1.19, 2.39, 4.19], abs=0.005)
    assert under == pytest.approx([4.19, 2.39, 1.19], abs=0.005)


def test_four_polygons_stripped_flat_at_20_cm():
    # W2b, constructed: 24,000 m3 moved, 3,150 m3 of topsoil left, 2,700 m3 of subsoil added (11.25 %)
    depth, area_ha = np.array([15.0, 20, 35, 10]), np.array([3.2, 5.6, 2.1, 1.1])
    strip = flat_strip(strip_of_cells(20, depth, depth, depth) @ (area_ha * 100), 100.0)
    assert strip.subsoil_m3 == pytest.approx(2700)
    assert strip.left_behind_m3 == pytest.approx(3150)
    assert strip.thinner_ha == pytest.approx(4.3) and strip.surely_thinner_ha == pytest.approx(4.3)
    assert strip.subsoil_m3 / (12 * 2000) == pytest.approx(0.1125)
    assert strip.subsoil_low90_m3 == strip.subsoil_high90_m3 == pytest.approx(2700)


def test_from_pits_each_stands_for_an_equal_part():
    strip = flat_strip_of_pits(15, [10, 20], 2.0)
    assert (strip.thinner_ha, strip.subsoil_m3, strip.left_behind_m3) == (1.0, 500, 500)
    assert np.isnan(strip.subsoil_high90_m3)


def test_more_error_brings_more_subsoil():
    mean = np.array([20.0])
    sure, unsure = (flat_strip(strip_of_cells(20, mean, mean - half, mean + half) @ np.ones(1), 10_000.0) for half in (1.0, 10.0))
    assert unsure.subsoil_m3 > 5 * sure.subsoil_m3
    assert unsure.subsoil_low90_m3 == 0 and unsure.subsoil_high90_m3 == pytest.approx(1000)


def test_without_limits_what_needs_them_is_not_known_and_without_a_cell_nothing_is():
    mean = np.array([10.0, 30.0])
    strip = flat_strip(strip_of_cells(20, mean, None, None) @ np.array([1.0, 0.5]), 10_000.0)
    assert strip.thinner_ha == 1 and strip.subsoil_m3 == pytest.approx(1000) and strip.left_behind_m3 == pytest.approx(500)
    assert np.isnan([strip.surely_thinner_ha, strip.subsoil_low90_m3, strip.subsoil_high90_m3]).all()
    assert np.isnan(list(vars(flat_strip(None, 10_000.0)).values())).all()
