"""A small invented survey for the map's tests: twelve pits on a hill, two surfaces, zones. No real place."""

from __future__ import annotations

from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from geoprofile.context import Context
from geoprofile.grid import Grid
from geoprofile.outputs.bundle import Bundle
from geoprofile.problems import Problem, problems_frame
from geoprofile.products import (
    HORIZON_COLUMNS,
    PIT_COLUMNS,
    READING_COLUMNS,
    VALUE_COLUMNS,
    AttributeDefinition,
    Attributes,
    ClassSurface,
    Pits,
    Refusal,
    Salvage,
    Surface,
    Surfaces,
    Terrain,
    Zones,
    typed,
)
from geoprofile.rasters import CLASS, write_raster
from geoprofile.record import Record
from geoprofile.settings.publish import PublishSettings
from geoprofile.settings.survey import GridSettings, SurveySettings

CRS = "EPSG:3158"
GRID = Grid(CRS, 560_000.0, 5_790_500.0, 10.0, 50, 60)
"""60 columns and 50 rows of 10 m in the middle of a large lake."""
DEFINITIONS = (
    AttributeDefinition("depth_to_carbonates", "Depth to carbonates", "cm", "depth", "top of the first lime", "", True),
    AttributeDefinition(
        "a_e_thickness", "Thickness of A and E", "cm", "thickness", "all A and E horizons together", ""
    ),
    AttributeDefinition("depth_to_bt", "Depth to Bt", "cm", "depth", "top of the first Bt", "", True),
)
CAUTION = "pits stopped by rock did not stop at random: the map is too shallow where rock is near"
RELIABILITY = {1: "backed by the pits", 2: "too far from any pit", 3: "terrain unlike that at any pit"}
ELEMENTS = {1: "convergent footslope", 2: "divergent shoulder", 3: "level"}


def hill() -> np.ndarray:
    """Elevation in m of two knolls and a hollow, nothing in the north-east corner."""
    x, y = GRID.centres()
    x, y = np.meshgrid((x - GRID.west) / 600, (GRID.north - y) / 500)
    knoll = 9 * np.exp(-((x - 0.3) ** 2 + (y - 0.4) ** 2) / 0.03) + 6 * np.exp(
        -((x - 0.72) ** 2 + (y - 0.66) ** 2) / 0.02
    )
    hollow = -4 * np.exp(-((x - 0.55) ** 2 + (y - 0.3) ** 2) / 0.02)
    height = 250 + 3 * x - 2 * y + knoll + hollow + 0.4 * np.sin(14 * x + 5 * y) * np.cos(11 * y)
    height[:6, -8:] = np.nan
    return height


PITS = (
    # id, column, row, kind, carbonates, a and e, bt: (low, high, status, presence)
    ("P1", 10, 12, "pit", (38, 38), (16, 16), (24, 24)),
    ("P2", 18, 20, "pit", (0, 0), (9, 9), None),
    ("P3", 30, 15, "auger", (60, None), (28, 28), (42, 42)),
    ("P4", 42, 10, "pit", (71, 71), (24, 31), (35, 35)),
    ("P5", 50, 18, "auger", (100, None), (33, 33), (60, None)),
    ("P6", 12, 33, "pit", (22, 22), (13, 13), "absent"),
    ("P7", 24, 30, "pit", (15, 21), (11, 11), "absent"),
    ("P8", 43, 33, "pit", (8, 8), (10, 10), None),
    ("P9", 36, 40, "pit", (45, 45), (19, 19), (27, 27)),
    ("P10", 53, 42, "probe", None, (22, 22), None),
    ("P11", 8, 45, "pit", (52, 52), (20, 20), (30, 30)),
    ("P3 again", 30, 15, "pit", (64, 64), (27, 27), (41, 41)),
    ("P12", None, None, "inspection", None, (15, 15), None),
)

