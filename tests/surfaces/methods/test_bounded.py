"""Kriging with bounded observations: every pit counts for exactly what it says."""

import pickle

import numpy as np
import pandas as pd
import pytest

from geoprofile.kernels.kriging import predict_points, solve, weights
from geoprofile.surfaces.mapping import fit_map
from geoprofile.surfaces.methods.bounded import BOUNDED_KRIGING
from geoprofile.surfaces.methods.bounded_system import FittedBounded
from geoprofile.surfaces.methods.contract import CannotFit, MethodSettings, Observations

EXPONENTIAL = ("exponential", 100.0, 600.0, 150.0)


def fit(observations, **settings):
    choice = MethodSettings(**{"model": "exponential", "absent_as": "latent", **settings})
    return BOUNDED_KRIGING.fit(observations, choice, np.random.default_rng(1))


def deep(invented, count=120, seed=3, limit=110.0):
    """Depths of a field of mean 100 seen down to ``limit`` only: where deeper, 'at least'; and the truth."""
    points = invented.scattered(count, seed=seed)
    truth = invented.field(points, seed, EXPONENTIAL, mean=100.0)
    low = np.minimum(truth, limit)
    return Observations(points, low, np.where(truth > limit, np.inf, low)), truth


def test_a_bound_lies_above_its_limit_and_pulls_its_surroundings_there(invented):
    observations, truth = deep(invented)
    fitted = fit(observations)
    dropped = fit(observations.take(observations.low == observations.high))
    written = fit(Observations(observations.points, observations.low, observations.low))
    bounded = np.flatnonzero(np.isinf(observations.high))
    assert np.array_equal(fitted.bounded, bounded) and (fitted.imputed > 110).all()
    near = observations.points[bounded] + 15
    for other in (dropped, written):
        assert fitted.predict(near).estimate.mean() > other.predict(near).estimate.mean() + 3
    model = [part.system.model.sill for part in (fitted, written, dropped)]
    assert model[0] > 1.5 * max(model[1:]), "the hidden damage: without the bounds the spread shrinks too"
    assert fitted.imputed.mean() == pytest.approx(truth[bounded].mean(), abs=8)


def test_measured_pits_are_returned_exactly_and_bounded_ones_respected(invented):
    observations, _ = deep(invented)
    fitted = fit(observations)
    there = fitted.predict(observations.points)
    measured = observations.low == observations.high
    assert there.estimate[measured] == pytest.approx(observations.low[measured], abs=1e-6)
    assert there.variance[measured] == pytest.approx(0, abs=1e-4)
    assert (there.estimate[~measured] > 110).all()
    assert there.estimate[~measured] == pytest.approx(fitted.imputed, abs=1e-4)
    assert there.variance[~measured] == pytest.approx(np.diag(fitted.imputed_covariance), rel=1e-4)


def test_readings_with_errors_are_the_kriging_weights_on_imputed_means_with_the_extra_variance(invented):
    """Two ways to the same map: step 5 of the algorithm, W on the completed data and diag(W' Sigma W) on top."""
    observations, _ = deep(invented, 60)
    fitted = fit(observations)
    places = invented.ORIGIN + np.random.default_rng(9).uniform(0, 800, (20, 2))
    whole = fitted.completed()
    plain, variance = predict_points(whole, places)
    pull = weights(whole, places)[fitted.bounded]
    found = fitted.predict(places)
    assert found.estimate == pytest.approx(plain, abs=1e-5)
    assert found.variance == pytest.approx(variance + np.einsum("im,ij,jm->m", pull, fitted.imputed_covariance, pull), abs=1e-3)


def test_without_bounds_it_is_ordinary_kriging(invented):
    points = invented.scattered(60)
    values = invented.field(points, model=EXPONENTIAL, mean=50)
    fitted = fit(Observations(points, values, values))
    direct = predict_points(solve(points, values, fitted.system.model), points[:4] + 9)
    found = fitted.predict(points[:4] + 9)
    assert found.estimate == pytest.approx(direct[0]) and found.variance == pytest.approx(direct[1])
    assert fitted.system.error_variance is None and not len(fitted.bounded)


