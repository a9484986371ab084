"""Polygons for display."""

import geopandas as gpd
import numpy as np
import pytest
import shapely

from geoprofile.outputs.map_places import Places
from geoprofile.outputs.map_polygons import _simplified, vectors_plain
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
