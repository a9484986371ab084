"""Fitting by likelihood, against nlme 3.1-162 (Pinheiro & Bates) on log zinc of the Meuse points."""

from importlib.resources import files

import numpy as np
import pandas as pd
import pytest

from geoprofile.kernels.kriging import solve
from geoprofile.surfaces.methods.contract import CannotFit
from geoprofile.surfaces.methods.model_fit import FIT_AT_MOST, fit_model


@pytest.fixture(scope="module")
def meuse():
    pytest.importorskip("skgstat")
    table = pd.read_csv(files("skgstat") / "data/samples/meuse.txt")
    return table[["x", "y"]].to_numpy(float), np.log(table["zinc"].to_numpy()), np.sqrt(table["dist"].to_numpy())


@pytest.mark.parametrize(
    "kind, drift, residual, loglik, nugget, psill, scale, coefficients",
    [
        ("exponential", False, False, -99.128778, 0.034656, 1.849917, 2144.917, [6.636396]),
        ("spherical", False, False, -97.880646, 0.033223, 0.696144, 1200.511, [6.165274]),
        ("exponential", True, False, -74.920466, 0.045246, 0.143261, 169.799, [6.984811, -2.568726]),
        ("exponential", True, True, -77.172106, 0.048712, 0.149026, 192.514, [6.985431, -2.567163]),
        ("spherical", True, False, -74.104074, 0.064246, 0.121921, 417.934, [6.964495, -2.540856]),
        ("spherical", True, True, -76.642070, 0.064156, 0.127290, 429.239, [6.963351, -2.537648]),
    ],
)
def test_the_highest_likelihood_is_found_though_there_are_several_peaks(
    meuse, kind, drift, residual, loglik, nugget, psill, scale, coefficients
):
    points, values, root = meuse
    trend = np.column_stack([np.ones(155), root]) if drift else np.ones((155, 1))
    longest = 3 * 2600 if kind == "exponential" else 2000
    fit = fit_model(kind, points, values, trend, residual=residual, longest_m=longest)
    assert fit.log_likelihood == pytest.approx(loglik, abs=2e-3)
    assert fit.model.nugget == pytest.approx(nugget, rel=0.03)
    assert fit.model.partial_sill == pytest.approx(psill, rel=0.03)
    assert fit.model.scale == pytest.approx(scale, rel=0.03)
    assert fit.has_structure and fit.at_bound == ""
    system = solve(points, values, fit.model, root[:, None] if drift else None)
    assert system.coefficients == pytest.approx(coefficients, abs=0.02)


def test_a_likelihood_without_a_top_ends_at_the_bound_and_says_so(meuse):
    points, values, _ = meuse
    fit = fit_model("exponential", points, values, np.ones((155, 1)))
    assert fit.at_bound == "longest"
    assert fit.model.effective_range == pytest.approx(np.hypot(*np.ptp(points, axis=0)), rel=1e-6)


def test_a_shift_of_five_million_metres_changes_nothing(meuse):
    """K4"""
    points, values, _ = meuse
    here = fit_model("spherical", points, values, np.ones((155, 1)))
    there = fit_model("spherical", points + [0, 5_000_000], values, np.ones((155, 1)))
    assert there.model.scale == pytest.approx(here.model.scale, rel=1e-6)
    assert there.model.nugget == pytest.approx(here.model.nugget, rel=1e-5)
    assert there.log_likelihood == pytest.approx(here.log_likelihood, abs=1e-6)


def test_values_in_millimetres_give_the_same_model_in_square_millimetres(meuse):
    points, values, _ = meuse
    here = fit_model("matern", points, values, np.ones((155, 1)))
    there = fit_model("matern", points, values * 10 - 7, np.ones((155, 1)))
    assert there.model.partial_sill == pytest.approx(100 * here.model.partial_sill, rel=1e-4)
    assert there.model.scale == pytest.approx(here.model.scale, rel=1e-4)


def test_pure_noise_has_no_structure_in_nearly_all_of_forty_draws():
    """K2: the test lets one in twenty through, as it says; more would be a map of nothing."""
    rng = np.random.default_rng(11)
    found = [
        fit_model("spherical", rng.uniform(0, 1000, (50, 2)), rng.normal(size=50), np.ones((50, 1))).has_structure
        for _ in range(40)
    ]
    assert sum(found) <= 6


def test_a_field_with_structure_is_found(invented):
    points = invented.scattered(60)
    values = invented.field(points, model=("exponential", 0.1, 1.0, 120.0))
    assert fit_model("exponential", points, values, np.ones((60, 1))).has_structure


def test_places_of_different_strata_are_not_taken_for_alike(invented):
    """Two fields side by side whose pits lie close but know nothing of each other."""
    points = invented.scattered(80)
    own = np.arange(80) % 2
    values = np.where(own, invented.field(points, 1), invented.field(points, 2))
    groups = np.column_stack([own == 0, own == 1]).astype(float)
    mixed = fit_model("exponential", points, values, np.ones((80, 1)))
    apart = fit_model("exponential", points, values, groups, strata=own)
    assert apart.gain > mixed.gain
    assert apart.model.nugget < 0.2 * apart.model.sill < mixed.model.nugget


def test_many_pits_are_fitted_from_a_random_part_and_the_count_is_told():
    rng = np.random.default_rng(1)
    points = rng.uniform(0, 1000, (FIT_AT_MOST + 30, 2))
    fit = fit_model("exponential", points, points[:, 0] / 100 + rng.normal(size=len(points)), np.ones((len(points), 1)))
    assert fit.fitted_to == FIT_AT_MOST


@pytest.mark.parametrize("values", [np.ones(12), np.array([1.0, 2.0])])
def test_constant_or_too_few_values_are_refused_in_words(values):
    """K3"""
    points = np.random.default_rng(1).uniform(0, 10, (len(values), 2))
    with pytest.raises(CannotFit):
        fit_model("spherical", points, values, np.ones((len(values), 1)))


def test_with_the_range_held_at_900_m_residual_likelihood_is_higher_than_where_gstat_ends():
    """Log zinc of the Meuse points. fit.variogram.reml of R gstat 2.1-0 ends at nugget .0254902, partial sill .6108247; the top,
    found apart by a simplex search on the likelihood written out, lies at .02725 and .59292, higher by 0.011: the difference is gstat's."""
    from geoprofile.kernels.covariance import squared_distances
    from geoprofile.kernels.likelihood import log_likelihood, rotate

    pytest.importorskip("skgstat")
    table = pd.read_csv(files("skgstat") / "data/samples/meuse.txt")
    points, values = table[["x", "y"]].to_numpy(float), np.log(table["zinc"].to_numpy())
    data = rotate("spherical", squared_distances(points, points), 900.0, np.ones((155, 1)), values)
    shares = np.linspace(0.02, 0.08, 6001)
    heights, sills = log_likelihood(data, shares, residual=True)
    top = int(np.argmax(heights))
    assert heights[top] == pytest.approx(-101.586402, abs=1e-5)
    assert (shares[top] * sills[top], (1 - shares[top]) * sills[top]) == pytest.approx((0.0272496, 0.5929191), rel=2e-3)
    nugget, partial = 0.0254902482, 0.6108246665
    there = log_likelihood(data, [nugget / (nugget + partial)], residual=True)
    # at their sill instead of the best for their share
    ratio = there[1][0] / (nugget + partial)
    height = there[0][0] - 0.5 * 154 * (ratio - 1 - np.log(ratio))
    assert height == pytest.approx(-101.597348, abs=1e-5) and height < heights[top]
