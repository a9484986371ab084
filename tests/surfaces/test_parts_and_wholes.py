"""A part that is mapped thicker than its whole is told, and never bent."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.grid import Grid
from geoprofile.products import Surface
from geoprofile.surfaces.parts_and_wholes import WHOLES, with_cautions

GRID = Grid("EPSG:3158", 500_000.0, 5_800_000.0, 10.0, 10, 10)


class Cells:
    """A raster in memory, read as the files are."""

    def __init__(self, cells):
        self.cells = np.asarray(cells, float)

    def read(self, output, window):
        return self.cells[window.slices]


def told(part, whole, tmp_path):
    surfaces = (
        Surface("dark_a_thickness", "Thickness of the dark A", "cm", "m", "kriging", "part"),
        Surface("a_e_thickness", "Thickness of A and E together", "cm", "m", "kriging", "whole"),
    )
    return with_cautions(surfaces, {"part": Cells(part), "whole": Cells(whole)}, GRID, tmp_path)


def test_a_part_thicker_than_its_whole_says_over_how_much_land_and_by_how_much(tmp_path):
    whole = np.full((10, 10), 20.0)
    part = np.full((10, 10), 15.0)
    part[:3] = 27.0
    part[9] = np.nan
    one, other = told(part, whole, tmp_path)
    assert "over 33 % of the land" in one.cautions[0] and "by up to 7 cm" in one.cautions[0] and "A and E together" in one.cautions[0]
    assert one.notes == one.cautions and other.cautions == ()


@pytest.mark.parametrize("more", [-5.0, 0.0, 0.4])
def test_rounding_and_a_part_that_fits_say_nothing(tmp_path, more):
    one, _ = told(np.full((10, 10), 20.0 + more), np.full((10, 10), 20.0), tmp_path)
    assert one.cautions == ()


def test_surfaces_without_common_land_say_nothing(tmp_path):
    one, _ = told(np.full((10, 10), np.nan), np.full((10, 10), 20.0), tmp_path)
    assert one.cautions == ()


def test_every_part_and_whole_is_an_attribute_of_ours():
    from geoprofile.registry import plugins

    assert {*WHOLES, *WHOLES.values()} <= set(plugins("geoprofile.attributes").loaded)
