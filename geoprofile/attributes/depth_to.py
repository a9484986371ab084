"""Depths to horizons: Bt, solonetzic B, C, rock, discontinuity, buried A, change of colour, mottles, gleying."""

from __future__ import annotations

from ..described.profile import SHALLOW_TOOLS, Horizon, Profile
from ..intervals import Interval, absent_depth, at_least, at_surface, between, measured
from ..products import AttributeDefinition
from .plugin import (
    CSSC,
    KEYS,
    NO_COLOUR,
    NO_HORIZONS,
    NO_MOTTLES,
    NOT_MARKED,
    WRB,
    Attribute,
    silent,
    why_silent,
)  # fmt: skip
from .rules import Rules
from .tested import as_tested
from .walk import answers_of, depth_of_first, met

COLOUR_STEP = 1.0
"""Munsell value units by which the colour must differ from the surface horizon's (CSSC 1998, ch. 5: one unit)."""


def _by_designation(profile: Profile, kind: str, *flags: str) -> Interval:
    """A B horizon's depth: absent where C, rock or a buried horizon was met without it."""
    if not profile.soil:
        return _without_soil(profile)
    ended = met(profile, "below_b") or bool(profile.below)
    got = depth_of_first(profile, answers_of(profile, kind), absent=ended)
    return silent(why_silent(profile)) if got.status == "unknown" else got.because("designation", *flags)


def _without_soil(profile: Profile) -> Interval:
    return at_least(0, "not_seen").because("ended in organic layers") if profile.above else silent(NO_HORIZONS)


def depth_to_bt(profile: Profile, rules: Rules) -> Interval:
    return _by_designation(profile, "bt", *(("Btj present",) if met(profile, "weak_bt") else ()))


def depth_to_solonetzic_b(profile: Profile, rules: Rules) -> Interval:
    return _by_designation(profile, "solonetzic_b")


def depth_to_c(profile: Profile, rules: Rules) -> Interval:
    if not profile.soil:
        return _without_soil(profile)
    ended = met(profile, "hard_rock") or profile.rock_stopped or bool(profile.below)
    got = depth_of_first(profile, answers_of(profile, "c"), absent=ended)
    if got.status == "unknown":
        return silent(why_silent(profile))
    soft = got.presence == "present" and next(h for h in profile.soil if h.kinds["c"]).kinds["soft_rock"]
    return got.because("designation", *(("soft rock",) if soft else ()))


def depth_to_rock(profile: Profile, rules: Rules) -> Interval:
    """Rock lies where it lies: buried horizons above it change nothing. What is not described is not rock."""
    everything = profile.soil + profile.below
    if profile.observed_to is None or (not everything and profile.observed_to <= 0):
        return silent(NO_HORIZONS)
    doubt, why = None, ""
    for horizon in everything:
        if horizon.kinds["hard_rock"] or horizon.kinds["soft_rock"]:
            return _rock_at(horizon, doubt, everything)
        if doubt is None and horizon.kinds["rock_in_part"]:
            doubt, why = max(horizon.upper, 0.0), "rock in part of a horizon"
        if doubt is None and not horizon.described and horizon.lower is None:
            doubt, why = max(horizon.upper, 0.0), "the last layer is not described"
    if doubt is not None:
        return at_least(doubt, "not_described").because("designation", why) if doubt > 0 else silent(why)
    if profile.rock_stopped:
        return measured(profile.observed_to).because("stopped by rock, seen in the pit", "no R described")
    flags = ()
    if profile.stopped_by == "rock":
        tool = f"an {profile.kind}" if profile.kind == "auger" else f"a {profile.kind}"
        flags = (
            f"{tool} cannot tell rock from a stone" if profile.kind in SHALLOW_TOOLS
            else "kind of observation not stated: not taken for rock",
        )  # fmt: skip
    return at_least(max(profile.observed_to, 0.0), "not_seen").because("depth observed", *flags)


