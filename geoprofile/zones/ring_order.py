"""Polygons in an order of their own, and rings that begin alike: what follows does not depend on how they were found.

Where borders are smoothed, of two corners that matter as much the one that comes first along the ring goes first.
"""

from __future__ import annotations

import numpy as np
import shapely

BEYOND_CORNER = 1, 2
"""Corners from the north-west one to where a shell and a hole begin, along the ring: as general noding leaves lone rings."""


def from_north_west(parts: np.ndarray, kinds: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Polygons (n,) and their classes (n,), class by class from north to south, and in a row from west to east."""
    west, south, east, north = shapely.bounds(parts).T
    order = np.lexsort((shapely.area(parts), east, south, west, -north, kinds))
    return parts[order], kinds[order]


def begun_alike(parts: np.ndarray) -> np.ndarray:
    """The same polygons (n,): shells clockwise, holes the other way and from north to south, each from the same corner."""
    rings, part = shapely.get_rings(shapely.orient_polygons(parts, exterior_cw=True), return_index=True)
    shell = np.diff(part, prepend=-1) > 0
    west, _, _, north = shapely.bounds(rings).T
    order = np.lexsort((west, -north, ~shell, part))
    shell = shell[order]
    points, ring = shapely.get_coordinates(rings[order], return_index=True)
    closes = np.diff(ring, append=len(order)) > 0
    points, ring = points[~closes], ring[~closes]
    begin = np.flatnonzero(np.diff(ring, prepend=-1))
    count = np.diff(begin, append=len(ring))
    of_top = np.where(points[:, 1] == np.maximum.reduceat(points[:, 1], begin)[ring], points[:, 0], np.inf)
    corner = np.flatnonzero(of_top == np.minimum.reduceat(of_top, begin)[ring]) - begin
    first = corner + np.where(shell, *BEYOND_CORNER)
    place = begin[ring] + (np.arange(len(ring)) - begin[ring] + first[ring]) % count[ring]
    return shapely.polygons(shapely.linearrings(points[place], indices=ring), indices=part)
