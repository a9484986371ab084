"""Deriving attributes: every pit says of every attribute an interval, how it is known, and whether the feature is there."""

from __future__ import annotations

from difflib import get_close_matches

import pandas as pd

from ..context import Context
from ..described.from_frames import build_profiles
from ..described.meanings import buried_limits
from ..described.profile import Profile
from ..described.rule_sets import rule_set_words
from ..errors import PluginError, SettingsError
from ..intervals import Interval
from ..problems import Problem, counted, problems_frame
from ..products import VALUE_COLUMNS, AttributeDefinition, Attributes, Pits, typed
from ..record import Record
from ..registry import plugins
from ..settings.attributes import AttributesSettings, NewAttribute
from ..vocabulary.designations import parse_designation
from .carbonates import BY_DESIGNATION, evidence_for, pooling_refusal
from .depth_functions import overshoots
from .findings import Findings
from .new_attributes import new_attribute
from .plugin import NOT_NATURAL, Attribute, silent
from .readings import disagreement, group_readings, reading_of
from .rules import Rules, refuse_idle_choices
from .salts import EXTRACT
from .topsoil_rules import find_topsoil_rule, read_topsoil_rule

GROUP = "geoprofile.attributes"
PIT_FIELDS = ("pit_id", "place_id", "position_accuracy_m", "geometry")
STOPPED = ("stones", "rock")


def derive_attributes(pits: Pits, settings: AttributesSettings, context: Context, record: Record) -> Attributes:
    """What every pit says of every attribute.

    Parameters
    ----------
    pits : checked descriptions.
    settings : the [attributes] section.
    context : the survey's frame; its convention says what letters mean.
    record : how this product comes about.

    Returns
    -------
    Attributes, one row a pit and attribute, depths and thicknesses in cm.

    Raises
    ------
    SettingsError for names, properties or rule sets that do not exist; PluginError
    when an attribute from elsewhere breaks its contract.
    """
    convention = context.survey.convention
    chosen = choose_attributes(settings, convention, pits)
    rules = make_rules(settings, context, pits)
    problems = _pooling_problems(rules, chosen) + _broken_plugins()
    readings = group_readings(pits.readings)
    problems += _unknown_readings(readings, chosen)
    findings = Findings()
    rows: list[tuple] = []
    stones = welded = 0
    with context.progress.task("deriving attributes", len(pits.pits)) as task:
        for number, profile in enumerate(build_profiles(pits, convention)):
            stones += profile.stopped_by in STOPPED
            welded += any(horizon.described and horizon.designation.buried for horizon in profile.soil)
            for name, plugin in chosen.items():
                interval = _derive(name, plugin, profile, rules)
                findings.take(profile.pit_id, interval)
                read = readings.get((profile.pit_id, name))
                if read and profile.is_natural:
                    interval, problem = _outrank(interval, read, plugin.definition, settings.readings_tolerance_cm)
                    problems += [problem] if problem else []
                rows.append((profile.pit_id, name, interval.low, interval.high, interval.status, interval.presence,
                             interval.evidence, "; ".join(dict.fromkeys(interval.flags))))  # fmt: skip
            if number % 100 == 99:
                task.advance(100)
    problems += findings.problems(pits.pits, rules.choice("depth_to_salts").extract or EXTRACT)
    values = typed(pd.DataFrame(rows, columns=list(VALUE_COLUMNS)), VALUE_COLUMNS)
    return Attributes(
        record=record,
        pits=pits.pits[list(PIT_FIELDS)].reset_index(drop=True),
        values=values,
        definitions=tuple(plugin.definition for plugin in chosen.values()),
        problems=problems_frame(problems),
        notes=(*_notes(rules, convention, chosen, stones, welded), *filter(None, [overshoots(values["flags"])])),
    )


