"""The sample variogram behind each surface, as a table to draw and to judge the model by.

Of measured values only, for a bound has no difference to anything; of what the drift
leaves over (least squares), where there is one. No pair is longer than a third of the
layout's diagonal (common practice, no source; K5). It is for looking: the model is
fitted by likelihood.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..kernels.kriging import with_constant
from ..kernels.variogram import sample_variogram
from .methods.contract import Observations

COLUMNS = {
    "attribute": "str", "stratum": "str", "distance_m": "float64", "semivariance": "float64", "pairs": "int64",
}  # fmt: skip
BINS = 10
MOST = 2000
"""Of more pits than this every second, third ... is looked at: pairs grow with the square."""


def variogram_table(attribute: str, observations: Observations, codes: np.ndarray, use: str, names: dict[int, str]) -> pd.DataFrame:
    """COLUMNS; one sample variogram a stratum where each has its own model (``split``), else one in all."""
    exact = observations.low == observations.high
    parts = []
    for code in np.unique(codes) if use == "split" else [None]:
        own = np.flatnonzero(exact & ((codes == code) if code is not None else True))
        own = own[:: -(-len(own) // MOST) or 1]
        table = _of(observations.take(own), codes[own] if use else None)
        parts.append(table.assign(attribute=attribute, stratum="" if code is None else names.get(int(code), str(code))))
    return pd.concat(parts, ignore_index=True)[list(COLUMNS)].astype(COLUMNS)


def _of(observations: Observations, codes: np.ndarray | None) -> pd.DataFrame:
    count = len(observations)
    if count < 3:
        return pd.DataFrame({"distance_m": [], "semivariance": [], "pairs": []})
    values, drift = observations.low, observations.drift
    if drift is not None:
        trend = with_constant(drift - drift.mean(axis=0), count)
        values = values - trend @ np.linalg.lstsq(trend, values, rcond=None)[0]
    longest = float(np.hypot(*np.ptp(observations.points, axis=0))) / 3
    sample = sample_variogram(observations.points, values, longest, BINS, codes)
    return pd.DataFrame({"distance_m": sample.distance, "semivariance": sample.semivariance, "pairs": sample.pairs})
