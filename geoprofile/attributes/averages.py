"""The mean of a measured property over an interval, with the share that has data."""

from __future__ import annotations

from itertools import pairwise

from ..described.profile import GAP_CM, Profile
from ..intervals import Interval, between
from ..settings.attributes import NewAttribute
from .plugin import LITTLE_DATA, NO_DATA, NO_HORIZONS, silent
from .sampled import any_value, sampled


def average(profile: Profile, new: NewAttribute) -> Interval:
    """Mean over an interval, weighted by thickness, divided by the thickness that has data (never by the whole).

    Where two horizons claim one depth, nobody knows whose it is: the mean lies between those of the lesser and of
    the greater value; a depth that is also claimed by a horizon without a value has no data.
    """
    if not profile.all_horizons:
        return silent(NO_HORIZONS)
    found = sampled(profile, new)
    if found.rock_above is not None:
        return silent(LITTLE_DATA).because(LITTLE_DATA, f"rock at {found.rock_above:g} cm, above the interval")
    if not any_value(profile, new.of):
        return silent(NO_DATA)
    weight = low = high = twice = 0.0
    claims = _claims(profile, new.of)
    doubtful = _overlaps(claims)
    settled = [(*layer, layer[2]) for layer in found.layers]
    bounds = sorted({found.top, found.bottom, *(depth for one in (*settled, *doubtful) for depth in one[:2] if found.top < depth < found.bottom)})
    for upper, lower in pairwise(bounds):
        middle, thick = (upper + lower) / 2, lower - upper
        if any(top < middle < base for top, base in doubtful):
            twice += thick
            values = [value for top, base, value in claims if top < middle < base]
            values = [] if None in values else values
        else:
            values = [value for top, base, value, _ in settled if top < middle < base][:1]
        if values:
            weight, low, high = weight + thick, low + thick * min(values), high + thick * max(values)
    flags = [*found.flags, *([f"{twice:g} cm claimed by two horizons"] if twice else [])]
    covered = weight / (found.bottom - found.top)
    if weight <= 0 or covered < new.least_share - 1e-9:
        return silent(LITTLE_DATA).because(LITTLE_DATA, f"{covered:.0%} covered, {new.least_share:.0%} asked for", *flags)
    mean = between(low / weight, high / weight) if twice and high > low else between(low / weight, low / weight)
    return mean.because(f"{new.of}, {covered:.0%} of {new.upper_cm:g} to {found.bottom - found.start:g} cm", *flags)


def _claims(profile: Profile, column: str) -> list[tuple[float, float, float | None]]:
    """(upper, lower, value or None) of every horizon that has a thickness, cm."""
    claims = []
    for horizon in profile.all_horizons:
        lower = horizon.lower if horizon.lower is not None else max(profile.observed_to or horizon.upper, horizon.upper)
        if lower > horizon.upper and horizon.row >= 0:  # not a layer that nobody described
            claims.append((horizon.upper, lower, profile.value(horizon, column)))
    return claims


def _overlaps(claims: list[tuple[float, float, float | None]]) -> list[tuple[float, float]]:
    """(upper, lower) of what two horizons claim, beyond what rounding makes, cm."""
    found = []
    for n, (upper, lower, _) in enumerate(claims):
        for other_upper, other_lower, _ in claims[n + 1:]:
            top, base = max(upper, other_upper), min(lower, other_lower)
            if base > top + GAP_CM:
                found.append((top, base))
    return found
