"""Flat stripping: what comes along and what stays behind."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

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
    assert np.isnan([strip.subsoil_high90_m3, strip.probably_thinner_ha]).all()


def test_more_error_brings_more_subsoil():
    mean = np.array([20.0])
    sure, unsure = (flat_strip(strip_of_cells(20, mean, mean - half, mean + half) @ np.ones(1), 10_000.0) for half in (1.0, 10.0))
    assert unsure.subsoil_m3 > 5 * sure.subsoil_m3
    assert unsure.subsoil_low90_m3 == 0 and unsure.subsoil_high90_m3 == pytest.approx(1000)


def test_without_limits_what_needs_them_is_not_known_and_without_a_cell_nothing_is():
    mean = np.array([10.0, 30.0])
    strip = flat_strip(strip_of_cells(20, mean, None, None) @ np.array([1.0, 0.5]), 10_000.0)
    assert strip.probably_thinner_ha == 1 and strip.subsoil_m3 == pytest.approx(1000) and strip.left_behind_m3 == pytest.approx(500)
    unknown = [strip.thinner_ha, strip.surely_thinner_ha, strip.subsoil_low90_m3, strip.subsoil_high90_m3, strip.left_behind_high90_m3]
    assert np.isnan(unknown).all(), "counted by the estimate, land that is thinner is missed"
    assert np.isnan(list(vars(flat_strip(None, 10_000.0)).values())).all()


def test_hectares_thinner_are_those_to_expect_and_not_those_of_likely_places():
    """Ten thousand truths: half the land missed where only places with more than 50 % count."""
    rng = np.random.default_rng(4)
    mean, sd = np.full(400, 17.0), 3.0
    strip = flat_strip(strip_of_cells(15, mean, mean - 1.644854 * sd, mean + 1.644854 * sd) @ np.ones(400), 100.0)
    truths = (rng.normal(17.0, sd, (10_000, 400)) < 15).mean() * 4
    assert strip.thinner_ha == pytest.approx(truths, rel=0.01)
    assert (strip.probably_thinner_ha, strip.surely_thinner_ha) == (0, 0)


@given(st.floats(5, 40), st.lists(st.tuples(st.floats(0, 60), st.floats(0.01, 30)), min_size=1, max_size=6))
@settings(max_examples=60, deadline=None)
def test_what_is_expected_lies_in_its_own_interval_and_is_no_more_than_the_cut(depth, cells):
    mean, half = np.array(cells).T
    strip = flat_strip(strip_of_cells(depth, mean, np.maximum(mean - half, 0), mean + half) @ np.ones(len(mean)), 10_000.0)
    for what in ("subsoil", "left_behind"):
        low, expected, high = (getattr(strip, f"{what}{end}_m3") for end in ("_low90", "", "_high90"))
        assert low <= expected <= high
    assert strip.subsoil_m3 <= depth * 100 * len(mean) + 1e-6


def test_a_little_subsoil_at_few_places_lies_above_both_limits_of_its_cells_and_the_interval_reaches_to_it():
    mean = np.array([30.0])
    strip = flat_strip(strip_of_cells(20, mean, mean - 9.9, mean + 9.9) @ np.ones(1), 10_000.0)
    assert strip.subsoil_low90_m3 == 0 and strip.subsoil_high90_m3 == strip.subsoil_m3 > 0


def test_a_thickness_below_nothing_is_nothing():
    """By simulation of max(Z, 0), which the formula is of."""
    drawn = np.maximum(np.random.default_rng(5).normal(2.0, 4.0, 400_000), 0)
    rows = strip_of_cells(10, np.array([2.0]), np.array([0.0]), np.array([2.0 + 1.644854 * 4]))
    assert rows[3, 0] == pytest.approx(np.maximum(10 - drawn, 0).mean(), rel=0.005)
