"""Shares that add to 100 % as pairs of isometric log-ratios (Egozcue et al. 2003, Math. Geol. 35:279-300), and back.

    first   sqrt(1/2) ln(a / b)
    second  sqrt(2/3) ln(sqrt(a b) / c)

A share of 0 has no logarithm and counts as LEAST %, the others giving way in proportion
(Martin-Fernandez et al. 2003).
"""

from __future__ import annotations

import numpy as np

LEAST = 0.5
_BASIS = np.array([[1.0, -1.0, 0.0], [1.0, 1.0, -2.0]]) / np.sqrt([[2.0], [6.0]])


def to_ratios(shares: np.ndarray) -> np.ndarray:
    """(n, 2) log-ratios of shares (n, 3), closed to 100 % first."""
    closed = 100.0 * shares / shares.sum(axis=1, keepdims=True)
    none = closed < LEAST
    kept = np.where(none, 0.0, closed)
    closed = np.where(none, LEAST, kept * (100.0 - LEAST * none.sum(axis=1, keepdims=True)) / kept.sum(axis=1, keepdims=True))
    return np.log(closed) @ _BASIS.T


def to_shares(ratios: np.ndarray) -> np.ndarray:
    """(..., 3) shares in % that add to 100, of log-ratios (..., 2)."""
    logs = ratios @ _BASIS
    raised = np.exp(logs - logs.max(axis=-1, keepdims=True))
    return 100.0 * raised / raised.sum(axis=-1, keepdims=True)
