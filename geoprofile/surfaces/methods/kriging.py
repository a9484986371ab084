"""Ordinary kriging, and kriging with a drift on terrain.

Both are one system (kernels/kriging.py): the drift columns are empty or terrain
values, centred and scaled by what they are at the pits. Where the likelihood finds
no spatial structure ordinary kriging gives the mean with its spread, and drift
kriging the regression alone, each with a sentence that says so.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...kernels import kriging as kernel
from ...kernels.covariance import Model, stretched
from ...kernels.variogram import sample_variogram
from .bounded_fit import fit_limited
from .contract import CannotFit, MethodSettings, Observations, Prediction, number, square
from .direction import all_round, as_set, fit_direction
from .model_fit import ModelFit, fit_model
from .simple import FittedMean, fit_mean

PITS_PER_COLUMN = 5
"""A drift column needs this many pits more (common practice, no source)."""


@dataclass(frozen=True)
class FittedKriging:
    """A solved system with the scaling of its drift columns."""

    system: kernel.System
    centre: np.ndarray
    spread: np.ndarray
    summary: str
    notes: tuple[str, ...]
    reach_m: float | None

    def predict(self, points: np.ndarray, drift: np.ndarray | None = None) -> Prediction:
        return Prediction.normal(*kernel.predict_points(self.system, points, self.scaled(drift)))

    def predict_grid(
        self, x: np.ndarray, y: np.ndarray, drift: np.ndarray | None = None, wanted: np.ndarray | None = None
    ) -> Prediction:
        return Prediction.normal(*kernel.predict_grid(self.system, x, y, self.scaled(drift), wanted))

    def leave_one_out(self) -> Prediction:
        return Prediction.normal(*kernel.leave_one_out(self.system))

    @property
    def parameters(self) -> dict:
        return model_numbers(self.system)

    def read(self, mean: np.ndarray, variance: np.ndarray) -> Prediction:
        """The system's mean and variance as a prediction of the attribute."""
        return Prediction.normal(mean, variance)

    def scaled(self, drift: np.ndarray | None) -> np.ndarray | None:
        """Drift columns as the system holds them."""
        return None if len(self.centre) == 0 else (np.asarray(drift, float) - self.centre) / self.spread


@dataclass(frozen=True)
class FittedByStratum:
    """One model, one system a stratum: no pit informs a place of another stratum."""

    parts: dict[int, FittedKriging | FittedMean]
    summary: str
    notes: tuple[str, ...]
    reach_m: float | None


def model_numbers(system: kernel.System) -> dict:
    """The covariance model as Surface.parameters holds it."""
    model = system.model
    found = {
        "kind": model.kind, "nugget": float(model.nugget), "partial_sill": float(model.partial_sill),
        "scale_m": float(model.scale), "nugget_is_error": system.nugget_is_error,
    }  # fmt: skip
    return found if model.ratio == 1.0 else found | {"azimuth": float(model.azimuth), "ratio": float(model.ratio)}


def model_used(fitted: object | None) -> Model | None:
    """The covariance model that ``fitted`` predicts by; None where it has none."""
    for part in (fitted, *getattr(fitted, "parts", {}).values()):
        if hasattr(part, "system"):
            return part.system.model
    return None


def model_held(start: object | None, settings: MethodSettings) -> ModelFit | None:
    """The model of ``start`` as if it had been found again; no structure where it is a mean. None where there is no start."""
    if start is None:
        return None
    model = model_used(start) or Model(settings.model, 1.0, 0.0, 1.0)
    return ModelFit(model, 0.0, np.inf if model.partial_sill > 0 else 0.0, settings.residual, "", 0)


