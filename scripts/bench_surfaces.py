"""Surfaces on a generated raster: 300 pits kriged onto 8,000 x 8,000 cells, read to written; time and peak memory.

Run by scripts/bench. By itself: bench_surfaces.py [--side 8000] [--pits 300] [--large] [--cluster] [--cases plain drift ...]. ``--large`` adds
a raster of twice the side (1 GB a raster while it is written), ``--cluster`` two workers of dask.distributed on this machine. Each case runs in a process of its own, so that peak memory is its own;
terrain is made before, in another process. Files lie in a temporary folder and are removed.

The pits stand on a third of the land each way; a quarter of them say only "at least".
"""

from __future__ import annotations

import argparse
import json
import os
import pickle
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from bench_terrain import CRS, two_workers, write_ground

from geoprofile.context import Context
from geoprofile.memory import keep_few_arenas
from geoprofile.record import Record
from geoprofile.settings.run import RunSettings
from geoprofile.settings.survey import GridSettings, SurveySettings

CASES = {
    "plain": ({}, "kriging with bounds: estimate, interval, reliability"),
    "drift": ({"drift": ("slope",), "less_than_cm": (25,), "more_than_cm": (60,)}, "the same with drift on slope and two limits"),
    "two_part": ({"absent_as": "two_part"}, "absent at a fifth of the pits, two-part form, with the chance of presence"),
}


def context_of(folder: Path, threads: int, scheduler: str | None = None) -> Context:
    return Context(
        SurveySettings(name="bench", crs=CRS), GridSettings(), folder, folder, run=RunSettings(threads=threads, scheduler=scheduler)
    )


def make_terrain(folder: Path, threads: int) -> None:
    from geoprofile.settings.terrain import TerrainSettings
    from geoprofile.terrain.stage import compute_terrain

    settings = TerrainSettings(elevation="ground.tif", derive=("slope",))
    terrain = compute_terrain(settings, context_of(folder, threads), Record("terrain", {}))
    (folder / "terrain.pickle").write_bytes(pickle.dumps(terrain))


def invented_pits(grid, count: int, absent: bool):
    """Products of pits with one attribute that varies over a fifth of the side."""
    import geopandas as gpd
    import pandas as pd

    from geoprofile.problems import problems_frame
    from geoprofile.products import PIT_COLUMNS, VALUE_COLUMNS, AttributeDefinition, Attributes, Pits, typed

    rng = np.random.default_rng(20)
    west, south, east, north = grid.bounds
    points = rng.uniform([west, south], [east, north], (count, 2))
    u, v = (points - [west, south]).T / (east - west)
    depth = np.maximum(45 + 18 * np.sin(17 * u) * np.cos(13 * v) + rng.normal(0, 5, count), 5).round()
    ended = rng.random(count) < 0.25
    low, high = np.where(ended, np.maximum(depth - 10, 1), depth), np.where(ended, np.nan, depth)
    status = np.where(ended, "at_least", "measured").astype(object)
    if absent:
        none = np.sin(17 * u) * np.cos(13 * v) < -0.55
        low[none] = high[none] = 0.0
        status[none] = "absent"
    ids = [f"P{number:04d}" for number in range(count)]
    frame = gpd.GeoDataFrame(
        typed(pd.DataFrame({"pit_id": ids, "place_id": ids}), PIT_COLUMNS), geometry=gpd.points_from_xy(*points.T, crs=CRS)
    )
    values = pd.DataFrame({
        "pit_id": ids, "attribute": "solum_thickness", "low": low, "high": high, "status": status,
        "presence": np.where(status == "absent", "absent", "present"),
    })  # fmt: skip
    told = AttributeDefinition("solum_thickness", "Solum thickness", "cm", "thickness", "invented", "invented", absent)
    nothing = problems_frame([])
    return (
        Pits(Record("pits", {}), frame, pd.DataFrame(), pd.DataFrame(), nothing),
        Attributes(Record("attributes", {}), frame[["pit_id", "place_id", "position_accuracy_m", "geometry"]],
                   typed(values, VALUE_COLUMNS), (told,), nothing),
    )  # fmt: skip


