"""Classes are probabilities, never averages of codes."""

import numpy as np
import pytest

from geoprofile import store
from geoprofile.errors import SettingsError
from geoprofile.products import Surfaces
from geoprofile.surfaces.classes import adding_to_one, class_scores

THICK = "a_e_thickness"


@pytest.fixture
def survey(invented):
    """Poorly drained in the west, well drained in the east, rapidly at two places only."""
    points = invented.scattered(90)
    west = points[:, 0] - invented.ORIGIN[0] < 400
    drainage = np.where(west, "poorly", "well").astype(object)
    drainage[np.flatnonzero(~west)[:2]] = "rapidly"
    drainage[np.flatnonzero(west)[:4]] = None
    made = invented.products(points, {THICK: invented.measured(invented.field(points) + 9)}, [invented.definition(THICK)], drainage=drainage)
    return made, points, west


def test_classes_of_a_cell_add_to_one_and_the_map_shows_the_most_probable(survey, map_it, invented):
    """K20"""
    surfaces, context = map_it(survey[0], {"classes": ("drainage",), "method": "mean"})
    (made,) = surfaces.classes
    assert made.classes == ("poorly", "well", "other classes") and made.pits_used == 86
    each = np.stack([surfaces.rasters[key].read(context.output) for key in made.each.values()], axis=-1)
    shown = np.isfinite(each).all(axis=-1)
    assert shown.any() and each[shown].sum(axis=1) == pytest.approx(100, abs=1e-3) and each[shown].min() >= 0
    assert {surfaces.rasters[key].unit for key in (made.probability, *made.each.values())} == {"%"}
    code = surfaces.rasters[made.most_probable].read(context.output)
    assert np.array_equal(code[shown], each[shown].argmax(axis=1) + 1) and (code[~shown] == 0).all()
    assert set(np.unique(code)) <= {0, 1, 2, 3}, "no class 2.7"
    assert surfaces.rasters[made.most_probable].legend == {1: "poorly", 2: "well", 3: "other classes"}
    x, _ = np.meshgrid(*surfaces.grid.centres())
    assert (code[shown & (x < invented.ORIGIN[0] + 300)] == 1).mean() > 0.95
    assert any("taken as other classes: rapidly" in note for note in made.notes)


def test_they_are_scored_by_location_beside_random_parts(survey, map_it):
    surfaces, _ = map_it(survey[0], {"classes": ("drainage",), "method": "mean"})
    scores = surfaces.scores[surfaces.scores["attribute"] == "drainage"].set_index(["validation", "measure"])
    assert scores.loc[("by location", "purity"), "value"] > 0.85 and scores.loc[("by location", "Brier score"), "value"] < 0.3
    assert ("random parts", "purity") in scores.index
    assert surfaces.classes[0].score.startswith("by location: ") and "promised" in surfaces.classes[0].score


def test_classes_that_lie_at_random_have_no_skill(invented, map_it):
    points = invented.scattered(60)
    drainage = np.random.default_rng(5).choice(["well", "poorly"], 60, p=[0.7, 0.3])
    made = invented.products(points, {THICK: invented.measured(invented.field(points) + 9)}, [invented.definition(THICK)], drainage=drainage)
    surfaces, _ = map_it(made, {"classes": ("drainage",), "method": "mean"})
    assert any(note.startswith("no spatial skill") for note in surfaces.classes[0].notes)


def test_too_few_and_unknown_columns_are_told(survey, map_it, invented):
    surfaces, _ = map_it(survey[0], {"classes": ("stoniness",), "method": "mean"})
    assert surfaces.classes == ()
    assert surfaces.refusals[-1].reason == "0 pits say their stoniness, fewer than the 10 that a map of classes needs"
    with pytest.raises(SettingsError) as caught:
        map_it(survey[0], {"classes": ("drainag",), "method": "mean"})
    assert "drainage" in caught.value.remedy
    with pytest.raises(SettingsError):
        map_it(survey[0], {"classes": ("elevation_m",), "method": "mean"})


def test_the_product_keeps_them(survey, map_it):
    surfaces, context = map_it(survey[0], {"classes": ("drainage",), "method": "mean"})
    again = store.load(Surfaces, store.save(surfaces, context.output / ".products" / "surfaces"))
    assert again.classes == surfaces.classes


def test_scores_by_hand():
    """Two pits right, one wrong: Brier (.08 + .02 + 1.28) / 3."""
    predicted = np.array([[0.8, 0.2], [0.1, 0.9], [0.8, 0.2]])
    seen = np.array([[1.0, 0.0], [0.0, 1.0], [0.0, 1.0]])
    found = {row["measure"]: row["value"] for row in class_scores("by location", predicted, seen, "")}
    assert found["Brier score"] == pytest.approx((0.08 + 0.02 + 1.28) / 3)
    assert found["purity"] == pytest.approx(2 / 3) and found["purity promised"] == pytest.approx(2.5 / 3)


def test_nothing_left_after_clipping_is_the_overall_share():
    assert adding_to_one(np.array([[-0.2, -0.1], [1.2, 0.3]]), np.array([0.4, 0.6])).tolist() == [[0.4, 0.6], [1 / 1.3, 0.3 / 1.3]]
