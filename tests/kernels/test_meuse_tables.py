"""Whole tables of check numbers on the Meuse points: every cell, every pit, every bin (R gstat 2.1-0, Pebesma 2004).

Columns that name a method we do not offer (simple kriging with a known mean, nested models, variograms by
direction) are not held. The tables lie beside the project and never ship; the points come with scikit-gstat.
"""

from importlib.resources import files

import numpy as np
import pandas as pd
import pytest

from geoprofile.kernels.areal import areal_mean_variance
from geoprofile.kernels.covariance import Model
from geoprofile.kernels.expectation_propagation import posterior_covariance, propagate
from geoprofile.kernels.kriging import leave_one_out, predict_points, solve
from geoprofile.kernels.limited_likelihood import given_measured
from geoprofile.kernels.neighbours import predict_near
from geoprofile.kernels.variogram import sample_variogram

SPHERICAL = Model("spherical", 0.05066, 0.59060, 897.02)
RIVER = Model("exponential", 0.05712, 0.17642, 340.32)
OTHERS = {
    "ok": SPHERICAL,
    "ok_exp300": Model("exponential", 0.05, 0.6, 300.0),
    "ok_gau": Model("gaussian", 0.05, 0.6, 400.0),
    "ok_mat15": Model("matern", 0.05, 0.6, 200.0),
    "ok_aniso30_0.5": Model("spherical", 0.05, 0.6, 1200.0, 30.0, 0.5),
}


@pytest.fixture(scope="module")
def meuse():
    pytest.importorskip("skgstat")
    table = pd.read_csv(files("skgstat") / "data/samples/meuse.txt")
    return table[["x", "y"]].to_numpy(float), np.log(table["zinc"].to_numpy()), table


@pytest.fixture
def cells(shared):
    return pd.read_csv(shared / "reference/numbers/meuse_10points.csv")


def same(found, table, name):
    assert found[0] == pytest.approx(table[f"{name}_pred"].to_numpy(), abs=2e-8)
    assert found[1] == pytest.approx(table[f"{name}_var"].to_numpy(), abs=2e-8)


@pytest.mark.shared
@pytest.mark.parametrize("name", OTHERS)
def test_five_models_at_ten_cells(meuse, cells, name):
    """K13 too: the longer reach lies along azimuth 30 degrees, clockwise from north."""
    points, values, _ = meuse
    same(predict_points(solve(points, values, OTHERS[name]), cells[["x", "y"]].to_numpy(float)), cells, name)


@pytest.mark.shared
def test_near_pits_drifts_blocks_and_a_filtered_nugget_at_ten_cells(meuse, cells):
    points, values, table = meuse
    system, places = solve(points, values, SPHERICAL), cells[["x", "y"]].to_numpy(float)
    same(predict_near(system, places, most=20), cells, "ok_nmax20")
    same(predict_near(system, places, most=155, within=500.0), cells, "ok_maxdist500")
    river = solve(points, values, RIVER, np.sqrt(table[["dist"]].to_numpy()))
    found = predict_points(river, places, np.sqrt(cells[["dist"]].to_numpy()))
    # the distance to the river is printed with fewer digits at the cells than gstat had
    assert found[0] == pytest.approx(cells["uk_sqrtdist_exp_pred"].to_numpy(), abs=1e-5)
    assert found[1] == pytest.approx(cells["uk_sqrtdist_exp_var"].to_numpy(), abs=1e-5)
    centre = points.mean(axis=0)
    plane = solve(points, values, SPHERICAL, (points - centre) / 1000)
    same(predict_points(plane, places, (places - centre) / 1000), cells, "uk_xy")
    same(predict_points(solve(points, values, SPHERICAL, nugget_is_error=True), places), cells, "ok_measerr")
    for side, count in ((40, 4), (200, 10)):
        along = (np.arange(count) + 0.5) * side / count - side / 2
        for row in cells.itertuples():
            block = np.column_stack([np.tile(row.x + along, count), np.repeat(row.y + along, count)])
            wanted = cells.loc[row.Index, [f"ok_block{side}_pred", f"ok_block{side}_var"]].to_numpy(float)
            found = predict_points(system, block)[0].mean(), areal_mean_variance(system, block, np.ones(count**2))
            assert found == pytest.approx(wanted, abs=3e-8)


