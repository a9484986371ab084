"""Pits by the landform element they stand on."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.intervals import measured
from geoprofile.problems import problems_frame
from geoprofile.products import Terrain
from geoprofile.rasters import CLASS, write_raster
from geoprofile.record import Record
from geoprofile.zones.elements import by_landform_element
from geoprofile.zones.findings import Findings
from geoprofile.zones.places import CountedPits


def all_counted(pits):
    return CountedPits(pits.pits, pits.pits.iloc[:0].assign(why=""))


@pytest.fixture
def terrain(grid, make_context):
    context = make_context()
    codes = np.ones(grid.shape, "uint8")
    codes[:, 15:] = 2
    codes[0, 0] = 0
    legend = {1: "level", 2: "divergent shoulder", 3: "convergent shoulder"}
    raster = write_raster(
        context.output, "terrain/landform_element.tif", codes, grid,
        name="landform_element", title="Landform element", unit="", kind=CLASS, legend=legend,
    )  # fmt: skip
    return Terrain(Record("terrain", {}), grid, {"landform_element": raster}, problems_frame([])), context


def test_each_pit_is_in_the_element_of_its_cell_or_in_none(terrain, make_pits, at):
    """T11, Z12: outside and no data are in no element, never in the first."""
    made, context = terrain
    places = {"level": at(100, 100), "shoulder": at(155, 100), "no data": at(5, 5), "outside": at(-5, 100), "nowhere": None}
    pits, _ = make_pits([(name, place, {"depth_to_carbonates": measured(20)}) for name, place in places.items()])
    grouping = by_landform_element(all_counted(pits), made, None, context, Findings())
    assert grouping.of_pit.to_dict() == {
        "level": "level", "shoulder": "divergent shoulder", "no data": "", "outside": "", "nowhere": "",
    }  # fmt: skip
    assert grouping.groups["area_ha"].tolist() == [2.99, 3.0, 0.0]


def test_pits_left_out_are_told_at_the_element_they_stand_on(terrain, make_pits, at):
    made, context = terrain
    pits, _ = make_pits([("a", at(100, 100), {}), ("yard", at(155, 100), {})])
    own = CountedPits(pits.pits.iloc[:1], pits.pits.iloc[1:].assign(why="on stripped ground"))
    grouping = by_landform_element(own, made, None, context, Findings())
    assert list(grouping.of_pit.index) == ["a"]
    assert grouping.left_out.to_dict("records") == [{"pit_id": "yard", "group": "divergent shoulder", "why": "on stripped ground"}]


def test_hectares_end_at_the_survey_area(terrain, make_pits, at, block):
    made, context = terrain
    pits, _ = make_pits([("a", at(100, 100), {"depth_to_carbonates": measured(20)})])
    grouping = by_landform_element(all_counted(pits), made, block(100, 0, 200, 200), context, Findings())
    assert grouping.groups["area_ha"].tolist() == [1.0, 1.0, 0.0]


def test_without_terrain_there_is_no_such_table(make_pits, at, make_context):
    pits, _ = make_pits([("a", at(100, 100), {"depth_to_carbonates": measured(20)})])
    assert by_landform_element(all_counted(pits), None, None, make_context(), Findings()) is None
