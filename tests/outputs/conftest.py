"""A small invented survey: seven pits on a slope, one without a place, two zones, one lift, an edge case a column."""

from __future__ import annotations

import shutil

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from geoprofile import products as p
from geoprofile.grid import Grid
from geoprofile.outputs.bundle import Bundle
from geoprofile.problems import Problem, problems_frame
from geoprofile.rasters import CLASS, write_raster
from geoprofile.record import InputFile, Record
from geoprofile.settings.publish import PublishSettings

CRS = "EPSG:3158"
WEST, NORTH = 500_000.0, 5_800_400.0

DEFINITIONS = (
    p.AttributeDefinition("depth_to_carbonates", "Depth to carbonates", "cm", "depth",
                          "first depth at which the soil effervesces or is described as calcareous", "invented", False, 0),
    p.AttributeDefinition("a_e_thickness", "Thickness of A and E", "cm", "thickness", "dark A and eluvial together", "invented"),
    p.AttributeDefinition("clay_0_30", "Clay, 0 to 30 cm", "%", "average", "thickness-weighted mean", "invented", False, 1),
)  # fmt: skip

PIT_IDS = ("007", "1E5", "P-3", "P-4", "P-5", "P-6", "P-7")
DATES = ("2021-06-03", "2021-06-03", "2021-06-04", None, "2021-06-04", "2021-06-05", "2021-06-05")


def pits_frame() -> gpd.GeoDataFrame:
    rows = pd.DataFrame(
        {
            "pit_id": PIT_IDS,
            "place_id": PIT_IDS,
            "kind": ["pit", "auger", "pit", "pit", "auger", "inspection", "pit"],
            "observed_to_cm": [100.0, 60.0, 120.0, 100.0, 60.0, np.nan, 100.0],
            "stopped_by": ["planned depth", "unknown", "planned depth", "stones", "unknown", None, "planned depth"],
            "datum": ["mineral surface"] * 7,
            "elevation_m": [np.nan] * 7,
            "date": DATES,
            "remarks": ["=1+1", "O'Brien \"loam\" <20% & >5", None, "two\nlines", "#panic[x] $x$", "<img src=x>", "Ü – é"],
            "file": ["pits.csv"] * 7,
            "row": [2, 3, 4, 5, 6, 7, None],
        }
    )
    x = WEST + np.array([20.0, 90, 160, 230, 300, 360])
    y = NORTH - np.array([40.0, 60, 80, 110, 150, 170])
    points = [*shapely.points(x, y), None]
    return gpd.GeoDataFrame(p.typed(rows, p.PIT_COLUMNS), geometry=gpd.GeoSeries(points, crs=CRS))


def horizons_frame() -> pd.DataFrame:
    rows = []
    for number, pit in enumerate(PIT_IDS[:5]):
        a, b, end = 15 + 2 * number, 40 + 3 * number, (100, 60, 120, 100, 60)[number]
        for order, (designation, upper, lower, colour, form) in enumerate(
            [("Ap", 0, a, "10YR 2/1", "smooth"), ("Bm", a, b, "10YR 4/3", ("wavy", "broken", "irregular")[number % 3]),
             ("Ck", b, end, None if number == 3 else "2.5Y 6/3", None)], 1,
        ):  # fmt: skip
            rows.append(
                {
                    "pit_id": pit, "order": order, "designation": designation, "designation_as_written": designation,
                    "upper_cm": upper, "lower_cm": lower, "upper_low_cm": upper, "upper_high_cm": upper,
                    "lower_low_cm": lower - 3 if form == "wavy" else lower, "lower_high_cm": lower + 3 if form == "wavy" else lower,
                    "lower_is_end": order == 3, "colour_moist": colour, "boundary_form": form,
                    "boundary_distinctness": ("abrupt", "gradual", None)[order - 1], "file": "horizons.csv", "row": len(rows) + 2,
                }
            )  # fmt: skip
    return p.typed(pd.DataFrame(rows), p.HORIZON_COLUMNS)


