"""From one class a cell to MultiPolygons that tile the survey area: no gap, no overlap, none invalid.

Cells that touch only at a corner are apart (four neighbours). The outlines are
noded together with the survey's outline, so that neighbours share every vertex of
their common edge; from there on the zones are handled as one coverage.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from .. import environment as _environment  # noqa: F401
from ..errors import GeoprofileError
from ..grid import Grid
from ..overlay import Land
from .drawing import Drawing, regions_fit
from .merging import merge_small

NODE_M = 0.001
"""Coordinates are brought to whole millimetres once, before anything is overlaid."""

STRIP_SQUARES = 2_000_000


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
    final: np.ndarray
    """(height, width) code of each square of the drawing after small areas were merged."""
    share: np.ndarray
    """(height, width) share of each square that lies in the survey."""


def outline_zones(
    drawing: Drawing, area: shapely.Geometry | None, *, least_m2: float, smoothing_m: float, most_change: float,
    kept_apart: frozenset[int] = frozenset(),
) -> Outlines:  # fmt: skip
    """Merge, vectorise, clip to the survey area, dissolve, smooth.

    Parameters
    ----------
    area : the survey area in the grid's system, None = all cells with a class.
    least_m2 : parts smaller than this are merged, m2.
    smoothing_m : tolerance of the simplification of shared edges, m; 0 = none.
    most_change : largest change of a zone's area by smoothing, as a share of it.
    kept_apart : classes that are never merged into another.
    """
    grid, asked = drawing.grid, area
    if area is not None:
        area = shapely.set_precision(area, NODE_M)
    if grid.bounds != drawing.cells.bounds:  # the last squares reach beyond the cells
        whole = shapely.box(*drawing.cells.bounds)
        area = whole if area is None else shapely.set_precision(shapely.intersection(area, whole), NODE_M)
    share = share_of_survey(area, grid)
    codes = _with_edge(drawing.codes, share)
    codes, merged, merged_m2 = merge_regions(codes, share, grid.cell_m**2, least_m2, kept_apart)
    faces, kinds = _faces(codes, grid, area)
    if not len(faces):
        empty = np.array([], object)
        return Outlines(np.zeros(0, int), empty, np.zeros(0), 0, 0.0, 0.0, 0.0 if asked is None else asked.area, codes, share)
    faces, kinds, more, more_m2 = _merge_faces(faces, kinds, least_m2, kept_apart)
    present = np.unique(kinds)
    shapes = np.array([_multi(shapely.coverage_union_all(faces[kinds == code])) for code in present], object)
    _must_tile(shapes, "before smoothing")
    before = shapely.area(shapes)
    shapes, used = _smoothed(shapes, smoothing_m, most_change, before)
    outside = 0.0 if asked is None else max(asked.area - before.sum(), 0.0)
    return Outlines(present, shapes, before, merged + more, merged_m2 + more_m2, used, outside, codes, share)


def merge_regions(
    codes: np.ndarray, share: np.ndarray, cell_m2: float, least: float, kept_apart: frozenset[int] = frozenset()
) -> tuple[np.ndarray, int, float]:
    """Regions of cells (four neighbours) smaller than ``least`` take the class of the longest shared edge.

    ``share``: (height, width) share of each cell that counts; ``cell_m2``: its area. Returns the
    codes, how many regions were merged and their area. Raises InputError where the patches are
    more than memory holds.
    """
    if least <= 0:
        return codes, 0, 0.0
    label, kind = label_regions(codes)
    regions_fit(codes.size, len(kind))
    area, strips = np.zeros(len(kind)), _strips(codes)
    for rows in strips:
        area += np.bincount(label[rows].ravel(), share[rows].ravel() * cell_m2, len(kind))
    area[0] = np.inf  # what is not mapped
    edges, length = _shared_edges(label, strips)
    owner = merge_small(area, ((int(a), int(b), float(n)) for (a, b), n in zip(edges, length)), least, kind, kept_apart)
    changed = kind[owner] != kind
    return kind[owner].astype(codes.dtype)[label], int(changed.sum()), float(area[changed].sum())


def _shared_edges(label: np.ndarray, strips: list[slice]) -> tuple[np.ndarray, np.ndarray]:
    """(e, 2) labels of regions that meet, ascending, and along how many cell sides (e,)."""
    found, counts = np.zeros((0, 2), np.int64), np.zeros(0, np.int64)
    for rows in strips:
        part, below = label[rows], label[rows.start : rows.stop + 1]
        pairs = []
        for a, b in ((part[:, :-1], part[:, 1:]), (below[:-1], below[1:])):
            differ = (a != b) & (a > 0) & (b > 0)
            pairs.append(np.stack([np.minimum(a[differ], b[differ]), np.maximum(a[differ], b[differ])], axis=1))
        edges, number = np.unique(np.concatenate(pairs), axis=0, return_counts=True)
        found, back = np.unique(np.concatenate([found, edges]), axis=0, return_inverse=True)
        counts = np.bincount(back.ravel(), np.concatenate([counts, number]), len(found)).astype(np.int64)
    return found, counts


def _strips(codes: np.ndarray) -> list[slice]:
    """Rows that are looked at together, so that what is held beside the codes stays small."""
    height = max(1, STRIP_SQUARES // max(codes.shape[1], 1))
    return [slice(row, min(row + height, len(codes))) for row in range(0, len(codes), height)]


def label_regions(codes: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Labels 1.. of four-connected regions of one class, 0 where the code is 0; and the class of each label."""
    from scipy.ndimage import label

    labels, kinds = np.zeros(codes.shape, np.int32), [0]
    for code in np.flatnonzero(np.bincount(codes.ravel(), minlength=1)).tolist():
        if code:
            found, count = label(codes == code)
            np.add(found, len(kinds) - 1, out=found, where=found > 0)
            labels += found
            kinds += [code] * count
    return labels, np.array(kinds)