def choose_attributes(settings: AttributesSettings, convention: str, pits: Pits) -> dict[str, object]:
    """Attributes to derive by name: those in ``use``, or all that are installed and all new ones."""
    installed = plugins(GROUP)
    taken = sorted(set(settings.new) & set(installed.loaded))
    if taken:
        raise SettingsError("a new attribute has the name of one that exists", where="attributes.new", found=", ".join(taken),
                            remedy="choose another name")  # fmt: skip
    known = {**installed.loaded}
    columns = [name for name, values in pits.horizons.items() if pd.api.types.is_numeric_dtype(values)]
    own: dict[str, NewAttribute] = {}
    for name, new in settings.new.items():
        for one, interval in new.each_interval(name).items():
            if one in own or one in installed.loaded:
                raise SettingsError("two attributes would have one name", where=f"attributes.new.{name}", found=one, remedy="choose another name")
            own[one] = interval
            known[one] = new_attribute(one, interval, convention, columns)
    # a depth function of several intervals may be used by its one name
    use = tuple(one for name in settings.use for one in (settings.new[name].each_interval(name) if name in settings.new else (name,)))
    _refuse_unknown(use, known, "attributes.use")
    _refuse_unknown(settings.for_, known, "attributes.for")
    ours = {name for name, plugin in installed.loaded.items() if isinstance(plugin, Attribute)}
    refuse_idle_choices(settings, frozenset(ours | set(own)))
    return {name: known[name] for name in (dict.fromkeys(use) or known)}


def _refuse_unknown(names, known: dict, where: str) -> None:
    mistakes = []
    for name in names:
        if name not in known:
            near = get_close_matches(name, known, 1, 0.5)
            mistakes.append(
                SettingsError("there is no such attribute", where=where, found=repr(name), allowed=", ".join(sorted(known)),
                              remedy=f"did you mean {near[0]!r}?" if near else "choose one of these, or define it in [attributes.new.NAME]")
            )  # fmt: skip
    if mistakes:
        first, *rest = mistakes
        raise SettingsError(first.what, where=first.where, found=first.found, allowed=first.allowed, remedy=first.remedy,
                            others=tuple(rest))  # fmt: skip


def make_rules(settings: AttributesSettings, context: Context, pits: Pits) -> Rules:
    """The survey's choices, with what only the whole survey can tell: whether discontinuities are marked."""
    convention = context.survey.convention
    if settings.topsoil_rule_file:
        topsoil = read_topsoil_rule(context.path(settings.topsoil_rule_file))
    else:
        topsoil = find_topsoil_rule(settings.topsoil_rule)
    marked = settings.discontinuities_marked
    if marked is None:
        texts = {text for text in pits.horizons["designation"].dropna().unique() if text}
        marked = any(parse_designation(text, convention).discontinuity > 1 for text in texts)
    conventions = pits.pits["convention"].dropna().unique() if "convention" in pits.pits else []
    pooled = tuple(sorted({name or convention for name in conventions}))
    return Rules(settings, topsoil, bool(marked), pooled if len(pooled) > 1 else ())


def _derive(name: str, plugin: object, profile: Profile, rules: Rules) -> Interval:
    if not profile.is_natural:
        return silent(NOT_NATURAL).because(NOT_NATURAL, profile.datum)
    try:
        interval = plugin.derive(profile, rules)
    except Exception as error:  # a stranger's code may raise anything; say whose it was and at which pit
        raise PluginError(f"the attribute {name!r} failed", where=f"pit {profile.pit_id}",
                          found=f"{type(error).__name__}: {error}",
                          remedy="report it to whoever made the attribute, or leave it out of [attributes] use") from error  # fmt: skip
    if not isinstance(interval, Interval):
        raise PluginError(f"the attribute {name!r} broke its contract", where=f"pit {profile.pit_id}",
                          found=type(interval).__name__, allowed="derive() returns an Interval")  # fmt: skip
    return _with_circumstances(interval, profile)


