"""Which lifts a plan has: topsoil by the rule set, the forest floor, and peat.

L, F and H of the forest and the O of wet ground are two soils to a reclamation plan: what
counts as the one is no part of the other, and neither may vanish because the other is listed.
A rule set that takes peat takes that of organic soils, whose depth counts from the top of the
peat; the peat over a mineral soil stays in the lift of peat under every rule set.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from ..described.from_frames import build_profiles
from ..described.profile import Profile
from ..problems import Problem, counted
from ..products import NOT_NATURAL, AttributeDefinition, Attributes, Pits
from ..settings.salvage import SalvageSettings
from .rules import BY_RULE_SET, Topsoil

TOPSOIL, FLOOR, PEAT = "topsoil", "forest floor", "peat"
FLOOR_THICKNESS, PEAT_THICKNESS = "forest_floor_thickness", "peat_thickness"
FLOOR_TITLES = {
    "canadian": "L, F and H layers above the mineral soil; not peat (O)",
    "usda": "O layers above a mineral soil; not the peat of organic soils",
    "wrb": "O layers; not peat (H)",
}
PEAT_TITLES = {"canadian": "peat (O layers)", "usda": "peat (O layers of organic soils, L layers)", "wrb": "peat (H layers)"}
MOST_NAMED = 12


@dataclass(frozen=True)
class Lift:
    """``values``: rows of ``Attributes.values`` by pit. ``unknown``: why no depth can be given; empty = it can."""

    name: str
    rule: str
    rule_key: str
    values: pd.DataFrame
    definition: AttributeDefinition | None = None
    may_be_mapped: bool = True
    """Whether the attribute's surface says the same as ``values``."""
    unknown: str = ""


def lifts_of(
    topsoil: Topsoil, pits: Pits, attributes: Attributes, settings: SalvageSettings, convention: str
) -> tuple[list[Lift], list[str], list[str], list[Problem]]:
    """The lifts, what is to be said of them, what nobody may miss, and what is wrong."""
    known = {one.name: one for one in attributes.definitions}
    lifts = [Lift(TOPSOIL, topsoil.title, topsoil.rule, _values(attributes, topsoil.definition.name), topsoil.definition)]
    notes: list[str] = []
    if settings.forest_floor and FLOOR_THICKNESS in known:
        title = FLOOR_TITLES[convention]
        lifts.append(Lift(FLOOR, title, "", _values(attributes, FLOOR_THICKNESS), known[FLOOR_THICKNESS]))
        notes.append(f"{FLOOR} is: {title}")
    elif settings.forest_floor:
        notes.append(f"the forest floor is not listed: {FLOOR_THICKNESS} was not derived")
    if PEAT_THICKNESS in known:
        peat, said = _peat(topsoil, attributes, known[PEAT_THICKNESS], pits, settings, convention)
        return lifts + peat, notes + said, [], []
    peat, cautions, problems = _peat_not_derived(pits, settings, convention)
    return lifts + peat, notes, cautions, problems


def _values(attributes: Attributes, name: str) -> pd.DataFrame:
    return attributes.values[attributes.values["attribute"] == name].set_index("pit_id")


def _peat(
    topsoil: Topsoil, attributes: Attributes, definition: AttributeDefinition, pits: Pits, settings: SalvageSettings, convention: str
) -> tuple[list[Lift], list[str]]:
    values = _values(attributes, PEAT_THICKNESS)
    disturbed = pits.pits.loc[pits.pits["datum"].isin(NOT_NATURAL), "pit_id"]
    # an interval from 0 without a high limit is a pit that ended before it could tell
    there = values[(values["low"] > 0) & ~values.index.isin(disturbed)].index
    if not len(there):
        return [], []
    if not settings.peat:
        return [], [_left_out(there)]
    title = PEAT_TITLES[convention]
    taken = _taken_as_topsoil(topsoil, attributes, pits, there)
    if not taken:
        return [Lift(PEAT, title, "", values, definition)], [f"{PEAT} is: {title}, described at {counted(len(there), 'pit')}"]
    values = values.copy()
    values.loc[taken, ["low", "high"]] = 0.0
    values.loc[taken, "status"] = "absent"
    return [Lift(PEAT, f"{title} over mineral soils", "", values, definition, may_be_mapped=False)], [
        f"{PEAT} is: {title} over mineral soils; that of {counted(len(taken), 'organic soil')} ({_named(taken)}) is in the topsoil by this rule "
        "set and not counted twice, so the lift of peat comes from the pits and not from a surface"
    ]


