"""The interval of a share counted from pits."""

from __future__ import annotations


def exact_limits(successes: int, trials: int) -> tuple[float, float]:
    """90 % interval of a proportion (Clopper & Pearson 1934), 0 to 1."""
    from scipy.stats import binomtest

    found = binomtest(successes, trials).proportion_ci(0.90, method="exact")
    return float(found.low), float(found.high)
