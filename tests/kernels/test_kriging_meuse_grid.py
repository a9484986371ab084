"""Kriging of log zinc over the whole Meuse floodplain: the 3,103 cells of the published grid.

Points and grid come with Debian's package of R sp (Pebesma & Bivand 2005; GPL, so at test time only, see
tests/reference_data.py). Check numbers: R gstat 2.1-0 (Pebesma 2004), geostatistics 2.1 and 3.3.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from geoprofile.kernels.areal import areal_mean_variance, mean_variance_of_cells
from geoprofile.kernels.covariance import Model
from geoprofile.kernels.kriging import predict_grid, predict_points, solve
from geoprofile.kernels.neighbours import predict_near

SPHERICAL = Model("spherical", 0.05066, 0.59060, 897.02)
RIVER = Model("exponential", 0.05712, 0.17642, 340.32)
SIDE = 40.0
# rows of the grid, from 1 on: x, y, estimate and variance
ROWS = {
    1: (181180, 333740, 6.49962452393, 0.319802054408), 300: (180940, 332900, 5.48204636401, 0.125958126716),
    700: (180860, 332220, 5.31167130356, 0.240983597876), 1000: (179660, 331860, 5.56738833537, 0.163986794108),
    1300: (180580, 331540, 4.95916379913, 0.270026278786), 1500: (180260, 331300, 4.95847780306, 0.191493454956),
    1800: (179020, 330940, 6.93406457865, 0.117179263499), 2200: (179700, 330580, 5.31158841728, 0.182310371377),
    2600: (179300, 330260, 5.15701801476, 0.165695540448), 3103: (179220, 329620, 6.42416255659, 0.236774408614),
}  # fmt: skip


@pytest.fixture(scope="module")
def meuse(reference_table):
    """Points, values, root of the distance to the river at points and cells; cells; the solved system and what it gives
    at the cells."""
    pits, grid = reference_table("meuse.rda", "meuse"), reference_table("meuse.grid.rda", "meuse.grid")
    points, values, cells = (
        pits[["x", "y"]].to_numpy(float),
        np.log(pits["zinc"].to_numpy(float)),
        grid[["x", "y"]].to_numpy(float),
    )
    system = solve(points, values, SPHERICAL)
    estimate, variance = predict_points(system, cells)
    return SimpleNamespace(
        points=points, values=values, at_points=np.sqrt(pits[["dist"]].to_numpy(float)), cells=cells,
        at_cells=np.sqrt(grid[["dist"]].to_numpy(float)), grid=grid, system=system, estimate=estimate, variance=variance,
    )  # fmt: skip


def test_ten_rows_of_the_grid_and_all_3103_cells(meuse):
    rows = np.array(list(ROWS)) - 1
    owed = np.array(list(ROWS.values()))
    assert len(meuse.cells) == 3103 and (meuse.cells[rows] == owed[:, :2]).all()
    assert meuse.estimate[rows] == pytest.approx(owed[:, 2], abs=1e-10)
    assert meuse.variance[rows] == pytest.approx(owed[:, 3], abs=1e-11)
    found = meuse.estimate.mean(), meuse.estimate.min(), meuse.estimate.max(), meuse.estimate.std(ddof=1)
    assert found == pytest.approx((5.70722842, 4.776553318, 7.439993791, 0.5870292903), abs=6e-9)
    found = meuse.variance.mean(), meuse.variance.min(), meuse.variance.max()
    assert found == pytest.approx((0.1853272698, 0.08549146936, 0.5002672205), abs=6e-11)
    assert meuse.variance.argmax() + 1 == 1031


def test_the_raster_is_the_same_as_cell_by_cell(meuse):
    """Tiles, with most of the rectangle not wanted, against points one by one."""
    x, y = np.unique(meuse.cells[:, 0]), np.unique(meuse.cells[:, 1])[::-1]
    column, row = np.searchsorted(x, meuse.cells[:, 0]), np.searchsorted(-y, -meuse.cells[:, 1])
    wanted = np.zeros((len(y), len(x)), bool)
    wanted[row, column] = True
    found = predict_grid(meuse.system, x, y, wanted=wanted)
    assert found[0][row, column] == pytest.approx(meuse.estimate, abs=1e-11)
    assert found[1][row, column] == pytest.approx(meuse.variance, abs=1e-11)
    assert found[0][wanted].mean() == pytest.approx(5.70722842, abs=6e-9)


def test_a_drift_on_the_root_of_the_distance_to_the_river(meuse):
    system = solve(meuse.points, meuse.values, RIVER, meuse.at_points)
    estimate, variance = predict_points(system, meuse.cells, meuse.at_cells)
    assert (estimate.mean(), estimate.min(), estimate.max()) == pytest.approx(
        (5.701561084, 4.501914152, 7.527171112), abs=6e-10
    )
    assert estimate.std(ddof=1) == pytest.approx(0.6302499425, abs=6e-11)
    assert (variance.mean(), variance.min(), variance.max()) == pytest.approx(
        (0.1281711658, 0.08303582711, 0.2178299589), abs=6e-11
    )
    # with the grid's own distances, which are rounded where cells are printed
    assert estimate[[0, 299]] == pytest.approx([7.04125109045, 5.51853023063], abs=1e-10)
    assert variance[[0, 299]] == pytest.approx([0.177545218532, 0.104686925991], abs=1e-11)


@pytest.mark.shared
def test_the_drift_at_all_ten_rows(meuse, shared):
    table = pd.read_csv(shared / "reference/numbers/meuse_10points.csv")
    rows = table["row"].to_numpy() - 1
    system = solve(meuse.points, meuse.values, RIVER, meuse.at_points)
    estimate, variance = predict_points(system, meuse.cells[rows], meuse.at_cells[rows])
    assert estimate == pytest.approx(table["uk_sqrtdist_exp_pred"].to_numpy(), abs=1e-10)
    assert variance == pytest.approx(table["uk_sqrtdist_exp_var"].to_numpy(), abs=1e-11)


@pytest.mark.parametrize(
    "part, count, mean, variance",
    [
        (None, 3103, 5.707228411, 0.001744758696),
        ("part.a", 1237, 5.658931239, 0.003823734903),
        ("part.b", 1866, 5.739245379, 0.002850196597),
    ],
)
def test_blocks_of_all_cells_and_of_two_parts_leave_the_nugget_out(meuse, part, count, mean, variance):
    """The last digits are gstat's own rounding: its mean of all cells, 5.707228411, is 9e-9 from the mean of its own
    3103 estimates, 5.707228420, which it must equal. The variance from the full matrix, computed apart, is
    .0017447644187725."""
    own = np.ones(3103, bool) if part is None else meuse.grid[part].to_numpy() == 1
    assert own.sum() == count
    weight = np.ones(count)
    assert meuse.estimate[own].mean() == pytest.approx(mean, abs=2e-8)
    found = areal_mean_variance(meuse.system, meuse.cells[own], weight)
    assert found == pytest.approx(variance, abs=1e-8)
    west, north = meuse.cells[:, 0].min(), meuse.cells[:, 1].max()
    column, row = ((meuse.cells[own] - [west, north]) * [1, -1] / SIDE).round().astype(int).T
    assert mean_variance_of_cells(meuse.system, row, column, weight, west, north, SIDE) == pytest.approx(
        found, abs=1e-14
    )
    if part is None:
        assert found == pytest.approx(0.0017447644187725479, abs=1e-14)
        # with the nugget on the diagonal it would be 0.05066 / 3103 more, which gstat's is not
        assert found + 0.05066 / 3103 == pytest.approx(0.00176109, abs=6e-9)


@pytest.mark.parametrize(
    "most, largest, typical, inflated",
    [(8, 0.535, 0.085, 3.3), (12, 0.420, 0.073, 2.5), (20, 0.439, 0.068, 2.0), (30, 0.360, 0.060, 1.6), (50, 0.161, 0.029, 0.7),
     (100, 0.096, 0.012, 0.1)],
)  # fmt: skip
def test_K18_what_few_near_pits_lose_against_all_of_them(meuse, most, largest, typical, inflated):
    """Largest and root mean square difference of the estimate, and by how many percent the mean variance grows
    (3.3)."""
    estimate, variance = predict_near(meuse.system, meuse.cells, most=most)
    away = estimate - meuse.estimate
    assert (np.abs(away).max(), np.sqrt(np.mean(away**2))) == pytest.approx((largest, typical), abs=6e-4)
    assert 100 * (variance.mean() / meuse.variance.mean() - 1) == pytest.approx(inflated, abs=0.06)
