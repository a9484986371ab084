"""How good predictions are, from pairs of predicted and observed values.

Errors are predicted minus observed: a positive mean error means too deep. What is
known only within limits is scored by what it can say, never by its limit: whether the
prediction contradicts it, how probable the prediction held it (log score), and the
ranked probability score counted only where the observation decides (Gneiting & Ranjan
2011, JBES 29:411-422).

A prediction is here its middle with a normal half on either side of its own width: with
equal halves the normal distribution, with unequal ones what a transformed scale or a
forest gives.
"""

from __future__ import annotations

import numpy as np
from scipy.special import log_ndtr, ndtr

NORMAL_90 = 1.6448536269514722
"""Half width of a central 90 % interval of the normal distribution, in standard errors."""

MEASURES = (
    "mean error",
    "root mean square error",
    "efficiency",
    "concordance",
    "coverage of the 90 % interval",
    "mean standardised squared deviation",
    "median standardised squared deviation",
    "continuous ranked probability score",
)
BOUNDED_MEASURES = (
    "bounds contradicted by the estimate",
    "bounds contradicted by the 90 % interval",
    "bounds: continuous ranked probability score",
    "bounds: log score",
)


def mean_error(predicted: np.ndarray, observed: np.ndarray) -> float:
    return float(np.mean(predicted - observed))


def root_mean_square_error(predicted: np.ndarray, observed: np.ndarray) -> float:
    return float(np.sqrt(np.mean((predicted - observed) ** 2)))


def efficiency(predicted: np.ndarray, observed: np.ndarray) -> float:
    """1 - squared errors / squared deviations from the mean (Nash & Sutcliffe 1970): 0 is no better than the mean."""
    total = np.sum((observed - observed.mean()) ** 2)
    return float(1.0 - np.sum((predicted - observed) ** 2) / total) if total > 0 else float("nan")


def concordance(predicted: np.ndarray, observed: np.ndarray) -> float:
    """Concordance correlation coefficient (Lin 1989), moments divided by n."""
    mx, my = predicted.mean(), observed.mean()
    together = np.mean((predicted - mx) * (observed - my))
    apart = predicted.var() + observed.var() + (mx - my) ** 2
    return float(2.0 * together / apart) if apart > 0 else float("nan")


def coverage(low: np.ndarray, high: np.ndarray, observed: np.ndarray) -> float:
    """Share of observed values inside their interval, ends included; the rounding of a float is forgiven."""
    slack = 1e-9 * (1.0 + np.abs(observed))
    return float(np.mean((observed >= low - slack) & (observed <= high + slack)))


def coverage_band(count: int, share: float = 0.9) -> tuple[float, float]:
    """Where the coverage of right intervals lies in 95 of 100 surveys of ``count`` independent pits."""
    half = 1.959964 * np.sqrt(share * (1.0 - share) / count)
    return max(share - half, 0.0), min(share + half, 1.0)


def deviation_band(count: int) -> tuple[float, float]:
    """The same for the mean standardised squared deviation: chi-square with ``count`` degrees of freedom over count."""
    from scipy.stats import chi2

    return float(chi2.ppf(0.025, count) / count), float(chi2.ppf(0.975, count) / count)


def standardised_squared_deviations(predicted: np.ndarray, variance: np.ndarray, observed: np.ndarray) -> np.ndarray:
    """Squared error over prediction variance; mean near 1 and median near 0.455 where variances are right (Lark 2000)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(variance > 0, (predicted - observed) ** 2 / variance, np.nan)


def half_widths(middle: np.ndarray, low90: np.ndarray, high90: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Standard error below and above the middle; never quite 0, so that a sure prediction has a score too."""
    least = 1e-9 * (1.0 + np.abs(middle))
    return tuple(np.maximum(side / NORMAL_90, least) for side in (middle - low90, high90 - middle))


def ranked_probability(
    middle: np.ndarray, below: np.ndarray, above: np.ndarray, low: np.ndarray, high: np.ndarray,
    least: float = -np.inf, most: float = np.inf,
) -> np.ndarray:  # fmt: skip
    """(n,) continuous ranked probability score, in the unit of the values; 0 is perfect.

    Where ``low`` = ``high`` it is the usual one (Matheson & Winkler 1976), for equal halves that of
    Gneiting et al. 2005: s [z (2 Phi(z) - 1) + 2 phi(z) - 1 / sqrt(pi)]. Between the limits, where the
    observation does not decide, nothing counts. What is predicted beyond ``least`` and ``most`` is heaped
    there, as the map does with impossible values.
    """
    ends = np.full(len(middle), least), np.full(len(middle), -most)
    under = _squared_below(middle, below, above, np.maximum(low, least)) - _squared_below(middle, below, above, ends[0])
    return under + _squared_below(-middle, above, below, np.maximum(-high, -most)) - _squared_below(-middle, above, below, ends[1])


