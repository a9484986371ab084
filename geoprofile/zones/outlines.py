"""From one class a cell to MultiPolygons that tile the survey area: no gap, no overlap, none invalid.

Cells that touch only at a corner are apart (four neighbours). Neighbours share every
vertex of their common edge; the zones are handled as one coverage.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from .. import environment as _environment  # noqa: F401
from ..errors import GeoprofileError
from ..memory import give_back
from .drawing import Drawing
from .lattice import class_polygons
from .merging import merge_small
from .regions import merge_regions
from .ring_order import begun_alike, from_north_west
from .survey_share import WINDOW, SurveyShare


@dataclass(frozen=True)
class Outlines:
    """``codes`` (k,) and ``shapes`` (k,) MultiPolygons; areas in m2 before smoothing; what was merged."""

    codes: np.ndarray
    shapes: np.ndarray
    unsmoothed_m2: np.ndarray
    merged: int
    merged_m2: float
    smoothing_m: float
    outside_m2: float
    """Survey area that the grid does not cover, or that has no class, m2."""


def outline_zones(
    drawing: Drawing, *, least_m2: float, smoothing_m: float, most_change: float, kept_apart: frozenset[int] = frozenset()
) -> Outlines:
    """Merge, vectorise, clip to the survey area, dissolve, smooth. ``drawing.codes`` are those of the zones afterwards.

    Parameters
    ----------
    least_m2 : parts smaller than this are merged, m2.
    smoothing_m : tolerance of the simplification of shared edges, m; 0 = none.
    most_change : largest change of a zone's area by smoothing, as a share of it.
    kept_apart : classes that are never merged into another.
    """
    grid, share = drawing.grid, drawing.share
    codes = drawing.codes
    _give_edge(codes, share)
    give_back()
    merged, merged_m2 = merge_regions(codes, share, grid.cell_m**2, least_m2, kept_apart)
    give_back()
    parts, kinds = class_polygons(codes, grid, share.outline)
    if not len(parts):
        return Outlines(np.zeros(0, int), np.array([], object), np.zeros(0), 0, 0.0, 0.0, share.asked_m2)
    parts, kinds = from_north_west(parts, kinds)
    kinds, more, more_m2 = _merge_parts(parts, kinds, least_m2, kept_apart)
    present = np.unique(kinds)
    shapes = np.array([_in_one(parts[kinds == code], more) for code in present], object)
    del parts
    give_back()
    _must_tile(shapes, "before smoothing")
    before = shapely.area(shapes)
    shapes, used = _smoothed(shapes, smoothing_m, most_change, before)
    outside = max(share.asked_m2 - before.sum(), 0.0)
    return Outlines(present.astype(int), shapes, before, merged + more, merged_m2 + more_m2, used, outside)


def _give_edge(codes: np.ndarray, share: SurveyShare) -> None:
    """Take the codes outside the survey away; squares that its outline cuts and that have none take that of the nearest square.

    Surfaces and terrain end with the last cell whose centre lies inside; the survey area does not.
    """
    from scipy.ndimage import distance_transform_edt

    given = []  # written when all windows were looked at: what was given is not handed on
    for window in share.grid.windows(WINDOW):
        part = share.read(window)
        cut = (codes[window.slices] == 0) & (part > 0) & (part < 1 - 1e-6)
        if not cut.any():
            continue
        top, left = max(0, window.row - 2), max(0, window.column - 2)
        around = codes[top : window.row + window.height + 2, left : window.column + window.width + 2]
        if not around.any():
            continue
        distance, (row, column) = distance_transform_edt(around == 0, return_indices=True)
        down, across = window.row - top, window.column - left
        inner = slice(down, down + window.height), slice(across, across + window.width)
        fill = cut & (distance[inner] < 1.5)  # neighbours, corners included
        given.append((window.slices, fill, around[row, column][inner][fill]))
    for window in share.grid.windows(WINDOW):
        codes[window.slices][share.read(window) == 0] = 0
    for place, fill, own in given:
        codes[place][fill] = own


def _merge_parts(parts, kinds, least, kept_apart):
    """The same for what the survey's outline has cut off: parts below the least area take the class of a neighbour."""
    area = shapely.area(parts)
    least *= 1 - 1e-6  # whole squares of just the least area may measure a little less in millimetres
    small = np.flatnonzero(area < least)
    if not len(small):
        return kinds, 0, 0.0
    tree = shapely.STRtree(parts)
    one, other = tree.query(parts[small], predicate="intersects")
    one = small[one]
    # an edge between two small parts is found from both sides
    once = (one != other) & ((area[other] >= least) | (one < other))
    one, other = one[once], other[once]
    length = shapely.length(shapely.intersection(shapely.boundary(parts[one]), shapely.boundary(parts[other])))
    owner = merge_small(area, np.stack([one, other]), length, least, kinds, kept_apart)
    changed = kinds[owner] != kinds
    return kinds[owner], int(changed.sum()), float(area[changed].sum())


def _in_one(parts: np.ndarray, merged: int) -> shapely.MultiPolygon:
    """One class; the parts meet along an edge only where some were ``merged``."""
    if merged:
        parts = shapely.get_parts(shapely.coverage_union_all(parts))
        parts, _ = from_north_west(parts, np.zeros(len(parts), int))
    return shapely.multipolygons(begun_alike(parts))


def _smoothed(shapes, tolerance, most_change, before):
    """Shared edges simplified once for both sides; the survey's outline stays as it is."""
    least = tolerance / 8
    while tolerance > least:
        simpler = shapely.coverage_simplify(shapes, tolerance, simplify_boundary=False)
        change = np.abs(shapely.area(simpler) / before - 1).max()
        if change <= most_change and shapely.coverage_is_valid(shapely.get_parts(simpler)) and shapely.is_valid(simpler).all():
            return np.array([_multi(shape) for shape in simpler], object), tolerance
        tolerance *= 0.75
    return shapes, 0.0


def _must_tile(shapes: np.ndarray, when: str) -> None:
    if not (shapely.is_valid(shapes).all() and shapely.coverage_is_valid(shapely.get_parts(shapes))):
        raise GeoprofileError(
            f"zones do not tile the survey area {when}", remedy="report this with the survey: it is our fault"
        )


def _multi(shape: shapely.Geometry) -> shapely.MultiPolygon:
    return shapely.MultiPolygon([part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"])
