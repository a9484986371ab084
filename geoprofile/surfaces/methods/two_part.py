"""Two questions: is the horizon there, and how thick is it where it is.

Right where thickness does not fade out towards the edge of absence. The chance of presence comes from
indicator kriging (Journel 1983), thickness from the pits that have the horizon, and

    estimate  p m                     p chance of presence; m, v mean and variance where present
    variance  p (v + m^2) - (p m)^2
    quantile  0 up to 1 - p, then that of the thickness at (q - (1 - p)) / p

so an interval that begins at 0 says that the horizon may be absent.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtri

from ...kernels.back_transform import backward
from .cells import on_cells
from .contract import CannotFit, MethodSettings, Observations, Prediction
from .kriging import DRIFT_KRIGING, ORDINARY_KRIGING


@dataclass(frozen=True)
class FittedTwoPart:
    """Thickness where present, chance of presence, and where the absent ones are."""

    positive: object
    indicator: object
    absent: np.ndarray
    """(n,) bool"""
    points: np.ndarray
    drift: np.ndarray | None
    summary: str
    notes: tuple[str, ...]
    reach_m: float | None

    def predict(self, points: np.ndarray, drift: np.ndarray | None = None) -> Prediction:
        return together(self.positive.predict(points, drift), self.indicator.predict(points, drift).estimate)

    def predict_grid(self, x: np.ndarray, y: np.ndarray, drift: np.ndarray | None, wanted: np.ndarray) -> Prediction:
        thickness, chance = (on_cells(part, x, y, drift, wanted) for part in (self.positive, self.indicator))
        return together(thickness, chance.estimate)

    @property
    def parameters(self) -> dict:
        """Both models, for means over areas; empty where one of the parts has none."""
        thickness, presence = (dict(getattr(part, "parameters", {})) for part in (self.positive, self.indicator))
        both = "kind" in thickness and "kind" in presence
        return {"two_part": {"thickness": thickness, "presence": presence}} if both else {}

    @property
    def readings(self) -> tuple[np.ndarray, np.ndarray]:
        """Of the thickness where it is present; 0 without error where it is absent."""
        values, error = np.zeros(len(self.absent)), np.zeros(len(self.absent))
        values[~self.absent], error[~self.absent] = getattr(self.positive, "readings", (np.nan, np.nan))
        return values, error

    def leave_one_out(self) -> Prediction:
        here = ~self.absent
        own = self.positive.leave_one_out()
        away = self.positive.predict(self.points[self.absent], None if self.drift is None else self.drift[self.absent])
        both = {}
        for name in ("estimate", "variance", "low90", "high90", "middle", "deviation", "power"):
            if getattr(own, name) is not None:
                column = np.empty(len(here))
                column[here], column[self.absent] = getattr(own, name), getattr(away, name)
                both[name] = column
        return together(Prediction(**both), self.indicator.leave_one_out().estimate)


@dataclass(frozen=True)
class FittedTwoPartByStratum:
    parts: dict[int, FittedTwoPart]
    short: dict[int, str]
    positive: object
    indicator: object
    summary: str
    notes: tuple[str, ...]
    reach_m: float | None


@dataclass(frozen=True)
class FittedHardly:
    """Thickness where no pit, or hardly a pit, has the horizon: zeros as values, one chance of presence for all."""

    thickness: object
    chance: float
    summary: str
    notes: tuple[str, ...]
    reach_m: float | None

    def predict(self, points: np.ndarray, drift: np.ndarray | None = None) -> Prediction:
        return self._with_chance(self.thickness.predict(points, drift))

    def predict_grid(self, x: np.ndarray, y: np.ndarray, drift: np.ndarray | None, wanted: np.ndarray) -> Prediction:
        return self._with_chance(on_cells(self.thickness, x, y, drift, wanted))

    @property
    def parameters(self) -> dict:
        return dict(getattr(self.thickness, "parameters", {}))

    @property
    def readings(self) -> tuple[np.ndarray, np.ndarray]:
        return self.thickness.readings

    def leave_one_out(self) -> Prediction:
        return self._with_chance(self.thickness.leave_one_out())

    def _with_chance(self, found: Prediction) -> Prediction:
        none = np.zeros(found.estimate.shape)
        middle, deviation = (found.estimate, np.sqrt(found.variance)) if found.middle is None else (found.middle, found.deviation)
        power = none + np.nan if found.power is None else found.power
        return replace(found, presence=none + self.chance, middle=middle, deviation=deviation, power=power, atom=none)


def together(thickness: Prediction, chance: np.ndarray) -> Prediction:
    """Both parts as one prediction."""
    p = np.clip(chance, 0.0, 1.0)
    mean, variance = np.maximum(thickness.estimate, 0.0), thickness.variance
    if thickness.middle is None:
        middle, deviation, power = thickness.estimate, np.sqrt(variance), np.full(p.shape, np.nan)
    else:
        middle, deviation, power = thickness.middle, thickness.deviation, thickness.power
    estimate = p * mean
    ends = []
    for share in (0.05, 0.95):
        within = np.clip((share - (1.0 - p)) / np.maximum(p, 1e-12), 1e-12, 1 - 1e-12)
        value = _back(middle + deviation * ndtri(within), power)
        ends.append(np.where(share > 1.0 - p, np.maximum(value, 0.0), np.where(np.isnan(p), np.nan, 0.0)))
    return Prediction(
        estimate, np.maximum(p * (variance + mean**2) - estimate**2, 0.0), *ends, p, middle, deviation, power, 1.0 - p
    )


def _back(values: np.ndarray, power: np.ndarray) -> np.ndarray:
    out = values.copy()
    for one in np.unique(power[np.isfinite(power)]):
        own = power == one
        out[own] = backward(values[own], float(one))
    return out


def fit_two_part(method, observations: Observations, settings: MethodSettings, rng, start):
    """``method`` fits the thickness where present; ``observations.absent`` tells where it is not."""
    absent = observations.absent
    present = replace(observations.take(~absent), absent=None)
    positive = method.refit(present, settings, rng, getattr(start, "positive", None))
    seen = (~absent).astype(float)
    indicator_of = ORDINARY_KRIGING if observations.drift is None else DRIFT_KRIGING
    indicator = indicator_of.refit(
        replace(observations, low=seen, high=seen, unit="", absent=None), replace(settings, transform="none"), rng,
        getattr(start, "indicator", None),
    )  # fmt: skip
    words = "; where it is present, whether it is by indicator kriging (two-part form)"
    notes = (*positive.notes, f"{int(absent.sum())} of {len(absent)} pits have none of it")
    if observations.strata is None:
        return FittedTwoPart(
            positive, indicator, absent, observations.points, observations.drift, positive.summary + words, notes, positive.reach_m
        )
    parts, short = {}, dict(getattr(positive, "short", {}))
    for code in np.unique(observations.strata):
        own = observations.strata == code
        if int(code) in positive.parts and int(code) in indicator.parts:
            parts[int(code)] = FittedTwoPart(
                positive.parts[int(code)], indicator.parts[int(code)], absent[own], observations.points[own],
                None if observations.drift is None else observations.drift[own], positive.summary + words, (), positive.reach_m,
            )  # fmt: skip
        else:
            short.setdefault(int(code), "no pit there has it")
    if not parts:
        raise CannotFit("; ".join(short.values()))
    return FittedTwoPartByStratum(parts, short, positive, indicator, positive.summary + words, notes, positive.reach_m)