class Kriging:
    """A mean of all pits with weights and intervals from a fitted covariance model (Matheron 1963), exact at the pits; with drift, a trend
    on terrain rasters is estimated in the same step.
    """

    uses_bounds = False
    shares_model = True
    """Strata can share one model without informing each other."""

    def __init__(self, title: str, uses_drift: bool) -> None:
        self.title, self.uses_drift = title, uses_drift

    def fit(
        self, observations: Observations, settings: MethodSettings, rng: np.random.Generator
    ) -> FittedKriging | FittedMean | FittedByStratum:
        return self.refit(observations, settings, rng, None)

    def refit(
        self, observations: Observations, settings: MethodSettings, rng: np.random.Generator, start
    ) -> FittedKriging | FittedMean | FittedByStratum:
        """As ``fit``, the search for the model begun at that of ``start``."""
        values = observations.values
        if np.ptp(values) == 0:
            if observations.strata is not None:
                return constant_by_stratum(observations)
            return fit_mean(observations, notes=(all_equal_sentence(observations),))
        columns, centre, spread = drift_columns(observations) if self.uses_drift else (None, np.empty(0), np.empty(0))
        groups = observations.strata
        trend = kernel.with_constant(columns, len(values))
        if groups is not None:  # a mean of its own for each stratum, or its pits would speak through the common mean
            trend = np.column_stack([groups[:, None] == np.unique(groups)[None, :], trend[:, 1:]]).astype(float)
        placed = stretched(observations.points - observations.points.mean(axis=0), settings.azimuth, settings.reach_ratio)
        fit, direction_notes = self._model(placed, values, trend, observations, settings, rng, start)
        model, notes = as_set(fit.model, settings), (*fit_notes(fit, len(values)), *direction_notes)
        if not fit.has_structure:
            if columns is None and groups is None:
                return fit_mean(observations, notes=(no_structure_sentence(len(values), settings.model),))
            notes = (no_structure_sentence(len(values), settings.model, drift=columns is not None), *notes)
            model = model._replace(nugget=model.sill, partial_sill=0.0)
        notes += (variogram_sentence(observations, residuals_from(trend, values)),)
        if groups is None:
            return self._solved(observations, columns, centre, spread, model, fit, settings, notes)
        parts = {}
        for code in np.unique(groups):
            own = np.flatnonzero(groups == code)
            parts[int(code)] = self._solved(
                replace(observations.take(own), strata=None), None if columns is None else columns[own],
                centre, spread, model, fit, settings, (),
            )  # fmt: skip
        return FittedByStratum(parts, model_sentence(model, fit, observations.unit, None), notes, reach_in(model))

    def _model(
        self, placed: np.ndarray, values: np.ndarray, trend: np.ndarray, observations: Observations, settings: MethodSettings, rng, start
    ) -> tuple[ModelFit, tuple[str, ...]]:
        if settings.model_held and (held := model_held(start, settings)) is not None:
            return held, ()
        begin, none = model_used(start), np.zeros(len(values))
        common = {"residual": settings.residual, "strata": observations.strata, "rng": rng}
        if begin is None or begin.partial_sill == 0:
            fit = fit_model(settings.model, placed, values, trend, **common)
        else:
            fit = fit_limited(settings.model, placed, values, values, none, trend, start=all_round(begin), **common)
        if not settings.seeks_direction:
            return fit, ()
        return fit_direction(fit, placed, values, values, none, trend, strata=observations.strata, rng=rng, start=begin)

    def _solved(
        self, observations: Observations, columns: np.ndarray | None, centre: np.ndarray, spread: np.ndarray,
        model: Model, fit: ModelFit, settings: MethodSettings, notes: tuple[str, ...],
    ) -> FittedKriging:  # fmt: skip
        try:
            system = kernel.solve(
                observations.points, observations.values, model, columns, nugget_is_error=settings.nugget_is_error
            )
        except np.linalg.LinAlgError as error:
            raise CannotFit(f"the kriging system cannot be solved: {error}") from error
        if system.jitter:
            notes += (f"{system.jitter:g} of the sill was added to the diagonal to make the system solvable",)
        names = observations.drift_names if columns is not None else ()
        effects = list(zip(names, system.coefficients[1:] / spread, strict=True)) if names else None
        summary = model_sentence(model, fit, observations.unit, effects, float(system.coefficients[0]))
        summary += "" if model.partial_sill == 0 else (
            "; nugget taken as measurement error and filtered out"
            if settings.nugget_is_error
            else "; nugget taken as variation over short distance: estimates are exact at a pit, "
            "intervals are for what a pit would show"
        )
        return FittedKriging(system, centre, spread, summary, notes, reach_in(model))


