"""The mean of a measured property over an interval, with the share that has data."""

from __future__ import annotations

from ..described.profile import Profile
from ..intervals import Interval, measured
from ..settings.attributes import NewAttribute
from .plugin import LITTLE_DATA, NO_DATA, NO_HORIZONS, silent


def average(profile: Profile, new: NewAttribute) -> Interval:
    """Mean over an interval, weighted by thickness, divided by the thickness that has data (never by the whole)."""
    layers = profile.all_horizons
    if not layers:
        return silent(NO_HORIZONS)
    start = min(layer.upper for layer in layers) if new.forest_floor else 0.0
    top, bottom = start + new.upper_cm, start + new.lower_cm
    rock = next((layer.upper for layer in layers if layer.kinds["hard_rock"] or layer.kinds["soft_rock"]), None)
    if rock is None and profile.rock_stopped:
        rock = profile.observed_to
    flags = ["forest floor included" if new.forest_floor else "forest floor left out"]
    if rock is not None and rock < bottom:
        if rock <= top:
            return silent(LITTLE_DATA).because(LITTLE_DATA, f"rock at {rock:g} cm, above the interval")
        flags.append(f"cut at rock at {rock - start:g} cm")
        bottom = rock
    weight = total = 0.0
    done = top
    any_value = False
    for layer in layers:
        value = profile.value(layer, new.of)
        any_value |= value is not None
        lower = layer.lower if layer.lower is not None else max(profile.observed_to or layer.upper, layer.upper)
        share = min(bottom, lower) - max(done, layer.upper)  # rows that overlap count once
        if value is not None and share > 0:
            weight += share
            total += share * value
            done = max(done, min(bottom, lower))
    covered = weight / (bottom - top)
    if not any_value:
        return silent(NO_DATA)
    if covered < new.least_share - 1e-9:
        return silent(LITTLE_DATA).because(LITTLE_DATA, f"{covered:.0%} covered, {new.least_share:.0%} asked for", *flags)
    return measured(total / weight).because(f"{new.of}, {covered:.0%} of {new.upper_cm:g} to {bottom - start:g} cm", *flags)
