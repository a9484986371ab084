"""Writing without harm: an existing GeoPackage is replaced whole or left as it is, byte for byte."""

import hashlib
import sqlite3
import subprocess
import sys
import time
from contextlib import contextmanager

import geopandas as gpd
import pyogrio
import pytest
import shapely

from geoprofile.errors import OutputError
from geoprofile.outputs import geopackage


@pytest.fixture
def survey(make_bundle):
    """A bundle whose survey.gpkg is there, and the path of that file."""
    bundle = make_bundle()
    geopackage.write(bundle)
    return bundle, bundle.context.output / "survey.gpkg"


def sha(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


def refused(bundle, path, match):
    before, listing = sha(path), sorted(item.name for item in path.parent.iterdir())
    with pytest.raises(OutputError, match=match) as caught:
        geopackage.write(bundle)
    assert str(path) in str(caught.value) and "untouched" in str(caught.value) and caught.value.remedy
    assert sha(path) == before and sorted(item.name for item in path.parent.iterdir()) == listing


@contextmanager
def other_process(path, code):
    """A second process that runs ``code`` with ``connection`` open on the file, until the block ends."""
    script = f"import sqlite3, sys\nconnection = sqlite3.connect({str(path)!r}, isolation_level=None)\n{code}\nprint('ready', flush=True)\nsys.stdin.read()\n"
    process = subprocess.Popen([sys.executable, "-c", script], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    try:
        assert process.stdout.readline() == "ready\n"
        yield
    finally:
        process.stdin.close()
        process.wait(timeout=20)
        process.stdout.close()


@pytest.mark.parametrize(
    "code",
    [
        "connection.execute('BEGIN IMMEDIATE')",
        "connection.execute('BEGIN EXCLUSIVE')",
        "connection.execute('BEGIN'); connection.execute('SELECT * FROM pits').fetchone()",
    ],
)
def test_a_file_that_another_process_holds_is_refused_after_a_bounded_wait(survey, code):
    """G2: an editor, a writer, a reader in the middle of a read."""
    bundle, path = survey
    with other_process(path, code):
        start = time.monotonic()
        refused(bundle, path, "held by another program")
        assert time.monotonic() - start < 8
    geopackage.write(bundle)


def test_a_short_hold_is_waited_for(survey, make_bundle):
    """G2: the wait ends as soon as the other lets go."""
    _, path = survey
    code = "import threading, time\nconnection.execute('BEGIN IMMEDIATE')\nthreading.Thread(target=lambda: (time.sleep(1), __import__('os')._exit(0))).start()"
    process = subprocess.Popen(
        [sys.executable, "-c", f"import sqlite3\nconnection = sqlite3.connect({str(path)!r}, isolation_level=None)\n{code}\nprint('ready', flush=True)"],
        stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert process.stdout.readline() == "ready\n"
    geopackage.write(make_bundle(lock_wait_s=20))
    process.wait(timeout=20)
    process.stdout.close()


def test_a_file_open_in_write_ahead_mode_is_refused(survey):
    """G3: the latest edits lie in the side file."""
    bundle, path = survey
    with other_process(path, "connection.execute('PRAGMA journal_mode = WAL'); connection.execute('CREATE TABLE mine (a)')"):
        refused(bundle, path, "open in another program")


@pytest.mark.parametrize("ending", ["-wal", "-shm", "-journal"])
def test_side_files_left_beside_it_are_refused(survey, ending):
    """G3."""
    bundle, path = survey
    path.with_name(path.name + ending).write_bytes(b"")
    refused(bundle, path, "side|open in another program")


def test_a_file_left_in_write_ahead_mode_but_closed_is_taken_and_delivered_without_side_files(survey):
    """G3."""
    bundle, path = survey
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("CREATE TABLE mine (a)")
    connection.execute("INSERT INTO mine VALUES (5)")
    connection.commit()
    connection.close()
    assert path.read_bytes()[18] == 2
    geopackage.write(bundle)
    assert path.read_bytes()[18] == 1 and not list(path.parent.glob("survey.gpkg-*"))
    assert sqlite3.connect(path).execute("SELECT a FROM mine").fetchall() == [(5,)]


@pytest.mark.parametrize("keep", [0, 60, 50_000])
def test_a_truncated_file_is_refused(survey, keep):
    """G1."""
    bundle, path = survey
    path.write_bytes(path.read_bytes()[:keep])
    refused(bundle, path, "cut short|not a GeoPackage")


def test_a_text_file_in_the_way_is_refused(survey):
    """G1."""
    bundle, path = survey
    path.write_text("my notes on this survey, two hundred lines of them\n" * 200, encoding="utf-8")
    refused(bundle, path, "not a GeoPackage")


def test_a_database_that_is_no_geopackage_is_refused(survey):
    bundle, path = survey
    path.unlink()
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE recipes (a)")
    connection.commit()
    connection.close()
    refused(bundle, path, "not a GeoPackage")


def test_a_damaged_page_is_refused(survey):
    """G1: the header is whole, the inside is not."""
    bundle, path = survey
    content = bytearray(path.read_bytes())
    content[4096 : 4096 * 12] = bytes(4096 * 11)
    path.write_bytes(content)
    refused(bundle, path, "damaged")


def test_layers_of_other_people_come_through_whole(survey):
    """D7, G1: the mapper's own edited layer, its style, its index and a table that no standard knows."""
    bundle, path = survey
    edited = gpd.GeoDataFrame({"map_unit": ["A", "é'\"; DROP TABLE pits"], "depth": [1.5, None]},
                              geometry=[shapely.box(0, 0, 9, 9), shapely.Polygon([(0, 0), (1, 0), (0, 1)])], crs="EPSG:3158")  # fmt: skip
    edited.to_file(path, layer="zones_edited", driver="GPKG")
    connection = sqlite3.connect(path)
    connection.execute("CREATE TABLE desktop_projects (name TEXT, content BLOB)")
    connection.execute("INSERT INTO desktop_projects VALUES ('mine', x'0001')")
    connection.execute("INSERT INTO layer_styles (f_table_catalog, f_table_schema, f_table_name, f_geometry_column, styleName, styleQML, "
                       "useAsDefault, owner) VALUES ('', '', 'zones_edited', 'geom', 'mine', '<qgis/>', 1, 'me'), "
                       "('', '', 'pits', 'geom', 'my pits', '<qgis/>', 1, 'me')")  # fmt: skip
    connection.commit()
    connection.close()
    before = rows_of(path, "zones_edited"), rows_of(path, "desktop_projects"), rows_of(path, "rtree_zones_edited_geom_node")
    geopackage.write(bundle)
    assert (rows_of(path, "zones_edited"), rows_of(path, "desktop_projects"), rows_of(path, "rtree_zones_edited_geom_node")) == before
    assert gpd.read_file(path, layer="zones_edited")["map_unit"].tolist() == edited["map_unit"].tolist()
    styles = sqlite3.connect(path).execute("SELECT styleName, useAsDefault FROM layer_styles WHERE f_table_name = 'pits' ORDER BY id").fetchall()
    assert styles == [("my pits", 1), ("geoprofile", 0)]  # D3: the default that somebody chose stays the default
    once = sha(path)
    geopackage.write(bundle)
    assert sha(path) == once
    assert {"pits", "zones", "zones_edited"} <= {name for name, _ in pyogrio.list_layers(path)}


def rows_of(path, table):
    connection = sqlite3.connect(path)
    try:
        return connection.execute(f"SELECT * FROM {table}").fetchall()
    finally:
        connection.close()


def test_our_own_layer_edited_by_hand_is_never_overwritten(survey):
    """D7: somebody corrected a zone in place; the run stops and says how to keep it."""
    bundle, path = survey
    connection = sqlite3.connect(path)
    connection.create_function("ST_IsEmpty", 1, lambda shape: 0)  # which every program that edits a GeoPackage brings
    for name in ("ST_MinX", "ST_MaxX", "ST_MinY", "ST_MaxY"):
        connection.create_function(name, 1, lambda shape: 0.0)
    connection.execute("UPDATE zones SET name = 'corrected on the ground' WHERE fid = 1")
    connection.commit()
    connection.close()
    refused(bundle, path, "edited by hand")
    with pytest.raises(OutputError) as caught:
        geopackage.write(bundle)
    assert caught.value.found == "zones" and "zones_edited" in caught.value.remedy


def test_a_failure_in_the_middle_leaves_the_old_file(survey, make_bundle, monkeypatch):
    """C6: killed or failing anywhere before the last step, the old file is there whole and nothing else is."""
    bundle, path = survey
    monkeypatch.setattr(geopackage, "dress", lambda *_: (_ for _ in ()).throw(RuntimeError("power cut")))
    before, listing = sha(path), sorted(item.name for item in path.parent.iterdir())
    with pytest.raises(RuntimeError, match="power cut"):
        geopackage.write(make_bundle(only=True))
    assert sha(path) == before and sorted(item.name for item in path.parent.iterdir()) == listing


def test_a_lost_foreign_layer_would_be_noticed(survey, monkeypatch):
    """The proof is no formality: a writer that drops somebody's layer is caught, and the file stays."""
    bundle, path = survey
    gpd.GeoDataFrame({"a": [1]}, geometry=[shapely.Point(1, 1)], crs="EPSG:3158").to_file(path, layer="theirs", driver="GPKG")
    real = geopackage.write_layers

    def careless(ready, layers):
        real(ready, layers)
        import fiona

        fiona.remove(str(ready), driver="GPKG", layer="theirs")

    monkeypatch.setattr(geopackage, "write_layers", careless)
    before = sha(path)
    with pytest.raises(OutputError, match="did not come out whole"):
        geopackage.write(bundle)
    assert sha(path) == before