def test_a_limit_that_says_nothing_changes_nothing(invented):
    points = invented.scattered(61)
    values = invented.field(points, model=EXPONENTIAL, mean=200)
    low, high = values.copy(), values.copy()
    low[-1], high[-1] = 1.0, np.inf
    with_it = fit(Observations(points, low, high)).predict(points[:5] + 20)
    without = fit(Observations(points[:-1], values[:-1], values[:-1])).predict(points[:5] + 20)
    assert with_it.estimate == pytest.approx(without.estimate, abs=0.05)
    assert with_it.variance == pytest.approx(without.variance, rel=0.01)


def test_all_kinds_of_limits_stand_in_one_likelihood_and_are_counted(invented):
    observations, truth = deep(invented)
    low, high = observations.low.copy(), observations.high.copy()
    low[:10], high[:10] = truth[:10] - 15, truth[:10] + 12
    low[10:15], high[10:15] = -np.inf, truth[10:15] + 3
    low[15], high[15] = truth[15] - 0.3, truth[15] + 0.3
    fitted = fit(Observations(observations.points, low, high))
    inside = (fitted.imputed > low[fitted.bounded]) & (fitted.imputed < high[fitted.bounded])
    assert inside.all()
    (note,) = [note for note in fitted.notes if "say only a bound" in note]
    assert "5 at most" in note and "10 between two limits" in note
    assert any("1 pits known within narrow limits are readings with an error" in note for note in fitted.notes)
    assert fitted.readings[1][15] == pytest.approx(0.6**2 / 12)
    assert f"{len(fitted.bounded)} of them bounded" in fitted.summary


def test_leave_one_out_of_a_bounded_pit_is_what_all_others_say(invented):
    observations, _ = deep(invented, 50)
    fitted = fit(observations)
    left = fitted.leave_one_out()
    for one in (int(fitted.bounded[0]), int(np.flatnonzero(observations.low == observations.high)[0])):
        rest = np.arange(50) != one
        values, error = (part[rest] for part in fitted.readings)
        direct = predict_points(
            solve(observations.points[rest], values, fitted.system.model, error_variance=error), observations.points[one : one + 1]
        )
        assert left.estimate[one] == pytest.approx(direct[0][0], abs=1e-4)
        assert left.variance[one] == pytest.approx(direct[1][0], rel=1e-4)


def test_too_few_values_beside_the_bounds_are_a_refusal_with_the_reason(invented):
    observations, _ = deep(invented, 40)
    few = np.r_[np.flatnonzero(np.isinf(observations.high)), np.flatnonzero(np.isfinite(observations.high))[:2]]
    with pytest.raises(CannotFit, match=r"only 2 of \d+ pits have a value, the others only a bound: at least 3 values"):
        fit(observations.take(few))
    drift = np.where(np.isinf(observations.high), np.random.default_rng(1).normal(size=40), 1.0)[:, None]
    flat = Observations(observations.points, observations.low, observations.high, "cm", drift, ("slope",))
    with pytest.raises(CannotFit, match="the drift slope cannot be told from the"):
        fit(flat)


def test_noise_with_bounds_is_a_mean_that_respects_them(invented):
    """K2: the censored normal by likelihood, flat, with the plain sentence; not a pattern, not the mean of limits."""
    points = invented.scattered(150)
    truth = np.random.default_rng(5).normal(60, 12, 150)
    low = np.minimum(truth, 65)
    fitted = fit(Observations(points, low, np.where(truth > 65, np.inf, low)))
    assert any("no spatial structure was found" in note for note in fitted.notes)
    found = fitted.predict(points[:3] + 7)
    assert np.ptp(found.estimate) < 1e-6
    assert found.estimate[0] == pytest.approx(60, abs=3) and np.sqrt(found.variance[0]) == pytest.approx(12, rel=0.2)
    assert low.mean() < 57, "the mean of limits is far too low"


def test_five_million_metres_more_on_every_northing_change_nothing(invented):
    """K4"""
    observations, _ = deep(invented, 60)
    moved = Observations(observations.points + [0, 5_000_000], observations.low, observations.high)
    here, there = fit(observations), fit(moved)
    assert there.predict(moved.points + 31).estimate == pytest.approx(here.predict(observations.points + 31).estimate, abs=1e-3)


