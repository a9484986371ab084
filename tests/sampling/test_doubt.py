"""What a further pit is worth, before it is dug: the formula against digging it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ndtr

from geoprofile.errors import InputError
from geoprofile.kernels.areal import error_covariance
from geoprofile.kernels.covariance import Model
from geoprofile.kernels.kriging import predict_points, solve
from geoprofile.sampling.doubt import Question, shrink_doubt, wrong_side

AXIS = np.arange(10, 400, 30.0)
LAND = np.stack(np.meshgrid(AXIS, AXIS), axis=-1).reshape(-1, 2)
MODEL = Model("spherical", 5.0, 40.0, 150.0)


def dug(places, values=None):
    return solve(places, np.zeros(len(places)) if values is None else values, MODEL)


def asked(system, number, question=None, sites=LAND):
    return shrink_doubt(LAND, sites, lambda points: error_covariance(system, points), lambda points: np.full(len(points), 5.0),
                        number, question or Question("mean variance", "cm2"))  # fmt: skip


@pytest.fixture(scope="module")
def pits():
    rng = np.random.default_rng(3)
    return rng.uniform(0, 400, (25, 2)), rng.normal(30, 6, 25)


def test_the_best_place_is_the_one_that_digging_everywhere_finds_and_so_is_its_gain(pits):
    """van Groenigen & Stein 1998: the variance depends on places only, so it is known before."""
    places, _ = pits
    found = asked(dug(places), 1)
    after = [np.diag(error_covariance(dug(np.vstack([places, cell])), LAND)).mean() for cell in LAND]
    best = int(np.argmin(after))
    assert found.points[0] == pytest.approx(LAND[best])
    assert found.after == pytest.approx(after[best], rel=1e-9)
    assert found.before == pytest.approx(np.diag(error_covariance(dug(places), LAND)).mean(), rel=1e-9)
    assert found.gain[0] == pytest.approx(found.before - found.after)


def test_two_places_are_the_best_pair_of_all_pairs(pits):
    places, _ = pits
    sites = LAND[::9]
    found = asked(dug(places), 2, sites=sites)
    pairs = [(i, j) for i in range(len(sites)) for j in range(i)]
    after = [np.diag(error_covariance(dug(np.vstack([places, sites[list(pair)]])), LAND)).mean() for pair in pairs]
    assert found.after == pytest.approx(min(after), rel=1e-9)


def test_the_cell_of_largest_variance_is_not_the_best_place():
    """A corner is the least known and tells the least of the rest; so too on the Meuse grid (test_doubt_meuse_grid.py)."""
    places = np.array([[100.0, 200.0], [300.0, 200.0], [200.0, 100.0], [200.0, 300.0], [200.0, 200.0]])
    system = dug(places)
    least_known = LAND[np.argmax(predict_points(system, LAND)[1])]
    assert np.abs(asked(system, 1).points[0] - least_known).max() > 30


def test_land_on_the_wrong_side_of_a_limit_is_what_simulated_pits_leave(pits):
    places, values = pits
    system = dug(places, values)
    estimate = predict_points(system._replace(nugget_is_error=True), LAND)[0]
    found = asked(system, 1, Question("wrong side", "", 1.0, estimate - 30.0))
    covariance = error_covariance(system, LAND)
    now, rng = np.diag(covariance), np.random.default_rng(1)
    p = ndtr((estimate - 30) / np.sqrt(now))
    assert found.before == pytest.approx(np.minimum(p, 1 - p).mean(), rel=1e-9)
    cell = int(np.argmin(((LAND - found.points[0]) ** 2).sum(axis=1)))
    shown = covariance[cell, cell] + 5.0
    taken = covariance[:, cell] ** 2 / shown
    moved = (covariance[:, cell] / np.sqrt(shown))[:, None] * rng.standard_normal(40_000)
    p = ndtr((estimate[:, None] - 30 + moved) / np.sqrt(now - taken)[:, None])
    drawn = np.minimum(p, 1 - p).mean(axis=0)
    assert found.after == pytest.approx(drawn.mean(), abs=4 * drawn.std() / 200)


def test_near_a_limit_pits_go_where_the_limit_runs():
    """All land but the east is far from the limit: doubt is in the east, though nothing is known less there."""
    system = dug(np.stack(np.meshgrid([60.0, 200.0, 340.0], [60.0, 200.0, 340.0]), axis=-1).reshape(-1, 2))
    margin = np.where(LAND[:, 0] > 300, 0.5, 40.0)
    assert asked(system, 1, Question("wrong side", "", 1.0, margin)).points[0][0] > 250


@settings(max_examples=60, deadline=None)
@given(st.floats(0, 6), st.floats(0.1, 50), st.floats(0, 1))
def test_expected_doubt_never_grows_and_is_none_when_all_is_known(away, before, share):
    after = before * share
    found = float(wrong_side(np.array(away), np.array(before), np.array(after)))
    assert -1e-12 <= found <= float(ndtr(-away)) + 1e-12
    assert float(wrong_side(np.array(away), np.array(before), np.array(before))) == pytest.approx(float(ndtr(-away)))
    assert float(wrong_side(np.array(away), np.array(before), np.array(0.0))) == 0


@settings(max_examples=10, deadline=None)
@given(st.integers(1, 5), st.integers(0, 10_000))
def test_gains_add_up_and_places_are_sites(number, seed):
    rng = np.random.default_rng(seed)
    sites = LAND[rng.choice(len(LAND), 40, replace=False)]
    found = asked(dug(rng.uniform(0, 400, (12, 2))), number, sites=sites)
    assert (found.gain > 0).all() and found.gain.sum() == pytest.approx(found.before - found.after)
    assert all((sites == point).all(axis=1).any() for point in found.points)


def test_more_pits_than_sites_are_refused():
    with pytest.raises(InputError, match="no room"):
        asked(dug(LAND[:9]), 3, sites=LAND[:2])
