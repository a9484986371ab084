"""The methods that ship, through the door that anybody's enter by."""

import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.kernels.kriging import predict_points, solve
from geoprofile.registry import plugins
from geoprofile.surfaces.methods.contract import CannotFit, MethodSettings, Observations, number

NAMES = ("mean", "nearest", "inverse_distance", "ordinary_kriging", "drift_kriging")
SEVEN = np.array([[61, 139], [63, 140], [64, 129], [68, 128], [71, 140], [73, 141], [75, 128]], float)
V = np.array([477, 696, 227, 646, 606, 791, 783], float)
PLACE = np.array([[65.0, 137.0]])


def method(name):
    return plugins("geoprofile.methods").get(name)


def fit(name, observations, **settings):
    return method(name).fit(observations, MethodSettings(method=name, **settings), np.random.default_rng(1))


def observed(points, values, drift=None, names=()):
    return Observations(points, values, values, "cm", drift, names)


def some(count=40, seed=1):
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 1000, (count, 2))
    drift = np.sin(points[:, :1] / 150)
    return observed(points, 20 + 8 * np.sin(points[:, 0] / 150) + rng.normal(0, 1, count), drift, ("relative_elevation",))


def test_all_enter_by_entry_points_and_bounds_are_for_those_that_say_so():
    loaded = plugins("geoprofile.methods").loaded
    assert set(NAMES) <= set(loaded) and loaded["bounded_kriging"].uses_bounds
    assert not any(loaded[name].uses_bounds for name in NAMES)
    assert [name for name in NAMES if loaded[name].uses_drift] == ["drift_kriging"]


@pytest.mark.parametrize("name", NAMES)
def test_what_a_fit_gives_is_picklable_and_predicts_the_same_after(name):
    fitted = fit(name, some())
    places, drift = np.array([[10.0, 20.0], [500.0, 400.0]]), np.array([[0.1], [0.5]])
    before, after = fitted.predict(places, drift), pickle.loads(pickle.dumps(fitted)).predict(places, drift)
    assert np.array_equal(before.estimate, after.estimate)
    assert (before.low90 < before.estimate).all() and (before.estimate < before.high90).all()
    assert fitted.summary and (fitted.reach_m is None or fitted.reach_m > 0)


@pytest.mark.parametrize("name", NAMES)
def test_a_bound_is_never_taken_for_a_value(name):
    plain = some()
    bounded = Observations(plain.points, plain.low, np.where(plain.low > 25, np.inf, plain.low), "cm", plain.drift, plain.drift_names)
    with pytest.raises(CannotFit, match="only bounds"):
        fit(name, bounded)


def test_inverse_distance_of_the_seven_samples_of_isaaks_and_srivastava_1989():
    """Powers 1 and 2 at (65, 137), computed from their data."""
    assert fit("inverse_distance", observed(SEVEN, V), power=1.0).predict(PLACE).estimate[0] == pytest.approx(593.9537, abs=6e-5)
    assert fit("inverse_distance", observed(SEVEN, V), power=2.0).predict(PLACE).estimate[0] == pytest.approx(597.6204, abs=6e-5)


def test_inverse_distance_is_exact_at_a_pit_and_a_huge_power_is_the_nearest_pit():
    pits = observed(SEVEN, V)
    assert fit("inverse_distance", pits).predict(SEVEN).estimate == pytest.approx(V)
    near = fit("inverse_distance", pits, power=400.0).predict(PLACE).estimate
    assert near[0] == pytest.approx(696.0) and fit("nearest", pits).predict(PLACE).estimate[0] == 696.0


def test_nearest_and_inverse_distance_leave_themselves_out_for_their_interval():
    fitted = fit("nearest", observed(SEVEN, V))
    assert list(fitted.leave_one_out().estimate) == [696, 477, 646, 227, 791, 606, 646]
    assert fitted.variance == pytest.approx(np.mean((fitted.loo - V) ** 2))


def test_the_mean_has_the_interval_of_one_more_draw():
    """t of 6 degrees of freedom at 95 % is 1.943 (any table of Student's t)."""
    found = fit("mean", observed(SEVEN, V)).predict(PLACE)
    half = 1.943 * V.std(ddof=1) * np.sqrt(1 + 1 / 7)
    assert found.estimate[0] == pytest.approx(603.714, abs=1e-3)
    assert found.high90[0] - found.estimate[0] == pytest.approx(half, rel=1e-3)
    assert fit("mean", observed(SEVEN, V)).leave_one_out().estimate[0] == pytest.approx(V[1:].mean())


def test_pure_noise_gives_the_mean_with_its_spread_and_a_sentence():
    """K2"""
    rng = np.random.default_rng(4)
    noise = observed(rng.uniform(0, 1000, (60, 2)), rng.normal(20, 5, 60))
    fitted = fit("ordinary_kriging", noise)
    assert "no spatial structure was found in 60 pits" in fitted.notes[0]
    found = fitted.predict(np.array([[0.0, 0.0], [500.0, 500.0]]))
    assert found.estimate == pytest.approx(noise.values.mean()) and np.ptp(found.estimate) == 0
    assert found.variance[0] == pytest.approx(noise.values.var(ddof=1) * (1 + 1 / 60))


