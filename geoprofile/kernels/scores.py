"""How good predictions are, from pairs of predicted and observed values.

Errors are predicted minus observed: a positive mean error means too deep.
"""

from __future__ import annotations

import numpy as np

MEASURES = (
    "mean error",
    "root mean square error",
    "efficiency",
    "concordance",
    "coverage of the 90 % interval",
    "mean standardised squared deviation",
    "median standardised squared deviation",
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


def standardised_squared_deviations(predicted: np.ndarray, variance: np.ndarray, observed: np.ndarray) -> np.ndarray:
    """Squared error over prediction variance; mean near 1 and median near 0.455 where variances are right (Lark 2000)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(variance > 0, (predicted - observed) ** 2 / variance, np.nan)


def all_scores(
    predicted: np.ndarray, variance: np.ndarray, low: np.ndarray, high: np.ndarray, observed: np.ndarray
) -> dict[str, float]:
    """Every measure of MEASURES; arrays (n,) without NaN."""
    deviations = standardised_squared_deviations(predicted, variance, observed)
    finite = deviations[np.isfinite(deviations)]
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
            ),
            strict=True,
        )
    )