def test_a_drift_on_terrain_is_found_through_the_bounds(invented):
    points = invented.scattered(100)
    rise = np.sin(points[:, :1] / 90)
    truth = 80 + 25 * rise[:, 0] + np.random.default_rng(2).normal(0, 4, 100)
    low = np.minimum(truth, 90)
    fitted = fit(Observations(points, low, np.where(truth > 90, np.inf, low), "cm", rise, ("relative_elevation",)))
    top = fitted.predict(points[:1] + 3, np.array([[1.0]]))
    assert top.estimate[0] == pytest.approx(105, abs=4) and "per unit of relative_elevation" in fitted.summary


@pytest.mark.parametrize("transform", ["log", "square_root", "box_cox"])
def test_estimate_and_interval_of_a_transformed_scale_are_of_one_distribution(invented, transform):
    """K7: nothing negative, the interval holds, the mean lies in it and the mean of the map is that of the land."""
    rng = np.random.default_rng(4)
    every = invented.scattered(400, seed=5)
    truth = np.exp(invented.field(every, 7, ("exponential", 0.05, 0.35, 150.0), mean=3.0))
    pits, rest = every[:150], every[150:]
    low = np.minimum(truth[:150], 30)
    fitted = fit(Observations(pits, low, np.where(truth[:150] > 30, np.inf, low)), transform=transform)
    found = fitted.predict(rest)
    assert (found.low90 > 0).all() and (found.low90 < found.estimate).all() and (found.estimate < found.high90).all()
    held = np.mean((truth[150:] > found.low90) & (truth[150:] < found.high90))
    assert 0.80 < held < 0.97
    assert found.estimate.mean() == pytest.approx(truth[150:].mean(), rel=0.15)
    assert "taken back" in fitted.summary and fitted.parameters["power"] == fitted.power
    if transform == "box_cox":
        assert fitted.power < 0.45 and any("Box-Cox power" in note for note in fitted.notes)
    del rng


def test_a_logarithm_refuses_zero_and_names_the_way_out(invented):
    points = invented.scattered(30)
    low = np.r_[np.full(3, -np.inf), np.linspace(5, 40, 27)]
    with pytest.raises(CannotFit, match="square_root"):
        fit(Observations(points, low, np.r_[np.zeros(3), low[3:]]), transform="log")


def fading(invented, count=200, seed=8, mean=3.0):
    """Thickness that fades out: 0 where the field is below 0."""
    points = invented.scattered(count, seed=seed)
    truth = invented.field(points, seed, ("exponential", 10.0, 90.0, 150.0), mean=mean)
    thickness = np.maximum(truth, 0.0)
    return Observations(points, thickness, thickness, absent=truth <= 0), truth


def test_absent_in_the_latent_form_is_at_most_zero_and_gives_a_chance_of_presence(invented):
    observations, truth = fading(invented)
    fitted = fit(observations)
    assert isinstance(fitted, FittedBounded) and (fitted.imputed < 0).all()
    there = fitted.predict(observations.points + 12)
    assert (there.estimate > 0).all() and (there.low90 >= 0).all()
    present = ~observations.absent
    assert there.presence[present].mean() > 0.75 > 0.4 > there.presence[~present].mean()
    assert fitted.predict(observations.points[:5]).presence == pytest.approx((truth[:5] > 0).astype(float), abs=0.25)


def test_absent_in_the_two_part_form_is_a_chance_and_a_thickness(invented):
    observations, _ = fading(invented)
    fitted = fit(observations, absent_as="two_part")
    found = fitted.predict(observations.points + 12)
    thick = fitted.positive.predict(observations.points + 12)
    assert found.estimate == pytest.approx(found.presence * np.maximum(thick.estimate, 0))
    assert (found.low90[found.presence < 0.95] == 0).all() and (found.high90 >= found.low90).all()
    sure = found.presence > 0.999
    assert found.high90[sure] == pytest.approx(thick.high90[sure], rel=0.02)
    left = fitted.leave_one_out()
    assert np.isfinite(left.estimate).all() and left.estimate.shape == (200,)


