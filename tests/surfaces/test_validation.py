"""Scores that are not too good to be true."""

import numpy as np
import pytest

from geoprofile.registry import plugins
from geoprofile.surfaces.mapping import fit_map
from geoprofile.surfaces.methods.contract import MethodSettings, Observations
from geoprofile.surfaces.validation import (
    BY_LOCATION,
    LEAVE_ONE_OUT,
    RANDOM,
    headline_of,
    location_folds,
    random_folds,
    validate,
)


def run(points, values, name="ordinary_kriging", method=None, codes=None, **settings):
    method = method or plugins("geoprofile.methods").get(name)
    observations, choice = Observations(points, values, values), MethodSettings(method=name, **settings)
    codes = np.ones(len(values), int) if codes is None else codes
    use = "split" if codes.max() > 1 else ""
    fitted = fit_map(method, observations, codes, use, choice, least_pits=10, seed=1, names={int(c): str(c) for c in set(codes)})
    return validate(method, observations, codes, use, choice, fitted, least_pits=10, folds=10, seed=1, clip=lambda p: p)


def value(validation, name, measure):
    return next(row["value"] for row in validation.rows if row["validation"] == name and row["measure"] == measure)


def clusters(invented, count=15, each=6):
    rng = np.random.default_rng(5)
    centres = invented.ORIGIN + rng.uniform(0, 2000, (count, 2))
    return np.repeat(centres, each, axis=0) + rng.normal(0, 15, (count * each, 2))


def test_parts_by_location_are_compact_and_every_place_is_in_one(invented):
    points = clusters(invented)
    folds = location_folds(points, 10, 1)
    assert len(np.unique(folds)) == 10
    own = np.repeat(np.arange(15), 6)
    assert all(len(np.unique(folds[own == cluster])) == 1 for cluster in range(15))
    assert np.array_equal(folds, location_folds(points + [0, 5_000_000], 10, 1)), "K4"
    assert len(np.unique(location_folds(points[:7], 10, 1))) == 2


def test_random_parts_differ_in_size_by_one_at_most():
    sizes = np.bincount(random_folds(83, 10, 1))
    assert sizes.max() - sizes.min() <= 1 and sizes.sum() == 83


def test_random_parts_flatter_clustered_pits_and_stand_only_beside(invented):
    """K16"""
    points = clusters(invented)
    found = run(points, invented.field(points, model=("exponential", 0.05, 1.0, 100.0)), model="exponential")
    assert value(found, RANDOM, "root mean square error") < 0.7 * value(found, BY_LOCATION, "root mean square error")
    assert found.headline.startswith("by location: RMSE ")


def test_a_method_that_remembers_its_pits_gains_nothing():
    """K15: a method that returns what it was fitted to, and else a fixed number, scores as that number."""

    class Remembers:
        title, uses_bounds = "remembers", False

        def fit(self, observations, settings, rng):
            from types import SimpleNamespace

            from geoprofile.surfaces.methods.contract import Prediction

            known = {tuple(point): value for point, value in zip(observations.points, observations.values)}

            def predict(points, drift=None):
                estimate = np.array([known.get(tuple(point), 1000.0) for point in points])
                return Prediction.normal(estimate, np.ones(len(points)))

            return SimpleNamespace(predict=predict, summary="", notes=(), reach_m=None)

    points = np.random.default_rng(1).uniform(0, 100, (40, 2))
    found = run(points, np.zeros(40), method=Remembers())
    assert value(found, BY_LOCATION, "mean error") == value(found, RANDOM, "mean error") == 1000
    assert np.isnan(found.left_out).all(), "no leave-one-out without a formula"
    assert not [row for row in found.rows if row["validation"] == LEAVE_ONE_OUT]


def test_leave_one_out_says_that_the_model_was_not_refitted(invented):
    points = invented.scattered(60)
    values = invented.field(points)
    found = run(points, values)
    remarks = {row["validation"]: row["remark"] for row in found.rows}
    assert remarks[LEAVE_ONE_OUT] == "model not refitted"
    assert "everything refitted" in remarks[BY_LOCATION] and "everything refitted" in remarks[RANDOM]
    assert found.left_out.shape == (60,)
    assert value(found, LEAVE_ONE_OUT, "root mean square error") == pytest.approx(np.sqrt(np.mean((found.left_out - values) ** 2)))


def test_intervals_hold_about_nine_tenths_of_pits_of_a_known_field(invented):
    """K9: over six fields of 100 pits, left out one by one."""
    held = []
    for seed in range(6):
        points = invented.scattered(100, seed=seed)
        found = run(points, invented.field(points, seed, ("exponential", 0.2, 1.0, 80.0)), model="exponential")
        held.append(value(found, LEAVE_ONE_OUT, "coverage of the 90 % interval"))
    assert 0.86 < np.mean(held) < 0.94


def test_pits_of_a_stratum_that_cannot_spare_them_are_counted(invented):
    """A stratum whose pits lie in one corner goes out with its part."""
    points = np.vstack([invented.scattered(50), invented.ORIGIN + [5000, 5000] + np.random.default_rng(1).uniform(0, 9, (10, 2))])
    codes = np.repeat([1, 2], [50, 10])
    found = run(points, invented.field(points), codes=codes)
    rows = [row for row in found.rows if row["validation"] == BY_LOCATION]
    assert rows[0]["pits"] == 50 and "10 pits could not be predicted from the others" in rows[0]["remark"]


def test_the_headline_reads_as_a_sentence():
    rows = [
        {"measure": "root mean square error", "value": 6.13, "pits": 112},
        {"measure": "efficiency", "value": 0.341, "pits": 112},
        {"measure": "coverage of the 90 % interval", "value": 0.881, "pits": 112},
    ]
    assert headline_of(rows, "cm") == "by location: RMSE 6.1 cm, efficiency 0.34, 90 % intervals held 88 % of 112 pits"
    assert "could not be validated" in headline_of([], "cm")
