"""Methods without a covariance model: mean, nearest pit, inverse distance.

Mean has the interval of one more draw (Student's t). Nearest and inverse distance
have no model of their error, so theirs is taken from their own leave-one-out
errors: the same width everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .contract import CannotFit, MethodSettings, Observations, Prediction, number


@dataclass(frozen=True)
class FittedMean:
    """Every place has the mean of the pits and the spread of one more pit."""

    values: np.ndarray
    variance: float
    half90: float
    summary: str
    notes: tuple[str, ...] = ()
    reach_m: float | None = None

    def predict(self, points: np.ndarray, drift: np.ndarray | None = None) -> Prediction:
        return self._spread(np.full(len(points), self.values.mean()))

    def leave_one_out(self) -> Prediction:
        return self._spread((self.values.sum() - self.values) / (len(self.values) - 1))

    @property
    def parameters(self) -> dict:
        """The mean is kriging with nothing but a nugget."""
        nugget = self.variance / (1 + 1 / len(self.values))
        return {"kind": "spherical", "nugget": nugget, "partial_sill": 0.0, "scale_m": 1.0, "nugget_is_error": False}

    def _spread(self, estimate: np.ndarray) -> Prediction:
        return Prediction(
            estimate, np.full(len(estimate), self.variance), estimate - self.half90, estimate + self.half90
        )


def fit_mean(observations: Observations, *, notes: tuple[str, ...] = ()) -> FittedMean:
    """Mean and spread; 90 % interval of one more draw with Student's t for n - 1 degrees of freedom."""
    from scipy.stats import t

    values, count = observations.values, len(observations)
    if count < 2:
        raise CannotFit("the mean needs two pits to have a spread")
    variance = float(values.var(ddof=1)) * (1 + 1 / count)
    unit = f" {observations.unit}" if observations.unit else ""
    text = f"mean {number(values.mean())}{unit}, standard deviation {number(values.std(ddof=1))}{unit}, {count} pits"
    return FittedMean(values, variance, float(t.ppf(0.95, count - 1) * np.sqrt(variance)), text, tuple(notes))


class Mean:
    """Every place has the mean of the pits, and an interval from their spread: what any map must do better than."""

    title = "mean of the pits"
    uses_bounds = False
    uses_drift = False

    def fit(self, observations: Observations, settings: MethodSettings, rng: np.random.Generator) -> FittedMean:
        return fit_mean(observations)


@dataclass(frozen=True)
class FittedNeighbours:
    """Weights by distance alone; ``power`` None = the nearest pit only."""

    points: np.ndarray
    values: np.ndarray
    power: float | None
    variance: float
    half90: float
    loo: np.ndarray
    summary: str
    notes: tuple[str, ...] = ()
    reach_m: float | None = None

    def predict(self, points: np.ndarray, drift: np.ndarray | None = None) -> Prediction:
        points = np.asarray(points, float)
        if self.power is None:
            from scipy.spatial import cKDTree

            estimate = self.values[cKDTree(self.points).query(points)[1]]
        else:
            estimate = np.empty(len(points))
            step = max(1, 2_000_000 // len(self.points))
            for start in range(0, len(points), step):
                part = slice(start, start + step)
                estimate[part] = _weighted(points[part], self.points, self.values, self.power)
        flat = np.ones(len(points))
        return Prediction(estimate, self.variance * flat, estimate - self.half90, estimate + self.half90)

    def leave_one_out(self) -> Prediction:
        flat = np.ones(len(self.loo))
        return Prediction(self.loo, self.variance * flat, self.loo - self.half90, self.loo + self.half90)


def _weighted(points: np.ndarray, data: np.ndarray, values: np.ndarray, power: float) -> np.ndarray:
    from scipy.spatial.distance import cdist

    distance = cdist(points, data)
    nearest = distance.min(axis=1, keepdims=True)
    # ratios to the nearest keep large powers from overflowing; at a pit the weight is that pit's alone
    with np.errstate(divide="ignore", invalid="ignore"):
        weight = np.where(nearest > 0, (nearest / distance) ** power, distance == 0)
    return (weight @ values) / weight.sum(axis=1)


def _from_errors(
    observations: Observations, loo: np.ndarray, power: float | None, what: str
) -> FittedNeighbours:
    values = observations.values
    errors = loo - values
    half = float(np.quantile(np.abs(errors), 0.9, method="higher"))
    variance = float(np.mean(errors**2))
    unit = f" {observations.unit}" if observations.unit else ""
    summary = f"{what}; intervals from leave-one-out errors, root mean square {number(np.sqrt(variance))}{unit}, {len(values)} pits"
    return FittedNeighbours(observations.points, values, power, variance, half, loo, summary)


class Nearest:
    """Every place has what its nearest pit says; the interval comes from leaving each pit out."""

    title = "nearest pit"
    uses_bounds = False
    uses_drift = False

    def fit(self, observations: Observations, settings: MethodSettings, rng: np.random.Generator) -> FittedNeighbours:
        from scipy.spatial import cKDTree

        if len(observations) < 3:
            raise CannotFit("the nearest pit needs three pits for its interval")
        other = cKDTree(observations.points).query(observations.points, k=2)[1]
        own = np.arange(len(observations))
        other = np.where(other[:, 0] == own, other[:, 1], other[:, 0])
        return _from_errors(observations, observations.values[other], None, "value of the nearest pit")


class InverseDistance:
    """A mean of the pits weighted by one over the distance to a power (Shepard 1968); the interval comes from leaving each pit out."""

    title = "inverse distance"
    uses_bounds = False
    uses_drift = False

    def fit(self, observations: Observations, settings: MethodSettings, rng: np.random.Generator) -> FittedNeighbours:
        if len(observations) < 3:
            raise CannotFit("inverse distance needs three pits for its interval")
        points, values = observations.points, observations.values
        loo = np.empty(len(values))
        for i in range(len(values)):
            rest = np.arange(len(values)) != i
            loo[i] = _weighted(points[i : i + 1], points[rest], values[rest], settings.power)[0]
        return _from_errors(
            observations, loo, settings.power, f"weights by distance to the power of {number(settings.power)}"
        )


MEAN, NEAREST, INVERSE_DISTANCE = Mean(), Nearest(), InverseDistance()
