"""Parts for validation: as far from their pits as the map is from its own.

Nearest-neighbour-distance matching (Linnenbrink et al. 2024, Geosci. Model Dev.
17:5897-5912): a good part leaves its pits about as far from the pits that remain as
the mapped cells are from their nearest pit. Pits are clustered into more or fewer
compact groups, the groups are dealt to the parts, and the number of groups is kept
whose distances come nearest to those of the cells (first Wasserstein distance). Where
pits lie evenly the best number is every pit by itself, and the parts are random;
where they are clustered whole clusters leave together.

Repeats of a place, and places nearer than a cell of the map (or than a quarter of the
mean spacing, if that is less), stay in one part always.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..grid import Grid

CANDIDATES = 24
"""Numbers of groups tried, from as many as parts to as many as places, evenly on a log scale."""
MOST_TARGETS = 2000
LARGEST_PART = 0.5
"""No part holds more than this share of the places (Linnenbrink et al. 2024)."""


@dataclass(frozen=True)
class Targets:
    """The places that are mapped: ``points`` (m, 2) in m, ``codes`` (m,) of their strata, ``cell_m`` between them."""

    points: np.ndarray
    codes: np.ndarray
    cell_m: float

    @classmethod
    def of(cls, grid: Grid, strata: np.ndarray, wanted: np.ndarray) -> Targets:
        """An even sample of the ``wanted`` cells, (grid.shape) bool; ``strata`` (grid.shape) codes."""
        return cls.among(grid.centre_points()[wanted.ravel()], strata.ravel()[wanted.ravel()], grid.cell_m)

    @classmethod
    def among(cls, points: np.ndarray, codes: np.ndarray, cell_m: float) -> Targets:
        """An even sample of mapped places (m, 2) and the codes (m,) of their strata."""
        cells = np.linspace(0, len(points) - 1, min(len(points), MOST_TARGETS)).astype(int)
        return cls(points[cells], codes[cells], cell_m)


@dataclass(frozen=True)
class Parts:
    """``labels`` (n,) part of each observation; ``words`` how the parts came about, with distances; ``places`` (n,)."""

    labels: np.ndarray
    words: str
    places: np.ndarray
    """(n,) number of the place of each observation: repeats share one."""

    def __len__(self) -> int:
        return len(np.unique(self.labels))


def location_parts(
    points: np.ndarray, codes: np.ndarray, targets: Targets, folds: int, seed: int, split: bool = False
) -> Parts:
    """Parts of the headline score; stratum by stratum where no pit informs another stratum (``split``)."""
    labels, places = np.zeros(len(points), dtype=int), np.zeros(len(points), dtype=int)
    found, wanted = [], []
    for own, cells in _groups(codes, targets, split):
        units = _units(points[own], targets.cell_m)
        places[own] = units + places.max() + 1
        labels[own], distances = _matched(points[own], cells, units, folds, seed)
        found.append(distances[0])
        wanted.append(distances[1])
    found, wanted = np.concatenate(found), np.concatenate(wanted)
    if not len(wanted) or not len(found):
        return Parts(labels, "parts by location", places)
    return Parts(
        labels,
        f"parts matched by distance: half of the pits lie within {_metres(found)} m of one that remains, "
        f"half of the cells within {_metres(wanted)} m of a pit",
        places,
    )


def random_parts(
    points: np.ndarray, codes: np.ndarray, targets: Targets, folds: int, seed: int, split: bool = False
) -> Parts:
    """Parts at random, nearly equal; places nearer than a cell together."""
    labels, places = np.zeros(len(points), dtype=int), np.zeros(len(points), dtype=int)
    for own, _ in _groups(codes, targets, split):
        units = _units(points[own], targets.cell_m)
        places[own] = units + places.max() + 1
        labels[own] = _dealt(units, _number(units, folds), seed)
    return Parts(labels, "", places)


def _groups(codes: np.ndarray, targets: Targets, split: bool):
    """Indices of the places, and the target points, of each stratum; of all at once where strata are one."""
    if not split:
        yield np.arange(len(codes)), targets.points
        return
    for code in np.unique(codes):
        yield np.flatnonzero(codes == code), targets.points[targets.codes == code]


def _units(points: np.ndarray, cell_m: float) -> np.ndarray:
    """(n,) number of the place each observation belongs to: chains of steps shorter than a cell, see the head."""
    import shapely
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    centred = points - points.mean(axis=0)
    spacing = np.sqrt(shapely.MultiPoint(centred).convex_hull.area / len(points)) or cell_m
    tree = cKDTree(centred)
    step = max(0.999 * min(cell_m, spacing / 4), 1e-6)
    near = tree.sparse_distance_matrix(tree, step, output_type="coo_matrix")
    near.data[:] = 1
    return connected_components(near, directed=False)[1]


def _number(units: np.ndarray, folds: int) -> int:
    """Parts that so many places bear: ``folds``, at most a third as many as places, at least two."""
    count = int(units.max()) + 1
    return min(count, max(2, min(folds, count // 3)))


def _dealt(units: np.ndarray, parts: int, seed: int) -> np.ndarray:
    """Units dealt to parts: the larger first, equals in random order, each to the smallest part so far."""
    sizes = np.bincount(units)
    order = np.random.default_rng(seed).permutation(len(sizes))
    order = order[np.argsort(-sizes[order], kind="stable")]
    held, part_of = np.zeros(parts, dtype=int), np.empty(len(sizes), dtype=int)
    for unit in order:
        part_of[unit] = int(np.argmin(held))
        held[part_of[unit]] += sizes[unit]
    return part_of[units]


def _matched(
    points: np.ndarray, cells: np.ndarray, units: np.ndarray, folds: int, seed: int
) -> tuple[np.ndarray, tuple[np.ndarray, np.ndarray]]:
    """Part of each place, and the two lots of distances that were matched, m."""
    from scipy.cluster.hierarchy import fcluster, linkage
    from scipy.spatial import cKDTree
    from scipy.stats import wasserstein_distance

    none = np.empty(0)
    count = int(units.max()) + 1
    if count < 2:
        return np.zeros(len(points), dtype=int), (none, none)
    centred = points - points.mean(axis=0)
    parts = _number(units, folds)
    random = _dealt(units, parts, seed)
    if count < 4 or not len(cells):
        return random, (none, none)
    wanted = cKDTree(centred).query(cells - points.mean(axis=0))[0]
    middles = np.column_stack([np.bincount(units, centred[:, axis]) for axis in (0, 1)]) / np.bincount(units)[:, None]
    tree = linkage(middles, "average")
    best, least, distances = random, np.inf, none
    for groups in np.unique(np.geomspace(parts, count, CANDIDATES).astype(int))[::-1]:
        clusters = fcluster(tree, groups, "maxclust") - 1
        labels = random if groups == count else _dealt(clusters[units], parts, seed)
        if np.bincount(labels).max() > LARGEST_PART * len(labels) and groups != count:
            continue
        away = _to_other_parts(centred, labels)
        mismatch = wasserstein_distance(away, wanted)
        if mismatch < least:
            best, least, distances = labels, mismatch, away
    return best, (distances, wanted)


def _to_other_parts(points: np.ndarray, labels: np.ndarray) -> np.ndarray:
    """(n,) distance of each place to the nearest one of another part."""
    from scipy.spatial import cKDTree

    away = np.empty(len(points))
    for part in np.unique(labels):
        own = labels == part
        away[own] = cKDTree(points[~own]).query(points[own])[0]
    return away


def _metres(distances: np.ndarray) -> str:
    return f"{float(np.median(distances)):.0f}"
