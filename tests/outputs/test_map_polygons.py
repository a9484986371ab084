"""Polygons for display."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest
import shapely

from geoprofile.outputs.map_colours import ramp
from geoprofile.outputs.map_places import Places
from geoprofile.outputs.map_polygons import _simplified, vectors_plain
from geoprofile.outputs.palette import NOT_BACKED, NOT_BACKED_GREY
from geoprofile.outputs.web_map import extent

from . import map_bundle


def stairs() -> np.ndarray:
    """Two zones that share a stepped edge, as cells make it."""
    edge = [(0.0, 0.0)]  # ten metres across, ten metres up
    for _ in range(40):
        edge += [(edge[-1][0] + 10, edge[-1][1]), (edge[-1][0] + 10, edge[-1][1] + 10)]
    left = shapely.Polygon([*edge, (0, 400)])
    right = shapely.Polygon([*edge[1:], (500, 400), (500, 0)])
    return np.array([left, right])


def test_zones_are_simplified_together_without_gap_or_overlap_Z4_W17():
    shapes = stairs()
    simple = _simplified(shapes, 7.5)
    assert (
        sum(shapely.get_num_coordinates(shape) for shape in simple)
        < sum(shapely.get_num_coordinates(shape) for shape in shapes) / 4
    )
    assert simple[0].intersection(simple[1]).area == 0
    assert (
        shapely.union_all(simple).area
        == pytest.approx(shapely.area(simple).sum())
        == pytest.approx(shapely.area(shapes).sum())
    )


def test_lifts_of_one_polygon_are_one_outline_with_two_sayings(tmp_path):
    survey = map_bundle.bundle(tmp_path)
    layers = {layer["name"]: layer for layer in vectors_plain(survey, Places.of(map_bundle.CRS, extent(survey)), 5.0)}
    assert list(layers) == ["zones", "parcels", "salvage"]
    (pad,) = layers["salvage"]["features"]
    assert pad["name"] == "Pad 1"
    assert [dict(says)["thickness"] for says in pad["says"]] == ["0 cm", "14.2 cm"]


def test_coordinates_have_at_most_six_decimals_and_rings_are_not_closed_twice_W17(tmp_path):
    survey = map_bundle.bundle(tmp_path)
    layers = vectors_plain(survey, Places.of(map_bundle.CRS, extent(survey)), 5.0)
    parcel = next(layer for layer in layers if layer["name"] == "parcels")["features"][0]
    ((ring,),) = parcel["paths"]
    assert len(ring) == 8 and all(round(value, 6) == value for value in ring)


def test_the_legend_of_zones_has_names_colours_and_hectares(tmp_path):
    survey = map_bundle.bundle(tmp_path)
    zones = vectors_plain(survey, Places.of(map_bundle.CRS, extent(survey)), 5.0)[0]
    assert [row["label"] for row in zones["legend"]] == ["lower slope", "knoll", "eastern flat"]
    assert abs(sum(row["ha"] for row in zones["legend"]) - 30) < 0.1


def test_the_outline_of_the_survey_area_comes_from_its_own_file(tmp_path):
    from dataclasses import replace

    west, south, east, north = map_bundle.GRID.bounds
    frame = gpd.GeoDataFrame({"name": ["all"]}, geometry=[shapely.box(west, south, east, north)], crs=map_bundle.CRS)
    frame.to_file(tmp_path / "area.gpkg", driver="GPKG")
    survey = map_bundle.bundle(tmp_path)
    settings = survey.context.survey.model_copy(update={"area": "area.gpkg"})
    survey = replace(survey, context=replace(survey.context, survey=settings))
    first = vectors_plain(survey, Places.of(map_bundle.CRS, extent(survey)), 5.0)[0]
    assert first["name"] == "area" and first["shown"]


def drafted(survey):
    """The survey with zones cut from a surface by class limits."""
    names = ["20 to 25 cm", "25 cm and more", NOT_BACKED]
    zones = survey.zones.zones.assign(**{"name": names, "from": "surface of a_e_thickness", "area_percent": [50.0, 30.0, 20.0],
                                         "parts": [4, 2, 50], "smoothing_changed_area_percent": -0.382})  # fmt: skip
    return replace(survey, zones=replace(survey.zones, zones=zones))


def test_zones_say_what_they_are_drafted_from_and_keep_the_working_of_the_drawing_to_the_tables(tmp_path):
    survey = drafted(map_bundle.bundle(tmp_path))
    zones = vectors_plain(survey, Places.of(map_bundle.CRS, extent(survey)), 5.0)[0]
    assert zones["told"] == "Thickness of A and E (cm)"
    says = dict(zones["features"][0]["says"][0])
    assert says["drafted from"] == "Thickness of A and E (cm)" and says["share of the area"] == "50 %"
    assert not {"parts", "smoothing changed area"} & set(says)


def test_zones_between_limits_grow_darker_and_what_is_not_backed_is_grey(tmp_path):
    survey = drafted(map_bundle.bundle(tmp_path))
    zones = vectors_plain(survey, Places.of(map_bundle.CRS, extent(survey)), 5.0)[0]
    assert [row["colour"] for row in zones["legend"]] == [*ramp("depth", 2), NOT_BACKED_GREY]