def _squared_below(middle: np.ndarray, below: np.ndarray, above: np.ndarray, to: np.ndarray) -> np.ndarray:
    """Integral of the squared distribution function from minus infinity to ``to``."""
    far = np.isneginf(to)
    z = np.where(far, -1.0, to - middle) / np.where(far | (to < middle), below, above)
    at_middle = _squared_normal(np.zeros(()))
    under = below * _squared_normal(np.minimum(z, 0.0))
    over = above * (_squared_normal(np.maximum(z, 0.0)) - at_middle)
    return np.where(far, 0.0, under + over)


def _squared_normal(z: np.ndarray) -> np.ndarray:
    """Integral of Phi squared from minus infinity to z, in closed form (by parts)."""
    density = np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi)
    return z * ndtr(z) ** 2 + 2 * density * ndtr(z) - ndtr(np.sqrt(2) * z) / np.sqrt(np.pi)


def surprise(
    middle: np.ndarray, below: np.ndarray, above: np.ndarray, low: np.ndarray, high: np.ndarray
) -> np.ndarray:
    """(n,) minus log probability, in nats, that the prediction gives to the interval from ``low`` to ``high``."""
    a, b = (_standard(middle, below, above, limit) for limit in (low, high))
    # taken in the tail that is smaller, where differences keep their digits
    flip = a > 0
    a, b = np.where(flip, -b, a), np.where(flip, -a, b)
    log_a, log_b = log_ndtr(a), log_ndtr(b)
    with np.errstate(divide="ignore", invalid="ignore"):
        return -(log_b + np.where(np.isneginf(log_a), 0.0, np.log1p(-np.exp(np.minimum(log_a - log_b, 0.0)))))


def _standard(middle: np.ndarray, below: np.ndarray, above: np.ndarray, value: np.ndarray) -> np.ndarray:
    return (value - middle) / np.where(value < middle, below, above)


def all_scores(
    predicted: np.ndarray, variance: np.ndarray, low: np.ndarray, high: np.ndarray, observed: np.ndarray,
    ranked: np.ndarray | None = None,
) -> dict[str, float]:  # fmt: skip
    """Every measure of MEASURES; arrays (n,) without NaN, ``low`` and ``high`` the 90 % interval.

    ``ranked``: ranked probability scores where values are limited; left out = from these same intervals.
    """
    deviations = standardised_squared_deviations(predicted, variance, observed)
    finite = deviations[np.isfinite(deviations)]
    if ranked is None:
        ranked = ranked_probability(predicted, *half_widths(predicted, low, high), observed, observed)
    return dict(
        zip(
            MEASURES,
            (
                mean_error(predicted, observed),
                root_mean_square_error(predicted, observed),
                efficiency(predicted, observed),
                concordance(predicted, observed),
                coverage(low, high, observed),
                float(finite.mean()) if finite.size else float("nan"),
                float(np.median(finite)) if finite.size else float("nan"),
                float(np.mean(ranked)),
            ),
            strict=True,
        )
    )


def bounded_scores(
    predicted: np.ndarray, low90: np.ndarray, high90: np.ndarray, low: np.ndarray, high: np.ndarray,
    ranked: np.ndarray | None = None, surprises: np.ndarray | None = None,
) -> dict[str, float]:  # fmt: skip
    """Every measure of BOUNDED_MEASURES for observations known only to lie from ``low`` to ``high``, (n,) each.

    ``ranked`` and ``surprises`` as in :func:`all_scores`.
    """
    slack = 1e-9 * (1.0 + np.abs(predicted))
    halves = half_widths(predicted, low90, high90)
    if ranked is None:
        ranked = ranked_probability(predicted, *halves, low, high)
    if surprises is None:
        surprises = surprise(predicted, *halves, low, high)
    return dict(
        zip(
            BOUNDED_MEASURES,
            (
                float(np.mean((predicted < low - slack) | (predicted > high + slack))),
                float(np.mean((high90 < low - slack) | (low90 > high + slack))),
                float(np.mean(ranked)),
                float(np.mean(surprises)),
            ),
            strict=True,
        )
    )
