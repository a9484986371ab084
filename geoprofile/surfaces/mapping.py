"""A method fitted over strata, and its predictions at points and over windows of the grid."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..grid import Grid, Window
from .methods.cells import filled, nothing, on_cells
from .methods.contract import CannotFit, MethodSettings, Observations, Prediction
from .methods.near_pits import near_only

LEAST_SHARING = 3
"""Pits a stratum needs of its own where all strata share one model."""


@dataclass(frozen=True)
class FittedMap:
    """``parts``: a fitted method by stratum code. ``short``: strata without enough pits, with the reason."""

    parts: dict[int, object]
    short: dict[int, str]
    summary: str
    notes: tuple[str, ...]
    counts: dict[int, int]
    """Observations by stratum code."""
    whole: object | None = None
    """The one fitted thing that all strata share, where they share a model."""

    def parameters(self, names: dict[int, str], drift: tuple[str, ...]) -> dict:
        """Surface.parameters; with several models those of the stratum with the most pits, and all under ``strata``."""
        models = {code: dict(part.parameters) for code, part in self.parts.items() if hasattr(part, "parameters")}
        if not models:
            return {}
        leading = max(models, key=lambda code: (self.counts.get(code, 0), -code))
        found = {**models[leading], "drift": list(drift), "by_stratum": len(self.parts) > 1}
        if len(self.parts) > 1:
            found["strata"] = {names[code]: model for code, model in models.items()}
        return found

    def predict(self, points: np.ndarray, drift: np.ndarray | None, codes: np.ndarray) -> Prediction:
        """At points (m, 2) with their stratum codes (m,); NaN in strata that have no part."""
        out = nothing((len(points),))
        for code, fitted in self.parts.items():
            own = np.flatnonzero(codes == code)
            if len(own):
                out = filled(out, own, fitted.predict(points[own], None if drift is None else drift[own]))
        return out

    def leave_one_out(self, codes: np.ndarray) -> Prediction:
        """Of the observations it was fitted to, in their order, the model not refitted."""
        out = nothing((len(codes),))
        for code, fitted in self.parts.items():
            if hasattr(fitted, "leave_one_out"):
                out = filled(out, np.flatnonzero(codes == code), fitted.leave_one_out())
        return out

    def readings(self, codes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Value and error variance of each observation in its kriging system; NaN where the method has none."""
        values, error = np.full(len(codes), np.nan), np.full(len(codes), np.nan)
        for code, fitted in self.parts.items():
            if hasattr(fitted, "readings"):
                values[codes == code], error[codes == code] = fitted.readings
        return values, error

    def predict_window(self, grid: Grid, window: Window, codes: np.ndarray, drift: np.ndarray | None) -> Prediction:
        """On the cells of a window with their stratum codes (height, width), drift (height, width, p); NaN in strata without a part."""
        out, (x, y) = nothing(codes.shape), grid.centres(window)
        for code, fitted in self.parts.items():
            own = codes == code
            if own.any():
                out = filled(out, ..., on_cells(fitted, x, y, drift, own), own)
        return out

    def to_send(self) -> FittedMap:
        """What predicting needs: without the whole that the parts were taken from."""
        return replace(self, whole=None)


def fit_map(
    method: object,
    observations: Observations,
    codes: np.ndarray,
    use: str,
    settings: MethodSettings,
    *,
    least_pits: int,
    seed: int,
    names: dict[int, str] | None = None,
    start: FittedMap | None = None,
) -> FittedMap:
    """Fit ``method`` once, or once a stratum.

    ``use`` is '' (no strata), ``split`` (each stratum from its own pits with its own
    model) or ``stop`` (one model, but no pit informs another stratum). ``codes`` (n,)
    are the strata of the observations. ``start``: a map of more observations; a method
    that has ``refit`` begins its search there. Raises CannotFit when nothing can be fitted.
    """
    rng = np.random.default_rng(seed)
    names = names or {}
    counts = {code: int((codes == code).sum()) for code in sorted(set(names) | set(codes.tolist())) if code}
    if use == "stop" and getattr(method, "shares_model", False):
        if len(observations) < least_pits:
            raise CannotFit(f"{len(observations)} usable pits are fewer than the {least_pits} that a surface needs")
        enough = [code for code, count in counts.items() if count >= LEAST_SHARING]
        short = {code: f"{counts[code]} pits" for code in counts if code not in enough}
        kept = np.isin(codes, enough)
        if not kept.any():
            raise CannotFit(f"no stratum has the {LEAST_SHARING} pits it needs")
        whole = start.whole if start is not None else None
        fitted = _fit(method, replace(observations.take(kept), strata=codes[kept]), settings, rng, whole)
        short |= getattr(fitted, "short", {})
        parts = {code: near_only(part, settings) for code, part in fitted.parts.items()}
        return FittedMap(parts, short, fitted.summary, fitted.notes, counts, fitted)
    least = LEAST_SHARING if use == "stop" else least_pits
    parts, short, summaries, notes = {}, {}, [], []
    for code, count in counts.items():
        if count < least:
            short[code] = f"{count} pits"
            continue
        try:
            fitted = _fit(method, observations.take(codes == code), settings, rng, start.parts.get(code) if start else None)
        except CannotFit as error:
            short[code] = str(error)
            continue
        parts[code] = fitted = near_only(fitted, settings)
        place = f"{names.get(code, code)}: " if use else ""
        summaries.append(place + fitted.summary)
        notes.extend(place + note for note in fitted.notes)
    if not parts:
        if use:
            raise CannotFit(f"no stratum has the {least} pits that its own surface needs: " + _listed(short, names))
        raise CannotFit(_only_reason(short, len(observations), least))
    return FittedMap(parts, short, " | ".join(summaries), tuple(notes), counts)


def _fit(method: object, observations: Observations, settings: MethodSettings, rng, start: object | None) -> object:
    if start is None or not hasattr(method, "refit"):
        return method.fit(observations, settings, rng)
    return method.refit(observations, settings, rng, start)


def _listed(short: dict[int, str], names: dict[int, str]) -> str:
    return ", ".join(f"{names.get(code, code)} {reason}" for code, reason in short.items())


def _only_reason(short: dict[int, str], count: int, least: int) -> str:
    if count < least:
        return f"{count} usable pits are fewer than the {least} that a surface needs"
    return next(iter(short.values()))