def values_frame() -> pd.DataFrame:
    rows = []
    limits = [(38, 38, "measured", "present"), (60, None, "at_least", "not_seen"), (30, 36, "between", "present"),
              (0, 0, "at_surface", "present"), (None, None, "absent", "absent"), (None, None, "unknown", "not_described")]  # fmt: skip
    for pit, (low, high, status, presence) in zip(PIT_IDS[:6], limits, strict=True):
        rows.append({"pit_id": pit, "attribute": "depth_to_carbonates", "low": low, "high": high, "status": status,
                     "presence": presence, "evidence": "effervescence", "flags": ""})  # fmt: skip
    for number, pit in enumerate(PIT_IDS[:5]):
        rows.append({"pit_id": pit, "attribute": "a_e_thickness", "low": 15 + 2 * number, "high": 15 + 2 * number,
                     "status": "measured", "presence": "present", "evidence": "designation", "flags": ""})  # fmt: skip
    rows.append({"pit_id": "007", "attribute": "clay_0_30", "low": 23.5, "high": 23.5, "status": "measured",
                 "presence": "present", "evidence": "laboratory", "flags": ""})  # fmt: skip
    return p.typed(pd.DataFrame(rows), p.VALUE_COLUMNS)


def empty_problems() -> pd.DataFrame:
    return problems_frame([])


@pytest.fixture
def definitions():
    return DEFINITIONS


@pytest.fixture
def make_bundle(make_context):
    """A bundle; ``only`` keeps just pits and attributes, keywords go to [publish]."""

    def make(*, only: bool = False, terrain: bool = True, map_scale: int | None = None, context=None, **publish) -> Bundle:
        survey = {"map_scale": map_scale} if map_scale else {}
        context = context or make_context(cell_m=10, name="Slope & Sons <invented> #1 $x$", **survey)
        settings = PublishSettings(**{"lock_wait_s": 0.2, **publish})
        frame = pits_frame()
        problems = problems_frame([
            Problem("error", "overlap", "horizons overlap", "P-3", "horizons.csv", "", 9, "upper_cm", "-5-0", "", "look at the form"),
            Problem("warning", "end_of_hole", "the last lower depth is where the auger ended", "1E5", "horizons.csv", row=6),
            Problem("warning", "end_of_hole", "the last lower depth is where the auger ended", "P-5", "horizons.csv", row=15),
        ])  # fmt: skip
        pits = p.Pits(
            Record("pits", {"missing": ["", "n/a"]}, (InputFile("pits", "pits.csv", "0" * 64),), versions={"geoprofile": "0"}),
            frame, horizons_frame(), p.typed(pd.DataFrame({"pit_id": ["P-6"], "attribute": ["a_e_thickness"], "low": [12.0],
            "high": [12.0], "status": ["measured"], "presence": ["present"], "probe": [1], "text": ["12"]}), p.READING_COLUMNS),
            problems, ("pits.csv was read as UTF-8",),
        )  # fmt: skip
        attributes = p.Attributes(
            Record("attributes", {}, upstream={"pits": pits.record.id}),
            frame[["pit_id", "place_id", "position_accuracy_m", "geometry"]], values_frame(), DEFINITIONS, empty_problems(),
        )  # fmt: skip
        if only:
            return Bundle(settings, context, pits, attributes)
        grid = Grid(CRS, WEST, NORTH, 10.0, 20, 40)
        x, y = grid.centres()
        plane = 300 + 0.02 * (x[None, :] - WEST) + 0.01 * (y[:, None] - NORTH + 200) + 1.5 * np.sin(x[None, :] / 60)

        def raster(name, array, title, unit, **more):
            return write_raster(context.output, f"{name}.tif", array, grid, name=name, title=title, unit=unit, **more)

        terrain_product = p.Terrain(
            Record("terrain", {}), grid, {"elevation": raster("terrain/elevation", plane, "Elevation", "m")}, empty_problems()
        )
        key = "depth_to_carbonates_estimate_cm"
        estimate = np.where(x[None, :] > WEST + 350, np.nan, 20 + 0.1 * (x[None, :] - WEST) + 0 * y[:, None])
        backed = np.where(np.isnan(estimate), 2, 1)
        surfaces = p.Surfaces(
            Record("surfaces", {}, seed=1), grid,
            (p.Surface("depth_to_carbonates", "Depth to carbonates", "cm", "mean", "mean of the pits", key,
                       reliability="reliability", pits_used=4, model="one mean", score="mean absolute error 8 cm"),),
            {key: raster(f"surfaces/{key}", estimate, "Depth to carbonates, estimate", "cm"),
             "reliability": raster("surfaces/reliability", backed, "Reliability", "", kind=CLASS, legend={1: "backed by the pits", 2: "too far from a pit"})},
            (p.Refusal("clay_0_30", "one pit says something of it", "dig more pits"),),
            pd.DataFrame({"attribute": ["depth_to_carbonates"] * 2, "method": ["mean"] * 2, "validation": ["by location"] * 2,
                          "measure": ["mean error", "mean absolute error"], "value": [0.5, 8.0], "pits": [4, 4], "remark": ["", ""]}),
            pd.DataFrame({"attribute": ["depth_to_carbonates"], "pit_id": ["007"], "x": [WEST + 20], "y": [NORTH - 40]}),
            empty_problems(), ("one attribute was not mapped",),
        )  # fmt: skip
        west, east = shapely.box(WEST, NORTH - 200, WEST + 200, NORTH), shapely.box(WEST + 200, NORTH - 200, WEST + 400, NORTH)
        zones = p.Zones(
            Record("zones", {}),
            gpd.GeoDataFrame({"zone_id": ["1", "2"], "code": pd.array([1, 2], "Int64"), "name": ["0 to 25 cm", "25 to 50 cm"],
                              "from": ["depth_to_carbonates"] * 2, "area_ha": [4.0, 4.0], "pits": pd.array([3, None], "Int64")},
                             geometry=[west, shapely.MultiPolygon([east])], crs=CRS),
            {"zones": pd.DataFrame({"zone_id": ["1", "2"], "name": ["0 to 25 cm", "25 to 50 cm"], "area_ha": [4.0, 4.0], "pits": [3, 3]}),
             "parcels": pd.DataFrame({"id": ["@7"], "area_ha": [8.0], "zone": ["0 to 25 cm"]})},
            empty_problems(),
            parcels=gpd.GeoDataFrame({"id": ["@7"], "fid": [11], "order": ["=A1"]}, geometry=[west.union(east)], crs=CRS),
        )  # fmt: skip
        salvage = p.Salvage(
            Record("salvage", {}),
            gpd.GeoDataFrame({"polygon_id": ["pad"], "lift": ["topsoil"], "rule": ["A and E horizons"], "area_ha": [1.0],
                              "covered_percent": [100.0], "not_covered_ha": [0.0], "mean_cm": [18.0], "low90_cm": [12.0],
                              "high90_cm": [25.0], "bank_volume_m3": [1800.0], "low90_m3": [1200.0], "high90_m3": [2500.0],
                              "loose_volume_m3": [np.nan], "pits_inside": pd.array([1], "Int64")},
                             geometry=[west.centroid.buffer(56)], crs=CRS),
            empty_problems(), "a_and_e", (), "A and E horizons",
        )  # fmt: skip
        return Bundle(settings, context, pits, attributes, terrain_product if terrain else None, surfaces, zones, salvage)

    return make


