"""Where to dig next, from survey files to files for the field."""

from __future__ import annotations

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from geoprofile.errors import InputError, SettingsError, TooLittleData
from geoprofile.grid import Grid
from geoprofile.kernels.covariance import Model
from geoprofile.kernels.kriging import predict_grid, solve
from geoprofile.outputs.next_pits import write_places
from geoprofile.problems import problems_frame
from geoprofile.products import Pits, Surface, Surfaces, Terrain
from geoprofile.rasters import CLASS, write_raster
from geoprofile.record import Record
from geoprofile.sampling.chosen import CAUTION
from geoprofile.sampling.land import read_land
from geoprofile.sampling.places import places_frame
from geoprofile.sampling.stage import choose_next_pits
from geoprofile.settings.sampling import SamplingSettings

GRID = Grid("EPSG:3158", 600_000.0, 5_700_000.0, 10.0, 40, 50)
WEST = shapely.box(600_000, 5_699_600, 600_200, 5_700_000)
MODEL = {"kind": "exponential", "nugget": 10.0, "partial_sill": 40.0, "scale_m": 60.0, "nugget_is_error": False,
         "drift": [], "by_stratum": False}  # fmt: skip


@pytest.fixture
def survey(make_context, tmp_path):
    """A context, pits in the west half, terrain of two rasters and a class raster, one surface by kriging."""
    context = make_context()
    rng = np.random.default_rng(1)
    places = np.column_stack([600_000 + rng.uniform(0, 250, 30), 5_700_000 - rng.uniform(0, 400, 30)])
    values = rng.normal(30, 7, 30)
    geometry = gpd.points_from_xy(*places.T)
    pits = Pits(Record("pits", {}), gpd.GeoDataFrame({"pit_id": [f"P{n}" for n in range(30)]}, geometry=geometry, crs=GRID.crs),
                pd.DataFrame(), pd.DataFrame(), problems_frame([]))  # fmt: skip
    x, y = GRID.centres()
    cells = {"elevation": np.add.outer(y * 0.01, np.sin(x / 40)), "slope": np.add.outer(np.cos(y / 30), x * 0.001)}
    rasters = {name: write_raster(context.output, f"terrain/{name}.tif", array, GRID, name=name, title=name, unit="m")
               for name, array in cells.items()}  # fmt: skip
    rasters["landform_element"] = write_raster(
        context.output, "terrain/landform_element.tif", np.where(x[None, :] < 600_250, 1, 2) * np.ones((40, 1), int), GRID,
        name="landform_element", title="l", unit="", kind=CLASS, legend={1: "a", 2: "b"},
    )  # fmt: skip
    system = solve(places, values, Model("exponential", 10.0, 40.0, 60.0))
    estimate = write_raster(context.output, "surfaces/a.tif", predict_grid(system, x, y)[0], GRID, name="a", title="a", unit="cm")
    surface = Surface("a", "Thickness of A", "cm", "ordinary_kriging", "ordinary kriging", "a_estimate_cm", parameters=MODEL)
    points = pd.DataFrame({"attribute": "a", "pit_id": pits.pits["pit_id"], "x": places[:, 0], "y": places[:, 1], "low": values,
                           "high": values, "status": "measured", "predicted": np.nan})  # fmt: skip
    surfaces = Surfaces(Record("surfaces", {}), GRID, (surface,), {"a_estimate_cm": estimate}, (), pd.DataFrame(), points,
                        problems_frame([]))  # fmt: skip
    for name, shape in (("west", WEST), ("east", shapely.box(600_200, 5_699_600, 600_500, 5_700_000))):
        gpd.GeoDataFrame({"id": [name]}, geometry=[shape], crs=GRID.crs).to_file(tmp_path / f"{name}.gpkg")
    return pits, Terrain(Record("terrain", {}), GRID, rasters, problems_frame([])), surfaces, context


WISHES = [
    {"purpose": "gaps"}, {"purpose": "terrain"}, {"purpose": "doubt", "attribute": "a"},
    {"purpose": "doubt", "attribute": "a", "limit": 30.0},
]  # fmt: skip


@pytest.mark.parametrize("wish", WISHES, ids=lambda wish: " ".join(str(value) for value in wish.values()))
def test_every_purpose_keeps_to_access_and_exclusion_and_tells_the_gain(survey, wish):
    pits, terrain, surfaces, context = survey
    open_ = choose_next_pits(pits, terrain, surfaces, SamplingSettings(number=3, **wish), context)
    assert open_.points[:, 0].max() > 600_250, "the east has no pits"
    assert open_.after < open_.before and open_.gain.sum() == pytest.approx(open_.before - open_.after)
    for key, file in (("access", "west.gpkg"), ("exclude", "east.gpkg")):
        kept = choose_next_pits(pits, terrain, surfaces, SamplingSettings(number=3, **wish, **{key: {"file": file}}), context)
        assert (kept.points[:, 0] < 600_200).all()
        assert any("pits may be dug on 40 % of the land" in note for note in kept.notes)
        assert kept.after >= open_.after * 0.98, "what may not be dug cannot help more than all the land"


