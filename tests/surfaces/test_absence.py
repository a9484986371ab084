"""How absent horizons enter the map of their thickness, from end to end."""

import numpy as np
import pytest

THICK = "a_e_thickness"


def read(surfaces, context, key):
    return surfaces.rasters[key].read(context.output)


@pytest.fixture
def thinning(invented):
    """Thickness of a field of mean 4 that is 0 where the field is below 0; a third of the pits have none."""
    points = invented.scattered(110)
    truth = invented.field(points, model=("exponential", 8, 90, 130), mean=4)
    values = [
        (float(value), float(value), "measured", "present") if value > 0 else (0.0, 0.0, "absent", "absent") for value in truth
    ]
    return invented.products(points, {THICK: values}, [invented.definition(THICK)]), truth


def test_the_form_is_chosen_by_location_and_named(thinning, map_it):
    made, truth = thinning
    surfaces, context = map_it(made, {"model": "exponential", "less_than_cm": (5,)})
    (surface,) = surfaces.surfaces
    (note,) = [note for note in surface.notes if "absence taken as" in note]
    assert f"{int((truth <= 0).sum())} of 110 pits have none of it" in note and "the better by location" in note
    assert "latent " in note and "two-part " in note
    estimate, low = read(surfaces, context, surface.estimate), read(surfaces, context, surface.low90)
    assert np.nanmin(estimate) >= 0 and np.nanmin(low) == 0, "K6"
    presence = read(surfaces, context, surface.presence)
    assert 0 <= np.nanmin(presence) < 0.4 < 0.8 < np.nanmax(presence) <= 1
    below = read(surfaces, context, surface.below["5"])
    shown = np.isfinite(estimate) & np.isfinite(below)
    assert (below[shown] >= 1 - presence[shown] - 1e-5).all(), "absent is less than 5 cm too"
    brier = surfaces.scores[surfaces.scores["measure"] == "Brier score"]["value"].iloc[0]
    assert brier < 0.22


@pytest.mark.parametrize("form, words", [("latent", "latent form"), ("two_part", "two-part form"), ("value", "a value of 0 like others")])
def test_a_form_that_is_set_is_used_and_named(thinning, map_it, form, words):
    surfaces, _ = map_it(thinning[0], {"model": "exponential", "absent_as": form})
    (surface,) = surfaces.surfaces
    assert any(words in note and "as set" in note for note in surface.notes)
    assert surface.presence, "the chance of presence is mapped whatever the form"


def test_depths_with_bounds_are_mapped_and_the_readings_are_kept(invented, map_it):
    points = invented.scattered(90)
    truth = invented.field(points, model=("exponential", 60, 400, 130), mean=70)
    values = [
        (float(value), float(value), "measured", "present") if value < 80 else (80.0, np.nan, "at_least", "not_seen")
        for value in truth
    ]
    depth = invented.definition("depth_to_carbonates", "depth")
    made = invented.products(points, {"depth_to_carbonates": values}, [depth])
    surfaces, context = map_it(made, {"model": "exponential", "show_unbacked": True})
    (surface,) = surfaces.surfaces
    deep = truth >= 80
    assert surface.method == "bounded_kriging" and f"{int(deep.sum())} of them bounded" in surface.model
    points = surfaces.points
    assert np.isfinite(points["reading"]).all() and (points["reading_variance"][deep] > 0).all()
    assert (points["reading_variance"][~deep] == 0).all() and (points["high"][deep] == np.inf).all()
    assert np.nanmax(read(surfaces, context, surface.estimate)) > 85
