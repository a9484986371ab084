"""survey.gpkg: real types, real nulls, dressed, the same bytes every time."""

import datetime
import shutil
import sqlite3
import subprocess
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
import pytest

from geoprofile.errors import OutputError
from geoprofile.outputs import geopackage
from geoprofile.outputs.geopackage_layers import LAYERS, arrow_column, layers_of
from geoprofile.outputs.names import SQL_WORDS


@pytest.fixture
def written(make_bundle):
    bundle = make_bundle()
    geopackage.write(bundle)
    return bundle.context.output / "survey.gpkg"


def query(path, sql, *values):
    connection = sqlite3.connect(path)
    try:
        return connection.execute(sql, values).fetchall()
    finally:
        connection.close()


def test_it_passes_the_validator_of_gdal(written):
    """GDAL's own validate_gpkg, run by the Python that Debian's python3-gdal belongs to."""
    found = subprocess.run(
        ["/usr/bin/python3", "-c", "import osgeo_utils.samples.validate_gpkg as v; print(v.__file__)"], capture_output=True, text=True
    ) if Path("/usr/bin/python3").exists() else None  # fmt: skip
    if found is None or found.returncode:
        pytest.skip("GDAL's validate_gpkg is not here (Debian: python3-gdal)")
    result = subprocess.run(["/usr/bin/python3", found.stdout.strip(), "-k", str(written)], capture_output=True, text=True)
    assert (result.returncode, result.stdout) == (0, "")
    broken = written.with_name("broken.gpkg")
    shutil.copy(written, broken)
    connection = sqlite3.connect(broken)
    connection.execute("UPDATE gpkg_geometry_columns SET srs_id = 7")
    connection.commit()
    connection.close()
    assert subprocess.run(["/usr/bin/python3", found.stdout.strip(), str(broken)], capture_output=True).returncode != 0


def test_the_layers_are_those_of_the_design_and_pits_are_points_zones_multipolygons(written):
    """G14, D3: the style table is not offered as a layer."""
    layers = dict(pyogrio.list_layers(written))
    assert layers["pits"] == "Point"
    assert {layers[name] for name in ("zones", "salvage", "parcels")} == {"MultiPolygon"}
    assert all(layers[name] is None for name in ("pits_without_place", "horizons", "readings", "problems", "scores", "record"))
    assert "layer_styles" not in layers and set(layers) <= set(LAYERS)


def test_pits_without_coordinates_go_to_a_table_and_none_is_lost(written):
    """G17, W9."""
    assert query(written, "SELECT count(*) FROM pits") == [(6,)]
    assert query(written, "SELECT pit_id FROM pits_without_place") == [("P-7",)]


def test_ids_stay_text_nulls_are_null_and_whole_numbers_stay_whole(written):
    """R6, G10, G17: 007 and 1E5 survive, NaN is NULL, a missing row number does not become 0 or a float."""
    rows = query(written, "SELECT pit_id, typeof(pit_id), acid_to_cm, typeof(source_row) FROM pits ORDER BY fid LIMIT 2")
    assert rows == [("007", "text", None, "integer"), ("1E5", "text", None, "integer")]
    assert query(written, "SELECT source_row FROM pits_without_place") == [(None,)]
    assert query(written, "SELECT pits, typeof(pits) FROM zones ORDER BY fid") == [(3, "integer"), (None, "null")]
    for (table,) in query(written, "SELECT table_name FROM gpkg_contents"):
        for name, kind in [row[1:3] for row in query(written, f"PRAGMA table_info({table})")]:
            if kind == "REAL":
                assert query(written, f"SELECT count(*) FROM {table} WHERE {name} = 'nan' OR abs({name}) > 1e300") == [(0,)]


