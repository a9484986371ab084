"""Exact ordinary kriging against pykrige and gstools: same points, model and grid.

500 invented pits, 700 x 700 cells, spherical model whose range is a fifth of the side;
estimate and variance at every cell. Each runs in a process of its own, so that peak
memory is its own; times are of solving and predicting, ours the best of five runs, and
leave out importing. Ours runs as the stage runs it, with one thread of linear algebra.
The others hold all pits times all cells at once: where memory would not do they are
left out and it is said. Then ours alone: other ranges and an exponential model, of which no covariance is
zero; and 3,000 pits on 1,000,000 cells beside the time that a plain matrix product takes for as many operations
as an exact variance needs (2 n^2 a cell for the n pits within reach). Prints; tests nothing.

    python scripts/bench_kriging.py             500 pits, 700 x 700 cells
    python scripts/bench_kriging.py 200 300     200 pits, 300 x 300 cells
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

SIDE_M = 3500.0
NUGGET, PARTIAL_SILL, RANGE_M = 10.0, 60.0, SIDE_M / 5
SOLVERS = ("geoprofile", "pykrige", "gstools")


def pits(count: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(20)
    points = rng.uniform(0, SIDE_M, (count, 2))
    return points, 25 + 6 * np.sin(points[:, 0] / 400) + 4 * np.cos(points[:, 1] / 300) + rng.normal(0, 3, count)


def centres(cells: int) -> np.ndarray:
    return (np.arange(cells) + 0.5) * SIDE_M / cells


def geoprofile(points, values, x, y):
    from threadpoolctl import threadpool_limits

    from geoprofile.kernels.covariance import Model
    from geoprofile.kernels.kriging import predict_grid, solve

    model = Model("spherical", NUGGET, PARTIAL_SILL, RANGE_M)

    def run():
        with threadpool_limits(1):
            return predict_grid(solve(points, values, model), x, y)

    return run


def pykrige(points, values, x, y):
    from pykrige.ok import OrdinaryKriging

    parameters = {"psill": PARTIAL_SILL, "range": RANGE_M, "nugget": NUGGET}

    def run():
        system = OrdinaryKriging(*points.T, values, variogram_model="spherical", variogram_parameters=parameters)
        estimate, variance = system.execute("grid", x, y)
        return np.asarray(estimate), np.asarray(variance)

    return run


def gstools(points, values, x, y):
    import gstools

    model = gstools.Spherical(dim=2, var=PARTIAL_SILL, len_scale=RANGE_M, nugget=NUGGET)

    def run():
        estimate, variance = gstools.krige.Ordinary(model, points.T, values, exact=True).structured([x, y])
        return estimate.T, variance.T

    return run


def peak_mb() -> float:
    """Highest memory this process ever held, MB."""
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 if sys.platform != "darwin" else 1024**2)


def free_mb() -> float:
    """Memory that is free now, MB; endless where the system does not say."""
    try:
        return os.sysconf("SC_AVPHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") / 1024**2
    except (AttributeError, ValueError, OSError):
        return float("inf")


def child(solver: str, count: int, cells: int, folder: Path) -> None:
    points, values = pits(count)
    x = centres(cells)
    run = {"geoprofile": geoprofile, "pykrige": pykrige, "gstools": gstools}[solver](points, values, x, x[::-1].copy())
    before = peak_mb()
    seconds = []
    for _ in range(5 if solver == "geoprofile" else 1):
        start = time.perf_counter()
        estimate, variance = run()
        seconds.append(time.perf_counter() - start)
    np.savez(folder / f"{solver}.npz", estimate=estimate, variance=variance, told=[min(seconds), before, peak_mb()])


def main(count: int, cells: int) -> None:
    print(f"{count} pits, {cells} x {cells} = {cells * cells:,} cells, spherical range {RANGE_M:g} of {SIDE_M:g} m, estimate and variance")
    with tempfile.TemporaryDirectory() as folder:
        found = {}
        for solver in SOLVERS:
            needed = 6 * 8 * count * cells * cells / 1024**2  # measured: five to six arrays of pits times cells
            if solver != "geoprofile" and needed > 0.8 * free_mb():
                print(f"  {solver:<11}left out: it would hold about {needed:,.0f} MB, and {free_mb():,.0f} MB are free")
                continue
            command = [sys.executable, __file__, "child", solver, str(count), str(cells), folder]
            done = subprocess.run(command, capture_output=True, text=True, check=False)
            if done.returncode:
                print(f"  {solver:<11}did not run: {(done.stderr.strip().splitlines() or ['ended without a word'])[-1]}")
                continue
            with np.load(Path(folder) / f"{solver}.npz") as file:
                found[solver] = {name: file[name] for name in file.files}
        if "geoprofile" not in found:
            raise SystemExit(1)
        ours = found["geoprofile"]
        print(f"  {'':<11}{'seconds':>9}{'times ours':>12}{'peak MB':>9}{'of it kriging':>15}{'difference in estimate':>24}{'in variance':>13}")
        for solver, one in found.items():
            seconds, before, peak = one["told"]
            apart = [float(np.abs(one[name] - ours[name]).max()) for name in ("estimate", "variance")]
            differences = f"{'-':>24}{'-':>13}" if solver == "geoprofile" else f"{apart[0]:>24.1e}{apart[1]:>13.1e}"
            print(f"  {solver:<11}{seconds:>9.2f}{seconds / ours['told'][0]:>12.1f}{peak:>9.0f}{peak - before:>15.0f}{differences}")


def seconds_of(run, times: int = 1) -> float:
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        spent.append(time.perf_counter() - start)
    return min(spent)


def ours(count: int, cells: int) -> None:
    """Ours by model, best of three: what a longer range costs, since fewer covariances are zero."""
    from threadpoolctl import threadpool_limits

    from geoprofile.kernels.covariance import EFFECTIVE, Model
    from geoprofile.kernels.kriging import predict_grid, solve

    points, values = pits(count)
    x = centres(cells)
    print(f"ours by model, {count} pits on {cells * cells:,} cells, one thread:")
    for kind, share in (("spherical", 0.2), ("spherical", 0.4), ("spherical", 1.0), ("exponential", 0.2)):
        model = Model(kind, NUGGET, PARTIAL_SILL, share * SIDE_M / EFFECTIVE[kind])
        with threadpool_limits(1):
            spent = seconds_of(lambda model=model: predict_grid(solve(points, values, model), x, x[::-1].copy()), 3)
        print(f"  {kind:<12}range {share:g} of the side {spent:>8.2f} s")


def many(count: int = 3000, side: int = 1000) -> None:
    """Beside a plain matrix product of as many operations; the exponential model on a tenth of the cells, told for all of them."""
    from threadpoolctl import threadpool_limits

    from geoprofile.kernels.covariance import EFFECTIVE, Model
    from geoprofile.kernels.kriging import predict_grid, solve

    points, values = pits(count)
    x = centres(side)
    y = x[::-1].copy()
    left, right = np.random.default_rng(1).random((count, count)), np.random.default_rng(2).random((count, 1024))
    with threadpool_limits(1):
        rate = 2.0 * count * count * 1024 / seconds_of(lambda: left @ right, 5)
        print(f"{count:,} pits on {side * side:,} cells, one thread; a plain matrix product makes {rate / 1e9:.0f} thousand million operations a second:")
        for kind, share, rows in (("spherical", 0.2, side), ("exponential", 0.2, side // 10)):
            model = Model(kind, NUGGET, PARTIAL_SILL, share * SIDE_M / EFFECTIVE[kind])
            system = solve(points, values, model)
            operations, tile = 0.0, 32
            for top in range(0, rows, tile):
                for first in range(0, side, tile):
                    tx, ty = x[first : first + tile], y[top : min(top + tile, rows)]
                    away = np.hypot(
                        np.maximum(np.maximum(tx.min() - points[:, 0], points[:, 0] - tx.max()), 0),
                        np.maximum(np.maximum(ty.min() - points[:, 1], points[:, 1] - ty.max()), 0),
                    )
                    near = int((away < model.scale).sum()) if model.is_compact else count
                    operations += 2.0 * near**2 * len(tx) * len(ty)
            spent, plain = seconds_of(lambda system=system, rows=rows: predict_grid(system, x, y[:rows])), operations / rate
            whole = side / rows
            print(f"  {kind:<12}range {share:g} of the side: {spent * whole:>7.1f} s; the product alone {plain * whole:>7.1f} s; {spent / plain:.2f} times")


if __name__ == "__main__":
    if sys.argv[1:2] == ["child"]:
        child(sys.argv[2], int(sys.argv[3]), int(sys.argv[4]), Path(sys.argv[5]))
    else:
        asked = [int(text) for text in (*sys.argv[1:], *("500", "700")[len(sys.argv) - 1 :])]
        main(*asked)
        ours(*asked)
        many()
