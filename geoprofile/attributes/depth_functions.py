"""Depth functions: the equal-area spline through the layers of a pit, and its mean over the interval asked for."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache

import numpy as np

from ..described.profile import Profile
from ..intervals import Interval, measured
from ..kernels.depth_spline import fit_splines, mean_over
from ..settings.attributes import NewAttribute
from .plugin import LITTLE_DATA, NO_DATA, NO_HORIZONS, silent
from .sampled import any_value, sampled

SOURCE = "Bishop, McBratney & Laslett 1999, Geoderma 89:185-208; Malone et al. 2009, Geoderma 154:138-152"


CLIPPED, BEYOND = "and was clipped there", "beyond the values of the pit's layers"
"""How flags say so; the notes of a survey count them."""


def spline_mean(profile: Profile, new: NewAttribute, lowest: float, highest: float) -> Interval:
    """Mean of the spline over an interval, in the property's unit.

    The interval is cut at rock and where data end: nothing is said of depths that nobody sampled. A gap between
    layers is bridged in a straight line, as published, but does not count as covered. Where the curve passes
    ``lowest`` or ``highest`` it is clipped there, and the pit says so.
    """
    if not profile.all_horizons:
        return silent(NO_HORIZONS)
    found = sampled(profile, new)
    if found.rock_above is not None:
        return silent(LITTLE_DATA).because(LITTLE_DATA, f"rock at {found.rock_above:g} cm, above the interval")
    if not any_value(profile, new.of) or not found.layers:
        return silent(NO_DATA)
    top, bottom = found.top, found.bottom
    covered = sum(max(0.0, min(bottom, lower) - max(top, upper)) for upper, lower, _ in found.layers) / (bottom - top)
    if covered < new.least_share - 1e-9:
        return silent(LITTLE_DATA).because(LITTLE_DATA, f"{covered:.0%} covered, {new.least_share:.0%} asked for", *found.flags)
    mean, below, above = _mean(found.layers, new.smoothing, top, bottom, lowest, highest)
    flags = [*found.flags, *_told(profile, new, found.layers, top, bottom, found.start)]
    for passed, limit in ((below, lowest), (above, highest)):
        if passed:
            flags.append(f"the curve passes {limit:g} {CLIPPED}")
    values = [value for _, _, value in found.layers]
    if not min(values) <= mean <= max(values):
        flags.append(f"{BEYOND}, {min(values):g} to {max(values):g}")
    return measured(mean).because(f"spline of {new.of}, lambda {new.smoothing:g}, {len(values)} layers, {covered:.0%} of "
                                  f"{new.upper_cm:g} to {bottom - found.start:g} cm", *flags)  # fmt: skip


def _told(profile: Profile, new: NewAttribute, layers, top: float, bottom: float, start: float) -> list[str]:
    """What a reader of the mean must know: ends of the data, gaps that were bridged, one layer, two materials."""
    flags = []
    if len(layers) == 1:
        flags.append("one layer only: its own value")
    if layers[0][0] > top + 0.5:
        flags.append(f"data begin at {layers[0][0] - start:g} cm")
    if layers[-1][1] < bottom - 0.5:
        flags.append(f"data end at {layers[-1][1] - start:g} cm")
    gap = sum(max(0.0, min(bottom, below[0]) - max(top, above[1])) for above, below in zip(layers, layers[1:], strict=False))
    if gap > 0.5:
        flags.append(f"{gap:g} cm without data bridged in a straight line")
    materials = [h.designation.discontinuity for h in profile.all_horizons if h.described and profile.value(h, new.of) is not None]
    if len(set(materials)) > 1:
        flags.append("the curve runs through a discontinuity, which it smooths")
    return flags


@lru_cache(maxsize=4096)
def _curve(layers: tuple[tuple[float, float, float], ...], smoothing: float):
    """Start, upper, lower and spline of one pit; kept, as several intervals are usually asked of one curve."""
    upper, lower, value = (np.array(part) for part in zip(*layers, strict=True))
    start = np.array([0, len(layers)])
    return start, upper, lower, fit_splines(start, upper, lower, value, smoothing)


def _mean(layers, smoothing: float, top: float, bottom: float, lowest: float, highest: float) -> tuple[float, bool, bool]:
    mean, below, above = mean_over(*_curve(layers, smoothing), np.array([[top]]), np.array([[bottom]]), lowest, highest)
    return float(mean[0, 0]), bool(below[0, 0]), bool(above[0, 0])


def overshoots(flags: Iterable[str]) -> str:
    """How often curves of a survey overshot, in one sentence; '' where they never did."""
    flags = list(flags)
    clipped, beyond = (sum(word in text for text in flags) for word in (CLIPPED, BEYOND))
    if not clipped and not beyond:
        return ""
    return (f"depth functions: {clipped} means where the curve passes what is possible and was clipped, {beyond} beyond the values of "
            "their pit's layers: the flags say where")  # fmt: skip
