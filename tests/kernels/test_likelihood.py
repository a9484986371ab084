"""The likelihood itself, at models where other programs stopped: nlme 3.1-162 (Pinheiro & Bates) on log zinc of the
Meuse points."""

from __future__ import annotations

from importlib.resources import files

import numpy as np
import pandas as pd
import pytest

from geoprofile.kernels.covariance import Model, squared_distances
from geoprofile.kernels.kriging import solve
from geoprofile.kernels.likelihood import log_likelihood, rotate


@pytest.fixture(scope="module")
def meuse():
    pytest.importorskip("skgstat")
    table = pd.read_csv(files("skgstat") / "data/samples/meuse.txt")
    return table[["x", "y"]].to_numpy(float), np.log(table["zinc"].to_numpy())


def height(meuse, kind, scale, share, residual):
    points, values = meuse
    data = rotate(kind, squared_distances(points, points), scale, np.ones((155, 1)), values)
    found, sill = log_likelihood(data, np.atleast_1d(share), residual=residual)
    return (found, sill) if np.ndim(share) else (found[0], sill[0])


@pytest.mark.parametrize(
    "kind, residual, scale, nugget, sill, loglik",
    [
        ("spherical", False, 852.47988, 0.02443696, 0.59552177, -100.711420),
        ("spherical", True, 860.83502, 0.02365484, 0.60828775, -101.452869),
        ("spherical", True, 4197.20170, 0.0, 3.28193008, -99.698036),
        ("spherical", True, 1202.64811, 0.03181346, 0.74425076, -98.301684),
        ("exponential", True, 47416870.76597, 0.03652585, 39269.36636642, -97.764593),
    ],
)
def test_its_height_where_others_stopped(meuse, kind, residual, scale, nugget, sill, loglik):
    """All but the fourth, computed apart, are where one of nlme's two searches ends; the last range has run off: a
    straight line."""
    found = height(meuse, kind, scale, nugget / sill, residual)
    assert found[0] == pytest.approx(loglik, abs=2e-6)
    assert found[1] == pytest.approx(sill, rel=1e-6)


def test_one_of_them_is_a_lesser_peak_with_its_own_mean(meuse):
    """A search that starts at 900 m ends at 852 m; the higher peak lies at 1200 m, so searches start at several
    ranges."""
    points, values = meuse
    shares = np.linspace(0.02, 0.08, 301)
    heights = [height(meuse, "spherical", scale, shares, False)[0].max() for scale in (800, 852.48, 920, 1200.51144)]
    assert heights[0] < heights[1] > heights[2] and heights[3] == pytest.approx(-97.880646, abs=1e-3)
    there = solve(points, values, Model("spherical", 0.02443696, 0.57108482, 852.47988))
    assert there.coefficients[0] == pytest.approx(6.052358, abs=2e-6)
    best = solve(points, values, Model("spherical", 0.03181346, 0.71243731, 1202.64811))
    assert best.coefficients[0] == pytest.approx(6.167377, abs=2e-6)


def test_residual_likelihood_of_the_exponential_rises_for_ever(meuse):
    """Ten, a hundred and ten thousand times the survey: always a little higher, toward -97.7646."""
    shares = np.logspace(-7, -1, 1200)
    heights = [height(meuse, "exponential", scale, shares, True)[0].max() for scale in (4e4, 4e5, 4e7)]
    assert heights[0] < heights[1] < heights[2] <= -97.7645 and heights[2] == pytest.approx(-97.7646, abs=1e-4)
