"""Each stage on a raster of many cells, as a user runs it: seconds and peak memory, which are not to grow with the raster.

300 generated pits (bench_survey.py), one attribute, zones cut from its surface at 1:50,000, 25 parcels, three areas to be
stripped; each command in a process of its own, what the one before it made is taken up. Prints; tests nothing.

    python scripts/bench_large.py               4,000 x 4,000 cells
    python scripts/bench_large.py 4000 8000     one after the other
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from itertools import product
from pathlib import Path

import geopandas as gpd
import shapely
from bench_survey import write_survey
from bench_terrain import CELL, CRS

SURVEY = f"""format = 1
[survey]
name = "generated"
crs = "{CRS}"
convention = "canadian"
area = "area.gpkg"
map_scale = 50000
[grid]
cell_m = {CELL:g}
[pits]
pits = {{ file = "pits.csv" }}
horizons = {{ file = "horizons.csv" }}
depth_unit = "cm"
[attributes]
topsoil_rule = "a_and_e"
use = ["a_e_thickness"]
[terrain]
elevation = "elevation.tif"
derive = ["slope", "landform_element"]
[surfaces]
seed = 1
[zones]
draft = {{ from = "surface", attribute = "a_e_thickness", limits_cm = [10, 15, 20, 25] }}
parcels = {{ file = "parcels.gpkg", id = "id" }}
[salvage]
polygons = {{ file = "strip.gpkg", id = "id" }}
rule = "a_and_e"
flat_strip_cm = 15
"""
AREA = [(0.01, 0.02), (0.5, 0.008), (0.985, 0.015), (0.99, 0.6), (0.97, 0.985), (0.4, 0.99), (0.02, 0.975)]
STRIPS = [
    [(0.1, 0.1), (0.45, 0.12), (0.4, 0.45), (0.12, 0.4)],
    [(0.6, 0.6), (0.62, 0.6), (0.62, 0.63)],
    [(0.7, 0.2), (0.9, 0.21), (0.9, 0.25), (0.7, 0.24)],
]
"""Corners as shares of the raster's side from the north-west."""
STAGES = ("terrain", "surfaces", "zones", "salvage", "publish")


def write(folder: Path, side: int) -> None:
    write_survey(folder, 300, side)
    (folder / "survey.toml").write_text(SURVEY, encoding="utf-8")
    extent = side * CELL

    def polygon(corners):
        return shapely.Polygon([(500_000 + x * extent, 5_830_000 - y * extent) for x, y in corners])

    area = polygon(AREA)
    fifths = [polygon([(x, y), (x + 0.2, y), (x + 0.2, y + 0.2), (x, y + 0.2)]) for x, y in product((0, 0.2, 0.4, 0.6, 0.8), repeat=2)]
    for name, shapes in (
        ("area", [area]), ("parcels", [one.intersection(area) for one in fifths]), ("strip", [polygon(corners) for corners in STRIPS]),
    ):  # fmt: skip
        gpd.GeoDataFrame({"id": [str(number) for number in range(len(shapes))]}, geometry=shapes, crs=CRS).to_file(folder / f"{name}.gpkg")


def run_stage(stage: str, survey: Path, *more: str) -> None:
    """One command in a process of its own; prints its seconds and the most memory it held."""
    start = time.perf_counter()
    with tempfile.TemporaryFile("w+", encoding="utf-8") as told:
        child = subprocess.Popen([sys.executable, "-m", "geoprofile", stage, str(survey), *more], stdout=told, stderr=told)
        _, status, used = os.wait4(child.pid, 0)
        if status:
            told.seek(0)
            raise SystemExit(told.read())
    peak = used.ru_maxrss / (1024 if sys.platform != "darwin" else 1024**2)
    print(f"  {stage:10s}{time.perf_counter() - start:7.1f} s   peak {peak:5,.0f} MB", flush=True)


def main(sides: list[int]) -> None:
    for side in sides:
        with tempfile.TemporaryDirectory() as place:
            folder = Path(place)
            write(folder, side)
            print(f"{side:,} x {side:,} cells, {os.cpu_count()} processors", flush=True)
            for stage in STAGES:
                run_stage(stage, folder)


if __name__ == "__main__":
    main([int(text) for text in sys.argv[1:]] or [4_000])