def test_the_quantile_of_the_two_part_form_is_that_of_many_draws():
    from geoprofile.surfaces.methods.contract import Prediction
    from geoprofile.surfaces.methods.two_part import together

    one = together(Prediction.normal(np.array([20.0]), np.array([9.0])), np.array([0.7]))
    rng = np.random.default_rng(1)
    draws = np.where(rng.random(200_000) < 0.7, rng.normal(20, 3, 200_000), 0.0)
    assert one.estimate[0] == pytest.approx(draws.mean(), rel=0.01) and one.variance[0] == pytest.approx(draws.var(), rel=0.01)
    assert [one.low90[0], one.high90[0]] == pytest.approx(np.quantile(draws, [0.05, 0.95]), abs=0.05)


def test_where_hardly_a_pit_has_it_zeros_are_values_and_the_chance_is_the_share(invented):
    observations, _ = fading(invented, 40)
    absent = np.arange(40) > 1
    thin = np.where(absent, 0.0, 4.0)
    fitted = fit(Observations(observations.points, thin, thin, absent=absent))
    assert fitted.predict(observations.points[:1] + 5).presence[0] == pytest.approx(2 / 40)
    none = fit(Observations(observations.points, 0 * thin, 0 * thin, absent=np.ones(40, bool)))
    assert none.predict(observations.points[:1]).estimate[0] == 0 and none.predict(observations.points[:1]).presence[0] == 0


@pytest.mark.parametrize("form", ["latent", "two_part"])
def test_strata_share_a_model_and_keep_their_pits(invented, form):
    observations, _ = fading(invented, 120)
    codes = (observations.points[:, 0] > observations.points[:, 0].mean()).astype(int) + 1
    choice = MethodSettings(model="exponential", absent_as=form)
    fitted = fit_map(BOUNDED_KRIGING, observations, codes, "stop", choice, least_pits=10, seed=1)
    assert set(fitted.parts) == {1, 2} and not fitted.short
    place = observations.points[:3] + 4
    both = fitted.predict(np.vstack([place, place]), None, np.repeat([1, 2], 3))
    assert np.isfinite(both.estimate).all() and np.isfinite(both.presence).all()
    assert np.abs(both.estimate[:3] - both.estimate[3:]).max() > 0.1


def test_what_is_fitted_is_picklable_and_a_refit_from_it_finds_the_same_model(invented):
    observations, _ = deep(invented)
    fitted = fit(observations)
    again = pickle.loads(pickle.dumps(fitted))
    assert np.array_equal(again.predict(observations.points[:3] + 5).estimate, fitted.predict(observations.points[:3] + 5).estimate)
    choice = MethodSettings(model="exponential")
    same = BOUNDED_KRIGING.refit(observations, choice, np.random.default_rng(1), fitted)
    assert same.system.model.scale == pytest.approx(fitted.system.model.scale, rel=1e-3)


def test_nugget_as_measurement_error_filters_and_says_so(invented):
    """K8"""
    observations, _ = deep(invented)
    fitted = fit(observations, nugget_is_error=True)
    there = fitted.predict(observations.points)
    measured = observations.low == observations.high
    assert np.abs(there.estimate - observations.low)[measured].max() > 0.5 and (there.variance > 0).all()
    assert "nugget taken as measurement error" in fitted.summary


@pytest.fixture(scope="module")
def meuse():
    from importlib.resources import files

    pytest.importorskip("skgstat")
    table = pd.read_csv(files("skgstat") / "data/samples/meuse.txt")
    return table[["x", "y"]].to_numpy(float), np.log(table["zinc"].to_numpy())