def _with_circumstances(interval: Interval, profile: Profile) -> Interval:
    """Say beside an "at least" what ended the pit: stones on knolls do not stop pits at random."""
    if interval.status != "at_least":
        return interval
    flags = []
    if profile.stopped_by in STOPPED:
        flags.append(f"stopped by {profile.stopped_by}")
    if profile.below and interval.low == profile.buried_at:
        flags.append(f"a buried horizon begins at {profile.buried_at:g} cm")
    return interval.because(interval.evidence, *flags) if flags else interval


def _outrank(
    derived: Interval, rows: list[dict], definition: AttributeDefinition, tolerance: float
) -> tuple[Interval, Problem | None]:
    reading = reading_of(rows, definition)
    if reading is None:
        return derived, None
    return reading, disagreement(reading, derived, definition, rows, tolerance)


def _unknown_readings(readings: dict, chosen: dict) -> list[Problem]:
    known = set(chosen) | set(plugins(GROUP).loaded)
    names = sorted({name for _, name in readings if name not in known})
    return [
        Problem("warning", "direct reading", "direct readings of an attribute that does not exist are not used", field=name,
                found=f"{name!r} at {sum(other == name for _, other in readings)} pits",
                remedy="define it in [attributes.new.NAME], or map the column to another attribute")
        for name in names
    ]  # fmt: skip


def _pooling_problems(rules: Rules, chosen: dict) -> list[Problem]:
    refused = [(name, pooling_refusal(rules, name)) for name in BY_DESIGNATION if name in chosen]
    return [
        Problem("error", "conventions", f"{name}: {error.what}", field=name, found=error.found, allowed=error.allowed,
                remedy=error.remedy)
        for name, error in refused
        if error is not None
    ]  # fmt: skip


def _broken_plugins() -> list[Problem]:
    return [
        Problem("warning", "plug-in", f"the attribute {broken.name!r} did not load; the others work", field=broken.value,
                found=broken.reason, remedy="repair or uninstall the package it comes from")
        for broken in plugins(GROUP).broken
    ]  # fmt: skip


def _notes(rules: Rules, convention: str, chosen: dict, stones: int, welded: int) -> tuple[str, ...]:
    notes = [f"convention: {convention}"]
    if "depth_to_carbonates" in chosen:
        notes.append(f"depth_to_carbonates: evidence {evidence_for(rules, convention)}")
    if "depth_to_salts" in chosen:
        choice = rules.choice("depth_to_salts")
        notes.append(
            "depth_to_salts: by designation" if choice.evidence == "designation"
            else f"depth_to_salts: EC {choice.limit or 4:g} dS/m, extract {choice.extract or 'paste'}"
        )  # fmt: skip
    if "topsoil_thickness" in chosen:
        notes.append(f"topsoil_thickness: {rule_set_words(rules.topsoil.name, rules.topsoil.title)}; {rules.topsoil.source}")
    if "solum_thickness" in chosen:
        notes.append(f"solum_thickness: BC {'counted' if rules.bc_in_solum else 'not counted'}")
    if {"dark_a_thickness", "a_e_thickness"} & set(chosen):
        notes.append(f"AB, AC and AE {'count' if rules.transitional_a else 'do not count'} as A")
    if "depth_to_discontinuity" in chosen and not rules.marks_discontinuities:
        notes.append("depth_to_discontinuity: no pit of the survey marks one, so none says anything")
    if welded:
        mantle, thin = buried_limits(convention)
        limit = f"{thin:g} cm, or {mantle:g} cm over a thick buried soil" if thin < mantle else f"{mantle:g} cm"
        notes.append(f"{counted(welded, 'pit has', 'pits have')} a buried horizon under less than {limit} of new soil: read as one soil ({convention})")
    if stones:
        notes.append(
            f"{counted(stones, 'pit was', 'pits were')} stopped by stones or rock: that is not at random, so what {'they say' if stones > 1 else 'it says'} as 'at least' is a weaker "
            "statement there than elsewhere"
        )
    return tuple(notes)