def test_dates_are_dates_through_every_reader(written):
    """G11."""
    assert query(written, "SELECT described_on FROM pits WHERE pit_id = 'P-3'") == [("2021-06-04",)]
    assert ("described_on", "DATE") in [row[1:3] for row in query(written, "PRAGMA table_info(pits)")]
    assert gpd.read_file(written, layer="pits", engine="fiona")["described_on"].astype(str)[0][:10] == "2021-06-03"
    assert gpd.read_file(written, layer="pits", engine="pyogrio")["described_on"][0] == pd.Timestamp("2021-06-03")


def test_a_date_that_is_not_whole_stays_the_text_it_is():
    """G11: '2021-06' is not made the first of June, '2021-02-30' not the second of March."""
    assert arrow_column(pd.Series(["2021-06-03", None]), "date").to_pylist() == [datetime.date(2021, 6, 3), None]
    for odd in ("2021-06", "2021-02-30", "spring"):
        assert arrow_column(pd.Series(["2021-06-03", odd]), "date").to_pylist() == ["2021-06-03", odd]


def test_attributes_keep_their_bounds(written):
    """At least 60 is neither 60 nor nothing; absent is not missing; the text is the mapper's."""
    rows = query(written, "SELECT pit_id, depth_to_carbonates_low_cm, depth_to_carbonates_high_cm, depth_to_carbonates_status, "
                          "depth_to_carbonates_presence, depth_to_carbonates_text FROM pits ORDER BY fid")  # fmt: skip
    assert rows == [
        ("007", 38.0, 38.0, "measured", "present", "38"), ("1E5", 60.0, None, "at_least", "not_seen", ">60"),
        ("P-3", 30.0, 36.0, "between", "present", "30-36"), ("P-4", 0.0, 0.0, "at_surface", "present", "0"),
        ("P-5", None, None, "absent", "absent", "absent"), ("P-6", None, None, "unknown", "not_described", "unknown"),
    ]  # fmt: skip


def test_names_are_plain_and_no_sql_words_and_a_source_fid_survives(written):
    """G13, G6, G7."""
    for (table,) in query(written, "SELECT table_name FROM gpkg_contents"):
        names = [row[1] for row in query(written, f"PRAGMA table_info({table})")]
        assert names[0] == "fid" and len({name.lower() for name in names}) == len(names)
        assert not SQL_WORDS & set(names), table
    assert query(written, "SELECT source_fid, horizon_order, id FROM parcels") == [(11, "=A1", "@7")]


def test_every_field_has_a_readable_heading_with_its_unit_and_a_meaning(written):
    """D4, D5: in the schema extension, and as aliases in the style for programs that look there."""
    for (table,) in query(written, "SELECT table_name FROM gpkg_contents"):
        columns = {row[1] for row in query(written, f"PRAGMA table_info({table})")}
        told = query(written, "SELECT column_name, title, description FROM gpkg_data_columns WHERE table_name = ?", table)
        assert {name for name, *_ in told} == columns
        assert all(title and description for _, title, description in told)
        qml = query(written, "SELECT styleQML FROM layer_styles WHERE f_table_name = ?", table)[0][0]
        aliases = {element.get("field"): element.get("name") for element in ElementTree.fromstring(qml).iter("alias")}
        assert set(aliases) == columns - {"geom"}
    titles = dict(query(written, "SELECT column_name, title FROM gpkg_data_columns WHERE table_name = 'pits'"))
    assert titles["observed_to_cm"] == "Observed to (cm)"
    assert titles["clay_0_30_low_percent"] == "Clay, 0 to 30 cm, low limit (%)"


def test_each_layer_has_one_default_style_and_zones_are_coloured_by_name(written):
    """D3: QML and SLD parse; pits carry their label; every zone's name has a colour."""
    styles = query(written, "SELECT f_table_name, f_geometry_column, styleQML, styleSLD, useAsDefault FROM layer_styles")
    assert sorted(name for name, *_ in styles) == sorted(name for (name,) in query(written, "SELECT table_name FROM gpkg_contents"))
    assert all(default == 1 for *_, default in styles)
    by_name = {name: (geometry, ElementTree.fromstring(qml), sld) for name, geometry, qml, sld, _ in styles}
    assert by_name["pits"][0] == "geom" and by_name["horizons"][0] == ""
    assert by_name["pits"][1].find(".//text-style").get("fieldName") == "pit_id"
    categories = {element.get("value") for element in by_name["zones"][1].iter("category")}
    assert categories == {name for (name,) in query(written, "SELECT DISTINCT name FROM zones")}
    literals = {element.text for element in ElementTree.fromstring(by_name["zones"][2]).iter("{http://www.opengis.net/ogc}Literal")}
    assert literals == categories


