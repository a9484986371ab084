"""Edited polygons taken back: read, never written; areas and tables from their geometry."""

from __future__ import annotations

import hashlib

import pytest

from geoprofile.errors import InputError
from geoprofile.intervals import at_least, measured
from geoprofile.zones.composition import composition

CRS = "EPSG:3158"


@pytest.fixture
def pits(make_pits, at):
    rows = [(f"p{n}", at(10 * n + 5, 50), {"depth_to_carbonates": measured(20 + n)}) for n in range(9)]
    rows.append(("deep", at(150, 50), {"depth_to_carbonates": at_least(60)}))
    return make_pits(rows, fields={"recorded_soil": ["Ash"] * 6 + ["Birch"] * 2 + ["Cedar", "Birch"]})


def test_D7_areas_and_tables_come_from_the_geometry_and_the_file_is_not_touched(pits, write_layer, block, tmp_path):
    name = write_layer("edited.gpkg", [block(0, 0, 100, 100), block(100, 0, 200, 100), block(200, 0, 300, 50)],
                       unit=["Ash", "Birch", "Ash"], area_ha=[99.0, 99.0, 99.0])  # fmt: skip
    before = hashlib.sha256((tmp_path / name).read_bytes()).hexdigest()
    found = composition(tmp_path / name, None, *pits, crs=CRS, map_unit="unit")
    assert hashlib.sha256((tmp_path / name).read_bytes()).hexdigest() == before
    assert [path.name for path in tmp_path.iterdir()] == [name]
    assert found.polygons["area_ha"].tolist() == [1.0, 1.0, 0.5]  # not what stood in the file
    assert found.tables["map_units"].set_index("map_unit")["area_ha"].to_dict() == {"Ash": 1.5, "Birch": 1.0}
    assert found.tables["polygons"]["pits"].tolist() == [9, 1, 0]
    attributes = found.tables["map_unit_attributes"].set_index("map_unit")
    assert attributes.loc["Ash", "mean_cm"] == 24 and attributes.loc["Birch", "text"] == ">60 in 1 of 1"
    assert found.problems.empty


def test_the_soils_of_a_map_unit_are_named_by_their_share(pits, write_layer, block, tmp_path):
    write_layer("edited.gpkg", [block(0, 0, 100, 100)], unit=["Ash"])
    soils = composition(tmp_path / "edited.gpkg", None, *pits, crs=CRS, map_unit="unit").tables["map_unit_soils"]
    assert soils["recorded_soil"].tolist() == ["Ash", "Birch", "Cedar"]
    assert soils["share_percent"].tolist() == [66.7, 22.2, 11.1]
    assert soils["term"].tolist() == ["dominant", "subdominant", "inclusion"]
    # exact 90 % limits of 6 of 9 (Clopper & Pearson 1934): 0.345 and 0.902 by the beta quantiles
    from scipy.stats import beta

    assert soils.loc[0, "low90_percent"] == pytest.approx(100 * beta.ppf(0.05, 6, 4), abs=0.06)
    assert soils.loc[0, "high90_percent"] == pytest.approx(100 * beta.ppf(0.95, 7, 3), abs=0.06)


def test_Z4_gaps_and_overlaps_are_listed_with_their_hectares(pits, write_layer, block, tmp_path):
    ring = block(0, 0, 100, 100).difference(block(40, 40, 60, 60))
    write_layer("edited.gpkg", [ring, block(90, 0, 200, 100)], name=["a", "b"])
    found = composition(tmp_path / "edited.gpkg", None, *pits, crs=CRS, id="name").problems.set_index("check")
    assert found.loc["overlap", "found"] == "a and b: 0.1000 ha"
    assert found.loc["gap", "found"].startswith("0.0400 ha near")
    whole = composition(tmp_path / "edited.gpkg", None, *pits, crs=CRS, id="name", area=block(0, 0, 250, 100))
    assert sorted(text.split(" ha")[0] for text in whole.problems.query("check == 'gap'")["found"]) == [
        "0.0400",
        "0.5000",
    ]


@pytest.mark.parametrize(("width_m", "listed"), [(0.02, True), (0.005, False)])
def test_an_overlap_of_one_square_metre_is_listed_and_less_is_not(pits, write_layer, block, tmp_path, width_m, listed):
    write_layer("edited.gpkg", [block(0, 0, 100, 100), block(100 - width_m, 0, 200, 100)], name=["a", "b"])
    problems = composition(tmp_path / "edited.gpkg", None, *pits, crs=CRS, id="name").problems
    assert ("overlap" in set(problems["check"])) is listed


def test_a_column_that_is_not_there_is_an_error_that_lists_those_that_are(pits, write_layer, block, tmp_path):
    write_layer("edited.gpkg", [block(0, 0, 100, 100)], soil=["Ash"])
    with pytest.raises(InputError) as error:
        composition(tmp_path / "edited.gpkg", None, *pits, crs=CRS, map_unit="unit")
    assert "soil" in error.value.allowed


def test_an_invalid_polygon_is_repaired_without_loss_or_refused(pits, write_layer, tmp_path, at):
    import shapely

    corners = [(0, 0), (100, 100), (100, 0), (0, 100), (0, 0)]
    figure_of_eight = shapely.Polygon([at(*corner).coords[0] for corner in corners])
    write_layer("edited.gpkg", [figure_of_eight], unit=["Ash"])
    # Z3: the signed area of a figure of eight is 0, that of its two lobes is not
    with pytest.raises(InputError, match="without changing its area"):
        composition(tmp_path / "edited.gpkg", None, *pits, crs=CRS)


def test_a_polygon_without_a_map_unit_is_told_and_gets_no_pits_from_outside(pits, write_layer, block, tmp_path):
    write_layer("edited.gpkg", [block(0, 0, 60, 100), block(200, 0, 210, 10)], unit=["Ash", None])
    found = composition(tmp_path / "edited.gpkg", None, *pits, crs=CRS, map_unit="unit")
    units = found.tables["map_units"].set_index("map_unit")
    assert units["pits"].to_dict() == {"(no map unit)": 0, "Ash": 6}
    assert set(found.tables["map_unit_soils"]["map_unit"]) == {"Ash"}
    assert found.problems["check"].tolist() == ["no map unit"] and found.problems["allowed"].tolist() == ["1 of 2 polygons"]
