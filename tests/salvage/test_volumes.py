"""Check values W1 to W10: worked examples constructed for this project by hand arithmetic."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.salvage.volumes import (
    area_weighted_mean,
    bank_volume_m3,
    cells_volume_m3,
    loose_m3,
    recovered_m3,
    rounded_depth,
    t_limits,
)


def test_losses_come_off_the_bank_volume_and_then_it_swells():  # W1
    bank = bank_volume_m3(20, 1.44)
    assert bank == pytest.approx(2880)
    assert recovered_m3(bank, 10) == pytest.approx(2592)
    assert loose_m3(recovered_m3(bank, 10), 1.25) == pytest.approx(3240)
    assert loose_m3(bank, 1.25) == pytest.approx(3600)


def test_four_polygons_weigh_by_their_area():  # W2
    area, depth = np.array([3.2, 5.6, 2.1, 1.1]), np.array([15, 20, 35, 10])
    volumes = [bank_volume_m3(d, a) for d, a in zip(depth, area)]
    assert volumes == pytest.approx([4800, 11200, 7350, 1100])
    assert area_weighted_mean(depth, area) == pytest.approx(20.375)
    assert loose_m3(sum(volumes), 1.2) == pytest.approx(29_340)


def test_a_strip_of_20_m_weighs_by_length():  # W3
    length, depth = np.array([300, 450, 250]), np.array([12, 18, 28])
    assert [bank_volume_m3(d, m * 20 / 10_000) for d, m in zip(depth, length)] == pytest.approx([720, 1620, 1400])
    assert area_weighted_mean(depth, length) == pytest.approx(18.7)


def test_cells_add_up_and_rounding_has_a_direction():  # W5
    depth, whole = np.array([12.0, 15, 18, 22, 27, 31]), np.ones(6)
    assert cells_volume_m3(depth, whole, 25) == pytest.approx(31.25)
    assert cells_volume_m3(rounded_depth(depth, 5, "down"), whole, 25) == pytest.approx(28.75)
    assert cells_volume_m3(rounded_depth(depth, 5, "nearest"), whole, 25) == pytest.approx(30.0)
    assert (
        rounded_depth(12.5, 5, "nearest") == 15
        and rounded_depth(11, 5, "up") == 15
        and rounded_depth(15, 5, "up") == 15
    )


def test_a_cell_without_a_depth_is_not_zero():
    assert cells_volume_m3(np.array([10.0, np.nan]), np.ones(2), 100) == pytest.approx(10)


def test_the_limits_of_a_mean_use_students_t():  # W10
    # 24 values with mean 20 and standard deviation 6: half-width t(0.975, 23) 6 / sqrt(24) = 2.534 cm = 3,041 m3 on 12 ha
    values = np.repeat([-1.0, 1.0], 12)
    values = 20 + 6 * values / values.std(ddof=1)
    mean, low, high = t_limits(values, 0.95)
    assert mean == pytest.approx(20)
    assert bank_volume_m3(high - mean, 12) == pytest.approx(3041, abs=1)
    assert bank_volume_m3(mean - low, 12) == pytest.approx(3041, abs=1)
    assert np.isnan(t_limits([7.0])[1]) and t_limits([7.0])[0] == 7


def test_pits_that_all_say_the_same_do_not_make_a_depth_certain():
    """Three pits of 19 cm: the rounding of a depth is left (1 / 12^0.5 cm; t of 2 degrees of freedom 2.92); nothing at all is sure to be 0."""
    mean, low, high = t_limits(np.array([19.0, 19, 19]))
    assert mean == 19 and high - 19 == pytest.approx(2.92 * 0.28868 / 3**0.5, rel=1e-3) and 19 - low == pytest.approx(high - 19)
    assert t_limits(np.zeros(3)) == (0, 0, 0)