def test_zones_and_pits_have_a_spatial_index(written):
    assert query(written, "SELECT count(*) FROM gpkg_extensions WHERE extension_name = 'gpkg_rtree_index' "
                          "AND table_name IN ('pits', 'zones')") == [(2,)]  # fmt: skip


def test_the_same_survey_gives_the_same_bytes_anywhere_and_no_side_files(make_bundle, tmp_path):
    """G3, G4, D6."""
    from geoprofile.context import Context

    contents = []
    for folder in ("one", "zwei mit Leerzeichen é"):  # C4: accents and spaces in paths
        first = make_bundle().context
        context = Context(first.survey, first.grid, tmp_path / folder, tmp_path / folder / "out")
        geopackage.write(make_bundle(context=context))
        contents.append((context.output / "survey.gpkg").read_bytes())
        assert not list(context.output.glob("survey.gpkg?*")) and not list(context.output.glob(".writing-*"))
    assert contents[0] == contents[1]


def test_running_twice_leaves_the_file_alone(make_bundle):
    """G4, D6: not even its inode changes."""
    bundle = make_bundle()
    first = geopackage.write(bundle)
    path = bundle.context.output / "survey.gpkg"
    before = path.stat()
    assert geopackage.write(bundle) == first
    assert (path.stat().st_ino, path.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)


def test_a_layer_that_is_no_longer_asked_for_goes_away(make_bundle):
    """G4: stale zones of an earlier run would be taken for current."""
    bundle = make_bundle()
    geopackage.write(bundle)
    geopackage.write(make_bundle(only=True))
    layers = {name for name, _ in pyogrio.list_layers(bundle.context.output / "survey.gpkg")}
    assert "pits" in layers and "zones" not in layers


def test_a_layer_without_a_system_is_refused(make_bundle):
    """G8: nothing made up."""
    from dataclasses import replace

    bundle = make_bundle()
    zones = replace(bundle.zones, zones=bundle.zones.zones.set_crs(None, allow_override=True))
    with pytest.raises(OutputError, match="does not say its coordinate system"):
        layers_of(replace(bundle, zones=zones))


def test_infinite_numbers_and_odd_text_reach_the_file_as_null_and_text():
    """G17: no NaN, no infinity; a NUL would end the text in the middle."""
    assert arrow_column(pd.Series([1, None], dtype="Int64"), "x").to_pylist() == [1, None]
    assert arrow_column(pd.Series([1.5, np.nan, np.inf]), "x").to_pylist() == [1.5, None, None]
    assert arrow_column(pd.Series(["a\0b", "", "None", None], dtype=object), "x").to_pylist() == ["a\N{REPLACEMENT CHARACTER}b", None, "None", None]


def test_a_bare_presence_is_named_where_nothing_else_is_drawn(make_bundle):
    """An attribute whose depth bounds forbid to draw, and whose probability of presence is drawn."""
    bundle = make_bundle()
    likely = replace(bundle.surfaces.surfaces[0], attribute="clay_0_30", estimate="", presence=bundle.surfaces.surfaces[0].estimate)
    bundle = replace(bundle, surfaces=replace(bundle.surfaces, presences=(likely,)))
    geopackage.write(bundle)
    ((instead,),) = query(bundle.context.output / "survey.gpkg", "SELECT given_instead FROM refusals")
    assert instead == "probability that it is there: surfaces/depth_to_carbonates_estimate_cm.tif"
