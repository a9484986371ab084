"""A fitted model and its pits as a solved system, in which each bounded pit stands as a reading with an error."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...kernels import kriging as kernel
from ...kernels.back_transform import read_back, share_below
from ...kernels.covariance import Model, covariance_in_place, scaled_squares
from ...kernels.expectation_propagation import posterior_covariance, propagate
from ...kernels.limited_likelihood import given_measured
from .contract import CannotFit, MethodSettings, Observations, Prediction, number
from .kriging import model_numbers, model_sentence, reach_in
from .model_fit import ModelFit
from .said import Said, repeated_readings, scale_words, unit_on
from .simple import FittedMean


@dataclass(frozen=True)
class FittedBounded:
    """A solved system in which each bounded pit stands as a reading with an error, and the scale it is on."""

    system: kernel.System
    bounded: np.ndarray
    """(k,) indices of observations that say only a bound."""
    imputed: np.ndarray
    """(k,) mean of each given all that is known, on the modelled scale."""
    imputed_covariance: np.ndarray
    """(k, k)"""
    centre: np.ndarray
    spread: np.ndarray
    power: float | None
    floor: bool
    summary: str
    notes: tuple[str, ...]
    reach_m: float | None
    begin: Model | None = None
    """Where a search on a part of the pits begins: the best model with a pattern, used or not."""

    def predict(self, points: np.ndarray, drift: np.ndarray | None = None) -> Prediction:
        return self.read(*kernel.predict_points(self.system, points, self.scaled(drift)))

    def predict_grid(
        self, x: np.ndarray, y: np.ndarray, drift: np.ndarray | None = None, wanted: np.ndarray | None = None
    ) -> Prediction:
        return self.read(*kernel.predict_grid(self.system, x, y, self.scaled(drift), wanted))

    def leave_one_out(self) -> Prediction:
        """Bounded pits by their cavity: the factors of all others stay as they are."""
        return self.read(*kernel.leave_one_out(self.system))

    @property
    def parameters(self) -> dict:
        found = model_numbers(self.system)
        if self.power is not None:
            found["power"] = float(self.power)
        if self.floor:
            found["floor"] = True
        return found

    @property
    def readings(self) -> tuple[np.ndarray, np.ndarray]:
        error = self.system.error_variance
        return self.system.values, np.zeros(len(self.system.values)) if error is None else error

    def completed(self) -> kernel.System:
        """The system with each bounded pit at its mean given all that is known: estimates are the same, and weights
        are those of what a pit says (on the modelled scale), not of a reading with an error."""
        values = self.system.values.copy()
        values[self.bounded] = self.imputed
        error = self.readings[1].copy()
        error[self.bounded] = 0.0
        drift = self.system.trend[:, 1:] if self.system.trend.shape[1] > 1 else None
        return kernel.solve(
            self.system.points, values, self.system.model, drift, nugget_is_error=self.system.nugget_is_error,
            error_variance=error,
        )  # fmt: skip

    def scaled(self, drift: np.ndarray | None) -> np.ndarray | None:
        """Drift columns as the system holds them."""
        return None if len(self.centre) == 0 else (np.asarray(drift, float) - self.centre) / self.spread

    def read(self, mean: np.ndarray, variance: np.ndarray) -> Prediction:
        """The system's mean and variance, on the modelled scale, as a prediction of the attribute."""
        read = read_back(mean, variance, self.power, self.floor)
        if self.power is None and not self.floor:
            return Prediction(*read)
        presence = 1.0 - share_below(0.0, mean, variance, self.power) if self.floor else None
        power = np.full(mean.shape, np.nan if self.power is None else self.power)
        return Prediction(*read, presence, mean, np.sqrt(variance), power, np.zeros(mean.shape))


@dataclass(frozen=True)
class FittedBoundedByStratum:
    """One model, one system a stratum; ``short``: strata whose pits do not bear a system, with the reason."""

    parts: dict[int, FittedBounded | FittedMean]
    short: dict[int, str]
    begin: Model
    summary: str
    notes: tuple[str, ...]
    reach_m: float | None


def solved(
    observations: Observations, said: Said, columns: np.ndarray | None, centre: np.ndarray, spread: np.ndarray,
    model: Model, fit: ModelFit, settings: MethodSettings, notes: tuple[str, ...], power: float | None, floor: bool,
) -> FittedBounded:  # fmt: skip
    exact = said.exact
    bounded = np.flatnonzero(~exact)
    values, error = said.low.copy(), said.error_variance.copy()
    repeated = repeated_readings(observations, settings, said)
    if repeated is not None:  # the mean of m readings has an m-th of the error of one
        error += model.nugget * (1.0 / repeated[0] - 1.0)
        said = replace(said, error_variance=error.copy())
        notes += (
            f"{int((repeated[0] > 1).sum())} places have several readings: what they differ by, standard deviation "
            f"{number(float(np.sqrt(repeated[1].sum() / (repeated[0] - 1).sum())))} {observations.unit}, is error of measurement",
        )
    imputed, matrix = np.empty(0), np.empty((0, 0))
    try:
        if len(bounded):
            values[bounded], error[bounded], imputed, matrix = _what_limits_say(said, columns, model)
        system = kernel.solve(
            said.points, values, model, columns, nugget_is_error=settings.nugget_is_error,
            error_variance=error if error.any() else None,
        )  # fmt: skip
    except np.linalg.LinAlgError as reason:
        raise CannotFit(f"the kriging system cannot be solved: {reason}") from reason
    if system.jitter:
        notes += (f"{system.jitter:g} of the sill was added to the diagonal to make the system solvable",)
    names = observations.drift_names if columns is not None else ()
    effects = list(zip(names, system.coefficients[1:] / spread, strict=True)) if names else None
    summary = model_sentence(model, fit, unit_on(observations, power), effects, float(system.coefficients[0]))
    if len(bounded):
        summary += f", {len(bounded)} of them bounded"
    summary += scale_words(power, floor)
    summary += "" if model.partial_sill == 0 else (
        "; nugget taken as measurement error and filtered out"
        if settings.nugget_is_error
        else "; nugget taken as variation over short distance: estimates are exact at a pit, "
        "intervals are for what a pit would show"
    )
    return FittedBounded(
        system, bounded, imputed, matrix, centre, spread, power, floor, summary, notes, reach_in(model), fit.model
    )


def _what_limits_say(said: Said, columns: np.ndarray | None, model: Model) -> tuple[np.ndarray, ...]:
    """Reading and error variance of each bounded pit, its mean and their covariance given everything."""
    order = np.argsort(~said.exact, kind="stable")
    measured = int(said.exact.sum())
    points = said.points[order]
    matrix = covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, points, points))
    matrix[np.diag_indices(len(matrix))] += model.nugget + 1e-10 * model.sill + np.where(said.exact, said.error_variance, 0.0)[order]
    trend = kernel.with_constant(None if columns is None else columns[order], len(points))
    if measured < trend.shape[1] or np.linalg.matrix_rank(trend[:measured]) < trend.shape[1]:
        raise CannotFit(f"only {measured} of its {len(order)} pits have a value: too few beside the bounds")
    rest = order[measured:]
    mean, own, _ = given_measured(matrix, trend, said.low[order[:measured]])
    found = propagate(mean, own, said.low[rest], said.high[rest])
    covariance = posterior_covariance(own, found.precision)
    # rest ascends, as np.flatnonzero gives it: the sort is stable
    return found.weighted / found.precision, 1.0 / found.precision, found.mean, covariance
