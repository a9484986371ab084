"""What the analysis scale does to landform elements, in figures: noise in curvature, and shares of elements by scale.

The limit between backslope, shoulder and footslope is 0.10 degrees per metre
(Pennock, Zebarth & de Jong 1987). Curvature is a second difference: noise of
elevation is divided by the square of the cell, so on small cells it drowns the
limit unless elevations are smoothed first.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from ..kernels.terrain_window import EVANS, derivatives
from .landform import LEGEND, landform_elements
from .smoothing import CUT, LEAST_CELLS, smooth


def profile_noise_degrees_per_m(noise_m: float, cell_m: float, scale_m: float | None = None) -> float:
    """Standard deviation of profile curvature that independent noise of elevation brings, degrees per m.

    On evenly sloping ground profile curvature is the second difference down the
    slope; here along a row: weights of smoothing times weights of Evans 1980, squared
    and added up. Without smoothing this is the square root of 2 times noise / cell^2.

    Parameters
    ----------
    noise_m : standard deviation of the noise of elevation, m, independent from cell to cell.
    cell_m : side of a cell, m.
    scale_m : analysis scale, m (two standard deviations of the smoothing); None or 0 = no smoothing.
    """
    deviation = (scale_m or 0.0) / 2 / cell_m
    if deviation < LEAST_CELLS:
        weight = np.array([1.0])
    else:
        away = np.arange(-int(np.ceil(CUT * deviation)), int(np.ceil(CUT * deviation)) + 1)
        weight = np.exp(-0.5 * (away / deviation) ** 2)
        weight /= weight.sum()
    across = np.convolve(weight, [1 / 3, 1 / 3, 1 / 3])
    along = np.convolve(weight, [1.0, -2.0, 1.0]) / cell_m**2
    return float(np.degrees(noise_m * np.sqrt((across**2).sum() * (along**2).sum())))


def noise_sentence(cell_m: float, scale_m: float | None, limit_degrees_per_m: float, noise_m: float = 0.05) -> str:
    """What 5 cm of noise do to the limit at this cell and scale, in words."""
    noise = profile_noise_degrees_per_m(noise_m, cell_m, scale_m)
    verdict = (
        "more than the limit: elements are noise" if noise > limit_degrees_per_m
        else "a third of the limit or more: edges of elements are ragged" if noise > limit_degrees_per_m / 3
        else "well below the limit"
    )  # fmt: skip
    return (
        f"{100 * noise_m:g} cm of noise in elevation would bring {noise:.2g} degrees per m into profile curvature "
        f"({verdict}, {limit_degrees_per_m:g})"
    )


def shares_by_scale(
    z: np.ndarray, cell_m: float, scales_m: Sequence[float], *, level_below_degrees: float = 3.0,
    profile_limit_degrees_per_m: float = 0.10,
) -> pd.DataFrame:  # fmt: skip
    """Share of each landform element (0 to 1) at several analysis scales; one row a scale.

    Parameters
    ----------
    z : (rows, columns), m, NaN = none.
    scales_m : analysis scales, m; 0 = no smoothing.
    """
    rows = []
    for scale in scales_m:
        slope, profile, plan = derivatives(
            smooth(z, scale, cell_m), cell_m, EVANS, ("slope", "profile_curvature", "plan_curvature")
        )
        code = landform_elements(
            slope, profile, plan, level_below_degrees=level_below_degrees, profile_limit_degrees_per_m=profile_limit_degrees_per_m
        )
        known = code[code > 0]
        rows.append({"scale_m": scale, **{name: float(np.mean(known == k)) if known.size else np.nan for k, name in LEGEND.items()}})
    return pd.DataFrame(rows)
