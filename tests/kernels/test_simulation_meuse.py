"""Simulation on the Meuse points against the formula (geostatistics 7: what the points alone allow).

A grid of our own over the points, and the blocks of the ten published cells (R gstat 2.1-0). The published
grid of 3103 cells has tests of its own in test_simulation_meuse_grid.py and test_kriging_meuse_grid.py.
"""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pandas as pd
import pytest
from scipy.special import ndtr

from geoprofile.kernels.areal import areal_mean_variance, error_covariance, mean_variance_of_cells
from geoprofile.kernels.covariance import Model
from geoprofile.kernels.kriging import predict_points, solve
from geoprofile.kernels.simulation import Lattice, error_fields

MODEL = Model("spherical", 0.05066, 0.59060, 897.02)
# row of the grid, x, y, mean and variance of blocks of 40 m (4 x 4 points) and 200 m (10 x 10 points)
BLOCKS = [
    (181180, 333740, 6.49918807745, 0.249831824706, 6.48838393601, 0.180804322405),
    (180940, 332900, 5.48408451179, 0.0580744360938, 5.53584420697, 0.0302275846009),
]


@pytest.fixture(scope="module")
def system():
    pytest.importorskip("skgstat")
    table = pd.read_csv(files("skgstat") / "data/samples/meuse.txt")
    return solve(table[["x", "y"]].to_numpy(float), np.log(table["zinc"].to_numpy(float)), MODEL)


@pytest.mark.parametrize("block", BLOCKS, ids=lambda block: str(block[0]))
def test_blocks_have_the_mean_and_variance_of_gstat_which_leaves_the_nugget_out(system, block):
    x, y, mean40, variance40, mean200, variance200 = block
    for side, count, mean, variance in ((40, 4, mean40, variance40), (200, 10, mean200, variance200)):
        step = side / count
        along = (np.arange(count) + 0.5) * step - side / 2
        points = np.column_stack([np.tile(x + along, count), np.repeat(y - along, count)])
        # 1e-8 is how far the two programs' rounding takes blocks of 100 points apart
        assert predict_points(system, points)[0].mean() == pytest.approx(mean, abs=2e-8)
        assert areal_mean_variance(system, points, np.ones(count**2)) == pytest.approx(variance, abs=2e-8)
        row, column = np.divmod(np.arange(count**2), count)
        found = mean_variance_of_cells(
            system, row, column, np.ones(count**2), x + along[0], y - along[0], step
        )  # fmt: skip
        assert found == pytest.approx(variance, abs=2e-8)


def test_areal_means_shares_and_back_transformed_means_of_draws_agree_with_their_formulas(system):
    lattice = Lattice(178_700.0, 333_400.0, 80.0, 45, 30)
    row, column = np.divmod(np.arange(45 * 30), 30)
    nodes = lattice.nodes(row, column)
    near = ((nodes[:, None] - system.points[None]) ** 2).sum(axis=2).min(axis=1) < 200**2
    row, column, nodes = row[near], column[near], nodes[near]
    estimate = predict_points(system._replace(nugget_is_error=True), nodes)[0]
    covariance = error_covariance(system, nodes)
    rng = np.random.default_rng(1)
    fields = np.concatenate([estimate[:, None] + part for part in error_fields(system, lattice, row, column, 2000, rng)], axis=1)
    mean = fields.mean(axis=0)
    exact = mean_variance_of_cells(system, row, column, np.ones(len(row)), lattice.west, lattice.north, 80.0)
    assert exact == pytest.approx(covariance.mean(), rel=1e-9)
    assert mean.mean() == pytest.approx(estimate.mean(), abs=4 * np.sqrt(exact / 2000))
    assert mean.var() == pytest.approx(exact, rel=4 * np.sqrt(2 / 2000))
    # share above 500: the mean of the probabilities, which the share of the smooth map is not
    variance = np.diag(covariance)
    share = (fields > np.log(500)).mean(axis=0)
    owed = ndtr((estimate - np.log(500)) / np.sqrt(variance)).mean()
    assert share.mean() == pytest.approx(owed, abs=4 * share.std() / np.sqrt(2000))
    assert (estimate > np.log(500)).mean() < owed, "the kriged map has too little of what is rare"
    zinc = np.exp(fields).mean(axis=0)
    assert zinc.mean() == pytest.approx(np.exp(estimate + variance / 2).mean(), abs=4 * zinc.std() / np.sqrt(2000))
