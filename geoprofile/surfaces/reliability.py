"""Where the pits back an estimate, and where and why they do not.

Reach of the pits: the model's effective range, at most half the diagonal of the
pits' layout and at least one and a half mean spacings (so that an even layout has no
holes); or ``reach_m``. Inside the pits' convex hull a cell is backed within the reach
of a pit, outside it within half of it. Mean spacing is the square root of hull area
over number of pits. (Rule of our own; common practice, no source.)
"""

from __future__ import annotations

import numpy as np

from ..grid import Grid

OUTSIDE, BACKED, FAR, SHORT_STRATUM, OTHER_TERRAIN, HARDLY_THERE, UNSEEN = 0, 1, 2, 3, 4, 5, 6
LEGEND = {
    BACKED: "backed by the pits",
    FAR: "far from the pits",
    SHORT_STRATUM: "stratum without enough pits",
    OTHER_TERRAIN: "terrain unlike that of the pits",
    HARDLY_THERE: "feature probably absent",
    UNSEEN: "beyond what any pit saw",
}


def most_seen(low: np.ndarray, high: np.ndarray) -> float:
    """The greatest value that any pit can vouch for; inf where every pit has an upper limit.

    Where pits say only "at least", a model may put the value anywhere beyond the deepest of them; nobody has looked there.
    """
    limits = np.concatenate([low, high])
    return float(limits[np.isfinite(limits)].max()) if (~np.isfinite(high) & np.isfinite(low)).any() else float("inf")


def reach_of(points: np.ndarray, model_reach_m: float | None, set_m: float | None) -> float:
    """The distance, m, within which a cell counts as backed; see the head of this file."""
    import shapely

    if set_m is not None:
        return float(set_m)
    hull = shapely.MultiPoint(points).convex_hull
    diagonal = float(np.hypot(*np.ptp(points, axis=0)))
    spacing = max(np.sqrt(hull.area / len(points)), diagonal / len(points))
    return float(max(min(model_reach_m or 0.0, diagonal / 2), 1.5 * spacing))


def backed_by(points: np.ndarray, reach_m: float, grid: Grid, wanted: np.ndarray) -> np.ndarray:
    """(grid.shape) bool of ``wanted`` cells that lie within reach of ``points`` (n, 2)."""
    import shapely
    from scipy.spatial import cKDTree

    origin = points.mean(axis=0)
    tree = cKDTree(points - origin)
    hull = shapely.MultiPoint(points).convex_hull
    shapely.prepare(hull)
    backed = np.zeros(grid.shape, dtype=bool)
    for window in grid.windows(512):
        own = wanted[window.slices]
        if not own.any():
            continue
        cells = grid.centre_points(window)[own.ravel()]
        away = tree.query(cells - origin, distance_upper_bound=reach_m)[0]
        inside = shapely.intersects_xy(hull, cells)
        backed[window.slices][own] = away <= np.where(inside, reach_m, reach_m / 2)
    return backed
