"""The sample variogram: half the mean squared difference of pairs, by distance; and models laid through it.

For looking: models are fitted by likelihood, which needs no bins. Three estimators:
Matheron 1963; Cressie & Hawkins 1980 (Math. Geology 12:115-125), which a few outlying
values sway less; Dowd 1984, by medians, which hardly any do.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .covariance import Model, semivariance

ESTIMATORS = ("matheron", "cressie_hawkins", "dowd")
WEIGHTS = ("pairs_over_distance_squared", "pairs", "pairs_over_model_squared", "equal")


class SampleVariogram(NamedTuple):
    """One entry a bin with pairs: number of pairs, their mean distance, semivariance."""

    pairs: np.ndarray
    distance: np.ndarray
    semivariance: np.ndarray


def sample_variogram(
    points: np.ndarray,
    values: np.ndarray,
    longest: float,
    bins: int = 15,
    groups: np.ndarray | None = None,
    estimator: str = "matheron",
    azimuth: float | None = None,
    within: float = 22.5,
) -> SampleVariogram:
    """Pairs sorted into ``bins`` equal bins (from, to] up to ``longest``.

    Pairs farther apart than ``longest`` are left out, never gathered in the last
    bin; neither are pairs at distance 0 used. With ``groups`` (n,) only pairs of one
    group count. Shapes: points (n, 2), values (n,). ``estimator``: one of ESTIMATORS. ``azimuth``: only pairs that lie
    along it, degrees clockwise from north, to ``within`` degrees on either side (22.5: four directions share out all pairs).
    """
    first, second = np.triu_indices(len(points), 1)
    points = np.asarray(points, float)
    distance = np.hypot(*(points[first] - points[second]).T)
    keep = (distance > 0) & (distance <= longest)
    if groups is not None:
        keep &= groups[first] == groups[second]
    if azimuth is not None:
        east, north = (points[first] - points[second]).T
        away = (np.degrees(np.arctan2(east, north)) - azimuth + 90) % 180 - 90  # a pair points both ways
        keep &= np.abs(away) <= within
    distance = distance[keep]
    apart = np.abs(values[first[keep]] - values[second[keep]])
    edges = np.linspace(0.0, longest, bins + 1)
    number = np.clip(np.searchsorted(edges, distance, side="left") - 1, 0, bins - 1)
    pairs = np.bincount(number, minlength=bins)
    filled = pairs > 0
    count = pairs[filled]
    mean_distance = np.bincount(number, distance, bins)[filled] / count
    if estimator == "matheron":
        half = 0.5 * np.bincount(number, apart**2, bins)[filled] / count
    elif estimator == "cressie_hawkins":
        roots = np.bincount(number, np.sqrt(apart), bins)[filled] / count
        half = 0.5 * roots**4 / (0.457 + 0.494 / count)
    elif estimator == "dowd":
        half = np.array([0.5 * (1.4826 * np.median(apart[number == bin_])) ** 2 for bin_ in np.flatnonzero(filled)])
    else:
        raise ValueError(f"there is no variogram estimator {estimator!r}; estimators are {', '.join(ESTIMATORS)}")
    return SampleVariogram(count, mean_distance, half)


def least_squares_model(
    sample: SampleVariogram, kind: str, weights: str = "pairs_over_distance_squared", longest: float | None = None
) -> Model:
    """The model nearest to the sample variogram; nugget and partial sill not negative, scale up to ``longest``.

    ``weights``: one of WEIGHTS; pairs over squared model is Cressie 1985, by repetition. For a given scale the
    other two are found exactly, so only the scale is searched, from a scan of many.
    """
    from scipy.optimize import minimize_scalar, nnls

    if len(sample.pairs) < 3:
        raise ValueError("three bins with pairs are needed for a model")
    pairs, distance, half = (np.asarray(part, float) for part in sample)
    if weights not in WEIGHTS:
        raise ValueError(f"there are no weights {weights!r}; weights are {', '.join(WEIGHTS)}")
    weight = {"pairs": pairs, "equal": np.ones_like(pairs), "pairs_over_distance_squared": pairs / distance**2}.get(
        weights, pairs
    )

    def at(log_scale: float) -> tuple[float, Model]:
        scale, root = float(np.exp(log_scale)), np.sqrt(weight)
        shape = semivariance(Model(kind, 0.0, 1.0, scale), distance)
        (nugget, partial), away = nnls(np.column_stack([root, root * shape]), root * half)
        return away, Model(kind, float(nugget), float(partial), scale)

    scan = np.linspace(np.log(distance[0] / 3), np.log(longest or 3 * distance[-1]), 60)
    for _ in range(30 if weights == "pairs_over_model_squared" else 1):
        best = int(np.argmin([at(value)[0] for value in scan]))
        bounds = scan[max(best - 1, 0)], scan[min(best + 1, len(scan) - 1)]
        found = at(minimize_scalar(lambda value: at(value)[0], bounds=bounds, method="bounded", options={"xatol": 1e-9}).x)[1]
        new = pairs / semivariance(found, distance) ** 2
        if weights != "pairs_over_model_squared" or np.allclose(new, weight, rtol=1e-7):
            break
        weight = new
    return found
