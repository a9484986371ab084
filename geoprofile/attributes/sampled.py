"""The layers of a pit that carry a value within an interval: what a mean and a depth function both rest on."""

from __future__ import annotations

from dataclasses import dataclass

from ..described.profile import Profile
from ..settings.attributes import NewAttribute


@dataclass(frozen=True)
class Sampled:
    """Depths in cm from the datum. ``layers`` are (upper, lower, value) of all the pit, each depth once, the upper row first."""

    start: float
    """What the interval is counted from: the mineral surface, or the top of the forest floor."""
    top: float
    bottom: float
    """The interval, cut at rock."""
    layers: tuple[tuple[float, float, float], ...]
    flags: tuple[str, ...]
    rock_above: float | None = None
    """Depth of rock that leaves nothing of the interval."""


def sampled(profile: Profile, new: NewAttribute) -> Sampled:
    """The layers with a value of ``new.of``, and the interval that ``new`` asks for."""
    horizons = profile.all_horizons
    start = min(horizon.upper for horizon in horizons) if new.forest_floor else 0.0
    top, bottom = start + new.upper_cm, start + new.lower_cm
    rock = next((h.upper for h in horizons if h.kinds["hard_rock"] or h.kinds["soft_rock"]), None)
    if rock is None and profile.rock_stopped:
        rock = profile.observed_to
    flags = ["forest floor included" if new.forest_floor else "forest floor left out"]
    rock_above = None
    if rock is not None and rock < bottom:
        if rock <= top:
            rock_above = rock
        else:
            flags.append(f"cut at rock at {rock - start:g} cm")
            bottom = rock
    layers = []
    done = min(start, 0.0) if new.forest_floor else 0.0
    for horizon in horizons:
        value = profile.value(horizon, new.of)
        lower = horizon.lower if horizon.lower is not None else max(profile.observed_to or horizon.upper, horizon.upper)
        upper = max(done, horizon.upper)  # rows that overlap count once
        if value is not None and lower > upper:
            layers.append((upper, lower, value))
            done = lower
    return Sampled(start, top, bottom, tuple(layers), tuple(flags), rock_above)


def any_value(profile: Profile, column: str) -> bool:
    return any(profile.value(horizon, column) is not None for horizon in profile.all_horizons)
