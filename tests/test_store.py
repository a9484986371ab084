"""Products save and load without loss, whole or not at all."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from geoprofile import products, store
from geoprofile.errors import OutputError
from geoprofile.grid import Grid
from geoprofile.problems import Problem, problems_frame, problems_of
from geoprofile.rasters import write_raster
from geoprofile.record import Record


def _pits() -> products.Pits:
    frame = products.typed(
        pd.DataFrame({"pit_id": ["007", "7", "1E5"], "observed_to_cm": [60.0, np.nan, 120.0], "row": [2, 3, None]}),
        products.PIT_COLUMNS,
    )
    points = gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries.from_wkt(["POINT (1 2)", None, "POINT (3.25 4)"]), crs="EPSG:3158")
    horizons = products.typed(pd.DataFrame({"pit_id": ["007"], "lower_is_end": [True]}), products.HORIZON_COLUMNS)
    problems = problems_frame([Problem("warning", "gap", "a gap", pit_id="007", row=4), Problem("note", "x", "y")])
    return products.Pits(
        Record("pits", {"a": [1, None, "ü"]}), points, horizons, products.typed(pd.DataFrame(), products.READING_COLUMNS), problems, ("read as UTF-8",)
    )


def test_pits_come_back_as_they_were(tmp_path):
    pits = _pits()
    store.save(pits, tmp_path / "pits")
    back = store.load(products.Pits, tmp_path / "pits")
    assert back.record == pits.record and back.notes == pits.notes
    for name in ("pits", "horizons", "readings", "problems"):
        pd.testing.assert_frame_equal(getattr(back, name), getattr(pits, name))
    assert back.pits.crs == pits.pits.crs
    assert store.saved_record(tmp_path / "pits").id == pits.record.id


def test_a_second_save_replaces_the_first_and_leaves_nothing_beside_it(tmp_path):
    store.save(_pits(), tmp_path / "pits")
    store.save(_pits(), tmp_path / "pits")
    assert [path.name for path in tmp_path.iterdir()] == ["pits"]


def test_zones_without_parcels_and_with_tables_come_back(tmp_path):
    empty = gpd.GeoDataFrame({"zone_id": pd.Series([], dtype="str")}, geometry=[], crs="EPSG:3158")
    zones = products.Zones(Record("zones", {}), empty, {"zones": pd.DataFrame({"a_cm": [1.5]}), "odd name / x": pd.DataFrame({"b": ["=1"]})}, problems_frame([]))
    store.save(zones, tmp_path / "zones")
    back = store.load(products.Zones, tmp_path / "zones")
    assert back.parcels is None and list(back.tables) == ["zones", "odd name / x"]
    assert back.tables["odd name / x"]["b"].tolist() == ["=1"]
    zones = products.Zones(Record("zones", {}), empty, {}, problems_frame([]))
    store.save(zones, tmp_path / "zones")
    assert store.load(products.Zones, tmp_path / "zones").tables == {}


def test_a_terrain_knows_when_one_of_its_rasters_was_changed(tmp_path):
    grid = Grid("EPSG:3158", 0.0, 0.0, 5.0, 8, 8)
    raster = write_raster(tmp_path, "terrain/elevation.tif", np.ones(grid.shape), grid, name="elevation", title="Elevation", unit="m")
    terrain = products.Terrain(Record("terrain", {}), grid, {"elevation": raster}, problems_frame([]))
    store.save(terrain, tmp_path / "t")
    back = store.load(products.Terrain, tmp_path / "t")
    assert back.grid == grid and back.rasters == terrain.rasters
    assert store.rasters_are_whole(back.rasters, tmp_path)
    (tmp_path / raster.path).write_bytes(b"edited")
    assert not store.rasters_are_whole(back.rasters, tmp_path)


def test_a_product_of_another_format_counts_as_none(tmp_path):
    store.save(_pits(), tmp_path / "pits")
    path = tmp_path / "pits" / "product.json"
    path.write_text(path.read_text().replace(f'"format": {store.FORMAT}', '"format": 99'))
    assert store.saved_record(tmp_path / "pits") is None


@pytest.mark.parametrize("name", ["pits.parquet", "horizons.parquet"])
def test_a_product_with_a_truncated_or_missing_table_is_none_C6(tmp_path, name):
    store.save(_pits(), tmp_path / "pits")
    table = tmp_path / "pits" / name
    assert store.load_if_whole(products.Pits, tmp_path / "pits") is not None
    table.write_bytes(table.read_bytes()[:-20])
    assert store.load_if_whole(products.Pits, tmp_path / "pits") is None
    table.unlink()
    assert store.load_if_whole(products.Pits, tmp_path / "pits") is None


@pytest.mark.parametrize("damage", ["", "{", '{"format": 99, "record": {}}'])
def test_a_damaged_product_counts_as_none(tmp_path, damage):
    """C6: existence is not taken as done."""
    store.save(_pits(), tmp_path / "pits")
    (tmp_path / "pits" / "product.json").write_text(damage)
    assert store.saved_record(tmp_path / "pits") is None


def test_problems_are_listed_once_and_come_back():
    problem = Problem("error", "inverted", "upper depth below lower", pit_id="12", file="a.csv", row=3)
    frame = problems_frame([problem, problem])
    assert len(frame) == 1 and problems_of(frame) == [problem]
    assert problem.where == "a.csv, row 3"
    with pytest.raises(ValueError, match="severity"):
        Problem("bad", "x", "y")


def test_an_output_folder_that_cannot_be_one_is_told_as_such(tmp_path):
    """C8: a file stands where the folder should be; exit code 6, not a fault of ours."""
    (tmp_path / "out").write_text("a file")
    with pytest.raises(OutputError, match="cannot be written") as caught:
        store.save(_pits(), tmp_path / "out" / ".products" / "pits")
    assert caught.value.exit_code == 6 and caught.value.where == str(tmp_path / "out") and caught.value.remedy