def test_pits_that_all_say_the_same_give_that_value_and_a_sentence():
    """K3"""
    fitted = fit("ordinary_kriging", observed(some().points, np.full(40, 17.0)))
    assert fitted.predict(PLACE).estimate[0] == 17.0
    assert "all 40 pits have the same value, 17 cm" in fitted.notes[0]


def test_a_drift_that_explains_the_values_narrows_the_interval_and_its_effect_is_told():
    pits = some()
    plain, drift = fit("ordinary_kriging", pits), fit("drift_kriging", pits)
    place = np.array([[485.0, 530.0]])
    one, two = plain.predict(place), drift.predict(place, np.sin(place[:, :1] / 150))
    assert two.variance[0] < 0.8 * one.variance[0]
    assert two.estimate[0] == pytest.approx(20 + 8 * np.sin(485 / 150), abs=1.5)
    assert "per unit of relative_elevation" in drift.summary


def test_drift_columns_in_other_units_change_nothing():
    """Columns are centred and scaled: metres, centimetres and a datum 1,000 m lower are one drift."""
    pits = some()
    other = Observations(pits.points, pits.low, pits.high, "cm", pits.drift * 100 + 100_000, pits.drift_names)
    place, there = np.array([[485.0, 530.0]]), np.array([[0.4]])
    here = fit("drift_kriging", pits).predict(place, there)
    moved = fit("drift_kriging", other).predict(place, there * 100 + 100_000)
    assert moved.estimate == pytest.approx(here.estimate, abs=1e-6) and moved.variance == pytest.approx(here.variance, abs=1e-6)


def test_drifts_that_say_nothing_or_the_same_are_refused_by_name():
    pits = some()
    flat = Observations(pits.points, pits.low, pits.high, "cm", np.ones((40, 1)), ("slope",))
    with pytest.raises(CannotFit, match="the drift slope is the same at every pit"):
        fit("drift_kriging", flat)
    twice = Observations(pits.points, pits.low, pits.high, "cm", np.hstack([pits.drift, 2 * pits.drift + 1]), ("a", "b"))
    with pytest.raises(CannotFit, match="a, b say the same thing"):
        fit("drift_kriging", twice)
    with pytest.raises(CannotFit, match="7 pits are too few for a drift on relative_elevation: at least 10"):
        fit("drift_kriging", some(7))


def test_the_model_is_told_in_words_with_units(invented):
    points = invented.scattered(80)
    fitted = fit("ordinary_kriging", observed(points, invented.field(points, model=("spherical", 4, 30, 400), mean=15)))
    for part in ("spherical; nugget ", " cm², partial sill ", " m; mean ", "residual maximum likelihood to 80 pits", "exact at a pit"):
        assert part in fitted.summary
    assert any("none beyond" in note and "pairs" in note for note in fitted.notes), "K5: pairs are counted"
    assert fitted.parameters["kind"] == "spherical" and fitted.parameters["scale_m"] == fitted.system.model.scale


def test_what_is_fitted_is_what_the_kernel_solves(invented):
    points = invented.scattered(50)
    values = invented.field(points)
    fitted = fit("ordinary_kriging", observed(points, values), model="exponential")
    direct = predict_points(solve(points, values, fitted.system.model), points[:3] + 11)
    found = fitted.predict(points[:3] + 11)
    assert np.array_equal(found.estimate, direct[0]) and np.array_equal(found.variance, direct[1])
    assert found.high90 - found.estimate == pytest.approx(1.6448536 * np.sqrt(direct[1]))


def test_one_model_for_strata_that_do_not_inform_each_other(invented):
    points = invented.scattered(60)
    own = (points[:, 0] > points[:, 0].mean()).astype(int) + 1
    values = invented.field(points) + np.where(own == 2, 30.0, 0.0)
    both = Observations(points, values, values, "cm", strata=own)
    moved = Observations(points, values + np.where(own == 2, 500.0, 0), values + np.where(own == 2, 500.0, 0), "cm", strata=own)
    first, second = fit("ordinary_kriging", both, model="exponential"), fit("ordinary_kriging", moved, model="exponential")
    assert set(first.parts) == {1, 2}
    assert first.parts[1].system.model == first.parts[2].system.model
    place = points[:2] + 5
    assert second.parts[1].predict(place).estimate == pytest.approx(first.parts[1].predict(place).estimate, abs=1e-4)


@settings(max_examples=15, deadline=None)
@given(st.floats(1e-3, 1e5), st.integers(1, 5))
def test_numbers_for_people_keep_their_value(value, digits):
    assert float(number(value, digits)) == pytest.approx(value, rel=0.6 * 10 ** (1 - digits))
    assert "e" not in number(value, digits)
