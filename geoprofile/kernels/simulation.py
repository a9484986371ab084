"""Fields that the land may have: simulation on a regular lattice by circulant embedding.

The covariances between the nodes of a regular lattice are wrapped onto a larger torus,
where the Fourier transform takes their square root (Dietrich & Newsam 1997, SIAM J.
Sci. Comput. 18:1088-1107; Wood & Chan 1994, J. Comput. Graph. Stat. 3:409-432). One
complex transform gives two independent fields.

* A compact model on a torus longer than the lattice by its range never wraps round to
  itself: the embedding is exact and never fails.
* Others are wrapped by the nearer way round on a torus that grows until no eigenvalue is
  negative; where ``most_nodes`` ends that, negative ones are set to 0 and their share is
  told in ``clipped``.

Pits lie between nodes. Their values are drawn given the nodes around them: weights of
simple kriging from a window of nodes, and what is left drawn jointly for all pits.

Fields are conditioned by kriging (Journel & Huijbregts 1978, chapter VII): with z_s a
field and W the weights of (universal) kriging, ``estimate + z_s - W' z_s(data)`` has the
mean and the covariance of the land given the data, the unknown trend included, because
the weights return every trend function.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from .covariance import Model, covariance_in_place, metric, scaled_squares, squared_distances
from .kriging import System, with_constant

MOST_NODES = 4_000_000
"""Nodes of a torus: 64 MB of complex numbers."""
AT_ONCE = 1_500_000
"""Values of conditioned fields held at once."""
WINDOW = 8
"""Nodes of the window around a pit, along each axis."""
NEGLIGIBLE = 1e-9
"""A negative eigenvalue below this share of the largest is rounding."""


class Lattice(NamedTuple):
    """Nodes at ``west + spacing * column`` and ``north - spacing * row``, m."""

    west: float
    north: float
    spacing: float
    height: int
    width: int

    def around(self, points: np.ndarray, margin: int = WINDOW) -> tuple[Lattice, int, int]:
        """The same nodes with more around, so that ``points`` (n, 2) lie ``margin`` nodes inside; rows and columns added before."""
        if not len(points):
            return self, 0, 0
        column, row = self.position(points).T
        left, top = (max(0, margin - int(np.floor(found.min()))) for found in (column, row))
        right = max(0, int(np.ceil(column.max())) + margin - self.width + 1)
        bottom = max(0, int(np.ceil(row.max())) + margin - self.height + 1)
        wider = Lattice(
            self.west - left * self.spacing, self.north + top * self.spacing, self.spacing,
            self.height + top + bottom, self.width + left + right,
        )  # fmt: skip
        return wider, top, left

    def position(self, points: np.ndarray) -> np.ndarray:
        """(n, 2) column and row of points, not whole."""
        return np.column_stack([(points[:, 0] - self.west) / self.spacing, (self.north - points[:, 1]) / self.spacing])

    def nodes(self, row: np.ndarray, column: np.ndarray) -> np.ndarray:
        """(..., 2) x, y of nodes."""
        return np.stack([self.west + self.spacing * np.asarray(column, float),
                         self.north - self.spacing * np.asarray(row, float)], axis=-1)  # fmt: skip


class Embedding(NamedTuple):
    """``root``: (rows, columns) square roots of the eigenvalues over the number of nodes; ``clipped``: see the file's head."""

    root: np.ndarray
    height: int
    width: int
    clipped: float

    def fields(self, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
        """Two independent fields (height, width) of mean 0, nugget left out."""
        noise = rng.standard_normal((*self.root.shape, 2)).view(complex)[..., 0]
        noise *= self.root
        found = np.fft.fft2(noise)[: self.height, : self.width]
        return np.ascontiguousarray(found.real), np.ascontiguousarray(found.imag)


def embed(model: Model, spacing: float, height: int, width: int, most_nodes: int = MOST_NODES) -> Embedding:
    """The torus that gives fields of ``height`` x ``width`` nodes, ``spacing`` m apart, with the covariance of ``model``."""
    if model.partial_sill == 0:
        return Embedding(np.zeros((height, width)), height, width, 0.0)
    if model.is_compact:
        reach = int(np.ceil(model.scale / spacing))
        rows, columns = fast_length(height + reach), fast_length(width + reach)
        return _rooted(_wrapped(model, spacing, rows, columns, images=True), height, width)
    best = None
    for factor in (1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0):
        rows, columns = fast_length(int(2 * factor * height)), fast_length(int(2 * factor * width))
        if rows * columns > most_nodes and best is not None:
            break
        found = _rooted(_wrapped(model, spacing, rows, columns, images=False), height, width)
        if best is None or found.clipped < best.clipped:
            best = found
        if found.clipped == 0:
            break
    return best


def fast_length(least: int) -> int:
    """The smallest even number from ``least`` on that has no prime factor beyond 5: quick to transform."""
    candidate = least + least % 2
    while True:
        rest = candidate
        for prime in (2, 3, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return candidate
        candidate += 2


def _wrapped(model: Model, spacing: float, rows: int, columns: int, images: bool) -> np.ndarray:
    """Covariance of node (0, 0) with every node of the torus: the nearer way round, or summed over both ways."""
    north, east = -spacing * np.arange(rows, dtype=float), spacing * np.arange(columns, dtype=float)
    back, west = north + spacing * rows, east - spacing * columns
    if images:
        return sum(lag_covariance(model, dx, dy) for dx in (east, west) for dy in (north, back))
    nearer_x, nearer_y = np.where(east <= -west, east, west), np.where(-north <= back, north, back)
    return lag_covariance(model, nearer_x, nearer_y)


def lag_covariance(model: Model, dx: np.ndarray, dy: np.ndarray) -> np.ndarray:
    """(rows, columns) covariance, nugget left out, of places ``dx`` (columns,) east and ``dy`` (rows,) north of each other, m."""
    a, b, c = metric(model)
    u2 = np.add.outer(b * dy * dy, a * dx * dx)
    if c:
        u2 += np.multiply.outer(c * dy, dx)
        np.maximum(u2, 0.0, out=u2)
    return covariance_in_place(model.kind, model.partial_sill, u2)


def _smooth(model: Model, away: np.ndarray) -> np.ndarray:
    """Covariance, nugget left out, of places that lie ``away`` (..., 2) from each other."""
    a, b, c = metric(model)
    dx, dy = away[..., 0], away[..., 1]
    return covariance_in_place(model.kind, model.partial_sill, np.maximum(a * dx * dx + b * dy * dy + c * dx * dy, 0.0))


def _rooted(covariances: np.ndarray, height: int, width: int) -> Embedding:
    values = np.fft.fft2(covariances).real
    negative = values < 0
    lost = 0.0
    if negative.any():
        if values.min() < -NEGLIGIBLE * values.max():
            lost = float(-values[negative].sum() / np.abs(values).sum())
        values[negative] = 0.0
    # the variance at a node stays what it was
    values *= covariances[0, 0] / values.sum()
    return Embedding(np.sqrt(values, out=values), height, width, lost)


class NearNodes(NamedTuple):
    """How pits follow from the nodes around them; see :func:`near_nodes`."""

    node: np.ndarray
    """(n, k) flat index of nodes."""
    weight: np.ndarray
    """(n, k)"""
    lower: np.ndarray
    """(n, n) Cholesky factor of what the nodes leave open."""

    def draw(self, field: np.ndarray, rng: np.random.Generator) -> np.ndarray:
        """(n,) values at the pits of a field, nugget left out."""
        drawn = np.einsum("ij,ij->i", self.weight, field.ravel()[self.node])
        return drawn + self.lower @ rng.standard_normal(len(drawn))


def near_nodes(model: Model, lattice: Lattice, points: np.ndarray, window: int = WINDOW) -> NearNodes:
    """Weights of the window of nodes around each of ``points`` (n, 2), all of which lie inside the lattice by half a window."""
    count = len(points)
    if model.partial_sill == 0:
        return NearNodes(np.zeros((count, 1), np.intp), np.zeros((count, 1)), np.zeros((count, count)))
    corner = np.floor(lattice.position(points)).astype(np.intp) - window // 2 + 1
    step = np.arange(window)
    row, column = (corner[:, 1, None, None] + step[:, None]), (corner[:, 0, None, None] + step[None, :])
    row, column = np.broadcast_arrays(row, column)
    if row.min() < 0 or column.min() < 0 or row.max() >= lattice.height or column.max() >= lattice.width:
        raise ValueError("a pit lies too near the edge of the lattice")
    node = (row * lattice.width + column).reshape(count, -1)
    places = lattice.nodes(row, column).reshape(count, -1, 2)
    # all windows are alike: one matrix serves all pits
    first = places[0] - places[0, 0]
    own = _smooth(model, first[:, None] - first[None, :])
    own[np.diag_indices(len(own))] += 1e-10 * model.partial_sill
    cross = _smooth(model, places - points[:, None, :])
    weight = np.linalg.solve(own, cross.T).T
    return NearNodes(node, weight, _left_open(model, lattice, points, places, weight))


def _left_open(
    model: Model, lattice: Lattice, points: np.ndarray, places: np.ndarray, weight: np.ndarray
) -> np.ndarray:
    """Cholesky factor of the covariance of z(pit) - weights' z(nodes), for pits whose windows are near to each other."""
    count = len(points)
    reach = WINDOW * lattice.spacing
    d2 = squared_distances(points, points)
    one, other = np.nonzero(np.triu(d2 <= reach**2))
    left = np.zeros((count, count))
    for start in range(0, len(one), 256):
        i, j = one[start : start + 256], other[start : start + 256]
        pits = _smooth(model, points[i] - points[j])
        with_nodes = np.einsum("pk,pk->p", weight[i], _smooth(model, places[i] - points[j, None]))
        with_nodes += np.einsum("pk,pk->p", weight[j], _smooth(model, places[j] - points[i, None]))
        between = np.zeros(len(i))
        for k in range(weight.shape[1]):  # node by node: pairs x window x window would be large
            between += weight[i, k] * np.einsum("pk,pk->p", weight[j], _smooth(model, places[i, k, None] - places[j]))
        left[i, j] = left[j, i] = pits - with_nodes + between
    diagonal = np.diag(left).copy()
    np.fill_diagonal(left, np.maximum(diagonal, 0.0))
    for jitter in (1e-12, 1e-9, 1e-7, 1e-5):
        try:
            return np.linalg.cholesky(left + jitter * model.partial_sill * np.eye(count))
        except np.linalg.LinAlgError:
            continue
    return np.diag(np.sqrt(np.maximum(diagonal, 0.0)))


def error_fields(
    system: System,
    lattice: Lattice,
    row: np.ndarray,
    column: np.ndarray,
    draws: int,
    rng: np.random.Generator,
    *,
    drift: np.ndarray | None = None,
    values: np.ndarray | None = None,
    at_once: int = AT_ONCE,
) -> Iterator[np.ndarray]:
    """What the land may be at nodes, less its estimate: batches (m, b) of ``draws`` columns in all, nugget left out.

    Parameters
    ----------
    system : the solved data; its values do not matter here, their places and errors do.
    row, column : (m,) nodes of the lattice that are wanted.
    drift : (m, p - 1) columns beside the constant at those nodes.
    values : (n, draws) what is to be kriged in each draw, as draws of bounded observations
        less what the estimate was made from; left out = 0, the errors alone.
    at_once : values held at once; changes memory, not results.
    """
    model, count = system.model, len(system.points)
    wider, top, left = lattice.around(system.points)
    embedding = embed(model, lattice.spacing, wider.height, wider.width)
    near = near_nodes(model, wider, system.points)
    cells = (np.asarray(row) + top) * wider.width + np.asarray(column) + left
    places = lattice.nodes(row, column)
    deviation = np.sqrt(np.full(count, model.nugget) + (0.0 if system.error_variance is None else system.error_variance))
    batch = max(2, int(at_once // max(len(cells), 1)))
    waiting: list[np.ndarray] = []
    for start in range(0, draws, batch):
        size = min(batch, draws - start)
        out, data = np.empty((len(cells), size)), np.empty((count, size))
        for one in range(size):
            if not waiting:
                waiting = list(embedding.fields(rng))
            field = waiting.pop(0)
            data[:, one] = near.draw(field, rng) + deviation * rng.standard_normal(count)
            out[:, one] = field.ravel()[cells]
        np.negative(data, out=data)
        if values is not None:
            data += values[:, start : start + size]
        add_kriged(out, system, places, data, drift)
        yield out


def add_kriged(
    out: np.ndarray, system: System, places: np.ndarray, data: np.ndarray, drift: np.ndarray | None = None
) -> None:
    """Add to ``out`` (m, b) the kriging of ``data`` (n, b), nugget filtered out, at ``places`` (m, 2)."""
    model = system.model
    coefficients = system.coefficient_covariance @ (system.precision_trend.T @ data)
    dual = system.precision @ (data - system.trend @ coefficients)
    step = max(1, 1_000_000 // max(len(data), 1))
    for start in range(0, len(places), step):
        part = slice(start, start + step)
        cross = covariance_in_place(model.kind, model.partial_sill, scaled_squares(model, places[part], system.points))
        out[part] += cross @ dual
        out[part] += with_constant(None if drift is None else drift[part], len(cross)) @ coefficients
