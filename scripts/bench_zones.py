"""Zones from landform elements and from clusters on ground like noise, as a user draws them: seconds and peak memory.

The survey of bench_large.py, whose ground has 2 cm of noise on cells of 5 m: elements and clusters change from cell to
cell, so that hundreds of thousands of patches are merged. Terrain and surfaces are made before, in processes of their own.
Prints; tests nothing.

    python scripts/bench_zones.py               8,000 x 8,000 cells, 1:50,000
    python scripts/bench_zones.py 4000 10000    4,000 x 4,000 cells, 1:10,000
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import bench_large

DERIVE = 'derive = ["slope", "landform_element", "relative_elevation", "tangential_curvature"]\nrelative_elevation_radius_m = 50'


def main(side: int, scale: int) -> None:
    before, after = bench_large.SURVEY.split("[salvage]")[0].split("draft = {")
    before = before.replace('derive = ["slope", "landform_element"]', DERIVE).replace("map_scale = 50000", f"map_scale = {scale}")
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        bench_large.write(folder, side)
        print(f"{side:,} x {side:,} cells, zones at 1:{scale:,}", flush=True)
        for drawn_from in ("landform_elements", "clusters"):
            survey = folder / f"{drawn_from}.toml"
            survey.write_text(f'{before}draft = {{ from = "{drawn_from}" }}\n{after.partition(chr(10))[2]}', encoding="utf-8")
            print(f" from {drawn_from.replace('_', ' ')}", flush=True)
            for stage in ("terrain", "surfaces", "zones"):
                bench_large.run_stage(stage, survey)


if __name__ == "__main__":
    main(*(int(text) for text in (*sys.argv[1:], *("8000", "50000")[len(sys.argv) - 1 :])))