@pytest.fixture
def cells_read(monkeypatch) -> list[int]:
    """Cells of each read of a raster from here on; what grows with the raster shows in the largest of them."""
    import rasterio

    found: list[int] = []
    really = rasterio.open

    class Counted:
        def __init__(self, source):
            self.source = source

        def __getattr__(self, name):
            return getattr(self.source, name)

        def __enter__(self):
            return self

        def __exit__(self, *error):
            self.source.close()

        def read(self, *bands, **asked):
            cells = self.source.read(*bands, **asked)
            found.append(cells.size)
            return cells

    # what is opened to be written is left alone
    monkeypatch.setattr(rasterio, "open", lambda where, *mode, **how: really(where, *mode, **how) if mode or how else Counted(really(where)))
    return found


@pytest.fixture(scope="module")
def survey(tmp_path_factory):
    """The invented survey, its map copied alone into an empty folder."""
    from geoprofile.outputs.web_map import web_map

    from . import map_bundle

    made = tmp_path_factory.mktemp("survey")
    bundle = map_bundle.bundle(made)
    web_map.write(bundle)
    alone = tmp_path_factory.mktemp("alone with é and space")
    shutil.copy(made / "map.html", alone / "map.html")
    assert [path.name for path in alone.iterdir()] == ["map.html"]
    return bundle, alone / "map.html"


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """A browser of its own for pages made in a test."""
    from .map_browser import browser

    with browser(tmp_path_factory.mktemp("profile"), 1400, 900) as driver:
        yield driver
