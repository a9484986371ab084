"""The arithmetic of lifts. Depths in cm, areas in ha or m2, volumes in m3.

Kinds of volume: *bank* is in place, *loose* is in the truck after swelling; settled
piles and respread soil are other volumes and are not computed here. Losses are taken
off the bank volume first, then what is left swells.
"""

from __future__ import annotations

import math

import numpy as np


def bank_volume_m3(depth_cm: float, area_ha: float) -> float:
    """1 cm over 1 ha is 100 m3."""
    return depth_cm * area_ha * 100


def cells_volume_m3(depth_cm: np.ndarray, share: np.ndarray, cell_m2: float) -> float:
    """Bank volume of cells, each by its share; a cell without a depth counts as not covered, never as 0."""
    known = np.isfinite(depth_cm)
    return float(share[known] @ depth_cm[known]) / 100 * cell_m2


def recovered_m3(bank_m3: float, lost_percent: float) -> float:
    """What is left of a bank volume after losses, still as bank volume."""
    return bank_m3 * (1 - lost_percent / 100)


def loose_m3(bank_m3: float, swell_factor: float) -> float:
    """The same soil loosened."""
    return bank_m3 * swell_factor


def rounded_depth(depth_cm: float | np.ndarray, step_cm: float, how: str) -> float | np.ndarray:
    """``down``, ``nearest`` (half goes up) or ``up`` to whole steps."""
    steps = np.asarray(depth_cm, float) / step_cm
    steps = {"down": np.floor(steps + 1e-9), "nearest": np.floor(steps + 0.5 + 1e-9), "up": np.ceil(steps - 1e-9)}[how]
    rounded = steps * step_cm
    return float(rounded) if np.ndim(rounded) == 0 else rounded


def area_weighted_mean(depth_cm: np.ndarray, area: np.ndarray) -> float:
    """Mean depth over polygons (or lengths) of unequal size."""
    return float(np.dot(depth_cm, area) / np.sum(area))


ROUNDING_CM = 1 / math.sqrt(12)
"""Standard deviation that noting a depth to the centimetre hides: pits that all say 19 are not alike to the millimetre."""


def t_limits(values: np.ndarray, level: float = 0.90) -> tuple[float, float, float]:
    """Mean and two-sided limits of the mean by Student's t; NaN limits for fewer than two values.

    Assumes that the values are independent draws from the area.
    """
    return _t_limits(values, level, 0.0)


def t_limits_of_a_place(values: np.ndarray, level: float = 0.90) -> tuple[float, float, float]:
    """The same for one further place of the same land: its own spread is added to that of the mean."""
    return _t_limits(values, level, 1.0)


def _t_limits(values: np.ndarray, level: float, own: float) -> tuple[float, float, float]:
    from scipy.stats import t

    values = np.asarray(values, float)
    if len(values) < 2:
        return (float(values.mean()) if len(values) else math.nan), math.nan, math.nan
    spread = max(values.std(ddof=1), ROUNDING_CM if values.any() else 0.0)
    half = t.ppf(0.5 + level / 2, len(values) - 1) * spread * math.sqrt(own + 1 / len(values))
    return float(values.mean()), float(values.mean() - half), float(values.mean() + half)