HORIZONS = {
    "P1": [
        ("Ap", 0, 12, "10YR 3/1", "L", "granular", "none", "abrupt", "smooth", {}),
        (
            "Ae",
            12,
            16,
            "10YR 6/2",
            "SiL",
            "platy",
            "none",
            "clear",
            "broken",
            {"thickness_low_cm": 0, "lower_low_cm": 12, "lower_high_cm": 20},
        ),
        (
            "AB",
            16,
            24,
            "10YR 4/2",
            "CL",
            "subangular blocky",
            "none",
            "clear",
            "wavy",
            {"lower_low_cm": 21, "lower_high_cm": 28},
        ),
        (
            "Bt",
            24,
            38,
            "10YR 4/4",
            "C",
            "prismatic",
            "none",
            "gradual",
            "irregular",
            {"lower_low_cm": 33, "lower_high_cm": 44},
        ),
        ("Cca", 38, 62, "2.5Y 6/3", "CL", "massive", "strong", "diffuse", "smooth", {}),
        ("Ck", 62, 100, "2.5Y 5/3", "CL", "massive", "moderate", "", "", {"lower_is_end": True}),
    ],
    "P3": [
        ("LFH", -5, 0, "", "", "", "", "abrupt", "smooth", {}),
        ("Ah", 0, 18, "10YR 2/1", "SiL", "granular", "none", "clear", "smooth", {}),
        ("Ae", 18, 28, "10YR 6/1", "SiL", "platy", "none", "clear", "wavy", {}),
        ("Bm", 28, 42, "", "", "", "", "", "", {}),
        ("Bt", 42, None, "10YR 4/3", "C", "", "none", "", "", {}),
    ],
}


def pits_product(notes: dict[str, str] | None = None, extra: dict | None = None) -> Pits:
    rows, shapes = [], []
    for name, column, row, kind, *_ in PITS:
        rows.append(
            {
                "pit_id": name,
                "place_id": "P3" if name.startswith("P3") else name,
                "kind": kind,
                "observed_to_cm": 60.0 if kind == "auger" else 100.0,
                "stopped_by": "planned depth",
                "acid_to_cm": 60.0,
                "datum": "mineral surface",
                "recorded_soil": "Orthic Black Chernozem" if kind == "pit" else None,
                "slope_percent": 6.5,
                "drainage": "well",
                "date": "2024-06-11",
                "file": "pits.xlsx",
                "sheet": "pits",
                "row": len(rows) + 2,
                "remarks": (notes or {}).get(name)
                or (
                    "Stones from 40 cm, roots to 55 cm.\nLime in pockets <2 cm & along cracks."
                    if name == "P1"
                    else None
                ),
            }
        )
        shapes.append(None if column is None else shapely.Point(GRID.west + 10 * column + 4, GRID.north - 10 * row - 3))
    frame = typed(pd.DataFrame(rows), PIT_COLUMNS)
    for key, values in (extra or {}).items():
        frame[key] = values
    horizons = []
    for name, layers in HORIZONS.items():
        for k, (mark, upper, lower, colour, texture, structure, acid, distinct, form, more) in enumerate(
            layers, start=1
        ):
            horizons.append(
                {
                    "pit_id": name,
                    "order": k,
                    "designation": mark,
                    "upper_cm": upper,
                    "lower_cm": lower,
                    "colour_moist": colour or None,
                    "texture": texture or None,
                    "structure_kind": structure or None,
                    "effervescence": acid or None,
                    "boundary_distinctness": distinct or None,
                    "boundary_form": form or None,
                    "lower_is_end": False,
                    **more,
                }
            )
    readings = pd.DataFrame(
        [
            {
                "pit_id": "P10",
                "attribute": "a_e_thickness",
                "low": 22.0,
                "high": 22.0,
                "status": "measured",
                "text": "22",
                "probe": 1,
            }
        ]
    )
    problems = problems_frame(
        [Problem("warning", "place", "this pit has no coordinates", pit_id="P12", remedy="give them")]
    )
    return Pits(
        Record("pits", {}),
        gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries(shapes, crs=CRS)),
        typed(pd.DataFrame(horizons), HORIZON_COLUMNS),
        typed(readings, READING_COLUMNS),
        problems,
    )


def attributes_product(pits: Pits) -> Attributes:
    rows = []
    for name, _, _, _, carbonates, a_e, bt in PITS:
        for attribute, value in (("depth_to_carbonates", carbonates), ("a_e_thickness", a_e), ("depth_to_bt", bt)):
            low, high = value if isinstance(value, tuple) else (None, None)
            status = (
                "absent"
                if value == "absent"
                else "unknown"
                if value is None
                else "at_surface"
                if high == low == 0
                else ("at_least" if high is None else "measured" if low == high else "between")
            )
            presence = {"absent": "absent", "unknown": "not_described", "at_least": "not_seen"}.get(status, "present")
            rows.append(
                (
                    name,
                    attribute,
                    low,
                    high,
                    status,
                    presence,
                    "effervescence" if "carbon" in attribute else "designation",
                    "",
                )
            )
    values = typed(pd.DataFrame(rows, columns=list(VALUE_COLUMNS)), VALUE_COLUMNS)
    return Attributes(
        Record("attributes", {}),
        pits.pits[["pit_id", "place_id", "position_accuracy_m", "geometry"]],
        values,
        DEFINITIONS,
        problems_frame([]),
    )


