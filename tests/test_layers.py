"""The user's polygons: one layer, a known system, valid, named uniquely."""

import geopandas as gpd
import pytest
import shapely

from geoprofile.errors import InputError
from geoprofile.layers import read_polygons

SQUARE = shapely.box(0, 0, 10, 10)
BOW_TIE = shapely.Polygon([(0, 0), (10, 10), (10, 0), (0, 10), (0, 0)])


def _write(path, shapes, layer="a", crs="EPSG:3158", **columns):
    gpd.GeoDataFrame(columns, geometry=shapes, crs=crs).to_file(path, layer=layer, driver="GPKG")


def test_polygons_come_back_multi_and_in_the_survey_system(tmp_path):
    """G9, G14."""
    path = tmp_path / "a.gpkg"
    _write(path, [shapely.box(-98, 52, -97.99, 52.01)], crs="EPSG:4326", name=["x"])
    frame = read_polygons(path, id="name", crs="EPSG:3158", what="parcels")
    assert frame.crs.to_epsg() == 3158 and set(frame.geom_type) == {"MultiPolygon"} and frame["id"].tolist() == ["x"]
    # at 52 degrees a hundredth of a degree is 1112.7 m along and 686.8 m across (series of the WGS 84 ellipsoid, Snyder 1987)
    assert frame.area.iloc[0] == pytest.approx(1112.7 * 686.8, rel=0.003)
    west = frame.total_bounds[0]
    assert west > 100_000, "reprojected, not labelled"


def test_several_layers_and_none_named_is_an_error_that_lists_them(tmp_path):
    """G5."""
    path = tmp_path / "a.gpkg"
    _write(path, [SQUARE], "one")
    _write(path, [SQUARE], "two")
    with pytest.raises(InputError) as caught:
        read_polygons(path, crs="EPSG:3158", what="strata")
    assert caught.value.found == "one, two"


def test_a_layer_without_a_system_is_refused(tmp_path):
    """G8, G9."""
    path = tmp_path / "a.shp"
    gpd.GeoDataFrame({"name": ["x"]}, geometry=[SQUARE]).to_file(path)
    with pytest.raises(InputError, match="coordinate system"):
        read_polygons(path, crs="EPSG:3158", what="strata")


def test_repair_keeps_the_area_or_fails(tmp_path):
    """Z3: a figure-eight is not silently halved."""
    path = tmp_path / "a.gpkg"
    _write(path, [BOW_TIE], name=["x"])
    with pytest.raises(InputError, match="without changing its area"):
        read_polygons(path, crs="EPSG:3158", what="strata")


def test_a_repair_that_keeps_the_area_is_made(tmp_path):
    """Z3: a ring that touches itself in a point becomes two parts and loses nothing."""
    path = tmp_path / "a.gpkg"
    touching = shapely.Polygon([(0, 0), (10, 0), (5, 5), (10, 10), (0, 10), (5, 5), (0, 0)])
    assert not touching.is_valid
    _write(path, [touching], name=["x"])
    found = read_polygons(path, crs="EPSG:3158", what="strata").geometry.iloc[0]
    assert found.is_valid and found.geom_type == "MultiPolygon" and found.area == pytest.approx(touching.area)


def test_number_like_ids_stay_as_they_are_and_duplicates_are_refused(tmp_path):
    """R8."""
    path = tmp_path / "a.gpkg"
    _write(path, [SQUARE, SQUARE], parcel=[7.0, 12.0], same=["p", "p"])
    assert read_polygons(path, id="parcel", crs="EPSG:3158", what="parcels")["id"].tolist() == ["7", "12"]
    with pytest.raises(InputError, match="unique"):
        read_polygons(path, id="same", crs="EPSG:3158", what="parcels")


def test_a_file_with_unsaved_edits_beside_it_is_refused(tmp_path):
    """G3."""
    path = tmp_path / "a.gpkg"
    _write(path, [SQUARE])
    (tmp_path / "a.gpkg-wal").write_bytes(b"edits")
    with pytest.raises(InputError, match="being edited"):
        read_polygons(path, crs="EPSG:3158", what="strata")


@pytest.mark.parametrize("shape", [None, shapely.Polygon()], ids=["null", "empty"])
def test_a_feature_without_a_shape_is_named_and_never_left_out_in_silence(tmp_path, shape):
    """A sum over the rest would look whole."""
    path = tmp_path / "strip.gpkg"
    _write(path, [SQUARE, shape, SQUARE], name=["one", "two", "three"])
    with pytest.raises(InputError, match="1 of 3 features has no shape") as caught:
        read_polygons(path, id="name", crs="EPSG:3158", what="the areas to be stripped")
    assert caught.value.found == "feature 2 (two)" and caught.value.where.startswith(str(path))


@pytest.mark.parametrize("names", [["one", None, "three"], ["one", " ", "three"], [1.0, float("nan"), 3.0]])
def test_a_feature_without_an_id_is_refused_and_never_called_nan(tmp_path, names):
    path = tmp_path / "strip.gpkg"
    _write(path, [SQUARE, SQUARE, SQUARE], name=names)
    with pytest.raises(InputError, match="1 of 3 features has no id") as caught:
        read_polygons(path, id="name", crs="EPSG:3158", what="the areas to be stripped")
    assert caught.value.found == "feature 2" and caught.value.where == f"{path}, column name"


def test_metres_in_a_geojson_that_names_no_system_are_told_from_degrees(tmp_path):
    """RFC 7946: without a system, GeoJSON is in degrees."""
    path = tmp_path / "strip.geojson"
    path.write_text('{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {}, "geometry": {"type": "Polygon", '
                    '"coordinates": [[[500000, 5800000], [500100, 5800000], [500100, 5800100], [500000, 5800000]]]}}]}')  # fmt: skip
    with pytest.raises(InputError, match="no degrees") as caught:
        read_polygons(path, crs="EPSG:3158", what="parcels")
    assert caught.value.exit_code == 3 and str(path) in caught.value.where and "GeoPackage" in caught.value.remedy


def test_coordinates_that_no_system_can_bring_over_are_refused(tmp_path):
    path = tmp_path / "a.gpkg"
    _write(path, [shapely.box(1e30, 1e30, 2e30, 2e30)], crs="EPSG:32614")
    with pytest.raises(InputError, match="cannot be brought"):
        read_polygons(path, crs="EPSG:3158", what="parcels")
