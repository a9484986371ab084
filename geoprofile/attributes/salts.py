"""Depth to salts: conductivity against a stated limit in a stated extract, or sa and z. Gypsum is another thing."""

from __future__ import annotations

from ..described.profile import Horizon, Profile
from ..intervals import Interval, at_least, at_surface, between
from ..products import AttributeDefinition
from .plugin import CSSC, NO_HORIZONS, NO_SALTS, Attribute, silent, why_silent
from .rules import Rules
from .walk import answers_of, depth_of_first

LIMIT_DS_M = 4.0
"""EC of a saline layer in a saturated paste, dS/m (suffix sa, CSSC 1998, from memory; saline soil map of Alberta)."""
EXTRACT = "paste"
OTHER_EXTRACT = "EC by another extract not used: "
"""The flag that the other extracts follow, separated by commas."""


def depth_to_salts(profile: Profile, rules: Rules) -> Interval:
    choice = rules.choice("depth_to_salts")
    if not profile.soil:
        return silent(NO_HORIZONS)
    if choice.evidence == "designation":
        got = depth_of_first(profile, answers_of(profile, "salts"))
        letters = "sa" if profile.convention == "canadian" else "z"
        return silent(why_silent(profile)) if got.status == "unknown" else got.because(f"designation {letters}")
    limit, extract = choice.limit or LIMIT_DS_M, choice.extract or EXTRACT
    samples = [(h, h.ec) for h in profile.soil if h.ec is not None and h.ec_extract == extract]
    got = depth_to_limit(samples, lambda ec: ec >= limit, profile.ec_to)
    named = f"EC {limit:g} dS/m in {'a saturated paste' if extract == 'paste' else 'a ' + extract + ' extract'}"
    if got is None:
        return silent(NO_SALTS).because(NO_SALTS, *_others(profile, extract))
    return got.because(named, *_others(profile, extract))


def depth_to_limit(samples: list[tuple[Horizon, float]], beyond, tested_to: float | None = None) -> Interval | None:
    """Where samples first pass a limit; None without samples.

    A sample stands for the middle of its layer: the limit is passed between the
    middle of the last sample that keeps it and the middle of the first that does
    not. A first sample that does not keep it begins at its own upper depth.
    """
    if not samples:
        return None
    kept = None
    for horizon, value in samples:
        if beyond(value):
            if kept is None:
                top = max(horizon.upper, 0.0)
                return at_surface() if top == 0 else between(0, top)
            return between(kept, max(_middle(horizon), kept))
        kept = _middle(horizon)
    deepest = max(kept, tested_to or 0.0)
    return at_least(deepest, "not_seen")


def _middle(horizon: Horizon) -> float:
    return (max(horizon.upper, 0.0) + (horizon.lower if horizon.lower is not None else horizon.upper)) / 2


def _others(profile: Profile, extract: str) -> tuple[str, ...]:
    flags = []
    extracts = sorted({h.ec_extract or "not stated" for h in profile.soil if h.ec is not None and h.ec_extract != extract})
    if extracts:
        flags.append(OTHER_EXTRACT + ", ".join(extracts))
    salty = next((h for h in profile.soil if h.kinds["salts"]), None)
    if salty is not None:
        flags.append(f"{salty.name} described at {max(salty.upper, 0):g} cm")
    return tuple(flags)


DEPTH_TO_SALTS = Attribute(
    AttributeDefinition(
        "depth_to_salts", "Depth to salts", "cm", "depth",
        "Where EC first reaches a limit, in one stated extract (left out: 4 dS/m in a saturated paste): paste, 1:2 and "
        "1:5 are not interchangeable. It lies between samples. sa and z only where [attributes.for.depth_to_salts] "
        'evidence = "designation". Gypsum (s, y) is not counted.',
        CSSC + ", ch. 2 (limit from memory); Agricultural land resource atlas of Alberta, saline soils",
    ),
    depth_to_salts,
)  # fmt: skip
