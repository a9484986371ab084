"""Polygons of squares of one class, made from the lattice of their corners; along the survey's outline by overlay.

Only squares that the outline passes are noded with it. All others are traced along their sides, in time and memory that
grow with the length of the borders. Where the two meet there are vertices on both sides, which go once they are one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from ..grid import Grid
from ..kernels.lattice import APART, lines_apart, mark_passed, only_seam
from ..kernels.lattice_rings import rings_of
from ..memory import require_memory
from .drawing import REMEDY
from .survey_share import NODE_M

PASSED_M = 0.01
"""A square is passed by the outline where it comes closer than this: well more than vertices move when they are noded."""
VERTICES_AT_ONCE = 1_000_000
BYTES_PER_CORNER = 180
"""Measured on generated ground: what tracing, smoothing and checking hold for each corner of the outlines."""


@dataclass(frozen=True)
class Lattice:
    """Corners of squares, columns (width + 1,) and rows (height + 1,): where they are, m, and in whole millimetres."""

    x: np.ndarray
    y: np.ndarray
    x_noded: np.ndarray
    y_noded: np.ndarray

    def points(self, vertex: np.ndarray) -> np.ndarray:
        """(..., 2) coordinates of vertices (...) as they are."""
        row, column = np.divmod(vertex, len(self.x))
        return np.stack([self.x[column], self.y[row]], axis=-1)

    def noded(self, vertex: np.ndarray) -> np.ndarray:
        """(..., 2) coordinates of vertices (...) in whole millimetres."""
        row, column = np.divmod(vertex, len(self.x))
        return np.stack([self.x_noded[column], self.y_noded[row]], axis=-1)

    def vertices(self, points: np.ndarray) -> np.ndarray:
        """(n,) vertex that lies at each of (n, 2) points in whole millimetres, -1 where there is none."""
        column = np.searchsorted(self.x_noded, points[:, 0]).clip(max=len(self.x) - 1)
        row = np.searchsorted(-self.y_noded, -points[:, 1]).clip(max=len(self.y) - 1)
        here = (self.x_noded[column] == points[:, 0]) & (self.y_noded[row] == points[:, 1])
        return np.where(here, row * len(self.x) + column, -1)


def lattice_of(grid: Grid) -> Lattice:
    x, y = grid.west + grid.cell_m * np.arange(grid.width + 1), grid.north - grid.cell_m * np.arange(grid.height + 1)
    across = shapely.set_precision(shapely.points(x, grid.north), NODE_M)
    down = shapely.set_precision(shapely.points(grid.west, y), NODE_M)
    return Lattice(x, y, shapely.get_x(across), shapely.get_y(down))


def class_polygons(codes: np.ndarray, grid: Grid, outline: shapely.Geometry | None) -> tuple[np.ndarray, np.ndarray]:
    """Polygons that tile the mapped squares within the outline, and the class of each.

    ``codes`` (height, width) uint8, 0 = not mapped; ``outline`` in whole millimetres, None = all that is mapped.
    Neighbours share every vertex of their common edge.
    """
    lattice, state = lattice_of(grid), np.zeros(codes.shape, np.uint8)
    if outline is not None:
        mark_passed(state, *_in_squares(outline, grid), PASSED_M / grid.cell_m)
    polygons, seam, kinds = _traced(codes, state, lattice)
    if outline is None or not state.any():
        return polygons, kinds
    cut, cut_kinds = _cut(codes, state, grid, lattice, outline)
    whole, whole_kinds = _joined(polygons[seam], kinds[seam], cut, cut_kinds, codes, state, lattice)
    return np.concatenate([polygons[~seam], whole]), np.concatenate([kinds[~seam], whole_kinds])


def _in_squares(outline: shapely.Geometry, grid: Grid) -> tuple[np.ndarray, np.ndarray]:
    """Corners of its rings in squares from the grid's corner, NaN between two rings."""
    points, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(outline)), return_index=True)
    points = np.insert(points, np.flatnonzero(np.diff(ring)) + 1, np.nan, axis=0)
    return (points[:, 0] - grid.west) / grid.cell_m, (grid.north - points[:, 1]) / grid.cell_m


def _traced(codes: np.ndarray, state: np.ndarray, lattice: Lattice) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Polygons of the squares that are not apart, whether their class goes on in those that are, and their class."""
    vertex, begin, region, seam, kinds = rings_of(codes, state)
    require_memory(len(vertex) * BYTES_PER_CORNER, codes.size, f"drawing zones along {len(vertex):,} corners", REMEDY)
    shells = np.append(np.flatnonzero(np.diff(region, prepend=-1)), len(region))
    polygons = np.empty(len(kinds), object)
    first = 0
    while first < len(kinds):  # so many that coordinates are not held twice for long
        last = max(first + 1, int(np.searchsorted(begin[shells], begin[shells[first]] + VERTICES_AT_ONCE, side="right")) - 1)
        rings = begin[shells[first] : shells[last] + 1]
        own = vertex[rings[0] : rings[-1]]
        ends = rings[1:] - rings[0]
        closed = np.insert(own, ends, own[rings[:-1] - rings[0]])
        offsets = np.append(0, ends + np.arange(1, len(ends) + 1))
        polygons[first:last] = shapely.from_ragged_array(
            shapely.GeometryType.POLYGON, lattice.noded(closed), (offsets, shells[first : last + 1] - shells[first])
        )
        first = last
    return polygons, seam, kinds


def _cut(codes: np.ndarray, state: np.ndarray, grid: Grid, lattice: Lattice, outline: shapely.Geometry) -> tuple[np.ndarray, np.ndarray]:
    """What the outline leaves of the squares that it passes, and the classes."""
    begin, end = lines_apart(codes, state)
    lines = shapely.linestrings(lattice.points(np.stack([begin, end], axis=1)))
    noded = shapely.union_all(np.append(lines, shapely.boundary(outline)), grid_size=NODE_M)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    inside = shapely.point_on_surface(faces)
    row, column, on_grid = grid.cells_of(shapely.get_x(inside), shapely.get_y(inside))
    kinds = np.where(on_grid & (state[row, column] == APART), codes[row, column], 0)
    shapely.prepare(outline)
    keep = (kinds != 0) & shapely.contains(outline, inside)
    return faces[keep], kinds[keep]


def _joined(polygons, kinds, cut, cut_kinds, codes, state, lattice) -> tuple[np.ndarray, np.ndarray]:
    """Traced polygons and cut ones of one class become one; the vertices of their seam go."""
    parts, part_kinds = [], []
    for code in np.unique(np.concatenate([kinds, cut_kinds])):
        united = shapely.get_parts(shapely.coverage_union_all(np.concatenate([polygons[kinds == code], cut[cut_kinds == code]])))
        parts.append(united)
        part_kinds.append(np.full(len(united), code, codes.dtype))
    if not parts:
        return cut, cut_kinds
    rings, part = shapely.get_rings(np.concatenate(parts), return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    stays = ~only_seam(codes, state, lattice.vertices(points))
    parts = shapely.polygons(shapely.linearrings(points[stays], indices=ring[stays]), indices=part)
    return parts, np.concatenate(part_kinds)
