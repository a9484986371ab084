"""The mean and the total of a surface over an area, with a 90 % interval of them.

Where the surface carries a covariance model the interval comes from the errors of all
cells together: by formula where they are normal, by simulation where values were modelled
on another scale. Otherwise the interval is the widest that the cells' own 90 % limits allow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..grid import Grid
from ..kernels.areal import Z90, widest_limits
from .area import Area, together
from .draws import AreaDraws
from .land import draws_over

BY_MODEL = "90 % interval of the mean from the errors of all cells together, by the surface's covariance model"
BY_DRAWS = "90 % interval of the mean from 500 simulations by the surface's covariance model"
WIDEST = (
    "90 % interval of the mean as if the errors of all cells were one: never too narrow where the cells' limits are right, "
    "usually too wide"
)
NO_INTERVAL = "no interval: the surface has none"


@dataclass(frozen=True)
class ArealMean:
    """``mean``, ``low90``, ``high90`` in the surface's unit, NaN = none; ``basis`` in words.

    ``deviation``: standard deviation of the mean's error where it is normal; ``draws``:
    means drawn, where it is not. Neither: how probable a mean is, is not known.
    """

    mean: float
    low90: float
    high90: float
    basis: str
    deviation: float = np.nan
    draws: np.ndarray | None = None

    def probability_above(self, value: float) -> float:
        """Probability that the mean is greater than ``value``; NaN where that is not known."""
        from scipy.special import ndtr

        if self.draws is not None:
            return float(np.mean(self.draws > value))
        if not np.isfinite(self.deviation):
            return np.nan
        if self.deviation == 0:
            return float(self.mean > value)
        return float(ndtr((self.mean - value) / self.deviation))


def areal_mean(
    area: Area, model: object | None, least: float | None = 0.0, drawn: np.ndarray | None = None, why: str = ""
) -> ArealMean:
    """Mean over an area's cells, each by its share, that have an estimate.

    Parameters
    ----------
    least : what the attribute cannot be below; None = no such limit.
    model : of land.py; None = the surface has none, for the reason ``why``.
    drawn : (draws,) means of the same cells by simulation, for a model that is not normal.
    """
    if not len(area):
        return ArealMean(np.nan, np.nan, np.nan, "no estimate")
    mean = float(area.weight @ area.estimate / area.backed)
    if drawn is not None and np.isfinite(drawn).all():
        lower, upper = (float(value) for value in np.quantile(drawn, [0.05, 0.95]))
        mean = float(drawn.mean()) if model is not None and model.mean_is_drawn else mean
        return ArealMean(mean, lower if least is None else max(lower, least), upper, BY_DRAWS + _on_squares(area), draws=drawn)
    if model is not None and model.is_normal:
        variance = model.mean_variance_of_cells(area.cell, area.weight, area.side)
        if np.isfinite(variance):
            deviation = float(np.sqrt(variance))
            lower = mean - Z90 * deviation
            lower = lower if least is None else max(lower, least)
            return ArealMean(mean, lower, mean + Z90 * deviation, BY_MODEL + _on_squares(area), deviation)
    if area.low is None or area.high is None:
        return ArealMean(mean, np.nan, np.nan, NO_INTERVAL)
    return ArealMean(mean, *widest_limits(area.low, area.high, area.weight), WIDEST + (f"; {why}" if why else ""))


def _on_squares(area: Area) -> str:
    return "" if area.side == 1 else f", taken together on squares of {area.side} x {area.side} cells"


def mean_of_all(areas: Sequence[Area], grid: Grid, model: object | None, seed: int = 1) -> ArealMean | None:
    """The mean over several areas together, shares of overlapping ones added; None where the model gives no interval of it.

    Errors of neighbours are neither independent nor one: an interval of a total is not the
    sum of intervals, nor its root of squares.
    """
    areas = [area for area in areas if len(area)]
    if model is None or not areas:
        return None
    whole = together(areas, grid)
    drawn = None if model.is_normal else draws_over(model, [whole], seed=seed).mean[0]
    found = areal_mean(whole, model, drawn=drawn)
    return found if found.basis.startswith((BY_MODEL, BY_DRAWS)) else None


def share_of_draws(drawn: AreaDraws, area: int) -> list[tuple[float, float, float]]:
    """Mean and ends of the 90 % interval of the area's share below each limit; NaN where there is no model."""
    return [(float(one.mean()), *map(float, np.quantile(one, [0.05, 0.95]))) for one in drawn.below[area]]
