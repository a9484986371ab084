"""Layers of the surfaces on the page."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from geoprofile.grid import Grid
from geoprofile.outputs.map_colours import OTHER_GREY
from geoprofile.outputs.map_layers import factor_of, raster_layers
from geoprofile.outputs.map_weights import _Strata
from geoprofile.outputs.web_map import COARSER

from . import map_bundle


@pytest.fixture(scope="module")
def layers(tmp_path_factory):
    return raster_layers(map_bundle.bundle(tmp_path_factory.mktemp("survey")))


def group_of(layers, name):
    return next(group for group in layers.groups if group["name"] == name)


def test_classes_have_the_most_probable_one_how_probable_it_is_and_each_of_them(layers):
    group = group_of(layers, "drainage")
    assert group["kind"] == "classes" and group["skill"]
    assert [part["part"] for part in group["parts"]] == ["class", "class_probability", "each", "each", "each"]
    assert [part.get("class") for part in group["parts"][2:]] == ["poorly", "well <b>drained</b>", "other classes"]


def test_the_class_that_covers_most_has_the_lightest_colour_and_other_classes_are_grey(layers):
    legend = group_of(layers, "drainage")["parts"][0]["legend"]
    assert {row["label"]: row["colour"] for row in legend}["other classes"] == OTHER_GREY
    most = max(legend, key=lambda row: row["ha"])
    assert most["colour"] == "#efce6b"


def test_less_and_more_than_a_limit_are_layers_of_their_surface(layers):
    labels = [part["label"] for part in group_of(layers, "depth_to_carbonates")["parts"]]
    assert "Probability of less than 25 cm" in labels and "Probability of more than 60 cm" in labels


def test_class_layers_stand_in_the_order_of_the_trade(tmp_path):
    """The classes of the invented survey with words that the vocabulary knows, sorted by the alphabet as surfaces have them."""
    made = map_bundle.bundle(tmp_path)
    one, words = made.surfaces.classes[0], ("imperfectly", "well", "other classes")
    keys = dict(zip(words, one.each.values(), strict=True))
    raster = replace(made.surfaces.rasters[one.most_probable], legend=dict(enumerate(words, start=1)))
    rasters = made.surfaces.rasters | {one.most_probable: raster}
    surfaces = replace(made.surfaces, classes=(replace(one, classes=words, each=keys),), rasters=rasters)
    group = group_of(raster_layers(replace(made, surfaces=surfaces)), "drainage")
    assert [row["label"] for row in group["parts"][0]["legend"]] == ["well", "imperfectly", "other classes"]
    assert [row["code"] for row in group["parts"][0]["legend"]] == [2, 1, 3]
    assert [(part["class"], part["raster"]) for part in group["parts"][2:]] == [(name, keys[name]) for name in ("well", "imperfectly", "other classes")]


def test_codes_of_strata_are_looked_up_window_by_window(monkeypatch):
    west = shapely.box(0, -6_000, 2_000, 0)
    strata = _Strata(SimpleNamespace(survey=SimpleNamespace(strata=None)))
    strata.shapes, strata.names, strata.code_of = np.array([west]), ("west", "no stratum"), np.array([1, 2])
    grid, asked = Grid("EPSG:3158", 0.0, 0.0, 10.0, 600, 400), []
    really = _Strata.codes
    monkeypatch.setattr(_Strata, "codes", lambda self, points: asked.append(len(points)) or really(self, points))
    codes = strata.over(grid)
    assert max(asked) <= 256**2 and sum(asked) == codes.size
    assert (codes[:, :200] == 1).all() and (codes[:, 200:] == 2).all()


def test_rasters_beyond_the_room_are_counted_and_not_kept(tmp_path):
    made = map_bundle.bundle(tmp_path)
    whole = raster_layers(made)
    short = raster_layers(made, 1, whole.size / 2)
    assert short.size == whole.size == sum(len(raster["data"]) for raster in whole.rasters.values())
    assert sum(len(raster["data"]) for raster in short.rasters.values()) <= whole.size / 2


def test_steps_toward_coarser_cells_are_small_where_cells_are_coarse_already():
    """8,000 cells a side become 1,143 of seven; the next step is eight, not fourteen."""
    large = Grid("EPSG:3158", 0.0, 0.0, 5.0, 8_000, 8_000)
    assert [factor_of(large, coarser) for coarser in COARSER[:4]] == [7, 8, 9, 11]
    assert [factor_of(map_bundle.GRID, coarser) for coarser in COARSER[:3]] == [1, 2, 2]
