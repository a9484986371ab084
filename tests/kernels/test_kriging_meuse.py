"""Kriging of log zinc on the Meuse floodplain against R gstat 2.1-0 (Pebesma 2004).

The points come with scikit-gstat (test only); single check numbers were computed with gstat.
"""

from importlib.resources import files

import numpy as np
import pandas as pd
import pytest

from geoprofile.kernels.covariance import Model
from geoprofile.kernels.kriging import leave_one_out, predict_points, solve
from geoprofile.kernels.scores import all_scores
from geoprofile.kernels.variogram import sample_variogram

SPHERICAL = Model("spherical", 0.05066, 0.59060, 897.02)
# ten cells of the grid: x, y, estimate, variance
CELLS = np.array(
    [
        [181180, 333740, 6.49962452393, 0.319802054408],
        [180940, 332900, 5.48204636401, 0.125958126716],
        [180860, 332220, 5.31167130356, 0.240983597876],
        [179660, 331860, 5.56738833537, 0.163986794108],
        [180580, 331540, 4.95916379913, 0.270026278786],
        [180260, 331300, 4.95847780306, 0.191493454956],
        [179020, 330940, 6.93406457865, 0.117179263499],
        [179700, 330580, 5.31158841728, 0.182310371377],
        [179300, 330260, 5.15701801476, 0.165695540448],
        [179220, 329620, 6.42416255659, 0.236774408614],
    ]
)


@pytest.fixture(scope="module")
def meuse():
    pytest.importorskip("skgstat")
    table = pd.read_csv(files("skgstat") / "data/samples/meuse.txt")
    return table.assign(log_zinc=np.log(table["zinc"]))


@pytest.fixture(scope="module")
def points(meuse):
    return meuse[["x", "y"]].to_numpy(float)


def test_the_points_are_those_of_the_package_that_published_them(meuse, points, reference_table):
    """R sp (Pebesma & Bivand 2005): see tests/reference_data.py."""
    published = reference_table("meuse.rda", "meuse")
    for name in ("x", "y", "zinc", "dist"):
        assert meuse[name].to_numpy(float) == pytest.approx(published[name].to_numpy(float), rel=1e-7), name


def test_the_default_sample_variogram_of_gstat(meuse, points):
    """K5: pairs beyond the longest distance, a third of the bounding box's diagonal, are in no bin."""
    longest = np.hypot(*np.ptp(points, axis=0)) / 3
    found = sample_variogram(points, meuse["log_zinc"].to_numpy(), longest)
    assert list(found.pairs) == [57, 299, 419, 457, 547, 533, 574, 564, 589, 543, 500, 477, 452, 457, 415]
    gamma = [0.1234479, 0.2162185, 0.3027859, 0.4121448, 0.4634128, 0.5646933, 0.5689683, 0.6186769, 0.6471479,
             0.6915705, 0.7033984, 0.6038770, 0.6517158, 0.5665318, 0.5748227]  # fmt: skip
    assert found.semivariance == pytest.approx(gamma, abs=6e-8)
    assert found.distance[[0, 1, 2, -1]] == pytest.approx([79.29244, 163.97367, 267.36483, 1543.20248], abs=6e-6)
    pairs = len(points) * (len(points) - 1) // 2
    assert found.pairs.sum() < pairs, "most pairs lie beyond"


def test_ordinary_kriging_at_ten_cells(meuse, points):
    estimate, variance = predict_points(solve(points, meuse["log_zinc"].to_numpy(), SPHERICAL), CELLS[:, :2])
    assert estimate == pytest.approx(CELLS[:, 2], abs=1e-10)
    assert variance == pytest.approx(CELLS[:, 3], abs=1e-11)