def test_land_without_access_stays_land_to_be_known(survey):
    _, terrain, _, context = survey
    land = read_land(terrain, SamplingSettings(access={"file": "west.gpkg"}), context)
    assert len(land.cells) == 2000 and land.allowed.sum() == 800


def test_no_cell_left_is_an_error_that_says_so(survey, tmp_path):
    pits, terrain, surfaces, context = survey
    away = gpd.GeoDataFrame({"id": ["x"]}, geometry=[shapely.box(0, 0, 1, 1)], crs=GRID.crs)
    away.to_file(tmp_path / "away.gpkg")
    with pytest.raises(InputError, match="no cell in which a pit may be dug"):
        choose_next_pits(pits, terrain, surfaces, SamplingSettings(access={"file": "away.gpkg"}), context)


def test_what_is_missing_is_said_before_anything_is_chosen(survey):
    pits, terrain, surfaces, context = survey
    with pytest.raises(SettingsError, match="needs an attribute"):
        choose_next_pits(pits, terrain, surfaces, SamplingSettings(purpose="doubt"), context)
    with pytest.raises(TooLittleData, match="no surface of b"):
        choose_next_pits(pits, terrain, surfaces, SamplingSettings(purpose="doubt", attribute="b"), context)
    with pytest.raises(InputError, match="no terrain to spread"):
        choose_next_pits(pits, None, surfaces, SamplingSettings(purpose="terrain"),
                         context.__class__(context.survey.model_copy(update={"area": "west.gpkg"}), context.grid,
                                           context.folder, context.output))  # fmt: skip
    with pytest.raises(SettingsError, match="no such terrain raster"):
        choose_next_pits(pits, terrain, surfaces, SamplingSettings(purpose="terrain", use=("slop",)), context)


def test_a_surface_without_a_model_cannot_say_what_a_pit_is_worth(survey):
    pits, terrain, surfaces, context = survey
    bare = replace(surfaces, surfaces=(replace(surfaces.surfaces[0], parameters={}),))
    with pytest.raises(TooLittleData, match="no covariance model"):
        choose_next_pits(pits, terrain, bare, SamplingSettings(purpose="doubt", attribute="a"), context)


def test_files_hold_the_same_places_with_gain_and_caution_and_are_the_same_bytes_twice(survey, tmp_path):
    pits, terrain, surfaces, context = survey
    chosen = choose_next_pits(pits, terrain, surfaces, SamplingSettings(number=4), context)
    places = places_frame(chosen, GRID.crs)
    def written(to):
        files = write_places(places, CAUTION, replace(context, output=to))
        return {path.name: path.read_bytes() for path in files}

    first, second = written(tmp_path / "one"), written(tmp_path / "two")
    assert first == second and set(first) == {"next_pits.gpx", "next_pits.gpkg", "next_pits.csv"}
    layer = gpd.read_file(tmp_path / "one" / "next_pits.gpkg")
    assert layer["gain"].tolist() == pytest.approx(places["gain"].tolist()) and layer.crs == GRID.crs
    np.testing.assert_allclose(np.column_stack([layer.geometry.x, layer.geometry.y]), chosen.points)
    waypoints = gpd.read_file(tmp_path / "one" / "next_pits.gpx", layer="waypoints")
    assert waypoints["name"].tolist() == ["N-01", "N-02", "N-03", "N-04"]
    assert waypoints["desc"].str.contains("buried lines located before digging").all()
    back = waypoints.to_crs(GRID.crs)
    assert np.hypot(back.geometry.x - chosen.points[:, 0], back.geometry.y - chosen.points[:, 1]).max() < 0.01
    assert sorted(path.name for path in (tmp_path / "one").iterdir()) == sorted([*first, ".products"]), "nothing half-written stays"


def test_of_large_land_a_lattice_of_its_cells_stands_for_all_and_no_raster_is_read_whole(survey, monkeypatch):
    pits, terrain, surfaces, context = survey
    whole = read_land(terrain, SamplingSettings(), context).cells
    monkeypatch.setattr("geoprofile.sampling.land.MOST_CELLS", 300)
    monkeypatch.setattr("geoprofile.rasters.RasterFile.read", lambda *_: pytest.fail("read whole"))
    land = read_land(terrain, SamplingSettings(), context)
    assert len(land.cells) == 14 * 17 and "of each 3 x 3 cells" in land.notes[0]
    assert {tuple(one) for one in land.cells} < {tuple(one) for one in whole}
    for purpose in ("gaps", "terrain", "doubt"):
        chosen = choose_next_pits(pits, terrain, surfaces, SamplingSettings(purpose=purpose, number=2, attribute="a"), context)
        assert {tuple(one) for one in chosen.points.round(6)} <= {tuple(one) for one in land.cells.round(6)}
