"""Means and shares of areas by conditional simulation, for what no formula gives.

An area's share below a limit, or its mean where values were modelled on another scale, is
not normal; it is read off fields that the land may have (kernels/simulation.py). Bounded
pits are drawn anew for each field (kernels/gibbs.py), so that what they leave open is in
the draws.

An area of few cells is drawn cell by cell from the full covariance matrix (Davis 1987,
Mathematical Geology 19:91-98); larger ones all together on a lattice that is coarsened to
hold memory and time within bounds, never beyond a quarter of the model's scale. What pits
vary by at short distance (the nugget) is not drawn: over the many places of a cell it is
integrated.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from copy import copy
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from ..kernels.areal import error_covariance
from ..kernels.back_transform import backward
from ..kernels.gibbs import limited_draws
from ..kernels.kriging import predict_points
from ..kernels.simulation import Lattice, add_kriged, error_fields
from .area import Area
from .model import ErrorModel, Part

DRAWS = 500
"""Standard error of a 5 % quantile: 2.1 standard deviations over the root of this, about a tenth of one."""
FEW_CELLS = 400
AIM_NODES = 30_000
MOST_NODES = 500_000
_NODES, _WEIGHTS = np.polynomial.hermite_e.hermegauss(9)
_WEIGHTS = _WEIGHTS / _WEIGHTS.sum()

BoundedDraws = Callable[[Part, int, np.random.Generator], np.ndarray]
"""(k, count) values of a part's bounded pits, in their order, on the modelled scale."""


@dataclass(frozen=True)
class AreaDraws:
    """``mean``: (areas, draws) in the attribute's unit; ``below``: (areas, limits, draws) shares 0 to 1. NaN: no model."""

    mean: np.ndarray
    below: np.ndarray


def draws_of_bounded(part: Part, count: int, rng: np.random.Generator) -> np.ndarray:
    """Values that a part's bounded pits may have, given all pits, by Gibbs sampling."""
    mean, own = part.bounded_given_values()
    return limited_draws(mean, own, part.low[part.bounded], part.high[part.bounded], count, rng, settle=100, apart=5)


def area_draws(
    model: ErrorModel,
    areas: Sequence[Area],
    limits: tuple[float, ...] = (),
    *,
    seed: int = 1,
    draws: int = DRAWS,
    bounded: BoundedDraws = draws_of_bounded,
) -> AreaDraws:
    """Draws of the mean of each area, and of its share below each limit.

    Parameters
    ----------
    limits : in the attribute's unit, above 0.
    bounded : where the draws of bounded pits come from.
    """
    rng = np.random.default_rng(seed)
    fixed = {name: Conditioned(part, draws, rng, bounded) for name, part in model.parts.items()}

    def add(found: AreaDraws, places: list[int], nodes: Nodes, lattice: Lattice | None) -> None:
        _add(found, places, nodes, model, fixed, limits, draws, rng, lattice)

    return over_areas(model, areas, len(limits), draws, add)


def over_areas(model: ErrorModel, areas: Sequence[Area], limits: int, draws: int, add: Callable) -> AreaDraws:
    """``add`` (draws, places, nodes, lattice) called for each small area by itself and for all larger ones together."""
    found = AreaDraws(np.full((len(areas), draws), np.nan), np.full((len(areas), limits, draws), np.nan))
    centres = Centres(model)
    known = [bool(len(area)) and bool(model.knows(centres.of(area.cell)).all()) for area in areas]
    few = [place for place, area in enumerate(areas) if known[place] and len(area) <= FEW_CELLS]
    many = [place for place, area in enumerate(areas) if known[place] and len(area) > FEW_CELLS]
    for place in few:
        area = areas[place]
        nodes = Nodes(centres.of(area.cell), (area.weight / area.backed)[None, :])
        add(found, [place], nodes, None)
    if many:
        nodes, lattice = blocks(model, [areas[place] for place in many], coarsening(model), centres)
        add(found, many, nodes, lattice)
    return found


class Centres:
    def __init__(self, model: ErrorModel) -> None:
        self.width, (self.x, self.y) = model.grid.width, model.grid.centres()

    def of(self, cell: np.ndarray) -> np.ndarray:
        row, column = np.divmod(cell, self.width)
        return np.column_stack([self.x[column], self.y[row]])


@dataclass(frozen=True)
class Nodes:
    """``points`` (m, 2), with the stratum and drift of the cells they stand for; ``weight`` (areas, m), rows sum to 1."""

    points: np.ndarray
    weight: object
    stratum: np.ndarray | None = None
    drift: np.ndarray | None = None
    row: np.ndarray | None = None
    column: np.ndarray | None = None


