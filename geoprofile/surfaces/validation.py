"""How good a surface is: by location, by random parts, and leave-one-out.

By location: the pits are cut into compact parts by k-means on their coordinates; each
part is predicted from the others, and everything that is fitted is fitted anew inside.
It asks how good the map is away from pits and errs on the strict side (Roberts et al.
2017); random parts stand beside it and err on the kind side where pits are clustered.
Leave-one-out goes by formula (Dubrule 1983) with the model not refitted, and says so.
"""

from __future__ import annotations

import warnings
from dataclasses import dataclass

import numpy as np

from ..kernels.scores import all_scores
from .mapping import FittedMap, fit_map
from .methods.contract import CannotFit, MethodSettings, Observations, Prediction, number

BY_LOCATION, RANDOM, LEAVE_ONE_OUT = "by location", "random parts", "leave-one-out"
REFITTED = "everything refitted in each part"
NOT_REFITTED = "model not refitted"


@dataclass(frozen=True)
class Validation:
    """``rows`` for Surfaces.scores (without attribute and method), headline, leave-one-out predictions (n,)."""

    rows: list[dict[str, object]]
    headline: str
    left_out: np.ndarray


def location_folds(points: np.ndarray, folds: int, seed: int) -> np.ndarray:
    """(n,) part of each place: compact clusters of places, at least 2 and at most a third as many as places."""
    from sklearn.cluster import KMeans

    parts = max(2, min(folds, len(points) // 3))
    centred = (points - points.mean(axis=0)) / max(float(np.hypot(*np.ptp(points, axis=0))), 1e-9)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # fewer distinct places than clusters: merged below
        return KMeans(parts, n_init=10, random_state=seed).fit(np.round(centred, 9)).labels_


def random_folds(count: int, folds: int, seed: int) -> np.ndarray:
    """(n,) part of each place, sizes equal within one."""
    parts = max(2, min(folds, count // 3))
    return np.random.default_rng(seed).permutation(np.arange(count) % parts)


def validate(
    method: object,
    observations: Observations,
    codes: np.ndarray,
    use: str,
    settings: MethodSettings,
    fitted: FittedMap,
    *,
    least_pits: int,
    folds: int,
    seed: int,
    clip,
) -> Validation:
    """All three validations of one surface; ``clip`` is what the map does to impossible values."""
    observed = observations.values
    rows, headline = [], ""
    for name, parts in (
        (BY_LOCATION, location_folds(observations.points, folds, seed)),
        (RANDOM, random_folds(len(observations), folds, seed)),
    ):
        predicted = clip(held_out(method, observations, codes, use, settings, parts, least_pits, seed))
        count = len(np.unique(parts))
        scored = _scored(name, predicted, observed, f"{count} parts, {REFITTED}")
        rows += scored
        if name == BY_LOCATION:
            headline = headline_of(scored, observations.unit)
    left_out = clip(fitted.leave_one_out(codes))
    rows += _scored(LEAVE_ONE_OUT, left_out, observed, NOT_REFITTED)
    return Validation(rows, headline, left_out.estimate)


def held_out(method, observations, codes, use, settings, parts, least_pits, seed) -> Prediction:
    """Each part predicted from all others; NaN where the rest cannot serve its stratum."""
    out = Prediction(*(np.full(len(observations), np.nan) for _ in range(4)))
    least = max(3, int(0.6 * least_pits))  # a part's pits are missing by design
    for part in np.unique(parts):
        test, train = parts == part, parts != part
        try:
            fitted = fit_map(
                method, observations.take(train), codes[train], use, settings, least_pits=least, seed=seed
            )
        except CannotFit:
            continue
        drift = None if observations.drift is None else observations.drift[test]
        found = fitted.predict(observations.points[test], drift, codes[test])
        for name in ("estimate", "variance", "low90", "high90"):
            getattr(out, name)[test] = getattr(found, name)
    return out


def _scored(name: str, predicted: Prediction, observed: np.ndarray, remark: str) -> list[dict[str, object]]:
    known = np.isfinite(predicted.estimate)
    if known.sum() < 3:
        return []
    missed = int((~known).sum())
    if missed:
        remark += f"; {missed} pits could not be predicted from the others"
    scores = all_scores(
        predicted.estimate[known], predicted.variance[known], predicted.low90[known], predicted.high90[known],
        observed[known],
    )  # fmt: skip
    return [
        {"validation": name, "measure": measure, "value": value, "pits": int(known.sum()), "remark": remark}
        for measure, value in scores.items()
    ]


def headline_of(rows: list[dict[str, object]], unit: str) -> str:
    """``by location: RMSE 6.1 cm, efficiency 0.34, 90 % intervals held 88 % of 112 pits``."""
    if not rows:
        return "could not be validated by location: too few pits remain when a part is left out"
    value = {row["measure"]: row["value"] for row in rows}
    error = value["root mean square error"]
    error = (f"{error:.1f}" if 1 <= error < 100 else number(error, 2)) + (f" {unit}" if unit else "")
    efficiency = value["efficiency"]
    return (
        f"by location: RMSE {error}, efficiency {efficiency:.2f}, 90 % intervals held "
        f"{100 * value['coverage of the 90 % interval']:.0f} % of {rows[0]['pits']} pits"
    )