def _rock_at(horizon: Horizon, doubt: float | None, everything: tuple[Horizon, ...]) -> Interval:
    hardness = "soft rock" if horizon.kinds["soft_rock"] else "hard rock"
    low, high = max(horizon.upper_low, 0.0), max(horizon.upper_high, 0.0)
    if doubt is not None:
        got = between(min(doubt, high), high)
    else:
        got = at_surface() if high <= 0 else between(low, high)
    harder = next((h for h in everything if h.kinds["hard_rock"]), None)
    more = (f"hard rock at {harder.upper:g} cm",) if hardness == "soft rock" and harder else ()
    return got.because("designation", hardness, *more)


def depth_to_discontinuity(profile: Profile, rules: Rules) -> Interval:
    if not rules.marks_discontinuities:
        return silent(NOT_MARKED)
    if not profile.soil:
        return _without_soil(profile)
    base, material, answers = None, 1, []
    for horizon in profile.soil:
        if not horizon.described:
            answers.append(None)
            continue
        mineral = not horizon.designation.organic
        answers.append(mineral and base is not None and horizon.designation.discontinuity > base)
        if mineral and base is None:  # organic over mineral is not a discontinuity
            base = horizon.designation.discontinuity
        if answers[-1]:
            material = horizon.designation.discontinuity
            break
    answers += [False] * (len(profile.soil) - len(answers))
    got = depth_of_first(profile, answers)
    if got.status == "unknown":
        return silent(why_silent(profile))
    names = (f"material {material} under material {base}",) if got.presence == "present" else ()
    return got.because("designation", *names)


def depth_to_buried_a(profile: Profile, rules: Rules) -> Interval:
    if not profile.all_horizons:
        return silent(NO_HORIZONS)
    everything = profile.soil + profile.below
    for n, horizon in enumerate(everything):
        if horizon.described and horizon.designation.buried and horizon.kinds["a"]:
            low, high = max(horizon.upper_low, 0.0), max(horizon.upper_high, 0.0)
            joins = n > 0 and all(over.kinds["a"] for over in everything[:n])
            return between(low, high).because("designation", *(("directly under the surface A",) if joins else ()))
    if any(not horizon.described for horizon in profile.soil):
        got = depth_of_first(profile, [None if not h.described else False for h in profile.soil])
        return silent(why_silent(profile)) if got.status == "unknown" else got.because("designation")
    if met(profile, "hard_rock"):
        return absent_depth().because("rock met")
    deepest = max(profile.described_to or 0.0, 0.0)
    return at_least(deepest, "not_seen").because("designation") if deepest > 0 else _without_soil(profile)


def depth_to_colour_change(profile: Profile, rules: Rules) -> Interval:
    """The operator's cue: the first horizon whose colour differs from that of the surface horizon."""
    step = rules.choice("depth_to_colour_change").limit or COLOUR_STEP
    wetness, colours = "moist", [horizon.moist for horizon in profile.soil]
    if not any(colours):
        wetness, colours = "dry", [horizon.dry for horizon in profile.soil]
    if not colours or colours[0] is None:
        return silent(NO_COLOUR if profile.soil else NO_HORIZONS)
    _, value, chroma = colours[0]
    answers = [
        None if colour is None else abs(colour[1] - value) >= step or abs(colour[2] - chroma) >= 2 * step
        for colour in colours
    ]
    got = depth_of_first(profile, answers)
    return silent(NO_COLOUR) if got.status == "unknown" else got.because(f"{wetness} colours")


def depth_to_mottles(profile: Profile, rules: Rules) -> Interval:
    said = as_tested([horizon.mottled for horizon in profile.soil], profile, profile.mottles_to)
    if not said.reach:
        return silent(NO_MOTTLES if profile.soil else NO_HORIZONS)
    got = depth_of_first(profile, said.answers, reach=said.reach, parts=[horizon.mottles_part for horizon in profile.soil])
    if got.presence == "not_described" and got.status == "at_least":
        got = at_least(min(got.low, said.reach), "not_seen")
    return silent(NO_MOTTLES) if got.status == "unknown" else got.because("mottles described")


