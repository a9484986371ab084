"""Variance of a mean over an area: all pairs of cells, never an average of variances."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.kernels.areal import areal_mean_variance, error_covariance, thinned, widest_limits
from geoprofile.kernels.covariance import Model, covariance, squared_distances
from geoprofile.kernels.kriging import predict_points, solve

# Seven samples of V (Isaaks & Srivastava 1989, chapter 12), C(h) = 10 exp(-0.3 h), and a block of four points; the
# block's numbers were recomputed independently for this project.
XY = np.array([[61, 139], [63, 140], [64, 129], [68, 128], [71, 140], [73, 141], [75, 128]], float)
V = np.array([477, 696, 227, 646, 606, 791, 783], float)
BLOCK = np.array([[66, 134], [66, 136], [68, 134], [68, 136]], float)


def test_the_block_of_four_points_of_the_seven_samples():
    system = solve(XY, V, Model("exponential", 0.0, 10.0, 1 / 0.3))
    estimate, variance = predict_points(system, BLOCK)
    assert estimate == pytest.approx([550.95269, 582.68338, 582.23946, 596.30458], abs=1e-4)
    assert estimate.mean() == pytest.approx(578.0450267)
    assert areal_mean_variance(system, BLOCK, np.ones(4)) == pytest.approx(6.181229058)
    assert areal_mean_variance(system, BLOCK, np.ones(4)) < variance.mean()


def test_without_a_nugget_the_diagonal_is_the_kriging_variance():
    system = solve(XY, V, Model("exponential", 0.0, 10.0, 1 / 0.3))
    assert np.diag(error_covariance(system, BLOCK)) == pytest.approx(predict_points(system, BLOCK)[1])


def test_simulated_fields_have_that_error_of_the_mean():
    # an independent check: draw whole fields, krige the pits, look at how wrong the mean was
    rng = np.random.default_rng(7)
    pits, cells = rng.uniform(0, 100, (15, 2)), rng.uniform(0, 60, (40, 2))
    model = Model("spherical", 2.0, 8.0, 50.0)
    both = np.vstack([pits, cells])
    latent = covariance(model._replace(nugget=0.0), np.sqrt(squared_distances(both, both)))
    fields = np.linalg.cholesky(latent + 1e-9 * np.eye(55)) @ rng.standard_normal((55, 4000))
    noisy = fields[:15] + np.sqrt(2.0) * rng.standard_normal((15, 4000))
    system = solve(pits, noisy[:, 0], model)
    from geoprofile.kernels.kriging import weights

    error = (weights(system, cells).T @ noisy).mean(axis=0) - fields[15:].mean(axis=0)
    # standard error of a variance from 4000 draws: 2.2 %
    assert areal_mean_variance(system, cells, np.ones(40)) == pytest.approx(error.var(), rel=0.08)


def test_a_model_of_nothing_but_a_nugget_gives_the_variance_of_a_plain_mean():
    system = solve(XY, V, Model("spherical", 25.0, 0.0, 1.0))
    assert areal_mean_variance(system, BLOCK, np.ones(4)) == pytest.approx(25 / 7)


def test_the_widest_limits_contain_those_of_the_model():
    system = solve(XY, V, Model("exponential", 0.0, 10.0, 1 / 0.3))
    estimate, variance = predict_points(system, BLOCK)
    half = 1.645 * np.sqrt(variance)
    low, high = widest_limits(estimate - half, estimate + half, np.ones(4))
    own = 1.645 * areal_mean_variance(system, BLOCK, np.ones(4)) ** 0.5
    assert low < estimate.mean() - own and high > estimate.mean() + own


def test_thinning_keeps_order_ends_and_few():
    assert thinned(5, 10).tolist() == [0, 1, 2, 3, 4]
    some = thinned(1000, 10)
    assert len(some) == 10 and some.tolist() == [50 + 100 * n for n in range(10)]
