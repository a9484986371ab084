"""The forest: what it can say, and where it must warn."""

import pickle

import numpy as np
import pytest

from geoprofile.registry import plugins
from geoprofile.surfaces.methods.contract import CannotFit, MethodSettings, Observations
from geoprofile.surfaces.methods.forest import MOST_WEIGHT, reached, without_bounds

NAMES = ("relative_elevation", "slope")


def survey(count=150, seed=1, noise=1.0, high=None):
    """A step in relative elevation, which no straight line follows, and a slope that says nothing."""
    rng = np.random.default_rng(seed)
    points, drift = rng.uniform(0, 1000, (count, 2)), rng.uniform(-2, 2, (count, 2))
    values = np.where(drift[:, 0] > 0.5, 20.0, 60.0) + rng.normal(0, noise, count)
    return Observations(points, values, values if high is None else high, "cm", drift, NAMES)


def grow(observations, **settings):
    method = plugins("geoprofile.methods").get("forest")
    return method.fit(observations, MethodSettings(method="forest", **settings), np.random.default_rng(1))


def test_a_step_that_no_straight_line_follows_is_found_with_its_interval():
    fitted = grow(survey())
    places = np.array([[500.0, 500.0], [500.0, 500.0]])
    found = fitted.predict(places, np.array([[1.5, 0.0], [-1.5, 0.0]]))
    assert found.estimate == pytest.approx([20, 60], abs=2.5)
    assert (found.low90 < found.estimate).all() and (found.high90 - found.low90 < 25).all()


def test_the_mean_of_the_leaves_is_what_the_library_predicts():
    fitted = grow(survey())
    drift = np.random.default_rng(3).uniform(-2, 2, (40, 2))
    assert fitted._grown(drift).estimate == pytest.approx(fitted.forest.predict(drift), abs=1e-9)


def test_about_nine_tenths_of_new_pits_lie_in_their_interval():
    """K9"""
    held = []
    for seed in range(3):
        fitted, new = grow(survey(200, seed=seed, noise=5.0)), survey(300, seed=10 + seed, noise=5.0)
        found = fitted.predict(new.points, new.drift)
        held.append(np.mean((new.low >= found.low90) & (new.low <= found.high90)))
    assert 0.86 < np.mean(held) < 0.94


def test_what_the_trees_leave_over_is_kriged(invented):
    points = invented.scattered(150)
    drift = np.random.default_rng(1).uniform(-2, 2, (150, 1))
    trend = np.where(drift[:, 0] > 0.5, 20.0, 60.0)
    values = trend + invented.field(points, model=("spherical", 1.0, 60.0, 400.0))
    fitted = grow(Observations(points, values, values, "cm", drift, ("relative_elevation",)))
    assert fitted.residuals is not None and "residuals: spherical" in fitted.summary and fitted.reach_m > 100
    rest = np.arange(150) % 5 > 0
    part = grow(Observations(points[rest], values[rest], values[rest], "cm", drift[rest], ("relative_elevation",)))
    found = part.predict(points[~rest], drift[~rest])
    alone = part._grown(drift[~rest])
    assert np.mean((found.estimate - values[~rest]) ** 2) < 0.5 * np.mean((alone.estimate - values[~rest]) ** 2)
    assert (found.high90 - found.low90).mean() < (alone.high90 - alone.low90).mean()


def test_it_is_the_same_forest_every_time_and_survives_pickling():
    one, two = grow(survey()), pickle.loads(pickle.dumps(grow(survey())))
    place, drift = np.array([[10.0, 10.0]]), np.array([[0.4, 1.0]])
    assert one.predict(place, drift).estimate[0] == two.predict(place, drift).estimate[0]


def test_it_never_leaves_the_values_it_was_grown_on_and_says_so():
    """K17"""
    pits = survey(noise=0.0)
    fitted = grow(Observations(pits.points, pits.low, pits.low, "cm", pits.drift, NAMES))
    wild = fitted._grown(np.array([[50.0, 9.0], [-50.0, 9.0]])).estimate
    assert wild.min() >= pits.low.min() - 1e-9 and wild.max() <= pits.low.max() + 1e-9
    assert any("maps nothing beyond the values it was grown on, 20 to 60 cm" in note for note in fitted.notes)


def test_coordinates_as_predictors_are_warned_about_by_name_and_in_disguise():
    """K17"""
    pits = survey()
    assert not any("coordinates" in note for note in grow(pits).notes)
    assert any("trees split on coordinates (easting, northing)" in note for note in grow(pits, coordinates=True).notes)
    ramp = Observations(pits.points, pits.low, pits.high, "cm", pits.points[:, :1] / 10 + 300, ("elevation",))
    assert any("trees split on coordinates (elevation)" in note for note in grow(ramp).notes)


def test_how_many_pits_reach_a_depth_by_hand():
    """Values 10, 30, 50 and ends at 20, 40: of four that reach 20 one ends there, of two that reach 40 one ends."""
    found = reached(np.array([10.0, 20, 30, 40, 50]), np.array([False, True, False, True, False]))
    assert found == pytest.approx([1, 1, 3 / 4, 3 / 4, 3 / 8])


def test_weights_for_pits_that_ended_too_soon_undo_the_bias_of_dropping_them():
    """Depths of mean 60, pits that end anywhere from 30 to 120 cm: the dropped mean is too shallow, the weighted one is not."""
    rng = np.random.default_rng(1)
    truth, end = rng.normal(60, 15, 4000), rng.uniform(30, 120, 4000)
    observations = Observations(np.zeros((4000, 2)), np.minimum(truth, end), np.where(truth <= end, truth, np.inf))
    values, exact, weights, notes = without_bounds(observations)
    assert values[exact].mean() < 57 and np.average(values[exact], weights=weights[exact]) == pytest.approx(60, abs=1.0)
    assert weights.max() <= MOST_WEIGHT and weights[~exact].max() == 0
    assert "measured pits stand for them" in notes[0] and "if pits stop at random" in notes[0]


def test_a_forest_with_bounds_is_less_shallow_than_one_that_drops_them():
    rng = np.random.default_rng(4)
    pits = survey(400, noise=15.0)
    end = rng.uniform(25, 110, 400)
    low, high = np.minimum(pits.low, end), np.where(pits.low <= end, pits.low, np.inf)
    bounded = Observations(pits.points, low, high, "cm", pits.drift, NAMES)
    drift, place = np.column_stack([rng.uniform(-2, 0.3, 500), rng.uniform(-2, 2, 500)]), rng.uniform(0, 1000, (500, 2))
    kept = np.isfinite(high)
    with_bounds, dropped = grow(bounded), grow(bounded.take(kept))
    full = grow(pits).predict(place, drift).estimate.mean()
    errors = [one.predict(place, drift).estimate.mean() - full for one in (with_bounds, dropped)]
    assert errors[1] < -2 and abs(errors[0]) < 0.7 * abs(errors[1]), "weights undo most of it; a leaf of five pits not all"
    left_out = with_bounds.leave_one_out()
    assert left_out.estimate.shape == (400,) and np.isfinite(left_out.estimate).all()


def test_what_weights_cannot_carry_is_refused():
    pits = survey()
    low = pits.low.copy()
    low[:3] = -np.inf
    with pytest.raises(CannotFit, match="3 pits say only 'at most'"):
        grow(Observations(pits.points, low, pits.high, "cm", pits.drift, NAMES))
    with pytest.raises(CannotFit, match="9 measured pits are too few to grow a forest"):
        grow(survey(9))
    with pytest.raises(CannotFit, match="needs at least one terrain raster"):
        grow(Observations(pits.points, pits.low, pits.high))
