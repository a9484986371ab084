"""Seven landform elements after Pennock, Zebarth & de Jong 1987 (Geoderma 40:297-315).

Ground of more than 3 degrees is shoulder where it is convex down the slope by
more than 0.10 degrees per metre, footslope where it is concave by more, else
backslope; each is divergent or convergent by the sign of plan curvature. The rest
is level. Limits as quoted in later manuals; the published ones were for cells of
about 10 m, and they depend on cell and smoothing.
"""

from __future__ import annotations

import numpy as np

LEGEND = {
    1: "divergent shoulder",
    2: "convergent shoulder",
    3: "divergent backslope",
    4: "convergent backslope",
    5: "divergent footslope",
    6: "convergent footslope",
    7: "level",
}


def landform_elements(
    slope_degrees: np.ndarray,
    profile: np.ndarray,
    plan: np.ndarray,
    *,
    level_below_degrees: float = 3.0,
    profile_limit_degrees_per_m: float = 0.10,
) -> np.ndarray:
    """Codes of :data:`LEGEND`, uint8; 0 where slope is not known.

    Parameters
    ----------
    slope_degrees : slope, degrees.
    profile, plan : curvatures, 1/m, convex positive. A contour without curvature counts as divergent.
    """
    bend = np.degrees(profile)
    known = ~np.isnan(slope_degrees)
    sloping = known & (slope_degrees > level_below_degrees)
    first = np.select([bend > profile_limit_degrees_per_m, bend < -profile_limit_degrees_per_m], [1, 5], 3)
    code = np.where(sloping, first + (plan < 0), np.where(known, 7, 0))
    return code.astype(np.uint8)
