"""From one class a cell to MultiPolygons that tile the survey area: no gap, no overlap, none invalid.

Cells that touch only at a corner are apart (four neighbours). The outlines are
noded together with the survey's outline, so that neighbours share every vertex of
their common edge; from there on the zones are handled as one coverage.
"""

from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import shapely

from .. import environment as _environment  # noqa: F401
from ..errors import GeoprofileError
from ..grid import Grid
from ..overlay import cells_in
from .draft import Draft
from .merging import merge_small

NODE_M = 0.001
"""Coordinates are brought to whole millimetres once, before anything is overlaid."""


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
    kept: float = 1.0
    """Share of the mapped land that keeps the class it had before small areas were merged."""


def outline_zones(
    draft: Draft, area: shapely.Geometry | None, *, least_m2: float, smoothing_m: float, most_change: float
) -> Outlines:
    """Merge, vectorise, clip to the survey area, dissolve, smooth.

    Parameters
    ----------
    area : the survey area in the grid's system, None = all cells with a class.
    least_m2 : parts smaller than this are merged, m2.
    smoothing_m : tolerance of the simplification of shared edges, m; 0 = none.
    most_change : largest change of a zone's area by smoothing, as a share of it.
    """
    grid = draft.grid
    if area is not None:
        area = shapely.set_precision(area, NODE_M)
    weight = _share_of_survey(area, grid)
    codes = np.where(weight > 0, _with_edge(draft.codes, weight), 0)
    drawn = codes
    codes, merged, merged_m2 = merge_regions(codes, weight * grid.cell_m**2, least_m2, draft.kept_apart)
    land = weight * (drawn > 0)
    kept = float((land * (codes == drawn)).sum() / max(land.sum(), 1e-9))
    faces, kinds = _faces(codes, grid, area)
    if not len(faces):
        empty = np.array([], object)
        return Outlines(np.zeros(0, int), empty, np.zeros(0), 0, 0.0, 0.0, 0.0 if area is None else area.area)
    faces, kinds, more, more_m2 = _merge_faces(faces, kinds, least_m2, draft.kept_apart)
    present = np.unique(kinds)
    shapes = np.array([_multi(shapely.coverage_union_all(faces[kinds == code])) for code in present], object)
    _must_tile(shapes, "before smoothing")
    before = shapely.area(shapes)
    shapes, used = _smoothed(shapes, smoothing_m, most_change, before)
    outside = 0.0 if area is None else max(area.area - before.sum(), 0.0)
    return Outlines(present, shapes, before, merged + more, merged_m2 + more_m2, used, outside, kept)


def merge_regions(
    codes: np.ndarray, cell_area: np.ndarray, least: float, kept_apart: frozenset[int] = frozenset()
) -> tuple[np.ndarray, int, float]:
    """Regions of cells (four neighbours) smaller than ``least`` take the class of the longest shared edge.

    ``cell_area``: (height, width) area that each cell counts for. Returns the
    codes, how many regions were merged and their area.
    """
    if least <= 0:
        return codes, 0, 0.0
    label, kind = label_regions(codes)
    area = np.bincount(label.ravel(), cell_area.ravel(), len(kind))
    area[0] = np.inf  # what is not mapped
    pairs = []
    for a, b in ((label[:, :-1], label[:, 1:]), (label[:-1], label[1:])):
        differ = (a != b) & (a > 0) & (b > 0)
        pairs.append(np.stack([np.minimum(a[differ], b[differ]), np.maximum(a[differ], b[differ])], axis=1))
    edges, length = np.unique(np.concatenate(pairs), axis=0, return_counts=True)
    owner = merge_small(area, ((int(a), int(b), float(n)) for (a, b), n in zip(edges, length)), least, kind, kept_apart)
    changed = kind[owner] != kind
    return kind[owner][label], int(changed.sum()), float(area[changed].sum())


