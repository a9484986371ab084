"""Scores against published pairs and small sums done by hand."""

import numpy as np
import pytest

from geoprofile.kernels.scores import (
    BOUNDED_MEASURES,
    bounded_scores,
    concordance,
    coverage,
    coverage_band,
    deviation_band,
    efficiency,
    mean_error,
    ranked_probability,
    root_mean_square_error,
    surprise,
)
from geoprofile.kernels.scores import standardised_squared_deviations as deviations

OBSERVED = np.array([10.0, 20, 30, 40, 50])
PREDICTED = np.array([12.0, 18, 33, 37, 55])


def test_five_pairs_by_hand():
    assert mean_error(PREDICTED, OBSERVED) == pytest.approx(1.0), "positive is too deep"
    assert root_mean_square_error(PREDICTED, OBSERVED) == pytest.approx(3.193744, abs=1e-6)
    assert efficiency(PREDICTED, OBSERVED) == pytest.approx(0.949)
    assert concordance(PREDICTED, OBSERVED) == pytest.approx(0.976290, abs=1e-6)
    # with divisors n - 1 it would be 0.976744
    both = np.cov(PREDICTED, OBSERVED)
    assert 2 * both[0, 1] / (both[0, 0] + both[1, 1] + 1.0) == pytest.approx(0.976744, abs=1e-6)
    # squared correlation, .962042, is the efficiency of the best line through the predictions, and more than that of the predictions
    line = np.polyval(np.polyfit(PREDICTED, OBSERVED, 1), PREDICTED)
    assert efficiency(line, OBSERVED) == pytest.approx(0.962042, abs=1e-6)


def test_a_perfect_line_off_the_diagonal_is_not_a_good_prediction():
    shrunk = OBSERVED / 2 + 3
    assert np.corrcoef(shrunk, OBSERVED)[0, 1] == pytest.approx(1.0)
    assert efficiency(shrunk, OBSERVED) == pytest.approx(0.03)
    assert concordance(shrunk, OBSERVED) == pytest.approx(0.507614, abs=1e-6)
    assert root_mean_square_error(shrunk, OBSERVED) == pytest.approx(13.928388, abs=1e-6)


def test_the_two_flow_meters_of_bland_and_altman_1986():
    """Pairs from memory; their published mean difference -2.1 and spread 38.8 are met. Concordance as computed elsewhere."""
    one = np.array([494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427.0])
    two = np.array([512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451.0])
    assert (one - two).mean() == pytest.approx(-2.1, abs=0.05) and (one - two).std(ddof=1) == pytest.approx(38.8, abs=0.05)
    assert (one - two).mean() == pytest.approx(-2.1176, abs=5e-5) and (one - two).std(ddof=1) == pytest.approx(38.7651, abs=5e-5)
    assert concordance(one, two) == pytest.approx(0.942742, abs=1e-6)
    # with divisors n - 1 it would be 0.942752: Lin 1989 and we divide by n
    both = np.cov(one, two)
    assert 2 * both[0, 1] / (both[0, 0] + both[1, 1] + (one - two).mean() ** 2) == pytest.approx(0.942752, abs=1e-6)


def test_an_interval_holds_its_own_ends():
    assert coverage(OBSERVED - 1, OBSERVED, OBSERVED) == 1.0
    assert coverage(OBSERVED + 1, OBSERVED + 2, OBSERVED) == 0.0


def test_standardised_deviations_of_right_variances_have_mean_one_and_median_0_455():
    """Chi-square with one degree of freedom (Lark 2000)."""
    errors = np.random.default_rng(1).normal(0, 3, 20_000)
    found = deviations(errors, np.full(20_000, 9.0), np.zeros(20_000))
    assert found.mean() == pytest.approx(1.0, abs=0.04)
    assert np.median(found) == pytest.approx(0.454936, abs=0.02)


def test_values_that_are_all_the_same_have_no_efficiency():
    """K3."""
    assert np.isnan(efficiency(PREDICTED, np.full(5, 7.0)))


def normal_score(z, s=1.0):
    """The closed form of Gneiting et al. 2005 (MWR 133:1098-1118)."""
    from scipy.stats import norm

    return s * (z * (2 * norm.cdf(z) - 1) + 2 * norm.pdf(z) - 1 / np.sqrt(np.pi))


def test_the_ranked_probability_score_of_a_normal_prediction():
    observed = np.array([-3.0, 0.0, 0.4, 12.0])
    ones = np.ones(4)
    found = ranked_probability(2.0 * ones, 1.5 * ones, 1.5 * ones, observed, observed)
    assert found == pytest.approx(normal_score((observed - 2) / 1.5, 1.5), abs=1e-12)


