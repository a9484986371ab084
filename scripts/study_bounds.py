"""What bounds are worth, on invented land whose truth is known at every place.

One square kilometre, 200 pits, 300 places to be predicted; depth has mean 100 cm, an
exponential covariance of 600 cm2 with scale 150 m and a nugget of 100 cm2. Pits end
above the depth in one of three ways:

    A  all pits end at 120 cm
    B  all pits end at 100 cm
    C  pits end between 60 and 160 cm, any depth as likely

and the same survey is mapped from the whole truth (oracle), from the values alone
(dropped), with the end of the pit as the value (written down), and with bounds. Every
way fits its own model. Then two surveys that break what the method assumes:

    skewed  depth is lognormal; pits end at 120 cm; with and without the logarithm
    rock    pits end on rock, and the deeper the rock the deeper the depth (correlation
            0.7, or -0.7): what ended the pit tells of the value
"""

from __future__ import annotations

import os
import sys

for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

import numpy as np  # noqa: E402

from geoprofile.kernels.covariance import Model, covariance, squared_distances  # noqa: E402
from geoprofile.surfaces.methods.bounded import BOUNDED_KRIGING  # noqa: E402
from geoprofile.surfaces.methods.contract import MethodSettings, Observations  # noqa: E402

PITS, PLACES, MEAN = 200, 300, 100.0
TRUTH = Model("exponential", 100.0, 600.0, 150.0)
DEEP = 120.0
"""Places deeper than this are scored by themselves: there the usual habits fail."""
WAYS = ("oracle", "dropped", "written down", "with bounds")
MEASURES = ("ME", "RMSE", "held", "MSDR", "RMSE deep", "nugget", "partial sill", "scale")


def land(seed: int) -> tuple[np.ndarray, np.ndarray, np.random.Generator]:
    """Places (pits first), standard normal field there with the covariance of TRUTH over its sill, and the generator."""
    rng = np.random.default_rng(seed)
    points = rng.uniform(0, 1000, (PITS + PLACES, 2))
    matrix = covariance(TRUTH, np.sqrt(squared_distances(points, points))) / TRUTH.sill
    return points, np.linalg.cholesky(matrix + 1e-10 * np.eye(len(points))) @ rng.standard_normal(len(points)), rng


def surveys(seed: int) -> dict[str, tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """By kind: points, truth (pits first) and the depth at which each pit ended."""
    points, field, rng = land(seed)
    depth = MEAN + np.sqrt(TRUTH.sill) * field
    ends = rng.uniform(60, 160, PITS)
    spread = np.sqrt(np.log(1 + 0.5**2))  # coefficient of variation 0.5
    skewed = MEAN * np.exp(spread * field - spread**2 / 2)
    other = land(seed + 1_000_000)[1][:PITS]
    rock = {sign: 110 + np.sqrt(TRUTH.sill) * (sign * 0.7 * field[:PITS] + np.sqrt(1 - 0.49) * other) for sign in (1, -1)}
    return {
        "A": (points, depth, np.full(PITS, 120.0)),
        "B": (points, depth, np.full(PITS, 100.0)),
        "C": (points, depth, ends),
        "skewed": (points, skewed, np.full(PITS, 120.0)),
        "rock, deeper where depth is deeper": (points, depth, rock[1]),
        "rock, deeper where depth is shallower": (points, depth, rock[-1]),
    }


def one_survey(
    points: np.ndarray, truth: np.ndarray, ends: np.ndarray, transform: str = "none", ways: tuple[str, ...] = WAYS
) -> dict[str, np.ndarray]:
    """MEASURES by way."""
    pits, values = points[:PITS], truth[:PITS]
    stopped = values > ends
    low = np.minimum(values, ends)
    told = {
        "oracle": Observations(pits, values, values),
        "dropped": Observations(pits[~stopped], values[~stopped], values[~stopped]),
        "written down": Observations(pits, low, low),
        "with bounds": Observations(pits, low, np.where(stopped, np.inf, low)),
    }
    settings = MethodSettings(model="exponential", transform=transform)
    found = {}
    for way in ways:
        fitted = BOUNDED_KRIGING.fit(told[way], settings, np.random.default_rng(1))
        there, model = fitted.predict(points[PITS:]), fitted.parameters
        actual = truth[PITS:]
        error = there.estimate - actual
        deep = actual > DEEP
        found[way] = np.array([
            error.mean(), np.sqrt(np.mean(error**2)), np.mean((actual >= there.low90) & (actual <= there.high90)),
            np.mean(error**2 / there.variance), np.sqrt(np.mean(error[deep] ** 2)) if deep.any() else np.nan,
            model["nugget"], model["partial_sill"], model["scale_m"],
        ])  # fmt: skip
    return found


def of_seed(task: tuple[int, tuple[str, ...], tuple[str, ...]]) -> dict[str, dict[str, np.ndarray]]:
    seed, kinds, ways = task
    all_kinds, found = surveys(seed), {}
    for kind in kinds:
        points, truth, ends = all_kinds[kind]
        found[kind] = one_survey(points, truth, ends, ways=ways)
        found[kind]["share bounded"] = np.array([np.mean(truth[:PITS] > ends)])
        if kind == "skewed":
            found["skewed, on the logarithm"] = one_survey(points, truth, ends, "log", ways)
            found["skewed, on the logarithm"]["share bounded"] = found[kind]["share bounded"]
    return found


def study(
    seeds: range, kinds: tuple[str, ...], processes: int = 1, ways: tuple[str, ...] = WAYS
) -> dict[str, dict[str, np.ndarray]]:
    """By kind and way: (surveys, measures)."""
    tasks = [(seed, kinds, ways) for seed in seeds]
    if processes > 1:
        from multiprocessing import get_context

        with get_context("spawn").Pool(processes) as pool:
            parts = pool.map(of_seed, tasks, chunksize=1)
    else:
        parts = [of_seed(task) for task in tasks]
    return {kind: {way: np.array([part[kind][way] for part in parts]) for way in parts[0][kind]} for kind in parts[0]}


def verdict(found: dict[str, np.ndarray]) -> dict[str, float]:
    """What is asked of the method, from paired surveys: ratio of RMSE and sill to the oracle's, difference of bias, coverage."""
    with_bounds, oracle = found["with bounds"].mean(axis=0), found["oracle"].mean(axis=0)
    return {
        "RMSE to the oracle's": with_bounds[1] / oracle[1],
        "bias beside the oracle's, cm": with_bounds[0] - oracle[0],
        "90 % intervals held": with_bounds[2],
        "sill to the oracle's": (with_bounds[5] + with_bounds[6]) / (oracle[5] + oracle[6]),
    }


def main(count: int) -> None:
    kinds = tuple(surveys(0))
    found = study(range(count), kinds, processes=2)
    print(f"{count} surveys of each kind; errors are predicted minus true, cm; held = share of true values in the 90 % intervals;")
    print(f"MSDR = mean squared error over variance; deep = truth over {DEEP:g} cm\n")
    for kind, ways in found.items():
        print(f"{kind}: {100 * ways['share bounded'].mean():.1f} % of the pits say only 'at least'")
        print(f"  {'':14s}" + "".join(f"{measure:>13s}" for measure in MEASURES))
        for way in WAYS:
            print(f"  {way:14s}" + "".join(f"{value:13.3f}" for value in np.nanmean(ways[way], axis=0)))
        print("  " + "; ".join(f"{what} {value:.3f}" for what, value in verdict(ways).items()) + "\n", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50)