def bundle(
    folder: Path,
    *,
    name: str = "Gull Knolls (invented)",
    notes: dict[str, str] | None = None,
    extra: dict | None = None,
    titles: tuple[str, str] | None = None,
    map_mb: float = 10.0,
    tiles: str | None = None,
    tiles_credit: str | None = None,
    map_scale: int | None = 5000,
) -> Bundle:
    """The whole survey, its rasters written under ``folder``; see the module for what is in it."""
    context = Context(SurveySettings(name=name, crs=CRS, map_scale=map_scale), GridSettings(cell_m=10), folder, folder)
    height = hill()
    terrain = {
        "elevation": write_raster(
            folder, "terrain/elevation.tif", height, GRID, name="elevation", title="Elevation", unit="m"
        ),
        "landform_element": write_raster(
            folder,
            "terrain/landform_element.tif",
            np.where(np.isnan(height), 0, np.digitize(height, [249.5, 254]) + 1),
            GRID,
            name="landform_element",
            title="Landform elements",
            unit="",
            kind=CLASS,
            legend=ELEMENTS,
        ),
    }
    depth = np.clip(74 - 6.2 * (height - 247.5), 4, None)
    depth[44:, :9] = np.nan  # masked
    spread = 8 + 0.25 * depth
    made = {}
    for key, title, unit, array in (
        ("depth_to_carbonates_estimate", "Depth to carbonates", "cm", depth),
        ("depth_to_carbonates_low90", "Depth to carbonates, low", "cm", np.clip(depth - spread, 0, None)),
        ("depth_to_carbonates_high90", "Depth to carbonates, high", "cm", depth + spread),
        (
            "depth_to_carbonates_presence",
            "Depth to carbonates, presence",
            "probability",
            np.clip(1 - depth / 300, 0, 1),
        ),
        (
            "depth_to_carbonates_below_25",
            "Depth to carbonates, below 25 cm",
            "probability",
            1 / (1 + np.exp((depth - 25) / 6)),
        ),
        (
            "depth_to_carbonates_above_60",
            "Depth to carbonates, above 60 cm",
            "probability",
            1 / (1 + np.exp((60 - depth) / 6)),
        ),
        ("a_e_thickness_estimate", "Thickness of A and E", "cm", 8 + depth / 3),
        ("a_e_thickness_low90", "Thickness of A and E, low", "cm", 4 + depth / 4),
        ("a_e_thickness_high90", "Thickness of A and E, high", "cm", 14 + depth / 2.5),
    ):
        made[key] = write_raster(folder, f"surfaces/{key}.tif", array, GRID, name=key, title=title, unit=unit)
    reliability = np.where(np.isnan(height), 0, np.where(np.isnan(depth), 2, 1))
    reliability[30:36, 40:47] = 3
    made["depth_to_carbonates_reliability"] = write_raster(
        folder,
        "surfaces/depth_to_carbonates_reliability.tif",
        reliability,
        GRID,
        name="reliability",
        title="Reliability",
        unit="",
        kind=CLASS,
        legend=RELIABILITY,
    )
    first, second = titles or (DEFINITIONS[0].title, DEFINITIONS[1].title)
    surfaces = Surfaces(
        Record("surfaces", {}),
        GRID,
        (
            Surface(
                "depth_to_carbonates",
                first,
                "cm",
                "drift_kriging",
                "kriging with drift on relative elevation",
                "depth_to_carbonates_estimate",
                "depth_to_carbonates_low90",
                "depth_to_carbonates_high90",
                "depth_to_carbonates_presence",
                "depth_to_carbonates_reliability",
                {"25": "depth_to_carbonates_below_25"},
                pits_used=10,
                model="spherical, range 210 m",
                score="mean error left out one by one 9 cm",
                above={"60": "depth_to_carbonates_above_60"},
                cautions=(CAUTION,),
            ),
            Surface(
                "a_e_thickness",
                second,
                "cm",
                "ordinary_kriging",
                "ordinary kriging",
                "a_e_thickness_estimate",
                "a_e_thickness_low90",
                "a_e_thickness_high90",
                pits_used=12,
                score="mean error left out one by one 4 cm",
            ),
        ),
        made,
        (Refusal("depth_to_bt", "Only seven pits have a depth to Bt.", "Use the table by zone."),),
        pd.DataFrame(),
        pd.DataFrame(),
        problems_frame([]),
        classes=(_classes(folder, depth, made),),
    )
    pits = pits_product(notes, extra)
    return Bundle(
        PublishSettings(map_mb=map_mb, tiles=tiles, tiles_credit=tiles_credit),
        context,
        pits,
        attributes_product(pits),
        Terrain(Record("terrain", {}), GRID, terrain, problems_frame([])),
        surfaces,
        _zones(height),
        _salvage(),
    )


