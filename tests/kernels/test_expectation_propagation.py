"""Exact small cases of limited values; the likelihood on real augerings; draws as a second opinion.

Cases: sites 0, 1, 2, 3.5 on a line; mean 80; covariance 400 exp(-h / 2) plus a nugget of 25;
60 and 75 measured at the first two. Exact values by numerical integration of the
two-dimensional truncated normal (scipy), computed apart from this code.
"""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.covariance import (
    bend_of,
    bent_squares,
    cross_products,
    direction_of,
    squared_distances,
    stretched,
)
from geoprofile.kernels.expectation_propagation import posterior_covariance, propagate
from geoprofile.kernels.gibbs import limited_draws
from geoprofile.kernels.limited_likelihood import LimitedData, evaluate, given_measured

SITES = np.array([0.0, 1.0, 2.0, 3.5])
COVARIANCE = 400 * np.exp(-np.abs(SITES[:, None] - SITES) / 2) + 25 * np.eye(4)
PLACES = np.array([1.5, 3.0])


def given_two():
    return given_measured(COVARIANCE, np.ones((4, 1)), np.array([60.0, 75.0]), np.array([80.0]))


def predictions(sites, values, imputed_covariance=None):
    """Known mean 80 at PLACES, nugget in the variance; the last values are imputed with a covariance."""
    cross = 400 * np.exp(-np.abs(PLACES[:, None] - SITES[sites]) / 2)
    weight = np.linalg.solve(COVARIANCE[np.ix_(sites, sites)], cross.T)
    variance = 425 - np.einsum("ij,ji->i", cross, weight)
    if imputed_covariance is not None:
        own = weight[len(sites) - len(imputed_covariance) :]
        variance = variance + np.einsum("ij,ik,kj->j", own, imputed_covariance, own)
    return 80 + weight.T @ (np.asarray(values) - 80), variance


def test_given_the_measured_the_limited_values_have_the_conditional_distribution():
    mean, matrix, log_measured = given_two()
    assert mean == pytest.approx([76.62772375, 78.40704949], abs=1e-7)
    assert matrix == pytest.approx(np.array([[286.24269203, 123.40230986], [123.40230986, 394.03905965]]), abs=1e-7)
    assert log_measured == pytest.approx(-8.2352501953, abs=1e-9)


def test_one_limit_is_exact():
    """Case A: the third site says more than 100. Substituting 100 or dropping it is far off."""
    mean, matrix, _ = given_two()
    found = propagate(mean[:1], matrix[:1, :1], np.array([100.0]), np.array([np.inf]))
    assert np.exp(found.log_probability) == pytest.approx(0.0835709872, abs=1e-9)
    assert found.mean[0] == pytest.approx(107.7319680724, abs=1e-6)
    assert found.variance[0] == pytest.approx(45.7456645883, abs=1e-5)
    estimate, variance = predictions([0, 1, 2], [60, 75, found.mean[0]], np.diag(found.variance))
    assert estimate == pytest.approx([90.16050241, 95.17258937], abs=1e-6)
    assert variance == pytest.approx([144.03123054, 300.25960127], abs=1e-5)
    assert predictions([0, 1, 2], [60, 75, 100])[0] == pytest.approx([86.55839639, 90.8925028], abs=1e-6)
    assert predictions([0, 1], [60, 75])[0] == pytest.approx([75.66991159, 77.95461106], abs=1e-6)
    assert predictions([0, 1, 2], [60, 75, 100])[1] == pytest.approx([134.10274858, 286.24195883], abs=1e-6)
    assert predictions([0, 1], [60, 75])[1] == pytest.approx([196.22787489, 373.95403909], abs=1e-6)
    assert estimate == pytest.approx([90.1107, 95.1322], abs=0.06), "the exact medians"
    half = 1.6448536 * np.sqrt(variance)
    assert estimate - half == pytest.approx([70.5077, 66.7412], abs=0.1), "the exact 5 % limits: the sum is close to normal"
    assert estimate + half == pytest.approx([109.9825, 123.7413], abs=0.1)


def test_two_limits_are_within_thousandths():
    """Case B: more than 100 and more than 90."""
    mean, matrix, log_measured = given_two()
    found = propagate(mean, matrix, np.array([100.0, 90.0]), np.full(2, np.inf))
    assert found.log_probability == pytest.approx(-3.1012708569, abs=3e-4)
    assert found.log_probability == pytest.approx(-3.1015210186, abs=1e-7), "what the propagation gives elsewhere"
    assert log_measured + found.log_probability == pytest.approx(-11.3365210522, abs=3e-4)
    assert found.mean == pytest.approx([108.4950414, 105.6005228], abs=3e-3)
    covariance = posterior_covariance(matrix, found.precision)
    assert np.diag(covariance) == pytest.approx(found.variance, abs=1e-6)
    assert np.diag(covariance) == pytest.approx([52.17076, 134.98263], rel=3e-3)
    estimate, variance = predictions([0, 1, 2, 3], [60, 75, *found.mean], covariance)
    assert estimate == pytest.approx([90.73317896, 103.62670209], abs=3e-3)
    assert variance == pytest.approx([145.17554, 220.79168], rel=2e-3)
    # what the propagation of another program gives, digit by digit
    assert found.mean == pytest.approx([108.49216186, 105.5978055], abs=1e-4)
    assert (estimate, variance) == (pytest.approx([90.73181362, 103.62422706], abs=1e-4), pytest.approx([145.14333176, 220.48964556], abs=1e-4))


