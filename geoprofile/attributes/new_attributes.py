"""Attributes of one's own, by data: [attributes.new.NAME], kind average, depth_function, depth_to or thickness."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from ..described.meanings import pattern, pattern_answer
from ..described.profile import Profile
from ..errors import SettingsError
from ..intervals import Interval
from ..products import HORIZON_COLUMNS, AttributeDefinition
from ..settings.attributes import NewAttribute
from .averages import average
from .depth_functions import SOURCE, spline_mean
from .plugin import NO_DATA, NO_HORIZONS, Attribute, silent, why_silent
from .salts import depth_to_limit
from .walk import depth_of_first, met, thickness_of, thickness_or

UNITS = {"ec_ds_m": "dS/m", "bulk_density": "Mg/m3"}
SUFFIXES = {"_percent": "%", "_g_kg": "g/kg", "_mg_kg": "mg/kg", "_ds_m": "dS/m", "_cm": "cm", "_mm": "mm"}
"""Endings of column names that say the unit."""
PLACES = {name for name in HORIZON_COLUMNS if name.endswith("_cm")} | {"order", "row"}


def new_attribute(name: str, new: NewAttribute, convention: str, columns: Iterable[str]) -> Attribute:
    """The plug-in that a [attributes.new.NAME] table describes.

    ``columns`` are the measured columns that the survey's horizons have.
    Raises SettingsError where it asks for a property or letters that are not known.
    """
    columns = sorted(set(columns) - PLACES)
    title = new.title or title_of(new)
    source = f"[attributes.new.{name}] of the survey file"
    if new.kind in ("average", "depth_function") or new.at_least is not None or new.at_most is not None:
        if new.of not in columns:
            near = get_close_matches(new.of, columns, 1, 0.5)
            raise SettingsError("there is no such measured property", where=f"attributes.new.{name}.of", found=repr(new.of),
                                allowed=", ".join(columns), remedy=f"did you mean {near[0]!r}?" if near else "")  # fmt: skip
    if new.kind == "average":
        floor = "included" if new.forest_floor else "left out"
        text = (f"Mean of {new.of} from {new.upper_cm:g} to {new.lower_cm:g} cm by thickness; forest floor {floor}; no "
                f"value below {new.least_share:.0%} of the interval with data; cut at rock.")  # fmt: skip
        unit = new.unit if new.unit is not None else unit_of(new.of)
        definition = AttributeDefinition(name, title, unit, "average", text, source, False, 1)
        return Attribute(definition, lambda profile, rules: average(profile, new))
    if new.kind == "depth_function":
        return _depth_function(name, new, title, source)
    if new.at_least is not None or new.at_most is not None:
        limit = f"at least {new.at_least:g}" if new.at_least is not None else f"at most {new.at_most:g}"
        definition = AttributeDefinition(name, title, "cm", "depth", f"Depth to the first {new.of} of {limit}, between samples.", source)
        return Attribute(definition, lambda profile, rules: _depth_to_value(profile, new))
    wanted = pattern(new.of, convention)
    if new.kind == "depth_to":
        definition = AttributeDefinition(name, title, "cm", "depth", f"Top of the first horizon like {new.of}.", source, True)
        return Attribute(definition, lambda profile, rules: _depth_to_pattern(profile, new))
    definition = AttributeDefinition(name, title, "cm", "thickness", f"Summed thickness of horizons like {wanted.text}.", source, True)
    return Attribute(definition, lambda profile, rules: _thickness_of_pattern(profile, new))


def _depth_function(name: str, new: NewAttribute, title: str, source: str) -> Attribute:
    unit = new.unit if new.unit is not None else unit_of(new.of)
    lowest = 0.0 if new.lowest is None else new.lowest
    highest = new.highest if new.highest is not None else 100.0 if unit_of(new.of) == "%" else float("inf")
    floor = "included" if new.forest_floor else "left out"
    text = (f"Mean from {new.upper_cm:g} to {new.lower_cm:g} cm of the equal-area quadratic smoothing spline through the layers with "
            f"{new.of}, lambda {new.smoothing:g} (depths in cm), clipped to {lowest:g} {'and more' if highest == float('inf') else f'to {highest:g}'}; "
            f"forest floor {floor}; no value below {new.least_share:.0%} of the interval with data; cut at rock and where data end.")  # fmt: skip
    definition = AttributeDefinition(name, title, unit, "average", text, f"{source}; {SOURCE}", False, 1,
                                     of=new.of, upper_cm=new.upper_cm, lower_cm=new.lower_cm, smoothing=new.smoothing)  # fmt: skip
    return Attribute(definition, lambda profile, rules: spline_mean(profile, new, lowest, highest))


def unit_of(column: str) -> str:
    """Unit of a measured column, from its name; '' where it has none or does not say."""
    return UNITS.get(column) or next((unit for ending, unit in SUFFIXES.items() if column.endswith(ending)), "")


def title_of(new: NewAttribute) -> str:
    """A readable name where the survey file gives none: what is sought, and where."""
    if new.kind == "depth_function":
        return _capital(f"{_property(new.of)} by depth function, {new.upper_cm:g} to {new.lower_cm:g} cm")
    if new.kind == "average":
        return _capital(f"{_property(new.of)}, {new.upper_cm:g} to {new.lower_cm:g} cm")
    if new.at_least is not None or new.at_most is not None:
        limit = f"at least {new.at_least:g}" if new.at_least is not None else f"at most {new.at_most:g}"
        return f"Depth to {_property(new.of)} of {limit} {unit_of(new.of)}".rstrip()
    like = f"horizons like {new.of}" if "*" in new.of else new.of
    return f"{'Depth to' if new.kind == 'depth_to' else 'Thickness of'} {like}"


def _property(column: str) -> str:
    """``clay_percent`` -> clay: in the words of the contract, or of the column's own name without its unit."""
    if column in HORIZON_COLUMNS:
        return HORIZON_COLUMNS[column][1].split(",")[0]
    return next((column.removesuffix(ending) for ending in SUFFIXES if column.endswith(ending)), column).replace("_", " ")