def depth_to_gleying(profile: Profile, rules: Rules) -> Interval:
    if not profile.soil:
        return _without_soil(profile)
    answers = answers_of(profile, "gleyed")
    got = depth_of_first(profile, answers)
    if got.status == "unknown":
        return silent(why_silent(profile))
    first = answers.index(True) if True in answers else 0
    if first and all(horizon.kinds["dark_a"] for horizon in profile.soil[:first]):
        top = profile.soil[first]
        return between(0, top.upper_high).because("designation", "a dark A hides gleying")
    return got.because("designation")


def _depth(name: str, title: str, help_text: str, source: str, derive, absent: bool = False) -> Attribute:
    return Attribute(AttributeDefinition(name, title, "cm", "depth", help_text, source, absent), derive)


DEPTH_TO_BT = _depth(
    "depth_to_bt", "Depth to the Bt",
    "Top of the first B with t. A j weakens only the letter before it, so Btnj counts and Btj does not; neither do BCt and Btb. A "
    "pit that ended above C has not shown that Bt is absent. A bare B may be one.",
    CSSC + ", ch. 2; " + KEYS + ", ch. 3", depth_to_bt, True,
)  # fmt: skip
DEPTH_TO_SOLONETZIC_B = _depth(
    "depth_to_solonetzic_b", "Depth to the solonetzic B",
    "Top of the first Bn or Bnt (a B with n in the USDA and WRB conventions): on much of the Plains stripping ends above it.",
    CSSC + ", ch. 12", depth_to_solonetzic_b, True,
)  # fmt: skip
DEPTH_TO_C = _depth(
    "depth_to_c", "Depth to the C",
    "Top of the first C, whatever its letters. Rock directly under B: there is no C.", CSSC + ", ch. 2", depth_to_c, True,
)  # fmt: skip
DEPTH_TO_ROCK = _depth(
    "depth_to_rock", "Depth to rock",
    "Top of R; of R or Cr in the USDA convention, told apart as hard and soft rock. A refusal is at least its depth, "
    "not rock: an auger cannot tell rock from a stone.", CSSC + ", ch. 2; " + KEYS + ", ch. 3", depth_to_rock,
)  # fmt: skip
DEPTH_TO_DISCONTINUITY = _depth(
    "depth_to_discontinuity", "Depth to a discontinuity",
    "Top of the first IIC, 2C ... in mineral material; organic over mineral is not one. Says something only where the "
    "survey marks discontinuities.", CSSC + ", ch. 2; " + KEYS + ", ch. 18", depth_to_discontinuity,
)  # fmt: skip
DEPTH_TO_BURIED_A = _depth(
    "depth_to_buried_a", "Depth to a buried A",
    "Top of the first buried A (b). One directly under the surface A joins a salvage lift.",
    CSSC + ", ch. 2", depth_to_buried_a, True,
)  # fmt: skip
DEPTH_TO_COLOUR_CHANGE = _depth(
    "depth_to_colour_change", "Depth to the change of colour",
    "Top of the first horizon whose moist colour (dry, where no moist one was written) differs from the surface "
    "horizon's by one unit of value or two of chroma: what an operator sees.",
    "operator's cue in stripping permits: Colorado DRMS documents 960220, 885240; one unit of value: " + CSSC + ", ch. 5",
    depth_to_colour_change,
)  # fmt: skip
DEPTH_TO_MOTTLES = _depth(
    "depth_to_mottles", "Depth to mottles",
    "Top of the first horizon with mottles. Blank is not none: it is unknown. Where land has been drained, take mottles for "
    "relict unless a dated water level shows that they are not.", CSSC + ", ch. 2; common practice, no source, for relict mottles",
    depth_to_mottles,
)  # fmt: skip
DEPTH_TO_GLEYING = _depth(
    "depth_to_gleying", "Depth to gleying",
    "Top of the first horizon with g, not gj (g, l or r in WRB). Directly under a dark A it begins anywhere from 0 to "
    "the base of that A.", CSSC + ", ch. 2; " + WRB, depth_to_gleying,
)  # fmt: skip
