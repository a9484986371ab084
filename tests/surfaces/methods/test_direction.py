"""A direction of longer reach is found where there is one, and never made of noise."""

import numpy as np
import pytest

from geoprofile.kernels.covariance import Model, covariance_in_place, scaled_squares
from geoprofile.surfaces.methods.bounded import BOUNDED_KRIGING
from geoprofile.surfaces.methods.contract import MethodSettings, Observations
from geoprofile.surfaces.methods.direction import CHANCE, LEAST_PITS, all_round
from geoprofile.surfaces.methods.kriging import ORDINARY_KRIGING

STRIPED = Model("exponential", 10.0, 60.0, 150.0, 30.0, 0.25)
"""Reach along azimuth 30 degrees four times that across it."""


def survey(count, seed, model=STRIPED, limit=np.inf):
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 1000, (count, 2))
    matrix = covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, points, points)) + model.nugget * np.eye(count)
    depth = 100 + np.linalg.cholesky(matrix) @ rng.standard_normal(count)
    return Observations(points, np.minimum(depth, limit), np.where(depth > limit, np.inf, depth))


def fit(observations, **settings):
    return BOUNDED_KRIGING.fit(observations, MethodSettings(**{"model": "exponential", **settings}), np.random.default_rng(1))


@pytest.fixture(scope="module")
def striped():
    from threadpoolctl import threadpool_limits

    observations = survey(300, 4, limit=104.0)
    with threadpool_limits(1):  # module fixtures come before that of each test
        return observations, fit(observations)


def test_azimuth_and_ratio_are_found_through_the_bounds_and_told(striped):
    observations, fitted = striped
    assert (observations.low != observations.high).sum() > 60
    found = fitted.parameters
    assert found["azimuth"] == pytest.approx(30, abs=10)
    assert found["ratio"] == pytest.approx(0.25, abs=0.1)
    assert found["scale_m"] == pytest.approx(150, rel=0.5)
    assert "along azimuth" in fitted.summary and "across it" in fitted.summary
    assert any("farther along azimuth" in note and f"{CHANCE:g} once in a thousand" in note for note in fitted.notes)


def test_with_the_direction_places_that_were_not_seen_are_told_better():
    every = survey(600, 8)
    seen, others = every.take(np.arange(300)), every.take(np.arange(300, 600))
    errors = [
        np.sqrt(np.mean((fit(seen, reach=reach).predict(others.points).estimate - others.low) ** 2)) for reach in ("fitted", "same_all_round")
    ]
    assert errors[0] < 0.95 * errors[1]


def test_K15_a_part_of_the_pits_is_asked_for_its_direction_anew(striped):
    observations, fitted = striped
    some = observations.take(np.arange(300) % 10 != 0)
    again = BOUNDED_KRIGING.refit(some, MethodSettings(model="exponential"), np.random.default_rng(1), fitted).parameters
    assert again["azimuth"] == pytest.approx(30, abs=12) and again["azimuth"] != fitted.parameters["azimuth"]
    fresh = fit(some).parameters
    assert (again["azimuth"], again["ratio"]) == pytest.approx((fresh["azimuth"], fresh["ratio"]), rel=0.02)
    noise = survey(300, 5, STRIPED._replace(ratio=1.0))
    refitted = BOUNDED_KRIGING.refit(noise, MethodSettings(model="exponential"), np.random.default_rng(1), fitted)
    assert "azimuth" not in refitted.parameters, "the direction of all pits is a start, not an answer"


def test_a_field_that_is_the_same_all_round_and_pure_noise_have_no_direction():
    """Twenty fields and twenty lots of noise; 600 fields apart from these gave none (twice the gain at most 13.2)."""
    for seed in range(20):
        plain = survey(100, seed, STRIPED._replace(ratio=1.0))
        assert "azimuth" not in getattr(fit(plain), "parameters", {})
        noise = np.random.default_rng(seed).normal(100, 8, 100)
        assert "azimuth" not in getattr(fit(Observations(plain.points, noise, noise)), "parameters", {})


def test_few_pits_with_a_value_are_not_asked():
    observations = survey(300, 4)
    keep = np.arange(300) < LEAST_PITS - 1
    assert "azimuth" not in fit(observations.take(keep)).parameters


