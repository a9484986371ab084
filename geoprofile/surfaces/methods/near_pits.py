"""Kriging in which only the nearest pits speak for a place, where that was asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...kernels.kriging import System
from ...kernels.neighbours import predict_near
from .contract import MethodSettings, Prediction

LEAST = 3
"""Fewer near pits than this: no value."""
MOST_IF_NOT_SAID = 40


@dataclass(frozen=True)
class NearPits:
    """A fitted kriging, asked by the nearest pits alone."""

    fitted: object
    most: int
    within: float

    @property
    def system(self) -> System:
        return self.fitted.system

    @property
    def summary(self) -> str:
        reach = f" within {self.within:g} m" if np.isfinite(self.within) else ""
        return f"{self.fitted.summary}; from the nearest {self.most} pits{reach}, and none where fewer than {LEAST} are near"

    @property
    def notes(self) -> tuple[str, ...]:
        return self.fitted.notes

    @property
    def reach_m(self) -> float | None:
        return self.fitted.reach_m

    @property
    def parameters(self) -> dict:
        """Not a model of one system: how near pits are asked, beside the system they come from, for means over areas."""
        found = dict(getattr(self.fitted, "parameters", {}))
        within = float(self.within) if np.isfinite(self.within) else None
        return {"near_pits": {"most": self.most, "within_m": within, "least": LEAST, "model": found}} if "kind" in found else {}

    @property
    def readings(self) -> tuple[np.ndarray, np.ndarray]:
        error = self.system.error_variance
        return self.system.values, np.zeros(len(self.system.values)) if error is None else error

    def predict(self, points: np.ndarray, drift: np.ndarray | None = None) -> Prediction:
        return self._asked(points, self.fitted.scaled(drift))

    def leave_one_out(self) -> Prediction:
        trend = self.system.trend
        return self._asked(self.system.points, trend[:, 1:] if trend.shape[1] > 1 else None, without_own=True)

    def _asked(self, points: np.ndarray, drift: np.ndarray | None, **how) -> Prediction:
        return self.fitted.read(*predict_near(self.system, points, drift, most=self.most, within=self.within, least=LEAST, **how))


def near_only(fitted: object, settings: MethodSettings) -> object:
    """``fitted`` asked by near pits only, where ``settings`` say so and it is a kriging."""
    if settings.nearest_pits is None and settings.pits_within_m is None:
        return fitted
    if hasattr(fitted, "positive"):
        return replace(
            fitted, positive=near_only(fitted.positive, settings), indicator=near_only(fitted.indicator, settings)
        )
    if not hasattr(fitted, "system"):
        return fitted
    return NearPits(fitted, settings.nearest_pits or MOST_IF_NOT_SAID, settings.pits_within_m or np.inf)
