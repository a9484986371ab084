"""Where to dig next, so that no land lies far from a pit: spatial coverage.

The mean squared shortest distance from the land's cells to a pit is made small by
k-means on the cells' centres; pits that are there already are centres that do not
move (Walvoort, Brus & de Gruijter 2010, Computers & Geosciences 36:1261-1267).
It looks at distance only: access, buried lines and owners are the surveyor's affair.
"""

from __future__ import annotations

import numpy as np

from ..errors import InputError
from .chosen import Chosen

MOST_CELLS = 20_000
"""More cells than this are thinned with the seed; pits are still placed on the centre of a cell."""
STARTS = 10
MOST_ROUNDS = 200
MEASURE = "mean squared distance to the nearest pit"


def fill_gaps(
    cells: np.ndarray, existing: np.ndarray, number: int, seed: int = 1, allowed: np.ndarray | None = None
) -> Chosen:
    """Places for ``number`` further pits; the measure is :data:`MEASURE`, m2.

    Parameters
    ----------
    cells : (m, 2) centres of the cells of the land to be covered, m.
    existing : (n, 2) places of pits that are there, m; may be empty.
    number : how many places are wanted, at most as many as allowed cells.
    seed : of the starts; the same seed gives the same places.
    allowed : (m,) bool, the cells in which a pit may be dug; default all.

    Raises InputError where there are fewer cells than places wanted.
    """
    cells = np.asarray(cells, float).reshape(-1, 2)
    existing = np.asarray(existing, float).reshape(-1, 2)
    allowed = np.ones(len(cells), bool) if allowed is None else np.asarray(allowed, bool)
    refuse_too_many(number, int(allowed.sum()))
    rng = np.random.default_rng(seed)
    origin = cells.mean(axis=0)  # large coordinates lose digits when squared
    pits, most = existing - origin, max(MOST_CELLS, 20 * number)
    land, sites = thinned(cells, most, rng) - origin, thinned(cells[allowed], most, rng) - origin
    fixed = shortest_squared(land, pits)
    best, best_score = None, np.inf
    for _ in range(STARTS):
        centres = _moved(land, fixed, _start(land, fixed, number, rng))
        centres = _on_sites(centres, sites)
        if not allowed.all():
            # among sites the one nearest the middle is best for the land that is nearest to it
            centres = _on_sites(_moved(land, fixed, centres, sites), sites)
        score = float(np.minimum(fixed, shortest_squared(land, centres)).mean())
        if score < best_score:
            best, best_score = centres, score
    order, gains = _by_gain(land, fixed, best)
    before = float(fixed.mean()) if len(pits) else float("nan")
    return Chosen(best[order] + origin, gains, before, best_score, MEASURE, "m2")


def refuse_too_many(number: int, room: int) -> None:
    """Raises InputError where ``room`` cells cannot hold ``number`` pits."""
    if not 1 <= number <= room:
        raise InputError(
            "there is no room for so many pits", found=f"{number} pits, {room} cells in which one may be dug",
            allowed=f"1 to {room}" if room else "at least one cell that is not excluded",
            remedy="ask for fewer pits, use a finer grid, or widen the access",
        )  # fmt: skip


def thinned(cells: np.ndarray, most: int, rng: np.random.Generator) -> np.ndarray:
    """At most ``most`` of the rows, in their order, drawn at random."""
    return cells if len(cells) <= most else cells[np.sort(rng.choice(len(cells), most, replace=False))]


def shortest_squared(cells: np.ndarray, places: np.ndarray) -> np.ndarray:
    """(m,) squared distance from each cell to the nearest place, inf where there is none."""
    from scipy.spatial import cKDTree

    if not len(places):
        return np.full(len(cells), np.inf)
    return cKDTree(places).query(cells)[0] ** 2


def _start(land: np.ndarray, fixed: np.ndarray, number: int, rng: np.random.Generator) -> np.ndarray:
    """Starting centres drawn where land is far from what is there (Arthur & Vassilvitskii 2007)."""
    nearest, centres = fixed.copy(), []
    for _ in range(number):
        if np.isinf(nearest).all():
            chosen = rng.integers(len(land))
        else:
            total = nearest.sum()
            chosen = rng.choice(len(land), p=nearest / total) if total > 0 else rng.integers(len(land))
        centres.append(land[chosen])
        nearest = np.minimum(nearest, ((land - land[chosen]) ** 2).sum(axis=1))
    return np.array(centres)


def _moved(land: np.ndarray, fixed: np.ndarray, centres: np.ndarray, sites: np.ndarray | None = None) -> np.ndarray:
    """Each new centre to the middle of the land that is nearer to it than to any other, until nothing moves.

    With ``sites`` it goes to the one nearest to that middle.
    """
    from scipy.spatial import cKDTree

    tree = None if sites is None else cKDTree(sites)

    for _ in range(MOST_ROUNDS):
        distance, owner = cKDTree(centres).query(land)
        own = distance**2 < fixed
        count = np.bincount(owner[own], minlength=len(centres))
        sums = np.stack([np.bincount(owner[own], land[own, axis], len(centres)) for axis in (0, 1)], axis=1)
        moved = np.where(count[:, None] > 0, sums / np.maximum(count, 1)[:, None], centres)
        if tree is not None:
            moved = sites[tree.query(moved)[1]]
        if np.abs(moved - centres).max() < 1e-6:
            break
        centres = moved
    return centres


def _on_sites(centres: np.ndarray, sites: np.ndarray) -> np.ndarray:
    """The nearest cell that may be dug: the middle of a crescent may lie outside the land. No cell twice."""
    from scipy.spatial import cKDTree

    tree, taken, placed = cKDTree(sites), set(), []
    for centre in centres:
        near = np.atleast_1d(tree.query(centre, k=min(len(taken) + 1, len(sites)))[1])
        cell = next(int(one) for one in near if int(one) not in taken)
        taken.add(cell)
        placed.append(sites[cell])
    return np.array(placed)


def _by_gain(land: np.ndarray, fixed: np.ndarray, centres: np.ndarray) -> tuple[list[int], np.ndarray]:
    """Places in the order in which each next one helps most, and by how much."""
    nearest, left, order, gains = fixed, list(range(len(centres))), [], []
    squared = {one: ((land - centres[one]) ** 2).sum(axis=1) for one in left}
    while left:
        after = {one: float(np.minimum(nearest, squared[one]).mean()) for one in left}
        chosen = min(left, key=lambda one: (after[one], one))
        before = float(nearest.mean())
        gains.append(before - after[chosen] if np.isfinite(before) else np.nan)
        nearest = np.minimum(nearest, squared[chosen])
        order.append(chosen)
        left.remove(chosen)
    return order, np.array(gains)