def test_draws_agree_with_the_exact_means():
    """Case B again: the sampler is the oracle for cases that cannot be integrated."""
    mean, matrix, _ = given_two()
    draws = limited_draws(mean, matrix, np.array([100.0, 90.0]), np.full(2, np.inf), 20_000, np.random.default_rng(7), apart=2)
    assert draws.mean(axis=1) == pytest.approx([108.4950414, 105.6005228], abs=0.25)
    assert np.cov(draws) == pytest.approx(np.array([[52.17076, 9.39594], [9.39594, 134.98263]]), abs=8)
    again = limited_draws(mean, matrix, np.array([100.0, 90.0]), np.full(2, np.inf), 5, np.random.default_rng(7), apart=2)
    assert np.array_equal(again, limited_draws(mean, matrix, np.array([100.0, 90.0]), np.full(2, np.inf), 5, np.random.default_rng(7), apart=2))


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 10**6))
def test_means_of_the_propagation_are_those_of_draws_for_limits_of_every_kind(seed):
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 10, 8)
    matrix = np.exp(-np.abs(points[:, None] - points) / 3) + 0.2 * np.eye(8)
    mean = rng.normal(size=8)
    low = np.where(np.arange(8) % 4 == 1, -np.inf, mean + rng.normal(size=8))
    high = np.select([np.arange(8) % 4 == 0, np.arange(8) % 4 == 1], [np.inf, mean + rng.normal(size=8)], low + rng.uniform(0.1, 2, 8))
    found = propagate(mean, matrix, low, high)
    draws = limited_draws(mean, matrix, low, high, 4000, np.random.default_rng(seed), first=found.mean, apart=5)
    assert found.settled and (draws > low[:, None]).all() and (draws < high[:, None]).all()
    assert found.mean == pytest.approx(draws.mean(axis=1), abs=0.12)
    assert np.sqrt(found.variance) == pytest.approx(draws.std(axis=1), abs=0.1)


def test_a_limit_far_below_says_nothing_and_harms_nothing():
    mean, matrix, _ = given_two()
    found = propagate(mean, matrix, np.array([100.0, -1e6]), np.full(2, np.inf))
    alone = propagate(mean[:1], matrix[:1, :1], np.array([100.0]), np.array([np.inf]))
    assert found.log_probability == pytest.approx(alone.log_probability, abs=1e-7)
    assert found.mean[0] == pytest.approx(alone.mean[0], abs=1e-5)


def test_starting_from_an_earlier_answer_ends_at_the_same_place():
    mean, matrix, _ = given_two()
    limits = np.array([100.0, 90.0]), np.full(2, np.inf)
    cold = propagate(mean, matrix, *limits)
    other = propagate(mean - 5, matrix * 1.3, *limits)
    warm = propagate(mean, matrix, *limits, start=(other.precision, other.weighted))
    assert warm.mean == pytest.approx(cold.mean, abs=1e-5)
    assert propagate(mean, matrix, *limits, start=(cold.precision, cold.weighted)).sweeps <= 1


@pytest.fixture
def augerings(shared):
    """Depth to chalk at 126 augerings near Oxford (P. A. Burrough 1967); 23 stop at the auger's 91 cm."""
    table = pd.read_csv(shared / "data" / "oxford" / "oxford.csv")
    stopped = (table["DEPTHCM"] == 91).to_numpy()
    order = np.argsort(stopped, kind="stable")
    points = table[["XCOORD", "YCOORD"]].to_numpy(float)[order]
    d2 = ((points[:, None] - points) ** 2).sum(axis=2)
    values = table["DEPTHCM"].to_numpy(float)[order][:103]
    return LimitedData(d2, np.ones((126, 1)), values, np.zeros(103), np.full(23, 91.0), np.full(23, np.inf))


@pytest.mark.parametrize(
    "mean, psill, scale, nugget, log_likelihood, log_probability, by_simulation",
    [
        (50.0, 700.0, 150.0, 200.0, -521.51065, -65.15554, -65.155),
        (55.0, 900.0, 200.0, 100.0, -525.54245, -72.07816, -72.0771),
    ],
)
def test_the_likelihood_of_the_oxford_augerings(
    augerings, mean, psill, scale, nugget, log_likelihood, log_probability, by_simulation
):
    """Reference computed apart, with importance sampling (Geweke, Hajivassiliou & Keane) as a second opinion."""
    found = evaluate(
        "exponential", augerings, psill + nugget, nugget / (psill + nugget), scale, coefficients=np.array([mean]), tolerance=1e-9
    )
    assert found.log_likelihood == pytest.approx(log_likelihood, abs=1e-4)
    assert found.log_probability == pytest.approx(log_probability, abs=1e-4)
    assert found.log_probability == pytest.approx(by_simulation, abs=2e-3)