class Conditioned:
    """A part's system with its bounded pits at values of their own in each draw."""

    def __init__(self, part: Part, draws: int, rng: np.random.Generator, bounded: BoundedDraws) -> None:
        self.system, self.values = part.system, None
        if part.bounded.any():
            self.system = part.with_values(part.system.values)
            self.values = np.repeat(part.system.values[:, None], draws, axis=1)
            self.values[part.bounded] = bounded(part, draws, rng)

    def latent(self, points: np.ndarray, drift: np.ndarray | None) -> np.ndarray:
        """(m, 1) the estimate to which errors are added; 0 where each draw has its own."""
        if self.values is not None:
            return np.zeros((len(points), 1))
        return predict_points(self.system._replace(nugget_is_error=True), points, drift)[0][:, None]

    def some(self, columns: slice) -> Conditioned:
        """For those draws alone."""
        one = copy(self)
        one.values = None if self.values is None else self.values[:, columns]
        return one

    def fields(self, points, drift, row, column, lattice, draws, rng):
        """Batches (m, b) of what the land may be on the modelled scale, nugget left out."""
        base = self.latent(points, drift)
        if lattice is not None:
            for batch in error_fields(self.system, lattice, row, column, draws, rng, drift=drift, values=self.values):
                yield base + batch
            return
        covariance = error_covariance(self.system, points, drift)
        covariance[np.diag_indices(len(points))] += 1e-9 * self.system.model.sill
        out = np.linalg.cholesky(covariance) @ rng.standard_normal((len(points), draws))
        if self.values is not None:
            add_kriged(out, self.system, points, self.values, drift)
        yield base + out


def _add(found: AreaDraws, places: list[int], nodes: Nodes, model: ErrorModel, fixed: dict, limits, draws, rng, lattice) -> None:
    mean, below = np.zeros((len(places), draws)), np.zeros((len(places), len(limits), draws))
    stratum = model.stratum_of(nodes.points) if nodes.stratum is None else nodes.stratum
    drift = model.drift_at(nodes.points) if nodes.drift is None else nodes.drift
    for name, part in fixed.items():
        own = np.flatnonzero(np.isin(stratum, [place for place, one in enumerate(model.ids) if one == name]))
        if not len(own):
            continue
        nugget = 0.0 if part.system.nugget_is_error else part.system.model.nugget
        weight, start = nodes.weight[:, own], 0
        row, column = (None, None) if lattice is None else (nodes.row[own], nodes.column[own])
        for field in part.fields(nodes.points[own], None if drift is None else drift[own], row, column, lattice, draws, rng):
            columns = slice(start, start + field.shape[1])
            mean[:, columns] += weight @ read_values(field, nugget, model)
            for number, limit in enumerate(limits):
                below[:, number, columns] += weight @ share_below_of(field, nugget, model.to_latent(limit))
            start = columns.stop
    found.mean[places], found.below[places] = mean, below


def read_values(field: np.ndarray, nugget: float, model: ErrorModel) -> np.ndarray:
    """The attribute's mean at nodes: over the nugget where the scale is another."""
    if model.is_normal:
        return field
    out = np.zeros_like(field)
    for node, weight in zip(_NODES, _WEIGHTS, strict=True) if nugget > 0 else ((0.0, 1.0),):
        value = backward(field + node * np.sqrt(nugget), model.power)
        out += weight * (np.maximum(value, 0.0) if model.floor else value)
    return out


def share_below_of(field: np.ndarray, nugget: float, limit: float) -> np.ndarray:
    return ndtr((limit - field) / np.sqrt(nugget)) if nugget > 0 else (field < limit).astype(float)


def coarsening(model: ErrorModel) -> int:
    """Cells along the side of a lattice's cell."""
    cells, cell = model.grid.height * model.grid.width, model.grid.cell_m
    least_scale = min(part.system.model.scale * part.system.model.ratio for part in model.parts.values())
    factor = int(np.ceil(np.sqrt(cells / AIM_NODES)))
    finest = int(np.ceil(np.sqrt(cells / MOST_NODES)))
    return max(1, finest, min(factor, int(least_scale / (4 * cell))))


def blocks(model: ErrorModel, areas: Sequence[Area], factor: int, centres: Centres) -> tuple[Nodes, Lattice]:
    """Blocks of ``factor`` cells a side as nodes, one a stratum, weighted by the cells inside them."""
    from scipy.sparse import coo_array

    grid = model.grid
    side = grid.cell_m * factor
    height, width = -(-grid.height // factor), -(-grid.width // factor)
    lattice = Lattice(grid.west + side / 2, grid.north - side / 2, side, height, width)
    cells = np.unique(np.concatenate([area.cell for area in areas]))
    points = centres.of(cells)
    stratum = model.stratum_of(points)
    row, column = np.divmod(cells, grid.width)
    key = (stratum.astype(np.int64) * height + row // factor) * width + column // factor
    keys, node = np.unique(key, return_inverse=True)
    count = np.bincount(node)
    drift = model.drift_at(points)
    if drift is not None:
        drift = np.column_stack([np.bincount(node, one) / count for one in drift.T])
    where, which, shares = [], [], []
    for place, area in enumerate(areas):
        where.append(np.full(len(area), place))
        which.append(node[np.searchsorted(cells, area.cell)])
        shares.append(area.weight / area.backed)
    weights = coo_array(
        (np.concatenate(shares), (np.concatenate(where), np.concatenate(which))), shape=(len(areas), len(keys))
    ).tocsc()  # fmt: skip
    row, column = np.divmod(keys % (height * width), width)
    return Nodes(lattice.nodes(row, column), weights, keys // (height * width), drift, row, column), lattice
