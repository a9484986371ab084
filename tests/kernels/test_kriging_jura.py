"""Cadmium in the Swiss Jura (Goovaerts 1997): 259 sites predict 100 others.

The sites come with Debian's package of R gstat (GPL, at test time only, see tests/reference_data.py); check numbers: R
gstat 2.1-0, geostatistics 2.3.
"""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.kernels.covariance import Model, semivariance
from geoprofile.kernels.kriging import predict_points, solve
from geoprofile.kernels.scores import NORMAL_90, all_scores
from geoprofile.kernels.variogram import least_squares_model, sample_variogram


@pytest.fixture(scope="module")
def sites(reference_table):
    """Places, km, and cadmium of the sites to predict from, then of those to predict."""
    found = []
    for name in ("jura.pred", "jura.val"):
        table = reference_table("jura.rda", name)
        found += [table[["Xloc", "Yloc"]].to_numpy(float), table["Cd"].to_numpy(float)]
    return found


def test_scores_at_a_hundred_sites_kept_apart(sites):
    points, values, others, observed = sites
    assert (len(points), len(others)) == (259, 100)
    predicted, variance = predict_points(solve(points, values, Model("spherical", 0.3, 0.5, 1.2)), others)
    half = NORMAL_90 * np.sqrt(variance)
    scores = all_scores(predicted, variance, predicted - half, predicted + half, observed)
    assert scores["mean error"] == pytest.approx(0.12661544, abs=6e-9), "gstat prints observed minus predicted"
    assert scores["root mean square error"] == pytest.approx(0.76683585, abs=6e-9)
    assert scores["mean standardised squared deviation"] == pytest.approx(1.26581567, abs=6e-9)


GSTATS_MODEL = Model("spherical", 0.4777541015, 0.3371410959, 0.6689957805)


def test_the_sum_of_squares_at_gstats_model(sites):
    """To all digits printed where the bins are a hundred-thousandth narrower than a third of the diagonal makes them.

    Why gstat's are is not known. Two of the 19,419 pairs lie that near an edge and change bins: 83.570 becomes 83.509.
    """
    points, values = sites[:2]
    third = np.hypot(*np.ptp(points, axis=0)) / 3
    found = sample_variogram(points, values, third * (1 - 1e-5))
    missed = found.semivariance - semivariance(GSTATS_MODEL, found.distance)
    assert np.sum(found.pairs / found.distance**2 * missed**2) == pytest.approx(83.50895103, abs=6e-9)


def test_the_model_by_least_squares(sites):
    """gstat stops on the way: at our model the sum of squares is 83.508942, at its own 83.508951."""
    points, values = sites[:2]
    found = least_squares_model(sample_variogram(points, values, np.hypot(*np.ptp(points, axis=0)) / 3 * (1 - 1e-5)), "spherical")
    assert (found.nugget, found.partial_sill, found.scale) == pytest.approx(
        (GSTATS_MODEL.nugget, GSTATS_MODEL.partial_sill, GSTATS_MODEL.scale), rel=2e-4
    )