@pytest.mark.parametrize("kind", ["spherical", "exponential", "gaussian", "matern"])
@pytest.mark.parametrize("residual", [True, False])
def test_the_gradient_is_that_of_the_likelihood(augerings, residual, kind):
    at = np.array([np.log(900.0), 0.2, np.log(250.0)])

    def height(theta):
        return evaluate(
            kind, augerings, np.exp(theta[0]), theta[1], np.exp(theta[2]), residual=residual, tolerance=1e-11
        )  # fmt: skip

    steps = [(height(at + step).log_likelihood - height(at - step).log_likelihood) / 2e-5 for step in 1e-5 * np.eye(3)]
    assert height(at).gradient == pytest.approx(steps, abs=2e-4, rel=1e-4)


@pytest.mark.parametrize("kind", ["spherical", "exponential", "gaussian", "matern"])
@pytest.mark.parametrize("bend", [(0.0, 0.0), (0.3, -0.2)])
def test_the_gradient_by_direction_is_that_of_the_likelihood(shared, augerings, kind, bend):
    table = pd.read_csv(shared / "data" / "oxford" / "oxford.csv")
    points = table[["XCOORD", "YCOORD"]].to_numpy(float)[np.argsort((table["DEPTHCM"] == 91).to_numpy(), kind="stable")]
    data = augerings._replace(across=cross_products(points))
    at = np.array([np.log(900.0), 0.2, np.log(250.0), *bend])

    def height(theta):
        return evaluate(kind, data, np.exp(theta[0]), theta[1], np.exp(theta[2]), tolerance=1e-11, bend=tuple(theta[3:]))

    steps = [(height(at + step).log_likelihood - height(at - step).log_likelihood) / 2e-5 for step in 1e-5 * np.eye(5)]
    assert height(at).gradient == pytest.approx(steps, abs=2e-4, rel=1e-4)
    if bend == (0.0, 0.0):
        plain = evaluate(kind, data, 900.0, 0.2, 250.0, tolerance=1e-11)
        assert height(at).log_likelihood == pytest.approx(plain.log_likelihood, abs=1e-8)


def test_a_bend_is_an_azimuth_and_a_ratio():
    """K13: the same squared distances as turning and stretching the coordinates, up to the mean of both scales."""
    points = np.random.default_rng(2).uniform(0, 100, (12, 2))
    for azimuth, ratio in [(0.0, 0.5), (30.0, 0.35), (90.0, 0.8), (163.0, 0.2), (45.0, 1.0)]:
        bend = bend_of(azimuth, ratio)
        assert direction_of(bend)[1] == pytest.approx(ratio)
        if ratio < 1:
            assert direction_of(bend)[0] == pytest.approx(azimuth)
        placed = stretched(points, azimuth, ratio)
        wanted = squared_distances(placed, placed) * ratio
        assert bent_squares(squared_distances(points, points), cross_products(points), bend) == pytest.approx(wanted, abs=1e-8)


def test_repeated_readings_speak_of_the_nugget_as_if_each_stood_in_the_likelihood_alone():
    """A place read three times is one mean with a third of the nugget, and squares about it: the same likelihood, up to nothing."""
    rng = np.random.default_rng(3)
    places, readings = rng.uniform(0, 100, (15, 2)), rng.normal(size=(15, 3))
    sill, share, scale = 1.3, 0.4, 40.0
    every = np.repeat(places, 3, axis=0)
    matrix = sill * (1 - share) * np.exp(-np.sqrt(((every[:, None] - every) ** 2).sum(axis=2)) / scale) + sill * share * np.eye(45)
    one = np.ones((45, 1))
    inverse = np.linalg.inv(matrix)
    information = one.T @ inverse @ one
    mean = np.linalg.solve(information, one.T @ inverse @ readings.ravel())
    left = readings.ravel() - one @ mean
    direct = -0.5 * (44 * np.log(2 * np.pi) + np.linalg.slogdet(matrix)[1] + np.linalg.slogdet(information)[1] + left @ inverse @ left)
    d2 = ((places[:, None] - places) ** 2).sum(axis=2)
    none = np.empty(0)
    squares = float(((readings - readings.mean(axis=1, keepdims=True)) ** 2).sum())
    data = LimitedData(d2, np.ones((15, 1)), readings.mean(axis=1), np.zeros(15), none, none, None, np.full(15, 1 / 3), (squares, 30))
    found = evaluate("exponential", data, sill, share, scale)
    # the mean of three readings is one turned coordinate of them, stretched by the root of three: a constant
    assert found.log_likelihood + 15 * -0.5 * np.log(3) == pytest.approx(direct, abs=1e-6)
    at = np.array([np.log(sill), share, np.log(scale)])
    heights = [
        evaluate("exponential", data, np.exp(t[0]), t[1], np.exp(t[2])).log_likelihood
        for step in 1e-5 * np.eye(3) for t in (at + step, at - step)
    ]  # fmt: skip
    assert found.gradient == pytest.approx((np.array(heights[::2]) - heights[1::2]) / 2e-5, abs=1e-4)
