"""Where the pits back an estimate, and where and why they do not.

Reach of the pits: the model's effective range, at most half the diagonal of the
pits' layout and at least one and a half mean spacings (so that an even layout has no
holes); or ``reach_m``. Inside the pits' convex hull a cell is backed within the reach
of a pit, outside it within half of it. Mean spacing is the square root of hull area
over number of pits. (Rule of our own; common practice, no source.) Where a model reaches
farther one way, distance across that way counts for more, but never so that an even layout has holes.

Every cell is told by its own distance to the pits: no window needs to know another.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..grid import Grid, Window
from ..kernels.covariance import stretched
from .drift import beyond_pits
from .mapping import FittedMap
from .methods.contract import Observations
from .methods.direction import direction_in

OUTSIDE, BACKED, FAR, SHORT_STRATUM, OTHER_TERRAIN, HARDLY_THERE, UNSEEN = 0, 1, 2, 3, 4, 5, 6
LEGEND = {
    BACKED: "backed by the pits",
    FAR: "far from the pits",
    SHORT_STRATUM: "stratum without enough pits",
    OTHER_TERRAIN: "terrain unlike that of the pits",
    HARDLY_THERE: "feature probably absent",
    UNSEEN: "beyond what any pit saw",
}
SIDE = 32
"""Squares of so many cells are told as a whole where they lie clearly within or beyond the reach."""


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


@dataclass(frozen=True)
class Backing:
    """What the pits ``points`` (n, 2) of one stratum back: places within ``reach_m``, on terrain within that of ``drift`` (n, p).

    Across ``azimuth`` (degrees clockwise from north) the reach is ``ratio`` of that along it.
    """

    points: np.ndarray
    reach_m: float
    drift: np.ndarray | None = None
    azimuth: float = 0.0
    ratio: float = 1.0

    def near(self, places: np.ndarray) -> np.ndarray:
        """(m,) bool of ``places`` (m, 2) within the reach."""
        import shapely

        away = self._tree.query(self._placed(places), distance_upper_bound=self.reach_m)[0]
        return away <= np.where(shapely.intersects_xy(self._hull(), places), self.reach_m, self.reach_m / 2)

    def near_cells(self, x: np.ndarray, y: np.ndarray, own: np.ndarray) -> np.ndarray:
        """The same for the cells ``own`` (height, width) bool of a window, centres x (width,) and y (height,)."""
        import shapely

        near, asked = np.zeros(own.shape, bool), np.zeros(own.shape, bool)
        squares = [(top, left) for top in range(0, len(y), SIDE) for left in range(0, len(x), SIDE)]
        squares = [(slice(top, top + SIDE), slice(left, left + SIDE)) for top, left in squares]
        squares = [square for square in squares if own[square].any()]
        if not squares:
            return near
        sides = np.array([(x[c][0], y[r][-1], x[c][-1], y[r][0]) for r, c in squares])
        half = np.hypot(sides[:, 2] - sides[:, 0], sides[:, 3] - sides[:, 1]) / 2 / self.ratio + 1e-6 + 1e-9 * self.reach_m
        away = self._tree.query(self._placed((sides[:, :2] + sides[:, 2:]) / 2))[0]
        boxes = shapely.box(*(sides + np.array([-1e-6, -1e-6, 1e-6, 1e-6])).T)
        hull = self._hull()
        inside, outside = shapely.contains_properly(hull, boxes), shapely.disjoint(hull, boxes)
        within = away + half <= np.where(inside, self.reach_m, self.reach_m / 2)
        beyond = away - half > np.where(outside, self.reach_m / 2, self.reach_m)
        for square, yes, no in zip(squares, within, beyond, strict=True):
            near[square] = yes
            asked[square] = not (yes or no)
        asked &= own
        if asked.any():
            row, column = np.nonzero(asked)
            near[asked] = self.near(np.column_stack([x[column], y[row]]))
        return near & own

    def _placed(self, places: np.ndarray) -> np.ndarray:
        """About the middle of the pits, stretched so that the reach is the same all round."""
        return stretched(places - self._origin, self.azimuth, self.ratio)

    @cached_property
    def _origin(self) -> np.ndarray:
        return self.points.mean(axis=0)

    @cached_property
    def _tree(self):
        from scipy.spatial import cKDTree

        return cKDTree(self._placed(self.points))

    def _hull(self):
        """Made anew each time: a prepared polygon completes itself at its first questions, and two threads may not ask one at once."""
        import shapely

        hull = shapely.MultiPoint(self.points).convex_hull
        shapely.prepare(hull)
        return hull


@dataclass(frozen=True)
class Reliability:
    """Codes of LEGEND; ``parts``: what the pits of each stratum back, by stratum code."""

    parts: dict[int, Backing]

    def at(self, places: np.ndarray, codes: np.ndarray, drift: np.ndarray | None = None) -> np.ndarray:
        """(m,) of ``places`` (m, 2) in strata ``codes`` (m,), 0 = not mapped."""
        near = np.zeros(len(places), bool)
        for code, part in self.parts.items():
            own = codes == code
            near[own] = part.near(places[own])
        return self._told(near, codes, drift)

    def over(self, grid: Grid, window: Window, codes: np.ndarray, drift: np.ndarray | None = None) -> np.ndarray:
        """(height, width) of the cells of a window."""
        x, y = grid.centres(window)
        near = np.zeros(codes.shape, bool)
        for code, part in self.parts.items():
            near |= part.near_cells(x, y, codes == code)
        return self._told(near, codes, drift)

    def _told(self, near: np.ndarray, codes: np.ndarray, drift: np.ndarray | None) -> np.ndarray:
        told = np.where(codes > 0, SHORT_STRATUM, OUTSIDE).astype(np.uint8)
        for code, part in self.parts.items():
            own = codes == code
            told[own] = np.where(near[own], BACKED, FAR)
            if part.drift is not None:
                told[own & (told == BACKED) & beyond_pits(drift, part.drift)] = OTHER_TERRAIN
        return told


def reliability_of(
    fitted: FittedMap, observations: Observations, codes: np.ndarray, set_m: float | None, *, by_drift: bool = False
) -> Reliability:
    """What the pits back by the models of a map; ``codes`` (n,) strata of the observations, ``set_m`` the reach that was set.

    ``by_drift``: terrain unlike that of the pits is not backed.
    """
    parts = {}
    for code, part in fitted.parts.items():
        own = codes == code
        points = observations.points[own]
        drift = observations.drift[own] if by_drift and observations.drift is not None else None
        parts[code] = backing_of(part, points, set_m, drift)
    return Reliability(parts)


def backing_of(part: object, points: np.ndarray, set_m: float | None, drift: np.ndarray | None = None) -> Backing:
    """What ``points`` back by the model of ``part``, a fitted method; a reach that was set is the same all round."""
    reach, (azimuth, ratio) = reach_of(points, part.reach_m, set_m), direction_in(part)
    if set_m is not None or ratio == 1.0 or part.reach_m is None:
        return Backing(points, reach, drift)
    return Backing(points, reach, drift, azimuth, reach_of(points, ratio * part.reach_m, None) / reach)