def test_the_meuse_points_censored_at_a_limit(meuse, monkeypatch):
    """Log zinc above 6.5 (40 of 155) taken as 'at least 6.5'; fixed model, ordinary kriging, leave-one-out against the truth.

    Reference: computed apart with the same model (propagation and draws); held within 1 %.
    """
    from geoprofile.kernels.covariance import Model
    from geoprofile.surfaces.methods import bounded
    from geoprofile.surfaces.methods.model_fit import ModelFit

    points, truth = meuse
    model = Model("spherical", 0.05066, 0.5906, 897.02)
    monkeypatch.setattr(bounded, "fit_limited", lambda *a, **k: ModelFit(model, 0.0, 99.0, True, "", 155))
    monkeypatch.setattr(bounded, "fit_model", lambda *a, **k: ModelFit(model, 0.0, 99.0, True, "", 155))
    censored = truth > 6.5
    assert censored.sum() == 40
    low = np.where(censored, 6.5, truth)

    def left_out(low, high, keep=slice(None)):
        fitted = fit(Observations(points[keep], low[keep], high[keep]), model="spherical", reach="same_all_round")
        left = fitted.leave_one_out()
        if len(fitted.bounded):  # each left out in earnest: what the limits say is found anew from the other 154
            rest = np.arange(155)
            again = [fit(Observations(points[rest != i], low[rest != i], high[rest != i]), model="spherical", reach="same_all_round").predict(points[i : i + 1])
                     for i in rest]  # fmt: skip
            earnest = [np.array([getattr(one, name)[0] for one in again]) for name in ("estimate", "variance")]
            assert left.estimate == pytest.approx(earnest[0], abs=0.06), "the formula holds the other factors"
            assert np.sqrt(np.mean((left.estimate - earnest[0]) ** 2)) < 0.01
            left = type(left).normal(*earnest)
        if not isinstance(keep, slice):  # dropped pits are predicted from the kept ones
            there = fitted.predict(points[~keep])
            estimate, variance = np.empty(155), np.empty(155)
            estimate[keep], estimate[~keep] = left.estimate, there.estimate
            variance[keep], variance[~keep] = left.variance, there.variance
        else:
            estimate, variance = left.estimate, left.variance
        error = estimate - truth
        held = np.abs(error) <= 1.6448536 * np.sqrt(variance)
        return [
            error.mean(), np.sqrt((error**2).mean()), (error**2 / variance).mean(), held.mean(),
            error[censored].mean(), np.sqrt((error[censored] ** 2).mean()),
        ], fitted  # fmt: skip

    for found, wanted in [
        (left_out(truth, truth)[0], [0.00002, 0.39180, 0.8186, 0.9226, -0.3117, 0.5001]),
        (left_out(low, low, ~censored)[0], [-0.22689, 0.55404, 1.2745, 0.8581, -0.8740, 0.9456]),
        (left_out(low, low)[0], [-0.08661, 0.42898, 0.9913, 0.8903, -0.5552, 0.6524]),
        (left_out(low, np.where(censored, np.inf, low))[0], [0.02094, 0.39574, 0.8054, 0.9226, -0.2709, 0.4928]),
    ]:
        assert found == pytest.approx(wanted, rel=0.01, abs=2e-4)
    fitted = left_out(low, np.where(censored, np.inf, low))[1]
    assert np.sqrt(np.mean((fitted.imputed - truth[censored]) ** 2)) == pytest.approx(0.2798891, abs=1e-3)
    cells = np.array([[181180, 333740], [179020, 330940], [179220, 329620]], float)
    found = fitted.predict(cells)
    assert found.estimate == pytest.approx([6.5152259, 6.8674795, 6.4234636], abs=2e-5)
    assert found.variance == pytest.approx([0.34301104, 0.14443288, 0.23682035], abs=2e-5)


def test_several_readings_of_a_place_tell_the_error_of_measurement(invented):
    """K8: with the nugget as error, three probes a place find it where single readings can hardly tell it from the pattern."""
    points = invented.scattered(60)
    rng = np.random.default_rng(6)
    probes = invented.field(points, 6, ("exponential", 0.0, 60.0, 120.0), mean=30)[:, None] + rng.normal(0, 3, (60, 3))
    mean = probes.mean(axis=1)
    squares = ((probes - mean[:, None]) ** 2).sum(axis=1)
    told = Observations(points, mean, mean, repeats=np.full(60, 3.0), within=squares)
    fitted = fit(told, nugget_is_error=True)
    assert fitted.system.model.nugget == pytest.approx(9, rel=0.25)
    assert any("60 places have several readings" in note and "error of measurement" in note for note in fitted.notes)
    plain = fit(Observations(points, mean, mean, repeats=np.ones(60), within=np.zeros(60)), nugget_is_error=True)
    assert abs(np.log(fitted.system.model.nugget / 9)) < abs(np.log(max(plain.system.model.nugget, 1e-3) / 9))
    assert fitted.leave_one_out().variance.min() > 0
