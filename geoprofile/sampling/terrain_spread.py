"""Where to dig next, so that the pits see all that the terrain does: a conditioned Latin hypercube.

With n pits in all, existing ones counted, every terrain raster is cut at its quantiles into
n strata of equal area; a good layout has one pit in each (Minasny & McBratney 2006,
Computers & Geosciences 32:1378-1388; kernels/design.py). It fits surfaces that follow
terrain; Wadoux, Brus & Heuvelink 2019 (Geoderma 355:113913) compare it with others.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..kernels.design import anneal, objective
from .chosen import Chosen
from .coverage import refuse_too_many

MEASURE = "strata of the terrain without their one pit, with what classes and correlations are off"
MOST_CELLS = 50_000
ROUNDS = 60_000


@dataclass(frozen=True)
class TerrainOfCells:
    """``numbers`` (m, p) and ``classes`` (m,) codes, 0 = none; ``names`` of the columns and, last, of the classes."""

    numbers: np.ndarray
    classes: np.ndarray | None
    names: tuple[str, ...]


def spread_over_terrain(
    cells: np.ndarray,
    terrain: TerrainOfCells,
    existing: TerrainOfCells,
    number: int,
    seed: int = 1,
    allowed: np.ndarray | None = None,
) -> Chosen:
    """Places for ``number`` further pits.

    Parameters
    ----------
    cells : (m, 2) centres of the cells of the land, m, with their ``terrain``; NaN is left out.
    existing : the terrain at the pits that are there, (n, p) and (n,); NaN is not counted.
    allowed : (m,) bool, the cells in which a pit may be dug; default all.

    Raises InputError where there are fewer cells than places wanted.
    """
    rng = np.random.default_rng(seed)
    known = np.isfinite(terrain.numbers).all(axis=1)
    allowed = known if allowed is None else known & np.asarray(allowed, bool)
    refuse_too_many(number, int(allowed.sum()))
    land = _some(np.flatnonzero(known), MOST_CELLS, rng)
    sites = _some(np.flatnonzero(allowed), max(MOST_CELLS, number), rng)
    every = np.union1d(land, sites)
    pits = np.isfinite(existing.numbers).all(axis=1)
    design = _Design(terrain, land, every, existing.numbers[pits], None if existing.classes is None else existing.classes[pits], number)
    start = np.searchsorted(every, rng.choice(sites, number, replace=False))
    best, _ = anneal(
        design.strata, design.values, design.classes, np.searchsorted(every, sites), start,
        *design.counted(start), design.land_shares, design.land_correlation, design.fixed, ROUNDS, rng,
    )  # fmt: skip
    order, gains, before, after = design.by_gain(best)
    note = f"spread over {', '.join(terrain.names)}: {design.fixed} existing and {number} new pits, so many strata a raster"
    return Chosen(cells[every[order]], gains, before, after, MEASURE, "", (note,))


class _Design:
    """Strata, values and classes of the cells, and what the existing pits already hold."""

    def __init__(self, terrain: TerrainOfCells, land, every, pit_numbers, pit_classes, number: int) -> None:
        whole = terrain.numbers[land]
        self.fixed, strata = len(pit_numbers), len(pit_numbers) + number
        middle, spread = whole.mean(axis=0), whole.std(axis=0)
        spread[spread == 0] = 1.0
        edges = np.quantile(whole, np.arange(1, strata) / strata, axis=0)
        self.strata = _strata(terrain.numbers[every], edges)
        self.values = (terrain.numbers[every] - middle) / spread
        self.pit_strata, self.pit_values = _strata(pit_numbers, edges), (pit_numbers - middle) / spread
        self.number_of_strata = strata
        with np.errstate(invalid="ignore", divide="ignore"):
            self.land_correlation = np.nan_to_num(np.atleast_2d(np.corrcoef(whole, rowvar=False)))
        codes = np.zeros(len(terrain.numbers), int) if terrain.classes is None else terrain.classes.astype(int)
        kinds = np.unique(codes[land]) if terrain.classes is not None else np.zeros(0, int)
        self.land_shares = np.array([(codes[land] == kind).mean() for kind in kinds])
        self.classes = np.searchsorted(kinds, codes[every]).clip(0, max(len(kinds) - 1, 0))
        own = np.zeros(self.fixed, int) if pit_classes is None else pit_classes.astype(int)
        self.pit_in_class = np.array([(own == kind).sum() for kind in kinds], float)

    def counted(self, chosen: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
        """Counts by stratum and class, sums and products, over existing pits and ``chosen`` cells."""
        strata = np.vstack([self.pit_strata, self.strata[chosen]])
        values = np.vstack([self.pit_values, self.values[chosen]])
        counts = np.stack([np.bincount(column, minlength=self.number_of_strata) for column in strata.T])
        in_class = self.pit_in_class.copy()
        if len(in_class):
            in_class += np.bincount(self.classes[chosen], minlength=len(in_class))
        return counts.astype(float), in_class, values.sum(axis=0), values.T @ values

    def misfit(self, chosen: np.ndarray) -> float:
        parts = objective(
            *self.counted(chosen), self.fixed + len(chosen), self.land_shares, self.land_correlation
        )  # fmt: skip
        return float(parts.sum())

    def by_gain(self, chosen: np.ndarray) -> tuple[np.ndarray, np.ndarray, float, float]:
        """Cells in the order in which each next one helps most, the gains, the misfit before and after."""
        left, order, gains = [int(cell) for cell in chosen], [], []
        before = now = self.misfit(np.zeros(0, int))
        while left:
            then = [self.misfit(np.array([*order, cell])) for cell in left]
            best = int(np.argmin(then))
            gains.append(now - then[best])
            now = then[best]
            order.append(left.pop(best))
        return np.array(order), np.array(gains), before, now


def _strata(values: np.ndarray, edges: np.ndarray) -> np.ndarray:
    """(m, p) stratum of each value by the inner ``edges`` (strata - 1, p)."""
    return np.stack(
        [np.searchsorted(edges[:, j], values[:, j], side="right") for j in range(values.shape[1])], axis=1
    ).astype(np.intp)


def _some(which: np.ndarray, most: int, rng: np.random.Generator) -> np.ndarray:
    return which if len(which) <= most else np.sort(rng.choice(which, most, replace=False))