def test_what_is_set_outranks_what_would_be_found(striped):
    observations, _ = striped
    set_ = fit(observations, azimuth=120.0, reach_ratio=0.5)
    assert (set_.parameters["azimuth"], set_.parameters["ratio"]) == (120.0, 0.5)
    assert "along azimuth 120 degrees" in set_.summary
    assert "azimuth" not in fit(observations, reach="same_all_round").parameters


def test_K4_five_million_metres_more_on_every_northing_do_not_turn_it(striped):
    observations, fitted = striped
    moved = Observations(observations.points + [0, 5_000_000], observations.low, observations.high)
    found = fit(moved).parameters
    assert (found["azimuth"], found["ratio"]) == pytest.approx((fitted.parameters["azimuth"], fitted.parameters["ratio"]), rel=1e-3)


def test_ordinary_kriging_asks_the_same_question():
    observations = survey(300, 4)
    found = ORDINARY_KRIGING.fit(observations, MethodSettings(model="exponential"), np.random.default_rng(1)).parameters
    assert found["azimuth"] == pytest.approx(30, abs=10) and found["ratio"] < 0.5
    set_ = ORDINARY_KRIGING.fit(observations, MethodSettings(model="exponential", azimuth=45.0, reach_ratio=0.6), np.random.default_rng(1))
    assert set_.parameters["azimuth"] == 45.0


def test_many_pits_are_asked_on_a_part():
    observations = survey(500, 4)
    assert fit(observations).parameters["azimuth"] == pytest.approx(30, abs=10)


def test_the_nearest_model_of_one_reach_has_the_mean_of_both():
    assert all_round(STRIPED).scale == pytest.approx(np.sqrt(150 * 150 * 0.25))
    assert all_round(None) is None


@pytest.mark.parametrize("azimuth", [90.0, 0.0])
def test_K13_a_map_changes_slowly_the_way_the_azimuth_points(invented, map_it, azimuth):
    """Azimuth 90 degrees is east, 0 north: along it a step changes the map less than across."""
    truth = Model("exponential", 1.0, 60.0, 250.0, 90.0, 1.0)
    observations = survey(100, 2, truth)
    made = invented.products(
        observations.points * 0.8 + invented.ORIGIN, {"a_e_thickness": invented.measured(observations.low)}, [invented.definition()]
    )
    set_ = {"model": "exponential", "reach_azimuth_degrees": azimuth, "reach_ratio": 0.3, "show_unbacked": True, "folds": 2}
    surfaces, context = map_it(made, set_, cell_m=20.0)
    (surface,) = surfaces.surfaces
    assert (surface.parameters["azimuth"], surface.parameters["ratio"]) == (azimuth, 0.3)
    estimate = surfaces.rasters[surface.estimate].read(context.output)
    east, north = (np.nanmean(np.abs(np.diff(estimate, axis=axis))) for axis in (1, 0))
    assert (1.5 * east < north) if azimuth == 90 else (1.5 * north < east)


def test_a_fitted_direction_is_told_with_the_surface_and_kept_for_sums_over_land(invented, map_it):
    observations = survey(150, 21, STRIPED._replace(nugget=2.0, ratio=0.2, scale=250.0))
    made = invented.products(
        observations.points + invented.ORIGIN, {"a_e_thickness": invented.measured(observations.low)}, [invented.definition()]
    )
    surfaces, _ = map_it(made, {"model": "exponential", "folds": 3}, cell_m=50.0)
    (surface,) = surfaces.surfaces
    assert surface.parameters["azimuth"] == pytest.approx(30, abs=12) and surface.parameters["ratio"] < 0.5
    assert "along azimuth" in surface.model and any("once in a thousand surveys" in note for note in surface.notes)


def test_an_azimuth_without_a_ratio_is_refused_with_the_way_out():
    from geoprofile.errors import SettingsError
    from geoprofile.settings.surfaces import SurfacesSettings
    from geoprofile.surfaces.choices import settings_for

    with pytest.raises(SettingsError, match="needs how much longer") as refused:
        settings_for("a_e_thickness", SurfacesSettings(reach_azimuth_degrees=30))
    assert "reach_ratio" in str(refused.value.remedy)
    apart = SurfacesSettings(reach_ratio=0.5, **{"for": {"a_e_thickness": {"reach_azimuth_degrees": 30}}})
    assert settings_for("a_e_thickness", apart).azimuth == 30.0
    assert settings_for("a_e_thickness", SurfacesSettings()).seeks_direction
    assert not settings_for("a_e_thickness", SurfacesSettings(reach="same_all_round")).seeks_direction