def share_of_survey(area: shapely.Geometry | None, grid: Grid) -> np.ndarray:
    """(height, width) float32 share of each square inside the survey area; 1 where none is named."""
    if area is None:
        return np.broadcast_to(np.float32(1), grid.shape)
    share, land = np.zeros(grid.shape, np.float32), Land(area, grid)
    for window in land.windows():
        share[window.slices] = land.shares(window)
    return share


def _with_edge(codes: np.ndarray, share: np.ndarray) -> np.ndarray:
    """The codes inside the survey. Squares that its outline cuts and that have no class take that of the nearest square.

    Surfaces and terrain end with the last cell whose centre lies inside; the survey area does not.
    """
    from scipy.ndimage import distance_transform_edt

    out = np.where(share > 0, codes, 0).astype(codes.dtype)
    for window in Grid("", 0, 0, 1, *codes.shape).windows(1024):
        part = share[window.slices]
        cut = (codes[window.slices] == 0) & (part > 0) & (part < 1 - 1e-6)
        top, left = max(0, window.row - 2), max(0, window.column - 2)
        around = codes[top : window.row + window.height + 2, left : window.column + window.width + 2]
        if not cut.any() or not around.any():
            continue
        distance, (row, column) = distance_transform_edt(around == 0, return_indices=True)
        inner = slice(window.row - top, window.row - top + window.height), slice(window.column - left, window.column - left + window.width)
        fill = cut & (distance[inner] < 1.5)  # neighbours, corners included
        out[window.slices][fill] = around[row, column][inner][fill]
    return out


def _faces(codes: np.ndarray, grid: Grid, area: shapely.Geometry | None) -> tuple[np.ndarray, np.ndarray]:
    """Faces between all outlines, each with the class of the cell under it."""
    import rasterio
    from rasterio.features import shapes

    found = shapes(codes, mask=codes != 0, connectivity=4, transform=rasterio.Affine(*grid.transform))
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
