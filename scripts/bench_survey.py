"""A whole generated survey, tables to surfaces, scores and map, as a user runs it: wall time and peak memory. Prints; tests nothing.

300 pits with horizons, most to 1 m and some to 60 cm, on an elevation raster of 1,000 x 1,000 cells of 10 m; six
attributes, one with drift on terrain, the others without; an E horizon that half of the pits lack; carbonates that a third
did not reach. `geoprofile run` in a process of its own, all settings but these as they come. Memory is the largest of that process.

    python scripts/bench_survey.py              300 pits, 1,000 x 1,000 cells
    python scripts/bench_survey.py 100 400      100 pits, 400 x 400 cells
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd
from bench_terrain import CELL, CRS, write_ground

from geoprofile.kernels.covariance import Model, covariance, squared_distances

SURVEY = f"""format = 1
[survey]
name = "generated"
crs = "{CRS}"
convention = "canadian"
[grid]
cell_m = {CELL:g}
[pits]
pits = {{ file = "pits.csv" }}
horizons = {{ file = "horizons.csv" }}
depth_unit = "cm"
[attributes]
use = ["dark_a_thickness", "eluvial_thickness", "a_e_thickness", "depth_to_bt", "bt_thickness", "depth_to_carbonates"]
[terrain]
elevation = "elevation.tif"
relative_elevation_radius_m = 50
[surfaces]
seed = 1
[surfaces.for.depth_to_carbonates]
drift = ["relative_elevation"]
less_than_cm = [50]
"""


def write_survey(folder: Path, count: int, side: int) -> None:
    write_ground(folder / "elevation.tif", side)
    rng = np.random.default_rng(3)
    extent = side * CELL
    places = rng.uniform(0.02, 0.98, (count, 2)) * extent
    alike = covariance(Model("exponential", 0.0, 1.0, extent / 12), np.sqrt(squared_distances(places, places))) + 0.15 * np.eye(count)
    a, e, b, lime = (np.linalg.cholesky(alike) @ rng.standard_normal((count, 4)) * [4, 6, 9, 18] + [16, 1, 25, 75]).T
    ends = np.where(rng.random(count) < 0.2, 60, 100)
    pits, horizons = [], []
    for number, (x, y) in enumerate(places):
        name, top = f"P{number + 1:03d}", 0
        pits.append({
            "pit_id": name, "easting": 500_000 + x, "northing": 5_830_000 - y, "observed_to_cm": ends[number], "acid_to_cm": ends[number],
        })  # fmt: skip
        layers = [("Ap", max(a[number], 5)), ("Ae", e[number] if e[number] > 2 else 0), ("Bt", max(b[number], 5)),
                  ("BC", max(lime[number] - max(a[number], 5) - max(e[number], 0) - max(b[number], 5), 0)), ("Ck", 999)]  # fmt: skip
        for designation, thick in layers:
            lower = min(top + round(float(thick)), ends[number])
            if lower > top:
                fizz = "strong" if designation == "Ck" else "none"
                horizons.append({"pit_id": name, "designation": designation, "upper_cm": top, "lower_cm": lower, "effervescence": fizz})
            top = lower
    pd.DataFrame(pits).to_csv(folder / "pits.csv", index=False)
    pd.DataFrame(horizons).to_csv(folder / "horizons.csv", index=False)
    (folder / "survey.toml").write_text(SURVEY, encoding="utf-8")


def main(count: int, side: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        survey = Path(folder) / "survey"
        survey.mkdir()
        write_survey(survey, count, side)
        print(f"{count} pits, {side * side:,} cells, six attributes; geoprofile run, {os.cpu_count()} processors", flush=True)
        start = time.perf_counter()
        done = subprocess.run(
            [sys.executable, "-m", "geoprofile", "run", str(survey), "-o", f"{folder}/out"], capture_output=True, text=True, check=False
        )  # fmt: skip
        spent = time.perf_counter() - start
        if done.returncode:
            raise SystemExit(done.stdout + done.stderr)
        used = resource.getrusage(resource.RUSAGE_CHILDREN)
        peak = used.ru_maxrss / (1024 if sys.platform != "darwin" else 1024**2)
        print(f"  wall time {spent:6.1f} s, of processors {used.ru_utime + used.ru_stime:.1f} s; peak memory {peak:,.0f} MB")
        for line in done.stdout.splitlines():
            if "efficiency" in line or "RMSE" in line:
                print("  " + line.strip())
        told = json.loads(next(Path(folder, "out", ".products", "surfaces").glob("*.json")).read_text(encoding="utf-8"))
        told = told.get("surfaces", told)
        print(f"  surfaces: {len(told)}; map {Path(folder, 'out', 'map.html').stat().st_size / 1e6:.1f} MB")


if __name__ == "__main__":
    main(*(int(text) for text in (*sys.argv[1:], *("300", "1000")[len(sys.argv) - 1 :])))