def by_sums(middle, below, above, low, high):
    """The definition: the squared difference of two distribution functions, summed on a fine line."""
    from scipy.stats import norm

    x = np.linspace(middle - 40, middle + 40, 400_001)
    share = norm.cdf((x - middle) / np.where(x < middle, below, above))
    return np.trapezoid(np.where(x < low, share**2, np.where(x > high, (1 - share) ** 2, 0.0)), x)


@pytest.mark.parametrize("low, high", [(3.0, 3.0), (6.5, 6.5), (4.0, np.inf), (9.0, np.inf), (-np.inf, 2.0), (3.0, 6.0)])
def test_uneven_halves_and_bounds_score_as_their_definition_says(low, high):
    found = ranked_probability(*(np.array([value]) for value in (5.0, 1.0, 2.5, low, high)))[0]
    assert found == pytest.approx(by_sums(5.0, 1.0, 2.5, low, high), abs=1e-3)


def test_a_bound_that_says_nothing_costs_nothing_and_a_kept_one_hardly_anything():
    one = np.ones(1)
    assert ranked_probability(50 * one, 5 * one, 5 * one, -np.inf * one, np.inf * one)[0] == 0
    assert surprise(50 * one, 5 * one, 5 * one, -np.inf * one, np.inf * one)[0] == 0
    assert ranked_probability(50 * one, 5 * one, 5 * one, 10 * one, np.inf * one)[0] < 1e-9


def test_the_log_score_of_a_bound_is_the_probability_it_was_given():
    """The site of geostat's case A: N(76.62772375, 286.24269203) holds 'more than 100' with .0835709872 (computed there)."""
    one = np.ones(1)
    s = np.sqrt(286.24269203) * one
    assert surprise(76.62772375 * one, s, s, 100 * one, np.inf * one)[0] == pytest.approx(-np.log(0.0835709872), abs=1e-8)
    assert surprise(0 * one, one, one, np.array([-1.0]), one)[0] == pytest.approx(-np.log(0.6826894921), abs=1e-9)
    far = surprise(0 * one, one, one, 40 * one, 41 * one)[0]
    assert 800 < far < 820, "far in the tail it is large and finite"


def test_bounded_pits_are_scored_by_what_they_say():
    """Never an error against the limit: at least 60 is kept by 75 and by 500 alike."""
    low, high = np.array([60.0, 60.0, -np.inf, 40.0]), np.array([np.inf, np.inf, 20.0, 60.0])
    estimate = np.array([75.0, 50.0, 30.0, 50.0])
    found = bounded_scores(estimate, estimate - 5, estimate + 5, low, high)
    assert found["bounds contradicted by the estimate"] == 0.5 and found["bounds contradicted by the 90 % interval"] == 0.5
    wide = bounded_scores(estimate, estimate - 12, estimate + 12, low, high)
    assert wide["bounds contradicted by the 90 % interval"] == 0
    assert 0 < wide["bounds: log score"] < found["bounds: log score"]
    assert set(found) == set(BOUNDED_MEASURES)


def test_bands_that_right_variances_keep_to():
    """155 pits: mean standardised squared deviation .790 to 1.235 (chi-square); standard error of a 90 % coverage."""
    assert deviation_band(155) == pytest.approx((0.790, 1.235), abs=1e-3)
    low, high = coverage_band(155)
    assert (high - low) / 2 / 1.959964 == pytest.approx(np.sqrt(0.9 * 0.1 / 155))


def test_concordance_is_correlation_times_bias_factor():
    """Lin 1989, Biometrics 45:255-268: factor .999431, scale shift 1.028268, location shift -.019030 (computed elsewhere)."""
    one = np.array([494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427.0])
    two = np.array([512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451.0])
    r = np.corrcoef(one, two)[0, 1]
    scale, shift = one.std() / two.std(), (one.mean() - two.mean()) / np.sqrt(one.std() * two.std())
    assert (r, scale, shift) == pytest.approx((0.943279, 1.028268, -0.019030), abs=1e-5)
    factor = 2 / (scale + 1 / scale + shift**2)
    assert factor == pytest.approx(0.999431, abs=1e-6) and concordance(one, two) == pytest.approx(r * factor)


def test_what_cannot_be_is_heaped_at_the_limit_before_it_is_scored():
    """max(0, W): the definition summed from 0 on."""
    from scipy.stats import norm

    x = np.linspace(0, 60, 600_001)
    share = norm.cdf((x - 3) / 5)
    for observed in (0.0, 8.0):
        wanted = np.trapezoid((share - (x >= observed)) ** 2, x)
        found = ranked_probability(*(np.array([value]) for value in (3.0, 5.0, 5.0, observed, observed)), least=0.0)[0]
        assert found == pytest.approx(wanted, abs=1e-4)
