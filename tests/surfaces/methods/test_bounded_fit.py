"""Likelihood with limits: on augerings that stopped at the auger, and on the Meuse points against nlme 3.1-162."""

from importlib.resources import files

import numpy as np
import pandas as pd
import pytest

from geoprofile.kernels.covariance import Model
from geoprofile.surfaces.methods.bounded_fit import fit_limited
from geoprofile.surfaces.methods.contract import CannotFit
from geoprofile.surfaces.methods.model_fit import FIT_AT_MOST


@pytest.fixture(scope="module")
def meuse():
    pytest.importorskip("skgstat")
    table = pd.read_csv(files("skgstat") / "data/samples/meuse.txt")
    return table[["x", "y"]].to_numpy(float), np.log(table["zinc"].to_numpy()), np.sqrt(table["dist"].to_numpy())


@pytest.fixture
def augerings(shared):
    """Depth to chalk, cm, at 126 augerings near Oxford (P. A. Burrough 1967); 23 stop at the auger's 91 cm."""
    table = pd.read_csv(shared / "data" / "oxford" / "oxford.csv")
    return table[["XCOORD", "YCOORD"]].to_numpy(float), table["DEPTHCM"].to_numpy(float)


def mean_of(points, low, high, model):
    """Generalised least squares mean with the limits, by the kernel itself."""
    from geoprofile.kernels.covariance import squared_distances
    from geoprofile.kernels.limited_likelihood import LimitedData, evaluate

    order = np.argsort(low != high, kind="stable")
    count = int((low == high).sum())
    data = LimitedData(
        squared_distances(points[order], points[order]), np.ones((len(points), 1)), low[order][:count], np.zeros(count),
        low[order][count:], high[order][count:],
    )  # fmt: skip
    return evaluate(model.kind, data, model.sill, model.nugget / model.sill, model.scale, residual=False).coefficients[0]


def test_maximum_likelihood_of_the_oxford_augerings(augerings):
    """Reference: the same model fitted apart (Tobin's likelihood by propagation). Within 1 %."""
    points, depth = augerings
    high = np.where(depth == 91, np.inf, depth)
    fit = fit_limited("exponential", points, depth, high, 0 * depth, np.ones((126, 1)), residual=False)
    assert fit.log_likelihood == pytest.approx(-519.7580763918, abs=1e-3)
    assert fit.model.sill == pytest.approx(1040.4985, rel=0.01) and fit.model.scale == pytest.approx(95.1188, rel=0.01)
    assert fit.model.nugget < 5
    assert mean_of(points, depth, high, fit.model) == pytest.approx(48.2842, rel=0.01)


@pytest.mark.parametrize("way, mean, sill, scale", [("written down", 45.57405, 740.69119, 96.11535), ("dropped", 37.42511, 377.00865, 100.28081)])
def test_what_the_usual_habits_do_to_the_oxford_augerings(augerings, way, mean, sill, scale):
    """Dropping the 23 stopped ones loses 11 cm of mean and 64 % of the variance."""
    points, depth = augerings
    if way == "dropped":
        points, depth = points[depth != 91], depth[depth != 91]
    fit = fit_limited("exponential", points, depth, depth, 0 * depth, np.ones((len(depth), 1)), residual=False)
    assert fit.model.sill == pytest.approx(sill, rel=0.01) and fit.model.scale == pytest.approx(scale, rel=0.01)
    assert mean_of(points, depth, depth, fit.model) == pytest.approx(mean, rel=0.01)