@pytest.mark.parametrize(
    "model, estimate, variance",
    [
        (Model("exponential", 0.05, 0.6, 300.0), 6.40392063746, 0.446389939369),
        (Model("gaussian", 0.05, 0.6, 400.0), 6.62936503286, 0.196112685441),
        (Model("matern", 0.05, 0.6, 200.0), 6.56469637628, 0.270615867527),
    ],
)
def test_other_models_at_the_first_cell(meuse, points, model, estimate, variance):
    found = predict_points(solve(points, meuse["log_zinc"].to_numpy(), model), CELLS[:1, :2])
    assert (found[0][0], found[1][0]) == (pytest.approx(estimate, abs=1e-9), pytest.approx(variance, abs=1e-9))


def test_a_nugget_taken_as_measurement_error(meuse, points):
    """K8: at the data the estimate is smoothed and the variance is not zero."""
    system = solve(points, meuse["log_zinc"].to_numpy(), SPHERICAL, nugget_is_error=True)
    estimate, variance = predict_points(system, points[:3])
    assert estimate == pytest.approx([6.884402898, 6.960953038, 6.415782377], abs=1e-9)
    assert variance == pytest.approx([0.03648723, 0.03605762, 0.03662374], abs=6e-9)


def test_the_generalised_least_squares_mean_and_the_coefficients_of_a_drift(meuse, points):
    values = meuse["log_zinc"].to_numpy()
    mean = solve(points, values, SPHERICAL)
    assert mean.coefficients[0] == pytest.approx(6.053546485, abs=1e-9)
    assert mean.coefficient_covariance[0, 0] == pytest.approx(0.03981880692, abs=1e-10)
    drift = solve(points, values, Model("exponential", 0.05712, 0.17642, 340.32), np.sqrt(meuse[["dist"]].to_numpy()))
    assert drift.coefficients == pytest.approx([6.98598921, -2.55184587], abs=1e-6)
    assert drift.coefficient_covariance == pytest.approx(
        np.array([[0.02507901, -0.02788500], [-0.02788500, 0.07302424]]), abs=1e-7
    )


def test_kriging_with_a_drift_on_the_distance_to_the_river(meuse, points):
    drift = solve(
        points, meuse["log_zinc"].to_numpy(), Model("exponential", 0.05712, 0.17642, 340.32), np.sqrt(meuse[["dist"]].to_numpy())
    )
    estimate, variance = predict_points(drift, CELLS[:2, :2], np.sqrt([[0.0], [0.211843]]))
    assert estimate == pytest.approx([7.04125109045, 5.51853023063], abs=1e-6)
    assert variance == pytest.approx([0.177545218532, 0.104686925991], abs=1e-6)


def test_leave_one_out_scores(meuse, points):
    observed = meuse["log_zinc"].to_numpy()
    predicted, variance = leave_one_out(solve(points, observed, SPHERICAL))
    half = 1.6448536269514722 * np.sqrt(variance)
    scores = all_scores(predicted, variance, predicted - half, predicted + half, observed)
    assert scores["mean error"] == pytest.approx(0.0000207, abs=6e-8)  # gstat prints observed minus predicted
    assert scores["root mean square error"] == pytest.approx(0.39180329, abs=6e-9)
    assert scores["efficiency"] == pytest.approx(0.70350605, abs=6e-9)
    assert scores["mean standardised squared deviation"] == pytest.approx(0.81856528, abs=6e-9)
    assert scores["median standardised squared deviation"] == pytest.approx(0.22044836, abs=6e-9)
    assert scores["coverage of the 90 % interval"] == pytest.approx(0.922581, abs=6e-7)
    drift = solve(points, observed, Model("exponential", 0.05712, 0.17642, 340.32), np.sqrt(meuse[["dist"]].to_numpy()))
    predicted, variance = leave_one_out(drift)
    assert np.sqrt(np.mean((predicted - observed) ** 2)) == pytest.approx(0.37765094, abs=1e-7)
    assert np.mean((predicted - observed) ** 2 / variance) == pytest.approx(1.08213271, abs=1e-6)
