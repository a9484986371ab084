"""Scores against published pairs and small sums done by hand."""

import numpy as np
import pytest

from geoprofile.kernels.scores import concordance, coverage, efficiency, mean_error, root_mean_square_error
from geoprofile.kernels.scores import standardised_squared_deviations as deviations

OBSERVED = np.array([10.0, 20, 30, 40, 50])
PREDICTED = np.array([12.0, 18, 33, 37, 55])


def test_five_pairs_by_hand():
    assert mean_error(PREDICTED, OBSERVED) == pytest.approx(1.0), "positive is too deep"
    assert root_mean_square_error(PREDICTED, OBSERVED) == pytest.approx(3.193744, abs=1e-6)
    assert efficiency(PREDICTED, OBSERVED) == pytest.approx(0.949)
    assert concordance(PREDICTED, OBSERVED) == pytest.approx(0.976290, abs=1e-6)


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
    assert concordance(one, two) == pytest.approx(0.942742, abs=1e-6)


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