@pytest.mark.shared
def test_leaving_out_each_of_155_pits(meuse, shared):
    points, values, table = meuse
    wanted = pd.read_csv(shared / "reference/numbers/meuse_loocv.csv")
    system = solve(points, values, SPHERICAL)
    same(leave_one_out(system), wanted, "ok")
    same(predict_near(system, points, most=20, without_own=True), wanted, "ok20")
    same(leave_one_out(solve(points, values, RIVER, np.sqrt(table[["dist"]].to_numpy()))), wanted, "uk")


@pytest.mark.shared
def test_sample_variograms_bin_by_bin(meuse, shared):
    points, values, table = meuse
    third = np.hypot(*np.ptp(points, axis=0)) / 3
    assert (third, third / 15) == pytest.approx((1596.6226, 106.4415), abs=5e-5)
    root = np.column_stack([np.ones(155), np.sqrt(table["dist"])])
    residuals = values - root @ np.linalg.lstsq(root, values, rcond=None)[0]
    lime = table["lime"].to_numpy(float)
    for name, what, longest, bins, estimator in (
        ("vgm_matheron", values, third, 15, "matheron"), ("vgm_cressie", values, third, 15, "cressie_hawkins"),
        ("vgm_w50_c1500", values, 1500.0, 30, "matheron"), ("vgm_resid_sqrtdist", residuals, third, 15, "matheron"),
        ("vgm_lime", lime, third, 15, "matheron"),
    ):  # fmt: skip
        wanted = pd.read_csv(shared / f"reference/numbers/{name}.csv")
        found = sample_variogram(points, what, longest, bins, estimator=estimator)
        assert list(found.pairs) == list(wanted["np"]), name
        assert found.distance == pytest.approx(wanted["dist"].to_numpy(), rel=1e-9)
        assert found.semivariance == pytest.approx(wanted["gamma"].to_numpy(), rel=1e-6)


@pytest.mark.shared
def test_the_indicator_of_lime_at_ten_cells_which_can_be_below_nothing(meuse, cells, shared):
    points, _, table = meuse
    wanted = pd.read_csv(shared / "reference/numbers/lime_ik_10points.csv")
    found = predict_points(solve(points, table["lime"].to_numpy(float), Model("spherical", 0.05, 0.22, 900.0)), cells[["x", "y"]].to_numpy(float))
    assert found[0] == pytest.approx(wanted["pred"].to_numpy(), abs=1e-8) and found[0].min() < 0
    assert found[1] == pytest.approx(wanted["var"].to_numpy(), abs=1e-8)


@pytest.mark.shared
def test_pits_that_say_at_least_six_and_a_half_at_ten_cells(meuse, cells, shared):
    """Log zinc above 6.5 known only as that; propagation, dropping and writing down, computed apart with the same model."""
    points, truth, _ = meuse
    wanted, places = pd.read_csv(shared / "reference/numbers/censored/meuse_cens_10points.csv"), cells[["x", "y"]].to_numpy(float)
    over = truth > 6.5
    order = np.argsort(over, kind="stable")
    from geoprofile.kernels.covariance import covariance, squared_distances

    matrix = covariance(SPHERICAL, np.sqrt(squared_distances(points[order], points[order])))
    mean, own, _ = given_measured(matrix, np.ones((155, 1)), truth[order][:115])
    found = propagate(mean, own, np.full(40, 6.5), np.full(40, np.inf))
    assert found.log_probability == pytest.approx(-48.52708, abs=2e-3)
    imputed = truth.copy()
    imputed[order[115:]] = found.mean
    assert np.sqrt(np.mean((6.5 - truth[over]) ** 2)) == pytest.approx(0.45109490, abs=1e-8), "the limit itself is farther off"
    assert np.sqrt(np.mean((imputed - truth)[over] ** 2)) == pytest.approx(0.2798891, abs=1e-4)
    system = solve(points, imputed, SPHERICAL)
    estimate, variance = predict_points(system, places)
    from geoprofile.kernels.kriging import weights

    on_limited = weights(system, places)[order[115:]]
    variance = variance + np.einsum("im,ij,jm->m", on_limited, posterior_covariance(own, found.precision), on_limited)
    assert estimate == pytest.approx(wanted["ep_pred"].to_numpy(), abs=1e-4)
    assert variance == pytest.approx(wanted["ep_var"].to_numpy(), abs=1e-4)
    # draws, the second opinion, were 0.0053 from the propagation at most
    assert estimate == pytest.approx(wanted["gibbs_pred"].to_numpy(), abs=6e-3)
    for name, values, keep in (("drop", truth, ~over), ("subst", np.minimum(truth, 6.5), over | ~over), ("ok_full", truth, over | ~over)):
        found = predict_points(solve(points[keep], values[keep], SPHERICAL), places)
        columns = ("ok_full", "ok_full_var") if name == "ok_full" else (f"{name}_pred", f"{name}_var")
        assert found[0] == pytest.approx(wanted[columns[0]].to_numpy(), abs=1e-7)
        assert found[1] == pytest.approx(wanted[columns[1]].to_numpy(), abs=1e-7)