def _classes(folder, depth: np.ndarray, made: dict) -> ClassSurface:
    """Drainage: well where carbonates are shallow, poorly where they are deep, the rest between and lumped."""
    deep = np.clip(depth / 100, 0, 1)
    each = {"poorly": 0.9 * deep, "well <b>drained</b>": 0.9 * (1 - deep), "other classes": np.where(np.isnan(depth), np.nan, 0.1)}
    stacked = np.stack(list(each.values()), axis=-1)
    known = np.isfinite(stacked).all(axis=-1)
    code = np.where(known, np.nan_to_num(stacked).argmax(axis=-1) + 1, 0)
    legend = dict(enumerate(each, start=1))
    made["drainage_class"] = write_raster(folder, "surfaces/drainage_class.tif", code, GRID, name="drainage_class", title="Drainage",
                                          unit="", kind=CLASS, legend=legend)  # fmt: skip
    arrays = {"drainage_class_probability": stacked.max(axis=-1)} | {
        f"drainage_probability_{number}": array for number, array in enumerate(each.values(), start=1)
    }
    for key, array in arrays.items():
        made[key] = write_raster(folder, f"surfaces/{key}.tif", array, GRID, name=key, title=key, unit="probability")
    keys = {name: f"drainage_probability_{number}" for number, name in legend.items()}
    score = "by location: 63 % of 12 pits lie in their most probable class (71 % promised)"
    return ClassSurface("drainage", "Drainage", tuple(each), "drainage_class", "drainage_class_probability", keys, 12, score)


def _zones(height: np.ndarray) -> Zones:
    west, south, east, north = GRID.bounds
    knoll = shapely.Point(west + 180, north - 200).buffer(85)
    low = shapely.Polygon([(west, north), (west + 380, north), (west + 300, south), (west, south)]).difference(knoll)
    rest = shapely.box(west, south, east, north).difference(low).difference(knoll)
    shapes = [shapely.MultiPolygon([shape]) if shape.geom_type == "Polygon" else shape for shape in (low, knoll, rest)]
    zones = gpd.GeoDataFrame(
        {
            "zone_id": ["1", "2", "3"],
            "code": [1, 2, 3],
            "name": ["lower slope", "knoll", "eastern flat"],
            "from": "test",
            "area_ha": [shape.area / 1e4 for shape in shapes],
        },
        geometry=shapes,
        crs=CRS,
    )
    parcels = gpd.GeoDataFrame(
        {"id": ["North half", "South half"]},
        crs=CRS,
        geometry=[
            shapely.MultiPolygon([shapely.box(west, (south + north) / 2, east, north)]),
            shapely.MultiPolygon([shapely.box(west, south, east, (south + north) / 2)]),
        ],
    )
    return Zones(Record("zones", {}), zones, {}, problems_frame([]), parcels)


def _salvage() -> Salvage:
    west, south, _, _ = GRID.bounds
    pad = shapely.MultiPolygon([shapely.box(west + 380, south + 90, west + 500, south + 190)])
    lifts = gpd.GeoDataFrame(
        {
            "id": ["Pad 1", "Pad 1"],
            "lift": ["forest floor", "topsoil"],
            "thickness_cm": [0.0, 14.2],
            "volume_m3": [0.0, 1704.0],
        },
        geometry=[pad, pad],
        crs=CRS,
    )
    return Salvage(Record("salvage", {}), lifts, problems_frame([]), "a_and_e")
