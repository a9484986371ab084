"""People write into next_pits.gpkg in the field: what is theirs comes through, and what is not ours is not replaced."""

import sqlite3
from contextlib import closing

import geopandas as gpd
import pytest

from geoprofile.errors import OutputError
from geoprofile.outputs.next_pits import refuse_before_work, write_places

CAUTION = "have buried lines located"


def _places(count):
    return gpd.GeoDataFrame(
        {"name": [f"N-{n:02d}" for n in range(count)], "gain": [1.0] * count, "measure": ["doubt"] * count, "unit": ["cm"] * count},
        geometry=gpd.points_from_xy([500_000.0 + n for n in range(count)], [5_800_000.0] * count), crs="EPSG:3158",
    )  # fmt: skip


@pytest.fixture
def write(make_context):
    context = make_context()
    return lambda count: write_places(_places(count), CAUTION, context, 0.0)


def _notes(file):
    gpd.GeoDataFrame({"seen": ["wet", "stony"]}, geometry=gpd.points_from_xy([1.0, 2.0], [3.0, 4.0]), crs="EPSG:3158").to_file(
        file, layer="field_notes", driver="GPKG"
    )


def test_a_layer_of_the_users_comes_through_and_ours_is_replaced(write, tmp_path):
    file = tmp_path / "out" / "next_pits.gpkg"
    write(3)
    _notes(file)
    write(5)
    assert gpd.read_file(file, layer="field_notes")["seen"].tolist() == ["wet", "stony"]
    assert len(gpd.read_file(file, layer="next_pits")) == 5
    before = file.read_bytes()
    write(5)
    assert file.read_bytes() == before, "nothing new, nothing touched"


def test_ours_alone_is_replaced_by_a_fresh_file(write, tmp_path):
    write(3)
    fresh = (tmp_path / "out" / "next_pits.gpkg").read_bytes()
    write(5)
    write(3)
    assert (tmp_path / "out" / "next_pits.gpkg").read_bytes() == fresh


def test_our_layer_edited_in_the_field_is_not_replaced(write, tmp_path):
    file = tmp_path / "out" / "next_pits.gpkg"
    write(3)
    edited = gpd.read_file(file, layer="next_pits")
    edited.loc[0, "name"] = "moved 4 m to the east"
    edited.to_file(file, layer="next_pits", driver="GPKG")
    before = file.read_bytes()
    with pytest.raises(OutputError, match="edited by hand") as caught:
        write(5)
    assert caught.value.exit_code == 6 and caught.value.where == str(file) and file.read_bytes() == before


def test_a_style_that_the_user_gave_the_layer_comes_through(write, tmp_path):
    file = tmp_path / "out" / "next_pits.gpkg"
    write(3)
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("CREATE TABLE layer_styles (id INTEGER PRIMARY KEY, f_table_name TEXT, styleQML TEXT, owner TEXT)")
        connection.execute("INSERT INTO layer_styles VALUES (1, 'next_pits', '<qgis/>', 'me')")
        connection.commit()
    write(5)
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT f_table_name, styleQML, owner FROM layer_styles").fetchall() == [("next_pits", "<qgis/>", "me")]


def test_a_geopackage_of_the_users_with_that_name_gets_our_layer_beside_its_own(write, tmp_path):
    file = tmp_path / "out" / "next_pits.gpkg"
    file.parent.mkdir()
    _notes(file)
    write(3)
    assert len(gpd.read_file(file, layer="field_notes")) == 2 and len(gpd.read_file(file, layer="next_pits")) == 3


@pytest.mark.parametrize("name", ["next_pits.gpx", "next_pits.csv"])
def test_a_foreign_file_is_refused_before_the_places_are_sought(write, tmp_path, name):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / name).write_text("MINE")
    with pytest.raises(OutputError, match="was not written by this program"):
        refuse_before_work(tmp_path / "out")
    with pytest.raises(OutputError):
        write(3)
    assert (tmp_path / "out" / name).read_text() == "MINE"
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [name], "all three or none"


def test_what_is_no_geopackage_is_refused_under_that_name(write, tmp_path):
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "next_pits.gpkg").write_text("MINE")
    with pytest.raises(OutputError, match="not a GeoPackage"):
        write(3)
    assert (tmp_path / "out" / "next_pits.gpkg").read_text() == "MINE"
