"""Truncated normal moments and draws, against scipy and far out in the tails."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import log_ndtr
from scipy.stats import truncnorm

from geoprofile.kernels.truncated_normal import log_normal_below, moments, standard_draw, standard_moments


@settings(max_examples=60, deadline=None)
@given(st.floats(-60, 8))
def test_log_of_the_normal_distribution_holds_far_out(x):
    assert log_normal_below(x) == pytest.approx(float(log_ndtr(x)), rel=1e-9, abs=1e-14)


@settings(max_examples=60, deadline=None)
@given(st.floats(-8, 8), st.floats(0.01, 6))
def test_moments_between_two_limits_are_those_of_scipy(a, width):
    _, mean, variance = standard_moments(a, a + width)
    truth = truncnorm(a, a + width)
    assert mean == pytest.approx(truth.mean(), abs=2e-6)
    assert variance == pytest.approx(truth.var(), rel=3e-3)


@pytest.mark.parametrize("low, high", [(-0.3, np.inf), (20.0, np.inf), (-np.inf, -6.0), (-np.inf, np.inf), (6.0, 6.05), (-8.0, -7.5)])
def test_moments_hold_in_the_tails_and_without_a_limit(low, high):
    log_mass, mean, variance = standard_moments(low, high)
    truth = truncnorm(low, high)
    assert mean == pytest.approx(truth.mean(), abs=1e-7) and variance == pytest.approx(truth.var(), rel=1e-6)
    assert log_mass == pytest.approx(truncnorm._logpdf(np.array([mean]), low, high)[0] * -1 - 0.5 * np.log(2 * np.pi) - mean**2 / 2, abs=1e-6)


def test_narrow_limits_are_the_middle_with_a_twelfth_of_the_width_squared():
    _, mean, variance = standard_moments(2.0, 2.0005)
    assert mean == pytest.approx(2.00025, abs=1e-7) and variance == pytest.approx(0.0005**2 / 12, rel=1e-3)


def test_case_a_alone_is_the_textbook_truncated_normal():
    """y3 > 100 for N(76.62772375, 286.24269203): reference computed with scipy."""
    log_mass, mean, variance = moments(
        np.array([76.62772375]), np.sqrt([286.24269203]), np.array([100.0]), np.array([np.inf])
    )
    assert np.exp(log_mass[0]) == pytest.approx(0.0835709872, abs=1e-9)
    assert mean[0] == pytest.approx(107.7319680724, abs=1e-6) and variance[0] == pytest.approx(45.7456645883, abs=1e-5)


@pytest.mark.parametrize("low, high", [(-1, 2), (0.5, 0.6), (3, 3.5), (-8, -7.5), (-0.3, np.inf), (-np.inf, -6), (-np.inf, 0.1), (-np.inf, np.inf)])
def test_draws_lie_within_the_limits_and_have_the_moments(low, high):
    rng = np.random.default_rng(1)
    draws = np.array([standard_draw(float(low), float(high), rng) for _ in range(4000)])
    _, mean, variance = standard_moments(float(low), float(high))
    assert draws.min() >= low and draws.max() <= high
    assert draws.mean() == pytest.approx(mean, abs=4 * np.sqrt(variance / 4000))
    assert draws.var() == pytest.approx(variance, rel=0.12)
