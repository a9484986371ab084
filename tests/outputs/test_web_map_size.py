"""How large map.html is: cells grow coarser until it keeps to its size, and pits take little."""


import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from geoprofile.outputs import web_map as web_map_module
from geoprofile.outputs.bundle import Bundle
from geoprofile.outputs.map_layers import raster_layers
from geoprofile.outputs.web_map import COARSER, build
from geoprofile.problems import problems_frame
from geoprofile.products import (
    HORIZON_COLUMNS,
    PIT_COLUMNS,
    READING_COLUMNS,
    VALUE_COLUMNS,
    Attributes,
    Pits,
    typed,
)
from geoprofile.record import Record
from geoprofile.settings.publish import PublishSettings

from . import map_bundle
from .test_web_map import parts


def test_a_small_size_coarsens_the_cells_and_says_so_W8(tmp_path):
    full, _ = build(map_bundle.bundle(tmp_path))
    size = len(full.encode()) - 6_000
    text, notes = build(map_bundle.bundle(tmp_path, map_mb=size / 1e6))
    data, _ = parts(text)
    assert len(text.encode()) <= size
    assert {grid["cell_m"] for grid in data["grids"]} == {20.0} and {grid["factor"] for grid in data["grids"]} == {2}
    assert any("20 m here and 10 m in the GeoTIFF" in note for note in data["notes"])
    assert any("20 m here" in note for note in notes)


def test_sizes_that_cannot_fit_are_not_read_W8(tmp_path, monkeypatch):
    made = map_bundle.bundle(tmp_path)
    largest = len(build(made)[0].encode()) - 0.7 * raster_layers(made).size
    tried = []
    monkeypatch.setattr(web_map_module, "raster_layers", lambda *asked: tried.append(asked[1]) or raster_layers(*asked))
    text, _ = build(map_bundle.bundle(tmp_path, map_mb=largest / 1e6))
    assert len(text.encode()) <= largest and 1 < len(tried) <= 4 and tried == sorted(tried)
    tried.clear()
    _, notes = build(map_bundle.bundle(tmp_path, map_mb=0.001))
    assert len(tried) <= 4 and tried[-1] == COARSER[-1] and "as coarse as they get" in notes[-1]


def many_pits(tmp_path, count: int) -> Bundle:
    """``count`` pits of four horizons and three attributes each, with a note on every tenth."""
    rng = np.random.default_rng(5)
    ids = [f"Q{k:05d}" for k in range(count)]
    rows = pd.DataFrame(
        {
            "pit_id": ids,
            "place_id": ids,
            "kind": rng.choice(["pit", "auger", "inspection"], count),
            "observed_to_cm": 100.0,
            "stopped_by": "planned depth",
            "acid_to_cm": rng.choice([60.0, 100.0], count),
            "datum": "mineral surface",
            "recorded_soil": rng.choice([f"Series {k}" for k in range(40)], count),
            "slope_percent": rng.uniform(0, 20, count).round(1),
            "drainage": rng.choice(["well", "imperfect", "poor"], count),
            "date": rng.choice(["2024-06-11", "2024-06-12"], count),
            "file": "pits.csv",
            "row": np.arange(count) + 2,
            "remarks": [f"note {k}: stones" if k % 10 == 0 else None for k in range(count)],
        }
    )
    points = shapely.points(560_000 + rng.uniform(0, 6000, count), 5_780_000 + rng.uniform(0, 6000, count))
    depths = np.sort(rng.integers(5, 100, (count, 3)), axis=1)
    layers = []
    for order, (mark, colour) in enumerate(
        [("Ah", "10YR 2/1"), ("Bm", "10YR 4/3"), ("Bt", "10YR 4/4"), ("Ck", "2.5Y 5/3")]
    ):
        layers.append(
            pd.DataFrame(
                {
                    "pit_id": ids,
                    "order": order + 1,
                    "designation": mark,
                    "colour_moist": colour,
                    "upper_cm": depths[:, order - 1].astype(float) if order else 0.0,
                    "lower_cm": depths[:, order].astype(float) if order < 3 else np.nan,
                    "texture": rng.choice(["L", "CL", "SiL"], count),
                    "effervescence": rng.choice(["none", "strong"], count),
                    "boundary_distinctness": "clear",
                    "boundary_form": rng.choice(["smooth", "wavy"], count),
                }
            )
        )
    values = pd.concat(
        [
            pd.DataFrame(
                {
                    "pit_id": ids,
                    "attribute": name,
                    "low": depths[:, 0].astype(float),
                    "high": depths[:, 0].astype(float),
                    "status": "measured",
                    "presence": "present",
                    "evidence": "designation",
                }
            )
            for name in ("depth_to_carbonates", "a_e_thickness", "depth_to_bt")
        ]
    )
    survey = map_bundle.bundle(tmp_path)
    frame = gpd.GeoDataFrame(typed(rows, PIT_COLUMNS), geometry=gpd.GeoSeries(points, crs=map_bundle.CRS))
    pits = Pits(
        Record("pits", {}),
        frame,
        typed(pd.concat(layers), HORIZON_COLUMNS),
        typed(pd.DataFrame(columns=list(READING_COLUMNS)), READING_COLUMNS),
        problems_frame([]),
    )
    attributes = Attributes(
        Record("attributes", {}), frame, typed(values, VALUE_COLUMNS), map_bundle.DEFINITIONS, problems_frame([])
    )
    return Bundle(PublishSettings(), survey.context, pits, attributes)


def test_five_thousand_pits_stay_under_three_megabytes_W8(tmp_path):
    text, _ = build(many_pits(tmp_path, 5000))
    assert len(text.encode()) < 3_000_000
    assert len(parts(text)[0]["pits"]["id"]) == 5000
    assert text.count("<script") == 3  # one block of data, whatever the number of pits
