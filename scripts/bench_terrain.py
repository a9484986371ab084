"""Terrain on a generated raster: time against gdaldem, time of the whole stack, memory; each in a process of its own.

Run by scripts/bench. By itself: bench_terrain.py [--side 8000] [--large] [--cluster]. ``--large`` adds a raster of
twice the side; ``--cluster`` adds two workers of dask.distributed on this machine.
Files lie in a temporary folder and are removed.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np

from geoprofile import environment  # noqa: F401
from geoprofile.blocks import Layout, Threads, compute
from geoprofile.cloud_optimised import BLOCK, LEVEL_OF_NUMBERS
from geoprofile.context import Context
from geoprofile.grid import Grid
from geoprofile.kernels.terrain_radiation import radiation
from geoprofile.kernels.terrain_relief import height_within_relief
from geoprofile.kernels.terrain_sums import half_widths, relative_elevation
from geoprofile.kernels.terrain_window import HORN, LAYERS, derivatives
from geoprofile.memory import keep_few_arenas
from geoprofile.rasters import StreamedRaster
from geoprofile.record import Record
from geoprofile.settings.run import RunSettings
from geoprofile.settings.survey import GridSettings, SurveySettings
from geoprofile.settings.terrain import TerrainSettings
from geoprofile.terrain.elevation import open_elevation
from geoprofile.terrain.stage import compute_terrain

CELL, CRS = 5.0, "EPSG:3158"
RADIUS_M = 50.0
STACK = (
    "slope", "aspect", "profile_curvature", "plan_curvature", "tangential_curvature", "mean_curvature",
    "relative_elevation", "height_within_relief", "radiation",
)  # fmt: skip
LEVEL, SIDE = str(LEVEL_OF_NUMBERS), str(BLOCK)
CREATION = {"COMPRESS": "DEFLATE", "PREDICTOR": "3", "ZLEVEL": LEVEL, "TILED": "YES", "BLOCKXSIZE": SIDE, "BLOCKYSIZE": SIDE}
COG_CREATION = {"COMPRESS": "DEFLATE", "PREDICTOR": "YES", "LEVEL": LEVEL, "BLOCKSIZE": SIDE, "OVERVIEW_RESAMPLING": "AVERAGE"}


def write_ground(path: Path, side: int) -> None:
    """Invented rolling ground: waves from 60 m to 2 km, each as high as it is long times 0.01, and 2 cm of noise."""
    import rasterio

    rng = np.random.default_rng(7)
    lengths = np.geomspace(60, 2000, 10)
    turns, phases = rng.uniform(0, np.pi, 10), rng.uniform(0, 2 * np.pi, 10)
    with rasterio.open(
        path, "w", driver="GTiff", height=side, width=side, count=1, dtype="float32", crs=CRS, nodata=-9999,
        transform=rasterio.Affine(CELL, 0, 500_000, 0, -CELL, 5_830_000), compress="deflate", predictor=3, tiled=True,
        blockxsize=256, blockysize=256, NUM_THREADS="ALL_CPUS",
    ) as sink:  # fmt: skip
        sink.units = ("m",)
        x = np.arange(side, dtype="float32") * CELL
        for row in range(0, side, 256):
            y = (np.arange(row, min(row + 256, side), dtype="float32") * CELL)[:, None]
            z = np.full((len(y), side), 250.0, "float32")
            for length, turn, phase in zip(lengths, turns, phases):
                z += np.float32(0.01 * length) * np.sin(
                    np.float32(2 * np.pi / length) * (np.float32(np.cos(turn)) * x + np.float32(np.sin(turn)) * y) + np.float32(phase)
                )
            z += rng.normal(0, 0.02, z.shape).astype("float32")
            sink.write(z, 1, window=((row, row + len(y)), (0, side)))


def slope_tile(tile, z):
    return derivatives(z, CELL, HORN, ("slope",), np.float32), {}


class Watched(StreamedRaster):
    """Knows how long it was read back: gdaldem does not look at what it wrote."""

    def _reads_back(self) -> bool:
        start = time.perf_counter()
        same = super()._reads_back()
        self.read_back = time.perf_counter() - start
        return same


def measure_slope(source: Path, folder: Path, threads: int) -> dict:
    """Slope alone, from file to cloud-optimised file, checks of the raster and of what was written included."""
    derivatives(np.zeros((3, 3)), CELL, HORN, ("slope",), np.float32)
    start = time.perf_counter()
    crew = Threads(threads)
    elevation = open_elevation(source, TerrainSettings(), crs=CRS, workers=crew)
    opened = time.perf_counter()
    with Watched(folder, "slope.tif", elevation.grid, name="slope", title="Slope", unit="degrees") as sink:
        compute(slope_tile, [elevation.reader], [sink], Layout(elevation.grid, 1), crew, dtypes=["float32"])
        computed = time.perf_counter()
        sink.finish()
    end = time.perf_counter()
    written = end - sink.read_back
    return {"seconds": end - start, "parts": [opened - start, computed - opened, written - computed, sink.read_back]}


def measure_stack(source: Path, folder: Path, threads: int, scheduler: str | None = None) -> dict:
    """All of STACK and elevation, as `geoprofile terrain` makes them."""
    context = Context(
        SurveySettings(name="bench", crs=CRS), GridSettings(), source.parent, folder,
        run=RunSettings(threads=threads, scheduler=scheduler),
    )  # fmt: skip
    settings = TerrainSettings(
        elevation=source.name, derive=STACK, relative_elevation_radius_m=RADIUS_M, relief_radius_m=RADIUS_M
    )
    start = time.perf_counter()
    terrain = compute_terrain(settings, context, Record("terrain", {}))
    return {"seconds": time.perf_counter() - start, "outputs": len(terrain.rasters)}


def measure_kernels(source: Path, folder: Path, threads: int) -> dict:
    """Seconds in the kernels alone, on one thread, tile by tile; the best of three."""
    elevation = open_elevation(source, TerrainSettings(), crs=CRS)
    window = next(iter(Layout(Grid(CRS, 0, 0, CELL, 1024, 1024), 10, tile=1024).blocks()))[0].around
    z = elevation.reader.read(window)
    widths = half_widths(RADIUS_M / CELL)
    work = {
        "slope": lambda: derivatives(z, CELL, HORN, ("slope",), np.float32),
        "slope, aspect and four curvatures": lambda: derivatives(z, CELL, HORN, LAYERS, np.float32),
        "relative elevation": lambda: relative_elevation(z, widths),
        "height within relief": lambda: height_within_relief(z, widths),
        "radiation": lambda: radiation(z, CELL, 172, 52.0),
    }
    best = {}
    for name, run in work.items():
        run()
        times = []
        for _ in range(7):
            start = time.perf_counter()
            run()
            times.append(time.perf_counter() - start)
        best[name] = min(times) / z.size * 1e9
    return {"nanoseconds_a_cell": best}


MEASURES = {"slope": measure_slope, "stack": measure_stack, "kernels": measure_kernels}


def in_its_own_process(what: str, source: Path, folder: Path, *more: str) -> dict:
    told = subprocess.run(
        [sys.executable, __file__, "--measure", what, "--source", str(source), "--folder", str(folder), *more],
        check=True, capture_output=True, text=True, env=os.environ,
    ).stdout  # fmt: skip
    return json.loads(told.splitlines()[-1])


def gdaldem(program: str, source: Path, target: Path, form: str, creation: dict[str, str], threads: str) -> dict:
    options = [part for key, value in {**creation, "NUM_THREADS": threads}.items() for part in ("-co", f"{key}={value}")]
    command = [program, "slope", str(source), str(target), "-q", "-of", form, *options]
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    subprocess.run(command, check=True)
    seconds = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    target.unlink()
    return {"seconds": seconds, "processor": after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime}


def compare(source: Path, folder: Path, side: int, threads: int, times: int = 2) -> float:
    """Slope against gdaldem: same window, type, compression, predictor and level; taken in turns, the best of each. Returns our seconds."""
    program = shutil.which("gdaldem")
    forms = [(form, creation, number) for form, creation in (("COG", COG_CREATION), ("GTiff", CREATION)) for number in ("1", str(threads))]
    mine, theirs = [], {form: [] for form in range(len(forms) if program else 0)}
    for _ in range(times):
        mine.append(in_its_own_process("slope", source, folder, "--threads", str(threads)))
        for place in theirs:
            theirs[place].append(gdaldem(program, source, folder / "other.tif", *forms[place]))
    ours = min(mine, key=lambda made: made["seconds"])
    opened, computed, written, read_back = ours["parts"]
    print(f"slope, {side:,} by {side:,} cells, Horn's window, float32, deflate {LEVEL}, floating-point predictor, tiles of {SIDE}:")
    print(
        f"  ours, cloud-optimised, {threads} threads   {ours['seconds']:6.2f} s (processor {ours['processor']:.1f} s with start-up), peak "
        f"{ours['peak_mb']:,.0f} MB; looked through before {opened:.2f} s, read and computed {computed:.2f} s, written {written:.2f} s, "
        f"read back {read_back:.2f} s"
    )
    if program is None:
        print("  gdaldem is not installed (Debian: gdal-bin): not compared")
    for place, (form, _, number) in enumerate(forms if program else []):
        best = min(theirs[place], key=lambda made: made["seconds"])
        name = "cloud-optimised" if form == "COG" else "plain"
        print(
            f"  gdaldem, {name}, {number} threads to compress {best['seconds']:6.2f} s (processor {best['processor']:.1f} s); "
            f"ratio ours / gdaldem {(computed + written) / best['seconds']:.2f} from read to written, "
            f"{ours['seconds'] / best['seconds']:.2f} with both looks, which gdaldem does not take"
        )
    return ours["seconds"]


def stack(source: Path, folder: Path, side: int, threads: int, one: float) -> None:
    made = in_its_own_process("stack", source, folder, "--threads", str(threads))
    line = f"stack, {side:,} by {side:,} cells, {made['outputs']} rasters, {threads} threads: {made['seconds']:.1f} s (processor {made['processor']:.1f} s), peak {made['peak_mb']:,.0f} MB"
    line += f"; {made['seconds'] / (one * made['outputs']):.2f} of {made['outputs']} times slope alone"
    print(line)
    shutil.rmtree(folder / "terrain", ignore_errors=True)


@contextmanager
def two_workers() -> Iterator[str]:
    """Address of a scheduler with two workers of one thread each, on this machine."""
    with tempfile.TemporaryDirectory() as state:
        address = Path(state) / "scheduler.json"
        run = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--no-dashboard", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(address)]
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": state}
        processes = [subprocess.Popen(run, **quiet)]
        worker = [sys.executable, "-m", "distributed.cli.dask_worker", "--scheduler-file", str(address), "--nthreads", "1", "--no-nanny", "--no-dashboard"]
        processes += [subprocess.Popen(worker, **quiet) for _ in range(2)]
        try:
            while not address.exists():
                time.sleep(0.1)
            time.sleep(3)
            yield json.loads(address.read_text())["address"]
        finally:
            for process in processes:
                process.kill()  # asked to stop without its scheduler, a worker waits for it
            for process in processes:
                process.wait()


def cluster(source: Path, folder: Path, side: int) -> None:
    """The same stack on two workers."""
    with two_workers() as place:
        made = in_its_own_process("stack", source, folder, "--threads", "2", "--scheduler", place)
    print(
        f"stack, {side:,} by {side:,} cells, {made['outputs']} rasters, two workers of one thread: "
        f"{made['seconds']:.1f} s, peak {made['peak_mb']:,.0f} MB in the process that writes"
    )
    shutil.rmtree(folder / "terrain", ignore_errors=True)


def kernels(source: Path, folder: Path) -> None:
    cost = in_its_own_process("kernels", source, folder)["nanoseconds_a_cell"]
    print(f"kernels, one thread, nanoseconds a cell (radius {RADIUS_M / CELL:g} cells): " + ", ".join(f"{k} {v:.1f}" for k, v in cost.items()))
    total = sum(value for name, value in cost.items() if name != "slope")
    print(f"  the whole stack takes {total / cost['slope']:.1f} times the slope kernel; one pass of the window {cost['slope, aspect and four curvatures'] / cost['slope']:.1f} times")


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--side", type=int, default=8000)
    parser.add_argument("--large", action="store_true")
    parser.add_argument("--cluster", action="store_true")
    parser.add_argument("--threads", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--measure")
    parser.add_argument("--source", type=Path)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--scheduler")
    asked = parser.parse_args()
    if asked.measure:
        keep_few_arenas()  # as the pipeline does
        more = {"scheduler": asked.scheduler} if asked.scheduler else {}
        made = MEASURES[asked.measure](asked.source, asked.folder, asked.threads, **more)
        used = resource.getrusage(resource.RUSAGE_SELF)
        made |= {"peak_mb": used.ru_maxrss / 1024, "processor": used.ru_utime + used.ru_stime}
        print(json.dumps(made))
        return 0
    for side in (asked.side, 2 * asked.side) if asked.large else (asked.side,):
        with tempfile.TemporaryDirectory() as place:
            folder = Path(place)
            source = folder / "ground.tif"
            write_ground(source, side)
            if side == asked.side:
                kernels(source, folder)
            one = compare(source, folder, side, asked.threads)
            stack(source, folder, side, asked.threads, one)
            if asked.cluster:
                cluster(source, folder, side)
    return 0


if __name__ == "__main__":
    sys.exit(main())
