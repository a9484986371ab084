"""Colours that people who are colour-blind tell apart."""

import itertools
import warnings

import numpy as np
import pytest

from geoprofile.outputs.map_colours import NAMED_CLASSES, OTHER_GREY
from geoprofile.outputs.palette import DISTINCT, NOT_BACKED, NOT_BACKED_GREY, category_colours, channels, ramp_colours

colour = pytest.importorskip("colour")


def cielab(hexes, kind):
    """CIELAB as seen with full ``kind`` (Machado, Oliveira & Fernandes 2009), by colour-science."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colour.blindness import matrix_cvd_Machado2009

        matrix = np.eye(3) if kind == "none" else matrix_cvd_Machado2009(kind, 1.0)
        linear = colour.cctf_decoding(np.array([channels(text) for text in hexes]) / 255, function="sRGB")
        seen = np.clip(linear @ matrix.T, 0, 1)
        return colour.XYZ_to_Lab(colour.sRGB_to_XYZ(seen, apply_cctf_decoding=False))


@pytest.mark.parametrize("kind", ["none", "Deuteranomaly", "Protanomaly", "Tritanomaly"])
def test_any_two_distinct_colours_are_far_apart(kind):
    seen = cielab(DISTINCT, kind)
    assert min(np.linalg.norm(a - b) for a, b in itertools.combinations(seen, 2)) > 29.9


@pytest.mark.parametrize("kind", ["none", "Deuteranomaly", "Protanomaly", "Tritanomaly"])
def test_any_two_colours_of_named_classes_are_far_enough_apart(kind):
    seen = cielab((*NAMED_CLASSES, OTHER_GREY), kind)
    assert min(np.linalg.norm(a - b) for a, b in itertools.combinations(seen, 2)) > 20


@pytest.mark.parametrize("kind", ["none", "Deuteranomaly", "Protanomaly", "Tritanomaly"])
def test_the_ramp_falls_in_lightness_all_the_way(kind):
    assert (np.diff(cielab(ramp_colours(9), kind)[:, 0]) < -3).all()


def test_classes_in_order_get_the_ramp_and_names_get_distinct_colours():
    assert list(category_colours(["0 to 25 cm", "25 to 50 cm"]).values()) == ramp_colours(2)
    assert list(category_colours(["level", "footslope"]).values()) == list(DISTINCT[:2])
    many = category_colours([f"soil {letter}" for letter in "abcdefghijkl"])
    assert len(set(many.values())) == 12


def test_land_that_the_pits_do_not_back_is_grey_and_leaves_the_classes_their_ramp():
    colours = category_colours(["10 to 15 cm", "15 to 20 cm", NOT_BACKED])
    assert list(colours.values()) == [*ramp_colours(2), NOT_BACKED_GREY]
    red, green, blue = channels(NOT_BACKED_GREY)
    assert max(red, green, blue) - min(red, green, blue) < 8  # no hue of its own
