"""Likelihood of a covariance model: how well a scale and a nugget share explain the data.

The covariance is s2 [(1 - share) R(scale) + share I]; drift coefficients and s2
are profiled out. One eigendecomposition of R a scale serves every nugget share.
Residual maximum likelihood after Patterson & Thompson 1971, without the constant
log|F'F| / 2 that some texts add.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from .covariance import covariance_in_place


class Rotated(NamedTuple):
    """Data in the eigenvectors of the correlation matrix of one scale."""

    eigenvalues: np.ndarray
    trend: np.ndarray
    values: np.ndarray


def rotate(
    kind: str, d2: np.ndarray, scale: float, trend: np.ndarray, values: np.ndarray, same: np.ndarray | None = None
) -> Rotated:
    """``d2`` (n, n) squared distances; ``same`` (n, n) bool where pairs may be correlated at all."""
    correlation = covariance_in_place(kind, 1.0, d2 / scale**2)
    if same is not None:
        correlation *= same
    eigenvalues, vectors = np.linalg.eigh(correlation)
    return Rotated(np.maximum(eigenvalues, 0.0), vectors.T @ trend, vectors.T @ values)


def log_likelihood(data: Rotated, share: np.ndarray, *, residual: bool) -> tuple[np.ndarray, np.ndarray]:
    """Log likelihood and profiled total sill s2, each (m,), for nugget shares (m,) in [0, 1]."""
    share = np.atleast_1d(np.asarray(share, float))
    count, columns = data.trend.shape
    spread = np.maximum(np.outer(1.0 - share, data.eigenvalues) + share[:, None], 1e-12)
    weight = 1.0 / spread
    information = np.einsum("mn,ni,nj->mij", weight, data.trend, data.trend)
    moment = (weight * data.values) @ data.trend
    solved = np.linalg.solve(information, moment[:, :, None])[:, :, 0]
    squares = weight @ data.values**2 - np.einsum("mi,mi->m", moment, solved)
    freedom = count - columns if residual else count
    sill = np.maximum(squares, 1e-300) / freedom
    twice = freedom * (np.log(2 * np.pi * sill) + 1.0) + np.log(spread).sum(axis=1)
    if residual:
        twice = twice + np.linalg.slogdet(information)[1]
    return -0.5 * twice, sill