def _capital(text: str) -> str:
    return text if text.startswith("pH") else text[0].upper() + text[1:]


def _depth_to_value(profile: Profile, new: NewAttribute) -> Interval:
    if not profile.soil:
        return silent(NO_HORIZONS)
    samples = [(h, value) for h in profile.soil if (value := profile.value(h, new.of)) is not None]
    if new.at_least is not None:
        got = depth_to_limit(samples, lambda value: value >= new.at_least)
        named = f"{new.of} at least {new.at_least:g}"
    else:
        got = depth_to_limit(samples, lambda value: value <= new.at_most)
        named = f"{new.of} at most {new.at_most:g}"
    return silent(NO_DATA) if got is None else got.because(named)


def _pattern_answers(profile: Profile, text: str) -> list[bool | None]:
    wanted = pattern(text, profile.convention)
    return [pattern_answer(wanted, h.designation) if h.described else None for h in profile.soil]


def _depth_to_pattern(profile: Profile, new: NewAttribute) -> Interval:
    if not profile.soil:
        return silent(NO_HORIZONS)
    got = depth_of_first(profile, _pattern_answers(profile, new.of), absent=met(profile, "hard_rock"))
    return silent(why_silent(profile)) if got.status == "unknown" else got.because(f"designation {new.of}")


def _thickness_of_pattern(profile: Profile, new: NewAttribute) -> Interval:
    if not profile.soil:
        return silent(NO_HORIZONS)
    answers = _pattern_answers(profile, new.of)
    ended = not met(profile, "below_b") and not profile.base_is_boundary
    got = thickness_or(profile, thickness_of(profile, answers), answers, ended_above=ended)
    return silent(why_silent(profile)) if got.status == "unknown" else got.because(f"designation {new.of}")