def label_regions(codes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Labels 1.. of four-connected regions of one class, 0 where the code is 0; and the class of each label."""
    from scipy.ndimage import label

    labels, kinds = np.zeros(codes.shape, np.int64), [0]
    for code in np.unique(codes[codes != 0]):
        found, count = label(codes == code)
        labels[found > 0] = found[found > 0] + len(kinds) - 1
        kinds += [int(code)] * count
    return labels, np.array(kinds)


def _share_of_survey(area: shapely.Geometry | None, grid: Grid) -> np.ndarray:
    if area is None:
        return np.ones(grid.shape)
    cells = cells_in(gpd.GeoSeries([area], crs=grid.crs), grid)
    share = np.zeros(grid.height * grid.width)
    index, part = cells.of(0)
    share[index] = part
    return share.reshape(grid.shape)


def _with_edge(codes: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Cells that the survey's outline cuts and that have no class of their own take that of the cell nearest to them.

    Surfaces and terrain end with the last cell whose centre lies inside; the survey area does not.
    """
    from scipy.ndimage import distance_transform_edt

    if not (codes > 0).any():
        return codes
    cut = (codes == 0) & (weight > 0) & (weight < 1 - 1e-9)
    distance, (row, column) = distance_transform_edt(codes == 0, return_indices=True)
    fill = cut & (distance < 1.5)  # neighbours, corners included
    return np.where(fill, codes[row, column], codes)


def _faces(codes: np.ndarray, grid: Grid, area: shapely.Geometry | None) -> tuple[np.ndarray, np.ndarray]:
    """Faces between all outlines, each with the class of the cell under it."""
    import rasterio
    from rasterio.features import shapes

    found = shapes(codes.astype(np.int32), mask=codes != 0, connectivity=4, transform=rasterio.Affine(*grid.transform))
    rings = [shapely.LinearRing(ring) for shape, _ in found for ring in shape["coordinates"]]
    if area is not None:
        rings.append(shapely.boundary(area))
    if not rings:
        return np.array([], object), np.zeros(0, int)
    lines = shapely.union_all(np.array(rings, object), grid_size=NODE_M)
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(lines)))
    inside = shapely.point_on_surface(faces)
    row, column, on_grid = grid.cells_of(shapely.get_x(inside), shapely.get_y(inside))
    kind = np.where(on_grid, codes[row, column], 0)
    keep = kind != 0
    if area is not None:
        shapely.prepare(area)
        keep &= shapely.contains(area, inside)
    return faces[keep], kind[keep]


def _merge_faces(faces, kinds, least, kept_apart):
    """The same for what the survey's outline has cut off: parts below the least area join a neighbour."""
    parts, part_kinds = [], []
    for code in np.unique(kinds):
        united = shapely.get_parts(shapely.coverage_union_all(faces[kinds == code]))
        parts.extend(united)
        part_kinds += [code] * len(united)
    parts, part_kinds = np.array(parts, object), np.array(part_kinds)
    area = shapely.area(parts)
    small = np.flatnonzero(area < least)
    if not len(small):
        return parts, part_kinds, 0, 0.0
    tree = shapely.STRtree(parts)
    one, other = tree.query(parts[small], predicate="intersects")
    one = small[one]
    # an edge between two small parts is found from both sides
    once = (one != other) & ((area[other] >= least) | (one < other))
    one, other = one[once], other[once]
    length = shapely.length(shapely.intersection(shapely.boundary(parts[one]), shapely.boundary(parts[other])))
    owner = merge_small(area, zip(one.tolist(), other.tolist(), length.tolist()), least, part_kinds, kept_apart)
    changed = part_kinds[owner] != part_kinds
    return parts, part_kinds[owner], int(changed.sum()), float(area[changed].sum())


def _smoothed(shapes, tolerance, most_change, before):
    """Shared edges simplified once for both sides; the survey's outline stays as it is."""
    least = tolerance / 8
    while tolerance > least:
        simpler = shapely.coverage_simplify(shapes, tolerance, simplify_boundary=False)
        change = np.abs(shapely.area(simpler) / before - 1).max()
        if change <= most_change and shapely.coverage_is_valid(simpler) and shapely.is_valid(simpler).all():
            return np.array([_multi(shape) for shape in simpler], object), tolerance
        tolerance *= 0.75
    return shapes, 0.0


def _must_tile(shapes: np.ndarray, when: str) -> None:
    if not (shapely.is_valid(shapes).all() and shapely.coverage_is_valid(shapes)):
        raise GeoprofileError(
            f"zones do not tile the survey area {when}", remedy="report this with the survey: it is our fault"
        )


def _multi(shape: shapely.Geometry) -> shapely.MultiPolygon:
    return shapely.MultiPolygon([part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"])
