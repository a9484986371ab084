"""Which stratum cells and pits lie in."""

import geopandas as gpd
import numpy as np
import pytest
import shapely

from geoprofile.errors import InputError
from geoprofile.grid import Grid
from geoprofile.surfaces.strata import land_of, points_inside, read_area, read_strata

GRID = Grid("EPSG:3158", 0, 100, 10, 10, 20)


def write(path, names, boxes):
    gpd.GeoDataFrame({"material": names}, geometry=[shapely.box(*box) for box in boxes], crs="EPSG:3158").to_file(path)


def test_polygons_of_one_name_are_one_stratum_and_a_pit_on_an_edge_belongs_to_the_first(make_context):
    context = make_context(strata={"file": "lines.gpkg", "id": "material", "use": "split"})
    write(context.folder / "lines.gpkg", ["till", "sand", "till"], [(0, 0, 50, 100), (50, 0, 150, 100), (150, 0, 200, 50)])
    strata = read_strata(context)
    assert strata.names == {1: "till", 2: "sand"} and strata.use == "split"
    cells, _ = land_of(GRID, None, strata).cells(GRID.whole)
    assert list(cells[0, [0, 4, 5, 14, 15]]) == [1, 1, 2, 2, 0]
    assert list(cells[9, [14, 15]]) == [2, 1]
    assert list(strata.codes_at([25.0, 50.0, 60.0, 199.0, 199.0, np.nan], [5.0, 5.0, 5.0, 5.0, 99.0, 5.0])) == [1, 1, 2, 1, 0, 0]


def test_a_wrong_column_is_an_error_that_lists_the_columns(make_context):
    context = make_context(strata={"file": "lines.gpkg", "id": "parent", "use": "stop"})
    write(context.folder / "lines.gpkg", ["till"], [(0, 0, 50, 100)])
    with pytest.raises(InputError) as caught:
        read_strata(context)
    assert caught.value.allowed == "material"


def test_no_strata_are_one_stratum(make_context):
    strata = read_strata(make_context())
    assert (land_of(GRID, None, strata).cells(GRID.whole)[0] == 1).all() and strata.use == "" and list(strata.codes_at([5.0], [5.0])) == [1]


def test_the_survey_area_ends_cells_and_pits(make_context):
    context = make_context(area="area.gpkg")
    write(context.folder / "area.gpkg", ["all"], [(0, 0, 100, 100)])
    area = read_area(context)
    land = land_of(GRID, area, read_strata(context))
    cells, _ = land.cells(GRID.whole)
    assert (cells[:, :10] == 1).all() and not cells[:, 10:].any()
    assert list(points_inside(area, np.array([5.0, 150.0, np.nan]), np.array([5.0, 5.0, 5.0]))) == [True, False, True]
    assert read_area(make_context()) is None
