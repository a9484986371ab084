"""How probable a feature is: indicator kriging of present (1) and absent (0).

Kriging of the indicator (Journel 1983), with the drift of the attribute where it has
one; its model is fitted like any other. Kriging weights can be negative, so the result
is clipped to 0..1. Pits that did not
see, or did not describe, say nothing here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..grid import Grid, Window
from .drift import Drift
from .folds import location_parts
from .ground import Ground
from .mapping import FittedMap, fit_map
from .methods.contract import CannotFit, MethodSettings, Observations, Prediction
from .methods.kriging import DRIFT_KRIGING, ORDINARY_KRIGING
from .methods.simple import FittedMean
from .reliability import BACKED, Reliability, reliability_of
from .validation import BY_LOCATION, REFITTED, held_out

METHOD, TITLE = "indicator_kriging", "indicator kriging of presence"


@dataclass(frozen=True)
class PresenceCells:
    """The fitted indicator; ``reliability`` tells which cells its pits back, None = all are shown."""

    fitted: FittedMap
    reliability: Reliability | None

    def over(self, grid: Grid, window: Window, codes: np.ndarray, drift: np.ndarray | None) -> np.ndarray:
        """(height, width) 0..1, NaN where nothing is mapped or the pits do not back it."""
        found = np.clip(self.fitted.predict_window(grid, window, codes, drift).estimate, 0.0, 1.0)
        if self.reliability is not None:
            found[self.reliability.over(grid, window, codes) != BACKED] = np.nan
        return found


@dataclass(frozen=True)
class Presence:
    """What is told of a probability of presence: its score rows, pits, model, headline and note in words.

    ``cells`` makes the map of it; None where the method of the attribute gives it itself.
    """

    rows: list[dict[str, object]]
    pits: int
    model: str
    score: str
    note: str
    cells: PresenceCells | None = None


def map_presence(
    frame: pd.DataFrame, ground: Ground, choice: MethodSettings, drift: Drift | None, *, least_pits: int, folds: int, seed: int
) -> Presence | None:
    """None where no pit says absent, or too few say either; ``frame`` is Places.presence."""
    absent = int((frame["low"] == 0).sum())
    if absent == 0 or absent == len(frame) or len(frame) < least_pits:
        return None
    strata = ground.strata
    points = frame[["x", "y"]].to_numpy(float)
    codes = strata.codes_at(points[:, 0], points[:, 1])
    seen = frame["low"].to_numpy(float)
    method = ORDINARY_KRIGING if drift is None else DRIFT_KRIGING
    columns = None if drift is None else drift.at(points[:, 0], points[:, 1])
    observations = Observations(points, seen, seen, "", columns, () if drift is None else drift.names)
    plain = MethodSettings(model=choice.model, residual=choice.residual)
    try:
        fitted = fit_map(
            method, observations, codes, strata.use, plain, least_pits=least_pits, seed=seed, names=strata.names
        )
    except CannotFit:
        return None
    reliability = reliability_of(fitted, observations, codes, choice.reach_m)
    sample = ground.sample(drift)
    mapped = np.isin(sample.codes, list(fitted.parts))
    backed = mapped if choice.show_unbacked else reliability.at(sample.points, sample.codes) == BACKED
    parts = location_parts(points, codes, sample.targets(backed), folds, seed, bool(strata.use))
    predicted = np.clip(
        held_out(method, observations, codes, strata.use, plain, parts.labels, least_pits, seed, fitted).estimate, 0.0, 1.0
    )
    known = np.isfinite(predicted)
    rows, score = [], "presence could not be validated by location"
    if known.sum() >= 3:
        brier = float(np.mean((predicted[known] - seen[known]) ** 2))
        share = float(np.mean((seen[known].mean() - seen[known]) ** 2))
        score = f"by location: Brier score {brier:.3f} of {int(known.sum())} pits; the overall share alone scores {share:.3f}"
        remark = f"presence; {len(parts)} parts, {REFITTED}; the overall share alone scores {share:.3f}"
        rows.append(
            {"validation": BY_LOCATION, "measure": "Brier score", "value": brier, "pits": int(known.sum()), "remark": remark}
        )
    model = "; ".join(
        (f"{strata.names.get(code, code)}: " if strata.use else "") + _in_words(part, int((codes == code).sum()))
        for code, part in fitted.parts.items()
    )
    note = f"presence by indicator kriging: {len(frame) - absent} pits say present, {absent} say absent ({model})"
    cells = PresenceCells(fitted.to_send(), None if choice.show_unbacked else reliability)
    return Presence(rows, len(frame), model, score, note, cells)


def chance_of(prediction: Prediction) -> np.ndarray:
    """Chance of presence of a prediction that tells it; 1 in strata where no pit says absent."""
    there = np.where(np.isfinite(prediction.estimate), 1.0, np.nan)
    if prediction.presence is None:
        return there
    return np.where(np.isfinite(prediction.presence), np.clip(prediction.presence, 0.0, 1.0), there)


def _in_words(part: object, pits: int) -> str:
    if isinstance(part, FittedMean):
        return f"the same everywhere, {100 * part.values.mean():.0f} % of {pits} pits"
    model = part.system.model
    if len(part.centre):
        word = "its drift alone" if model.partial_sill == 0 else f"its drift and a {model.kind} model"
        return f"by {word}, {pits} pits"
    if model.partial_sill == 0:
        return f"the same everywhere, {100 * float(part.system.coefficients[0]):.0f} % of {pits} pits"
    word = "range" if model.is_compact else "effective range"
    return f"{model.kind}, nugget {100 * model.nugget / model.sill:.0f} % of the sill, {word} {model.effective_range:.0f} m, {pits} pits"