def test_other_scores_of_leaving_one_out(meuse):
    points, values, table = meuse

    def left(model, what=values, drift=None):
        predicted, variance = leave_one_out(solve(points, what, model, drift))
        error = predicted - what
        return error, error**2 / variance, predicted

    error, _, predicted = left(SPHERICAL)
    assert np.abs(error).mean() == pytest.approx(0.29215133, abs=1e-8)
    assert np.corrcoef(predicted, values)[0, 1] == pytest.approx(0.83934795, abs=1e-8)
    error, squares, _ = left(RIVER, drift=np.sqrt(table[["dist"]].to_numpy()))
    assert 1 - (error**2).sum() / ((values - values.mean()) ** 2).sum() == pytest.approx(0.72453854, abs=1e-7)
    assert (squares < 1.6448536**2).mean() == pytest.approx(0.870968, abs=1e-6)
    error, squares, _ = left(Model("exponential", 0.05, 0.6, 300.0))
    assert (np.sqrt(np.mean(error**2)), squares.mean()) == pytest.approx((0.40304862, 0.56030885), abs=1e-8)
    zinc = np.exp(values)
    error, squares, _ = left(Model("spherical", 24_800.0, 134_000.0, 832.0), np.round(zinc))
    assert -error.mean() == pytest.approx(2.061521, abs=1e-6), "gstat prints observed minus predicted"
    assert (np.sqrt(np.mean(error**2)), squares.mean()) == pytest.approx((224.837878, 0.796176), abs=1e-6)


@pytest.mark.parametrize(
    "x, y, mean, variance",
    [
        (181170, 333250, 268.7576, 19447.67), (180310, 332189, 663.4915, 16991.33), (180205, 331707, 251.4606, 21579.71),
        (178673, 330066, 532.5776, 73807.91), (178770, 330675, 664.4039, 23589.17), (178270, 331075, 565.5436, 155113.23),
    ],
)  # fmt: skip
def test_blocks_that_gstat_publishes(meuse, x, y, mean, variance):
    """tests/blockkr.Rout.save of gstat: raw zinc, blocks of 40 m by 4 x 4 Gauss points, from the 40 nearest pits."""
    points, _, table = meuse
    near = np.argsort(np.hypot(*(points - [x, y]).T))[:40]
    system = solve(points[near], table["zinc"].to_numpy(float)[near], Model("spherical", 2.42e4, 1.34e5, 800.0))
    nodes, weight = np.polynomial.legendre.leggauss(4)
    block = np.column_stack([np.tile(x + 20 * nodes, 4), np.repeat(y + 20 * nodes, 4)])
    weight = np.outer(weight, weight).ravel() / 4
    assert weight @ predict_points(system, block)[0] == pytest.approx(mean, abs=6e-5)
    assert areal_mean_variance(system, block, weight) == pytest.approx(variance, abs=6e-3)
    if x == 181170:  # by 4 x 4 regular points
        along = (np.arange(4) - 1.5) * 10
        block = np.column_stack([np.tile(x + along, 4), np.repeat(y + along, 4)])
        assert predict_points(system, block)[0].mean() == pytest.approx(268.7324, abs=6e-5)
        assert areal_mean_variance(system, block, np.ones(16)) == pytest.approx(19568.76, abs=6e-3)
