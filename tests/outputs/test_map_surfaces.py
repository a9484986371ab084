"""Layers of the surfaces on the page."""

import pytest

from geoprofile.outputs.map_colours import OTHER_GREY
from geoprofile.outputs.map_layers import raster_layers

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
