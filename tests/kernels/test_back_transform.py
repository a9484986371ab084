"""Estimate and interval from one distribution, whatever the scale (K7)."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.back_transform import backward, forward, read_back, share_below

POWERS = (None, 0.0, 0.5, 0.3, 1.0)


@pytest.mark.parametrize(
    "mean, absent, estimate, variance, given_present",
    [
        (5.0, 0.308538, 6.977966, 55.344070, 10.091604),
        (-3.0, 0.617911, 2.667612, 23.089864, 6.981660),
        (20.0, 0.022750, 20.084907, 96.019637, 20.552479),
    ],
)
def test_what_ends_at_zero_has_the_closed_form(mean, absent, estimate, variance, given_present):
    """max(0, N(a, 10^2)): E = a Phi + s phi (Johnson, Kotz & Balakrishnan 1994), numbers by scipy."""
    found = read_back(np.array([mean]), np.array([100.0]), None, floor=True)
    assert share_below(0.0, np.array([mean]), np.array([100.0]), None)[0] == pytest.approx(absent, abs=1e-6)
    assert found[0][0] == pytest.approx(estimate, abs=1e-6) and found[1][0] == pytest.approx(variance, abs=1e-5)
    assert found[0][0] / (1 - absent) == pytest.approx(given_present, abs=1e-4)
    assert found[2][0] >= 0


@pytest.mark.parametrize("power", POWERS[1:])
def test_estimate_variance_and_interval_are_those_of_many_draws(power):
    """K7"""
    mean, variance = np.array([2.2]), np.array([0.16])
    draws = backward(2.2 + 0.4 * np.random.default_rng(1).standard_normal(400_000), power)
    estimate, spread, low, high = read_back(mean, variance, power)
    assert estimate[0] == pytest.approx(draws.mean(), rel=2e-3) and spread[0] == pytest.approx(draws.var(), rel=0.01)
    assert [low[0], high[0]] == pytest.approx(np.quantile(draws, [0.05, 0.95]), rel=3e-3)
    assert share_below(float(low[0]), mean, variance, power)[0] == pytest.approx(0.05, abs=1e-6)


def test_the_mean_of_a_logarithm_has_half_the_variance_in_it():
    assert read_back(np.array([3.0]), np.array([0.5]), 0.0)[0][0] == pytest.approx(np.exp(3.25))


@settings(max_examples=30, deadline=None)
@given(st.floats(0.01, 500), st.sampled_from(POWERS))
def test_there_and_back_is_where_one_was(value, power):
    assert backward(forward(np.array([value]), power), power)[0] == pytest.approx(value, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.floats(-50, 80), st.floats(0.01, 400), st.sampled_from([0.5, 0.3, 1.0]))
def test_nothing_is_negative_and_the_interval_is_in_order(mean, variance, power):
    estimate, spread, low, high = (part[0] for part in read_back(np.array([mean]), np.array([variance]), power))
    assert 0 <= low <= high and estimate >= 0 and spread >= 0


def test_limits_that_are_not_there_stay_away():
    assert list(forward(np.array([-np.inf, 0.0, np.inf]), 0.5)) == [-np.inf, -2.0, np.inf]
    assert forward(np.array([0.0]), 0.0)[0] == -np.inf
