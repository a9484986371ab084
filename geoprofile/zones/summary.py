"""What the pits of one group say of one attribute, with their bounds respected.

Where every value is known there is a mean and a standard deviation. Where some
are bounded there are the limits of the median and of the mean that the bounds
allow. A bound is never used as a value. What the median would be if the ends of
pits told nothing (Turnbull 1976) stands apart, under a name that says so.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..kernels.bounded import mass_intervals, mean_limits, median_allowed, median_limits
from ..products import AttributeDefinition

COUNTS = ("measured", "at_surface", "at_least", "at_most", "between", "absent", "unknown")
ASSUMED = ("median_if_ends_tell_nothing_low", "median_if_ends_tell_nothing_high")
NUMBERS = ("mean", "sd", "least", "most", "median_low", "median_high", "mean_low", "mean_high", *ASSUMED)
"""Columns that carry the attribute's unit."""

RULE = (
    "summaries: mean, sd, least and most stand only where no pit is bounded; median_low and median_high, mean_low and mean_high "
    "are the least and greatest median and mean that the bounds allow, without any assumption; a missing high limit means that "
    "there is none. median_if_ends_tell_nothing is an estimate of the median (Turnbull 1976) that holds only if where a pit "
    "stopped has nothing to do with the depth sought. An absent thickness counts as 0, an absent depth as no depth; unknown pits are only counted"
)


def summarise(values: pd.DataFrame, definition: AttributeDefinition) -> dict[str, object]:
    """One row of a table, from the rows of ``Attributes.values`` of a group's pits.

    ``pits`` counts all of them; the numbers are NaN where they would have to be made up.
    """
    status = values["status"].to_numpy(object)
    counts = {name: int((status == name).sum()) for name in COUNTS}
    # an absent thickness is 0, an absent depth is no depth
    with_value = (status != "unknown") & ((status != "absent") | (definition.kind == "thickness"))
    low = values["low"].to_numpy(float)[with_value]
    high = values["high"].to_numpy(float)[with_value]
    gone = status[with_value] == "absent"
    low, high = np.where(gone, 0.0, low), np.where(gone, 0.0, high)
    row = {"pits": len(values), **counts, **dict.fromkeys(NUMBERS, np.nan)}
    if len(low):
        bounded = (np.isnan(low) | np.isnan(high) | (low != high)).any()
        # depths, thicknesses and averages are not below 0
        low, high = np.where(np.isnan(low), 0.0, low), np.where(np.isnan(high), np.inf, high)
        median = median_allowed(low, high)
        assumed = median_limits(*mass_intervals(low, high)) if bounded else median
        mean = mean_limits(low, high)
        row |= {
            "median_low": _or_none(median[0]),
            "median_high": _or_none(median[1]),
            "mean_low": _or_none(mean[0]),
            "mean_high": _or_none(mean[1]),
            **dict(zip(ASSUMED, map(_or_none, assumed), strict=True)),
        }
        if not bounded:
            row |= {
                "mean": low.mean(),
                "sd": low.std(ddof=1) if len(low) > 1 else np.nan,
                "least": low.min(),
                "most": low.max(),
            }
    return {**row, "text": summary_text(values, counts, definition.decimals)}


def summary_text(values: pd.DataFrame, counts: dict[str, int], decimals: int = 0) -> str:
    """As a mapper says it: ``12 to 48 in 6 of 12; >60 in 5; absent in 1``."""
    status = values["status"].to_numpy(object)
    low, high = values["low"].to_numpy(float), values["high"].to_numpy(float)

    def number(value: float) -> str:
        return f"{value:.{max(decimals, 1)}f}".rstrip("0").rstrip(".")

    def span(mark: str, numbers: np.ndarray) -> str:
        least, most = number(numbers.min()), number(numbers.max())
        return f"{mark}{least}" if least == most else f"{mark}{least} to {mark}{most}"

    known = np.isin(status, ("measured", "at_surface"))
    said = []
    if known.any():
        said.append((span("", low[known]), int(known.sum())))
    if counts["between"]:
        between = status == "between"
        said.append((f"between {number(low[between].min())} and {number(high[between].max())}", counts["between"]))
    if counts["at_least"]:
        said.append((span(">", low[status == "at_least"]), counts["at_least"]))
    if counts["at_most"]:
        said.append((span("<", high[status == "at_most"]), counts["at_most"]))
    said += [(word, counts[word]) for word in ("absent", "unknown") if counts[word]]
    if not said:
        return "no pits"
    (first, count), *rest = said
    return "; ".join([f"{first} in {count} of {len(values)}", *(f"{words} in {n}" for words, n in rest)])


def _or_none(value: float) -> float:
    return value if np.isfinite(value) else np.nan