def drift_columns(observations: Observations) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Drift columns centred and scaled by what they are at the pits, their centres and spreads."""
    drift, names = observations.drift, observations.drift_names
    if drift is None or not names:
        raise CannotFit("drift kriging needs at least one terrain raster as drift")
    needed = PITS_PER_COLUMN * (len(names) + 1)
    if len(drift) < needed:
        raise CannotFit(f"{len(drift)} pits are too few for a drift on {', '.join(names)}: at least {needed} are needed")
    centre, spread = drift.mean(axis=0), drift.std(axis=0)
    flat = [name for name, wide, middle in zip(names, spread, centre) if wide <= 1e-9 * max(1.0, abs(middle))]
    if flat:
        raise CannotFit(f"the drift {', '.join(flat)} is the same at every pit")
    scaled = (drift - centre) / spread
    singular = np.linalg.svd(kernel.with_constant(scaled, len(scaled)), compute_uv=False)
    if singular[-1] < 1e-8 * singular[0]:
        raise CannotFit(f"the drifts {', '.join(names)} say the same thing at the pits: leave one out")
    return scaled, centre, spread


def constant_by_stratum(observations: Observations) -> FittedByStratum:
    codes = np.unique(observations.strata)
    parts = {
        int(code): fit_mean(replace(observations.take(observations.strata == code), strata=None)) for code in codes
    }
    return FittedByStratum(parts, "constant", (all_equal_sentence(observations),), None)


def reach_in(model: Model) -> float | None:
    return model.effective_range if model.partial_sill > 0 else None


def residuals_from(trend: np.ndarray, values: np.ndarray) -> np.ndarray:
    return values - trend @ np.linalg.lstsq(trend, values, rcond=None)[0]


def fit_notes(fit: ModelFit, pits: int) -> tuple[str, ...]:
    notes = ()
    if fit.has_structure and fit.at_bound == "longest":
        notes += ("the fitted range is at its bound, the longest that was looked at: the values may trend across the survey",)
    if fit.has_structure and fit.at_bound == "shortest":
        notes += ("the fitted range is at its bound, half the way to the next pit: the pits lie too far apart to tell it",)
    if fit.has_structure and fit.at_bound == "direction":
        notes += ("the reach across is at its bound, the smallest share that was looked at: the values may lie in stripes or trend",)
    if fit.fitted_to < pits:
        notes += (f"the model was sought on a random {fit.fitted_to} of {pits} pits; all of them are used to predict",)
    return notes


def all_equal_sentence(observations: Observations) -> str:
    unit = f" {observations.unit}" if observations.unit else ""
    return (
        f"all {len(observations)} pits have the same value, {number(observations.low[0])}{unit}: the surface is that value, "
        "and an interval of no width says only that no pit differed"
    )


def no_structure_sentence(pits: int, kind: str, drift: bool = False) -> str:
    rest = (
        "the surface is the regression on terrain alone"
        if drift
        else "the surface is their mean with their spread, the same everywhere, and shows no pattern"
    )
    return (
        f"no spatial structure was found in {pits} pits (a {kind} model explains them no better than a pure nugget): {rest}"
    )


def model_sentence(
    model: Model, fit: ModelFit, unit: str, effects: list[tuple[str, float]] | None, mean: float | None = None
) -> str:
    """The model in words, as ``spherical; nugget 4.1 cm², partial sill 22 cm², range 310 m; ...``."""
    unit_text = f" {unit}" if unit else ""
    if model.partial_sill > 0:
        word = "range" if model.is_compact else "effective range"
        text = (
            f"{model.kind}; nugget {number(model.nugget)}{square(unit)}, partial sill {number(model.partial_sill)}"
            f"{square(unit)}, {word} {number(model.effective_range)} m"
        )
        if model.ratio != 1.0:
            text += f" along azimuth {model.azimuth:.0f} degrees and {number(model.ratio * model.effective_range)} m across it"
    else:
        text = f"no spatial structure; variance {number(model.nugget)}{square(unit)}"
    if effects:
        text += "; drift " + ", ".join(f"{number(value)}{unit_text} per unit of {name}" for name, value in effects)
    elif mean is not None:
        text += f"; mean {number(mean)}{unit_text}"
    way = "residual maximum likelihood" if fit.residual else "maximum likelihood"
    return f"{text}; fitted by {way} to {fit.fitted_to} pits"


def variogram_sentence(observations: Observations, residuals: np.ndarray) -> str:
    """The sample variogram as a line of text, pairs counted, for whoever wants to judge the model."""
    longest = float(np.hypot(*np.ptp(observations.points, axis=0))) / 3
    sample = sample_variogram(observations.points, residuals, longest, 8, observations.strata)
    if not len(sample.pairs):
        return "no pairs of pits lie within a third of the layout's diagonal: no sample variogram"
    bins = ", ".join(
        f"{number(distance)} m {number(half)} ({pairs})"
        for pairs, distance, half in zip(sample.pairs, sample.distance, sample.semivariance, strict=True)
    )
    return (
        f"sample variogram, distance, semivariance{square(observations.unit)} and pairs, none beyond "
        f"{number(longest)} m: {bins}"
    )


ORDINARY_KRIGING = Kriging("ordinary kriging", uses_drift=False)
DRIFT_KRIGING = Kriging("kriging with drift on terrain", uses_drift=True)
