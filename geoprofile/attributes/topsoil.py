"""Topsoil by a named rule set: a walk down from the surface, and why it stopped."""

from __future__ import annotations

from ..described.meanings import pattern, pattern_answer
from ..described.profile import Horizon, Profile
from ..described.rule_sets import rule_set_words
from ..intervals import Interval, absent_thickness, at_least, between, measured
from ..products import AttributeDefinition
from .plugin import NO_HORIZONS, Attribute, silent, why_silent
from .rules import Rules
from .thickness import PLOUGHED_UP, ploughed_up
from .topsoil_rules import Layer, Limits


def topsoil_thickness(profile: Profile, rules: Rules) -> Interval:
    rule = rules.topsoil
    named = rule_set_words(rule.name, rule.title)
    if not profile.soil and not profile.below:
        return at_least(0, "not_seen").because(named, "ended in organic layers") if profile.above else silent(NO_HORIZONS)
    flags = (PLOUGHED_UP,) if ploughed_up(profile) else ()
    sure = None
    layers = profile.soil + _joined(profile, rules)
    for n, horizon in enumerate(layers):
        answer, why = _passes(profile, horizon, rules)
        if answer is None and sure is None:
            sure, doubt = horizon.upper, why
        if answer is False:
            low, high = max(horizon.upper_low, 0.0), max(horizon.upper_high, 0.0)
            if n == 0 or high == 0:
                return absent_thickness().because(named, f"none: {why}", *flags)
            if sure is not None:
                return _doubtful(sure, high, named, (f"doubtful: {doubt}", f"stops at {high:g} cm: {why}", *flags))
            return between(low, high).because(named, f"stops at {high:g} cm: {why}", *flags)
    end = layers[-1].lower if layers and layers[-1].lower is not None else profile.reach
    if profile.below and len(layers) < len(profile.soil + profile.below):
        why = "a buried horizon"
        if sure is not None:
            return _doubtful(sure, end, named, (f"doubtful: {doubt}", *flags))
        return measured(end).because(named, f"stops at {end:g} cm: {why}", *flags)
    if sure is not None:
        return silent(why_silent(profile)) if sure <= 0 and not any(h.described for h in layers) else at_least(
            sure, "present" if sure > 0 else "not_described").because(named, f"doubtful: {doubt}", *flags)  # fmt: skip
    if profile.rock_stopped:
        return measured(end).because(named, "stopped by rock", *flags)
    if profile.base_is_boundary and not profile.below and layers[-1].lower is not None:
        low, high = layers[-1].lower_low, layers[-1].lower_high
        return between(low, high).because(named, f"stops at {high:g} cm: the pit went deeper and no more topsoil was described", *flags)
    return at_least(end).because(named, *flags)


def _doubtful(sure: float, high: float, named: str, flags: tuple[str, ...]) -> Interval:
    return between(max(sure, 0.0), high, "present" if sure > 0 else "not_described").because(named, *flags)


def _joined(profile: Profile, rules: Rules) -> tuple[Horizon, ...]:
    """Buried A directly under a soil that is A to its base: it belongs to the lift."""
    if not rules.topsoil.join_buried_a or not profile.below:
        return ()
    if profile.soil and not profile.soil[-1].kinds["a"]:
        return ()
    joined = []
    for n, horizon in enumerate(profile.below):
        joined.append(horizon)
        if not horizon.kinds["a"]:
            break
        if n == len(profile.below) - 1:
            break
    return tuple(joined)