def _taken_as_topsoil(topsoil: Topsoil, attributes: Attributes, pits: Pits, there: pd.Index) -> list[str]:
    """Organic soils whose peat the rule set takes: their topsoil begins at the top of the peat."""
    if topsoil.definition.name != BY_RULE_SET:
        return []  # a sum of named horizons, none of them peat
    organic = set(pits.pits.loc[pits.pits["datum"] == "organic surface", "pit_id"])
    thickness = _values(attributes, BY_RULE_SET)
    return [pit for pit in there if pit in organic and pit in thickness.index and thickness.loc[pit, "low"] > 0]


def _peat_not_derived(pits: Pits, settings: SalvageSettings, convention: str) -> tuple[list[Lift], list[str], list[Problem]]:
    """Peat that the pits describe although nobody asked for its thickness: a lift of unknown depth, never none."""
    found = described_peat(pits, convention)
    if not found:
        return [], [], []
    if not settings.peat:
        return [], [_left_out(found)], []
    what = f"{counted(len(found), 'pit describes', 'pits describe')} peat, and {PEAT_THICKNESS} was not derived"
    problems = [
        Problem("warning", "peat", "peat is described here, and no lift of the salvage plan counts it: it is neither topsoil by the rule set nor "
                "forest floor", pit_id=pit, found=text,
                remedy='add "peat_thickness" to [attributes] use: peat is then a lift of its own')
        for pit, text in found.items()
    ]  # fmt: skip
    lift = Lift(PEAT, PEAT_TITLES[convention], "", pd.DataFrame(), unknown=what)
    return [lift], [f"caution: {PEAT}: no volume is known: {what} ({_named(found)}); add it to [attributes] use"], problems


def _left_out(pit_ids) -> str:
    return f"{PEAT} is in no lift, as [salvage] peat asks: {counted(len(pit_ids), 'pit describes', 'pits describe')} it ({_named(pit_ids)})"


def _named(pit_ids) -> str:
    names = sorted(map(str, pit_ids))
    return ", ".join(names[:MOST_NAMED]) + (f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else "")


def described_peat(pits: Pits, convention: str) -> dict[str, str]:
    """The peat of each pit of natural ground that has some, in words: its horizons, or a direct reading of its thickness."""
    found = {}
    if len(pits.horizons):
        for profile in build_profiles(pits, convention):
            layers = _peat_layers(profile) if profile.is_natural else ()
            if layers:
                found[profile.pit_id] = ", ".join(layers)
    if len(pits.readings):
        natural = set(pits.pits.loc[~pits.pits["datum"].isin(NOT_NATURAL), "pit_id"])
        read = pits.readings[(pits.readings["attribute"] == PEAT_THICKNESS) & (pits.readings["low"] > 0)]
        for row in read[read["pit_id"].isin(natural)].itertuples():
            found.setdefault(row.pit_id, f"direct reading, {row.low:g} cm")
    return found


def _peat_layers(profile: Profile) -> list[str]:
    """Of a mineral soil what the convention also calls forest floor is counted there."""
    return [
        f"{one.name} {abs(one.upper):g}" + ("" if one.lower is None else f"-{abs(one.lower):g} cm")
        for one in profile.above + profile.soil
        if one.kinds.get("peat") and (profile.is_organic or not one.kinds.get("forest_floor"))
    ]
