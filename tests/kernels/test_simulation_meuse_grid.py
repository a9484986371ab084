"""Areal means, shares and back-transformed means of draws over the 3,103 cells of the Meuse grid.

Points and grid: R sp (Pebesma & Bivand 2005; GPL, at test time only, see tests/reference_data.py). Numbers of
geostatistics 7 were computed apart from the full covariance matrix of the cells (numpy), formula and 4,000 draws
through its Cholesky factor (Davis 1987, Mathematical Geology 19:91-98). The nugget is left out on both sides.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from geoprofile.kernels.areal import error_covariance
from geoprofile.kernels.covariance import Model
from geoprofile.kernels.kriging import predict_points, solve
from geoprofile.kernels.simulation import Lattice, error_fields

DRAWS, THEIRS = 1000, 4000
FOUR_ERRORS = 4 * np.sqrt(1 / DRAWS + 1 / THEIRS)
"""Four standard errors of the difference of two means of draws, per standard deviation."""
LOG_500 = np.log(500.0)


@pytest.fixture(scope="module")
def land(reference_table):
    """Estimate (3103,) of log zinc, variance of its error, and draws (3103, DRAWS) of what the land may be."""
    pits, grid = reference_table("meuse.rda", "meuse"), reference_table("meuse.grid.rda", "meuse.grid")
    system = solve(
        pits[["x", "y"]].to_numpy(float),
        np.log(pits["zinc"].to_numpy(float)),
        Model("spherical", 0.05066, 0.59060, 897.02),
    )
    cells = grid[["x", "y"]].to_numpy(float)
    estimate = predict_points(system, cells)[0]
    west, north = cells[:, 0].min(), cells[:, 1].max()
    column, row = ((cells - [west, north]) * [1, -1] / 40).round().astype(int).T
    lattice = Lattice(west, north, 40.0, row.max() + 1, column.max() + 1)
    drawn = np.concatenate(list(error_fields(system, lattice, row, column, DRAWS, np.random.default_rng(7))), axis=1)
    drawn += estimate[:, None]
    return estimate, np.diag(error_covariance(system, cells)), drawn


def test_the_areal_mean_of_draws_has_the_exact_mean_and_variance(land):
    estimate, _, drawn = land
    mean = drawn.mean(axis=0)
    exact = 0.0017447644187725
    assert estimate.mean() == pytest.approx(5.707228420477, abs=1e-11)
    assert mean.mean() == pytest.approx(5.707228420477, abs=4 * np.sqrt(exact / DRAWS))
    assert mean.mean() == pytest.approx(5.708403843, abs=FOUR_ERRORS * np.sqrt(exact))
    assert mean.var() == pytest.approx(exact, rel=4 * np.sqrt(2 / DRAWS))
    assert mean.var() == pytest.approx(0.0016784871670, rel=FOUR_ERRORS * np.sqrt(2))


def test_the_share_above_500_is_the_mean_of_probabilities_which_a_smooth_map_has_too_little_of(land):
    estimate, variance, drawn = land
    owed = ndtr((estimate - LOG_500) / np.sqrt(variance)).mean()
    assert owed == pytest.approx(0.2436827036904621, abs=1e-12)
    assert (estimate > LOG_500).mean() == pytest.approx(0.22881082823, abs=1e-11)
    share = (drawn > LOG_500).mean(axis=0)
    assert share.mean() == pytest.approx(0.2436827037, abs=4 * 0.0202 / np.sqrt(DRAWS))
    assert share.mean() == pytest.approx(0.2439058170, abs=FOUR_ERRORS * 0.0202)
    assert share.std() == pytest.approx(0.0202018787, rel=FOUR_ERRORS / np.sqrt(2))


def test_the_mean_of_zinc_itself_and_its_90_percent_limits(land):
    estimate, variance, drawn = land
    assert np.exp(estimate + variance / 2).mean() == pytest.approx(386.27023581449, abs=1e-9)
    zinc = np.exp(drawn).mean(axis=0)
    assert zinc.mean() == pytest.approx(386.27023581, abs=4 * 17.08 / np.sqrt(DRAWS))
    assert zinc.mean() == pytest.approx(386.5117347, abs=FOUR_ERRORS * 17.08)
    assert zinc.std() == pytest.approx(17.0781880743, rel=FOUR_ERRORS / np.sqrt(2))
    # standard error of a 5 % quantile: 2.1 standard deviations over the root of the draws
    assert np.quantile(zinc, [0.05, 0.95]) == pytest.approx([360.0158602901, 416.0095], abs=2.1 * FOUR_ERRORS * 17.08)
