"""The mean of a measured property over an interval, with the share that has data."""

from __future__ import annotations

from ..described.profile import Profile
from ..intervals import Interval, measured
from ..settings.attributes import NewAttribute
from .plugin import LITTLE_DATA, NO_DATA, NO_HORIZONS, silent
from .sampled import any_value, sampled


def average(profile: Profile, new: NewAttribute) -> Interval:
    """Mean over an interval, weighted by thickness, divided by the thickness that has data (never by the whole)."""
    if not profile.all_horizons:
        return silent(NO_HORIZONS)
    found = sampled(profile, new)
    if found.rock_above is not None:
        return silent(LITTLE_DATA).because(LITTLE_DATA, f"rock at {found.rock_above:g} cm, above the interval")
    weight = total = 0.0
    for upper, lower, value in found.layers:
        share = min(found.bottom, lower) - max(found.top, upper)
        if share > 0:
            weight += share
            total += share * value
    covered = weight / (found.bottom - found.top)
    if not any_value(profile, new.of):
        return silent(NO_DATA)
    if covered < new.least_share - 1e-9:
        return silent(LITTLE_DATA).because(LITTLE_DATA, f"{covered:.0%} covered, {new.least_share:.0%} asked for", *found.flags)
    return measured(total / weight).because(f"{new.of}, {covered:.0%} of {new.upper_cm:g} to {found.bottom - found.start:g} cm", *found.flags)
