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
    assert 0 <= np.nanmin(presence) < 40 < 80 < np.nanmax(presence) <= 100
    below = read(surfaces, context, surface.below["5"])
    shown = np.isfinite(estimate) & np.isfinite(below)
    assert (below[shown] >= 100 - presence[shown] - 1e-3).all(), "absent is less than 5 cm too"
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


def ending_abruptly(invented, count=110):
    """Present by one field, thick by another and nowhere thin: the two-part form suits it."""
    points = invented.scattered(count, seed=5)
    there = invented.field(points, seed=6, model=("exponential", 0, 1, 200)) > -0.2
    return points, np.where(there, invented.field(points, seed=7, model=("exponential", 2, 20, 150), mean=30), 0.0)


def chosen(points, thick, settings=None):
    from geoprofile.surfaces.absence import fit_with_absence
    from geoprofile.surfaces.folds import Targets
    from geoprofile.surfaces.methods.bounded import BOUNDED_KRIGING
    from geoprofile.surfaces.methods.contract import MethodSettings, Observations

    observations, codes = Observations(points, thick, thick, absent=thick == 0), np.ones(len(points), int)
    x, y = np.meshgrid(np.arange(0, 800, 40.0), np.arange(0, 800, 40.0))
    middle = points.min(axis=0)
    targets = Targets(np.column_stack([x.ravel(), y.ravel()]) + middle, np.ones(x.size, int), 20.0)
    settings = settings or MethodSettings(model="exponential")
    found = fit_with_absence(
        BOUNDED_KRIGING, observations, codes, "", settings, targets, least_pits=10, seed=1, folds=5, names={1: "all"}
    )
    return observations, codes, targets, found


def without(part, labels, observations, codes, found):
    """What the others say of one part, the form chosen anew from them."""
    from geoprofile.surfaces.methods.bounded import BOUNDED_KRIGING
    from geoprofile.surfaces.validation import held_out

    only = np.where(labels == part, 0, 1)
    return held_out(BOUNDED_KRIGING, observations, codes, "", found.settings, only, 10, 1, found.fitted, found.anew).estimate[only == 0]


def test_K15_the_form_is_chosen_anew_inside_each_part_from_the_others_alone(invented):
    """Whatever the pits of a part say, they have no voice in the form by which they are predicted."""
    points, thick = ending_abruptly(invented)
    observations, codes, _, found = chosen(points, thick)
    labels = np.arange(110) % 5
    before = without(0, labels, observations, codes, found)
    assert sum(found.anew.picked.values()) == 2, "once for part 0, once for all others as one part"
    other = np.where(labels == 0, np.where(thick > 0, 0.0, 90.0), thick)  # part 0 says the contrary of everything
    changed = chosen(points, other)
    after = without(0, labels, changed[0], codes, changed[3])
    assert after == pytest.approx(before, abs=0.02), "other starts of the search, the same pits"


def test_how_often_each_form_was_chosen_is_told_and_the_map_keeps_its_own(invented):
    from geoprofile.surfaces.limits import Clip
    from geoprofile.surfaces.methods.bounded import BOUNDED_KRIGING
    from geoprofile.surfaces.validation import validate

    observations, codes, targets, found = chosen(*ending_abruptly(invented))
    assert found.settings.absent_as == "two_part" and "chosen anew" not in found.notes[0]
    validate(
        BOUNDED_KRIGING, observations, codes, "", found.settings, found.fitted, least_pits=10, folds=5, seed=1, clip=Clip(0.0, np.inf),
        targets=targets, refit=found.anew,
    )  # fmt: skip
    assert "; chosen anew inside each part of the validation: " in found.notes[0]
    assert found.anew.picked["two_part"] >= 0.6 * sum(found.anew.picked.values())


def test_a_form_that_is_set_is_not_chosen_anew(invented):
    from geoprofile.surfaces.methods.contract import MethodSettings

    found = chosen(*ending_abruptly(invented), MethodSettings(model="exponential", absent_as="latent"))[3]
    assert found.anew is None and found.notes[0].endswith("as set")


def test_a_part_whose_others_all_lack_it_cannot_be_predicted(invented):
    from geoprofile.surfaces.methods.contract import CannotFit

    observations, codes, _, found = chosen(*ending_abruptly(invented))
    none = observations.absent
    with pytest.raises(CannotFit, match="no pit that remains has it"):
        found.anew(observations.take(none), codes[none], 3)
