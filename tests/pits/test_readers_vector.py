"""Points of GeoPackage, GeoJSON, Shapefile, GPX and KML."""

from __future__ import annotations

import json
from pathlib import Path

import fiona
import geopandas as gpd
import pytest
import shapely

from geoprofile.errors import InputError
from geoprofile.pits.readers.gpx import READER as GPX
from geoprofile.pits.readers.kml import READER as KML
from geoprofile.pits.readers.vector import READER as VECTOR

POINTS = gpd.GeoDataFrame(
    {"name": ["007", "P2"], "count": [5, 7]}, geometry=[shapely.Point(500000, 5600000), shapely.Point(500100, 5600000)], crs="EPSG:3158"
)


@pytest.mark.parametrize("name", ["points.gpkg", "points.geojson", "points.shp"])
def test_points_come_with_text_ids_and_their_system(folder, name):
    POINTS.to_crs("EPSG:4326" if name.endswith("json") else "EPSG:3158").to_file(folder / name)
    found = VECTOR.read(folder / name)
    assert found.cells["name"].tolist() == ["007", "P2"]
    assert found.cells["count"].tolist() == ["5", "7"]
    assert found.geometry.to_crs("EPSG:3158").iloc[0].distance(POINTS.geometry.iloc[0]) < 0.01


def test_several_layers_and_none_named_is_an_error_listing_them_G5(folder):
    POINTS.to_file(folder / "points.gpkg", layer="pits")
    POINTS.to_file(folder / "points.gpkg", layer="probes")
    with pytest.raises(InputError, match="pits, probes"):
        VECTOR.read(folder / "points.gpkg")
    assert len(VECTOR.read(folder / "points.gpkg", sheet="probes").rows) == 2


def test_the_feature_number_of_a_geopackage_is_kept_under_another_name_G6(folder):
    with fiona.open(folder / "points.gpkg", "w", driver="GPKG", crs="EPSG:3158",
                    schema={"geometry": "Point", "properties": {"note": "str"}}) as target:
        for x in (1.0, 2.0, 3.0):
            target.write({"geometry": {"type": "Point", "coordinates": (x, 0.0)}, "properties": {"note": "a"}})
    found = VECTOR.read(folder / "points.gpkg")
    assert found.cells["source_fid"].tolist() == ["1", "2", "3"]
    assert "fid" not in found.cells.columns


def test_a_geopackage_with_unsaved_edits_beside_it_is_refused_G3(folder):
    POINTS.to_file(folder / "points.gpkg")
    (folder / "points.gpkg-wal").write_bytes(b"edits")
    with pytest.raises(InputError, match="being edited"):
        VECTOR.read(folder / "points.gpkg")


def test_nulls_are_nothing_and_integers_stay_integers_G10(folder):
    collection = {"type": "FeatureCollection", "features": [
        {"type": "Feature", "properties": {"id": "a", "count": 3, "word": "None"}, "geometry": {"type": "Point", "coordinates": [1, 2]}},
        {"type": "Feature", "properties": {"id": "b", "count": None, "word": None}, "geometry": None},
    ]}
    (folder / "points.geojson").write_text(json.dumps(collection))
    found = VECTOR.read(folder / "points.geojson")
    assert found.cells["count"].tolist() == ["3", ""] and found.cells["word"].tolist() == ["None", ""]
    assert found.geometry.iloc[1] is None


def test_a_polygon_is_no_place(folder):
    gpd.GeoDataFrame({"id": ["a"]}, geometry=[shapely.box(0, 0, 1, 1)], crs="EPSG:3158").to_file(folder / "areas.gpkg")
    found = VECTOR.read(folder / "areas.gpkg")
    assert found.faults[0].what == "a place must be one point" and found.geometry.iloc[0] is None


GPX_HEAD = '<?xml version="1.0" encoding="UTF-8"?><gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">'


def test_waypoints_of_a_gpx_file_are_read_G16(folder):
    (folder / "way.gpx").write_text(
        GPX_HEAD + '<wpt lat="51.5" lon="-99.5"><ele>250</ele><name>007</name></wpt><wpt lat="51.6" lon="-99.5"><name>8</name></wpt></gpx>'
    )
    found = GPX.read(folder / "way.gpx")
    assert found.cells["name"].tolist() == ["007", "8"]
    assert (found.geometry.iloc[0].x, found.geometry.iloc[0].y) == (-99.5, 51.5)