def _passes(profile: Profile, horizon: Horizon, rules: Rules) -> tuple[bool | None, str]:
    """Whether a layer is topsoil; None where a test that decides is not recorded. And why not."""
    if not horizon.described:
        return None, horizon.name
    if rules.topsoil.join_buried_a and horizon.designation.buried and horizon.kinds["a"]:
        return True, ""
    for layer in rules.topsoil.stop:
        fits = _fits(horizon, layer, rules)
        if fits:
            broken = _broken(profile, horizon, layer.limits)
            if broken is None or not _has_limits(layer.limits):
                return False, horizon.name
    doubt = ""
    why = horizon.name
    for layer in rules.topsoil.take:
        fits = _fits(horizon, layer, rules)
        if fits is False:
            continue
        broken = _broken(profile, horizon, layer.limits)
        if fits and broken == "":
            return True, ""
        if fits is None or broken is None:
            doubt = doubt or f"{horizon.name}, not recorded: {_missing(profile, horizon, layer.limits) or 'which letters'}"
        elif broken:
            why = f"{horizon.name}, {broken}"
    return (None, doubt) if doubt else (False, why)


def _fits(horizon: Horizon, layer: Layer, rules: Rules) -> bool | None:
    if layer.designation is not None:
        return pattern_answer(pattern(layer.designation, horizon.designation.convention), horizon.designation)
    if layer.meaning in ("a_and_e", "dark_a") and rules.transitional_a and horizon.kinds["transitional_a"]:
        return True
    return horizon.kinds.get(layer.meaning, False)


def _has_limits(limits: Limits) -> bool:
    return any(value is not None for value in limits.model_dump().values())


def _tests(profile: Profile, horizon: Horizon, limits: Limits):
    """(what, value or None, keeps the limit) of every limit that is set."""
    colour = horizon.moist
    pairs = (
        ("moist value", limits.value_moist_below, colour[1] if colour else None, "below"),
        ("moist chroma", limits.chroma_moist_below, colour[2] if colour else None, "below"),
        ("EC", limits.ec_ds_m_below, horizon.ec if horizon.ec_extract in ("paste", "") else None, "below"),
        ("SAR", limits.sar_below, profile.value(horizon, "sar"), "below"),
        ("CaCO3", limits.caco3_percent_below, profile.value(horizon, "caco3_percent"), "below"),
        ("coarse fragments", limits.coarse_fragments_percent_below, profile.value(horizon, "coarse_fragments_percent"), "below"),
        ("organic carbon", limits.organic_carbon_percent_above, profile.value(horizon, "organic_carbon_percent"), "above"),
    )
    for what, limit, value, side in pairs:
        if limit is not None:
            keeps = None if value is None else (value < limit if side == "below" else value > limit)
            yield what, value, keeps
    if limits.effervescence == "none":
        fizz = horizon.effervescent
        if fizz is None and profile.convention == "canadian" and horizon.kinds["calcareous"]:
            fizz = True
        if fizz is None and profile.acid_to and horizon.upper < profile.acid_to:
            fizz = False
        yield "effervescence", None if fizz is None else ("some" if fizz else "none"), None if fizz is None else not fizz


def _broken(profile: Profile, horizon: Horizon, limits: Limits) -> str | None:
    """The first limit that is broken in words; '' where all keep; None where one that decides is not recorded."""
    doubtful = False
    for what, value, keeps in _tests(profile, horizon, limits):
        if keeps is False:
            return f"{what} {value if isinstance(value, str) else format(value, 'g')}"
        doubtful |= keeps is None
    return None if doubtful else ""


def _missing(profile: Profile, horizon: Horizon, limits: Limits) -> str:
    return ", ".join(what for what, _, keeps in _tests(profile, horizon, limits) if keeps is None)


TOPSOIL = Attribute(
    AttributeDefinition(
        "topsoil_thickness", "Thickness of topsoil by the rule set", "cm", "thickness",
        "What a named rule set takes, walking down from the surface, and why it stopped. A test that was not recorded "
        "makes it lie between the sure and the doubtful. No least lift is added: 15 cm taken where 8 cm of Ah lie on Bnt bring Bnt into "
        "the pile. Forest floor stays apart.",
        "rule sets in geoprofile/attributes/rules, each with its source", True,
    ),
    topsoil_thickness,
)  # fmt: skip