@pytest.mark.parametrize(
    "kind, drift, residual, loglik, nugget, psill, scale",
    [
        ("exponential", False, False, -99.128778, 0.034656, 1.849917, 2144.917),
        ("spherical", False, False, -97.880646, 0.033223, 0.696144, 1200.511),
        ("exponential", True, False, -74.920466, 0.045246, 0.143261, 169.799),
        ("exponential", True, True, -77.172106, 0.048712, 0.149026, 192.514),
        ("spherical", True, False, -74.104074, 0.064246, 0.121921, 417.934),
        ("spherical", True, True, -76.642070, 0.064156, 0.127290, 429.239),
    ],
)
def test_without_limits_it_is_the_likelihood_of_nlme(meuse, kind, drift, residual, loglik, nugget, psill, scale):
    points, values, root = meuse
    trend = np.column_stack([np.ones(155), root]) if drift else np.ones((155, 1))
    longest = 3 * 2600 if kind == "exponential" else 2000
    fit = fit_limited(kind, points, values, values, 0 * values, trend, residual=residual, longest_m=longest)
    assert fit.log_likelihood == pytest.approx(loglik, abs=2e-5)
    assert [fit.model.nugget, fit.model.partial_sill, fit.model.scale] == pytest.approx([nugget, psill, scale], rel=2e-3)


def test_of_several_tops_the_highest_is_taken_and_not_that_of_one_start(meuse):
    """Spherical, no drift: nlme from a start of 900 m ends on a lower top (-100.711 at 852 m). By residual likelihood four
    starts up to 2,000 m, computed apart, ended at -98.302 (1,203 m); there is a higher top at 1,771 m, so that one is ours."""
    points, values, _ = meuse
    one = np.ones((155, 1))
    lower = fit_limited("spherical", points, values, values, 0 * values, one, residual=False, start=Model("spherical", 0.0244, 0.571, 852.5))
    assert lower.log_likelihood == pytest.approx(-100.711420, abs=1e-3) and lower.model.scale == pytest.approx(852.48, rel=1e-3)
    there = fit_limited("spherical", points, values, values, 0 * values, one, start=Model("spherical", 0.031813, 0.712437, 1202.648))
    assert there.log_likelihood == pytest.approx(-98.301684, abs=1e-3) and there.model.scale == pytest.approx(1202.648, rel=1e-3)
    best = fit_limited("spherical", points, values, values, 0 * values, one, longest_m=2000)
    assert best.log_likelihood > there.log_likelihood + 0.3 and best.model.scale == pytest.approx(1771, rel=0.01)


def test_a_likelihood_without_a_top_ends_at_the_bound_and_says_so(meuse):
    """Exponential, no drift, residual likelihood rises towards an endless range (nlme: -97.764593 at 47,000 km)."""
    points, values, _ = meuse
    near = fit_limited("exponential", points, values, values, 0 * values, np.ones((155, 1)))
    far = fit_limited("exponential", points, values, values, 0 * values, np.ones((155, 1)), longest_m=3e5)
    assert near.at_bound == "longest" and far.log_likelihood > near.log_likelihood
    assert far.log_likelihood == pytest.approx(-97.764593, abs=0.02) and far.model.nugget == pytest.approx(0.03653, rel=0.01)


def test_many_pits_are_searched_on_a_part_and_polished_on_all(invented):
    points = invented.scattered(FIT_AT_MOST + 150, side=1500)
    truth = invented.field(points, 2, ("exponential", 100.0, 600.0, 150.0), mean=100)
    low = np.minimum(truth, 120)
    high = np.where(truth > 120, np.inf, low)
    some = fit_limited("exponential", points, low, high, 0 * low, np.ones((len(low), 1)), rng=np.random.default_rng(1))
    every = fit_limited("exponential", points, low, high, 0 * low, np.ones((len(low), 1)), start=some.model)
    assert some.fitted_to == FIT_AT_MOST
    assert some.model.sill == pytest.approx(700, rel=0.35) and some.gain > 50
    assert every.model.scale == pytest.approx(some.model.scale, rel=0.8)


def test_no_value_at_all_is_refused(invented):
    points = invented.scattered(20)
    with pytest.raises(CannotFit, match="no pit has a value"):
        fit_limited("spherical", points, np.full(20, 50.0), np.full(20, np.inf), np.zeros(20), np.ones((20, 1)))