def test_a_gpx_file_without_waypoints_lists_the_layers_that_hold_data_G16(folder):
    (folder / "track.gpx").write_text(
        GPX_HEAD + '<trk><trkseg><trkpt lat="51.5" lon="-99.5"></trkpt><trkpt lat="51.6" lon="-99.5"></trkpt></trkseg></trk></gpx>'
    )
    with pytest.raises(InputError, match="data in: tracks, track_points"):
        GPX.read(folder / "track.gpx")


@pytest.mark.shared
def test_every_recording_of_the_open_data_reads_or_refuses_with_a_reason(shared):
    """Recordings of github.com/tkrajina/gpxpy (Apache 2.0), read from the open data beside the project."""
    read, refused = [], []
    for path in sorted((shared / "data" / "gpx").glob("*.gpx")):
        try:
            found = GPX.read(path)
            assert len(found.rows) == len(found.geometry) > 0
            read.append(path.name)
        except InputError as error:
            assert "no waypoints" in str(error) and "data in" in str(error)
            refused.append(path.name)
    assert {"cerknicko-jezero.gpx", "unicode.gpx", "unicode_with_bom.gpx"} <= set(read)
    assert {"Mojstrovka.gpx", "route.gpx"} <= set(refused)
    assert len(GPX.read(shared / "data" / "gpx" / "cerknicko-jezero.gpx").rows) == 7


def test_kml_gives_name_description_and_data_fields_only_G15(folder):
    (folder / "pits.kml").write_text("""<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2"><Document><Folder><name>pits</name>
<Placemark id="k1"><name>007</name><description>east &lt;b&gt;edge&lt;/b&gt;</description>
<ExtendedData><Data name="depth"><value>45+</value></Data></ExtendedData>
<Point><coordinates>-99.5,51.5,0</coordinates></Point></Placemark></Folder></Document></kml>""")
    found = KML.read(folder / "pits.kml")
    assert set(found.cells.columns) == {"name", "description", "depth"}
    assert found.cells.iloc[0].to_dict() == {"name": "007", "description": "east <b>edge</b>", "depth": "45+"}
    assert found.geometry.crs.to_epsg() == 4326 and found.geometry.iloc[0].x == -99.5


def test_our_readers_come_through_the_entry_points_and_share_no_file_ending():
    from geoprofile.registry import plugins

    readers = plugins("geoprofile.readers").loaded
    endings = [ending for name in ("delimited", "gpx", "kml", "older_workbook", "vector", "workbook") for ending in readers[name].suffixes]
    assert len(endings) == len(set(endings))
    assert {".csv", ".xlsx", ".xls", ".ods", ".gpkg", ".geojson", ".shp", ".gpx", ".kml"} <= set(endings)


def test_a_broken_file_is_an_input_error(folder: Path):
    for name, reader in (("a.gpkg", VECTOR), ("a.geojson", VECTOR), ("a.gpx", GPX), ("a.kml", KML)):
        (folder / name).write_text("no such thing")
        with pytest.raises(InputError):
            reader.read(folder / name)


@pytest.mark.parametrize("name", ["t.gpkg", "t.geojson", "t.shp"])
def test_dates_of_a_layer_stay_the_same_day_G11(folder, name):
    import datetime

    frame = POINTS.to_crs("EPSG:4326").assign(date=[datetime.date(2024, 4, 3), datetime.date(2024, 12, 31)])
    frame.to_file(folder / name, engine="fiona", schema={"geometry": "Point", "properties": {"name": "str", "count": "int", "date": "date"}})
    assert [text[:10] for text in VECTOR.read(folder / name).cells["date"]] == ["2024-04-03", "2024-12-31"]


def test_a_table_without_geometry_in_a_geopackage_is_a_table(folder):
    with fiona.open(folder / "t.gpkg", "w", driver="GPKG", layer="horizons",
                    schema={"geometry": "None", "properties": {"pit_id": "str", "clay": "float"}}) as target:
        target.write({"geometry": None, "properties": {"pit_id": "007", "clay": 12.0}})
    found = VECTOR.read(folder / "t.gpkg", sheet="horizons")
    assert found.geometry is None and found.cells["pit_id"].tolist() == ["007"] and found.cells["clay"].tolist() == ["12"]