def measure(case: str, folder: Path, count: int, threads: int, scheduler: str | None) -> dict:
    from geoprofile.settings.surfaces import SurfacesSettings
    from geoprofile.surfaces import one_surface
    from geoprofile.surfaces.stage import map_surfaces

    terrain = pickle.loads((folder / "terrain.pickle").read_bytes())
    pits, attributes = invented_pits(terrain.grid, count, case == "two_part")
    drawn, fill = [], one_surface.fill

    def timed(*words, **more):
        start = time.perf_counter()
        made = fill(*words, **more)
        drawn.append(time.perf_counter() - start)
        return made

    one_surface.fill = timed
    start = time.perf_counter()
    surfaces = map_surfaces(
        pits, attributes, terrain, SurfacesSettings(**CASES[case][0]), context_of(folder, threads, scheduler), Record("surfaces", {})
    )
    seconds = time.perf_counter() - start
    if surfaces.refusals:
        raise SystemExit(surfaces.refusals[0].reason)
    return {
        "seconds": seconds, "drawn": sum(drawn), "rasters": len(surfaces.rasters), "model": surfaces.surfaces[0].model,
        "hash": {key: raster.sha256[:12] for key, raster in surfaces.rasters.items()},
    }  # fmt: skip


def in_its_own_process(*words: object) -> dict:
    done = subprocess.run([sys.executable, __file__, *map(str, words)], capture_output=True, text=True, check=False)
    if done.returncode:
        raise SystemExit(done.stderr.strip() or f"ended with {done.returncode} without a word")
    return json.loads(done.stdout.splitlines()[-1])


def words(made: dict) -> str:
    return (
        f"{made['seconds']:.1f} s (processor {made['processor']:.1f} s with start-up), of it drawn, written and read back "
        f"{made['drawn']:.1f} s; peak {made['peak_mb']:,.0f} MB"
    )


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--side", type=int, default=8000)
    parser.add_argument("--pits", type=int, default=300)
    parser.add_argument("--large", action="store_true")
    parser.add_argument("--cluster", action="store_true")
    parser.add_argument("--cases", nargs="*", default=["plain"], choices=list(CASES))
    parser.add_argument("--threads", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--scheduler")
    parser.add_argument("--measure")
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    if asked.measure == "terrain":
        make_terrain(asked.folder, asked.threads)
        print("{}")
        return 0
    if asked.measure:
        keep_few_arenas()  # as the pipeline does
        made = measure(asked.measure, asked.folder, asked.pits, asked.threads, asked.scheduler)
        used = resource.getrusage(resource.RUSAGE_SELF)
        print(json.dumps(made | {"peak_mb": used.ru_maxrss / 1024, "processor": used.ru_utime + used.ru_stime}))
        return 0
    for side in (asked.side, 2 * asked.side) if asked.large else (asked.side,):
        with tempfile.TemporaryDirectory() as place:
            folder = Path(place)
            write_ground(folder / "ground.tif", side)
            common = ["--folder", folder, "--threads", asked.threads, "--pits", asked.pits]
            in_its_own_process("--measure", "terrain", *common)
            for case in asked.cases:
                told = f"{asked.pits} pits onto {side:,} by {side:,} cells, {CASES[case][1]}"
                here = in_its_own_process("--measure", case, *common)
                print(f"{told}: {here['rasters']} rasters, {asked.threads} threads: {words(here)}\n  model: {here['model']}")
                shutil.rmtree(folder / "surfaces", ignore_errors=True)
                if asked.cluster:
                    with two_workers() as address:
                        there = in_its_own_process("--measure", case, *common, "--scheduler", address)
                    same = "the same bytes" if there["hash"] == here["hash"] else "OTHER BYTES"
                    print(f"  two workers of one thread: {words(there)} in the process that writes; {same}")
                    shutil.rmtree(folder / "surfaces", ignore_errors=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
