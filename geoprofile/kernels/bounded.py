"""Distribution of values of which some are known only within limits.

Turnbull's self-consistent estimator (Turnbull 1976, JRSS B 38:290-295): no
shape of distribution is assumed. With values that are either exact or 'more
than' it is the product-limit estimator (Kaplan & Meier 1958, JASA 53:457-481).
It assumes that what cut an observation short has nothing to do with the value.
"""

from __future__ import annotations

import numpy as np


def mass_intervals(
    low: np.ndarray, high: np.ndarray, *, tolerance: float = 1e-10, most_rounds: int = 10_000
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Left ends, right ends and masses of the intervals that carry the distribution.

    Parameters
    ----------
    low, high : (n,) limits; equal = exact, ``-inf`` or ``inf`` = none. 'More than 60'
        is (60, inf) and does not contain 60 itself; all other limits are contained.

    Returns
    -------
    left, right, mass : (k,), ascending; the mass sums to 1. Within an interval the data say nothing.
    """
    low, high = np.asarray(low, float), np.asarray(high, float)
    open_low = np.isposinf(high)
    # ends as (value, rank): a low end of an open interval comes after an exact value at the same place
    lows = sorted({(value, 1 if is_open else -1) for value, is_open in zip(low, open_low)})
    highs = sorted({(value, 0) for value in high})
    ends = sorted([(*end, "low") for end in lows] + [(*end, "high") for end in highs])
    pairs = [(a, b) for a, b in zip(ends, ends[1:]) if a[2] == "low" and b[2] == "high"]
    left = np.array([a[0] for a, _ in pairs])
    right = np.array([b[0] for _, b in pairs])
    rank = np.array([a[1] for a, _ in pairs])
    after_low = (left[None, :] > low[:, None]) | (
        (left[None, :] == low[:, None]) & (rank[None, :] >= np.where(open_low, 1, -1)[:, None])
    )
    member = (after_low & (right[None, :] <= high[:, None])).astype(float)
    mass = np.full(len(left), 1 / len(left))
    for _ in range(most_rounds):
        weights = member * mass
        new = (weights / weights.sum(axis=1, keepdims=True)).mean(axis=0)
        if np.abs(new - mass).max() < tolerance:
            mass = new
            break
        mass = new
    keep = mass > 1e-9
    return left[keep], right[keep], mass[keep] / mass[keep].sum()


def median_limits(left: np.ndarray, right: np.ndarray, mass: np.ndarray) -> tuple[float, float]:
    """The interval in which the median lies; a high limit of ``inf`` means that it was not reached."""
    total = np.cumsum(mass)
    first = int(np.searchsorted(total, 0.5 - 1e-9))
    # exactly half below: the median lies anywhere up to the next interval
    second = first + 1 if abs(total[first] - 0.5) < 1e-9 and first + 1 < len(mass) else first
    return float(left[first]), float(right[second])


def median_allowed(low: np.ndarray, high: np.ndarray, least: float = 0.0) -> tuple[float, float]:
    """Least and greatest median that the limits allow, with no assumption at all; ``inf`` where none is the greatest.

    The median grows with every value: it is least where all stand at their low limits, greatest at their high ones.
    ``least`` stands for a low limit that is not there.
    """
    low, high = np.asarray(low, float), np.asarray(high, float)
    return float(np.median(np.where(np.isneginf(low), least, low))), float(np.median(high))


def mean_limits(low: np.ndarray, high: np.ndarray, least: float = 0.0) -> tuple[float, float]:
    """Least and greatest mean that the limits allow, with no assumption at all.

    ``least`` stands for a low limit that is not there: a depth or thickness is not below 0.
    """
    low, high = np.asarray(low, float), np.asarray(high, float)
    return float(np.where(np.isneginf(low), least, low).mean()), float(high.mean())
