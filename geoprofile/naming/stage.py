"""Naming the soil: what order, great group and subgroup each record supports, by which steps, and what would settle it.

Advice: a name from a record defers to a qualified pedologist. What the record leaves open stays open.
"""

from __future__ import annotations

import pandas as pd

from ..context import Context
from ..described.from_frames import build_profiles
from ..described.profile import Profile
from ..problems import problems_frame
from ..products import SOIL_NAME_COLUMNS, SOIL_NAME_STEP_COLUMNS, Pits, SoilNames, typed
from ..record import Record
from ..settings.naming import NamingSettings
from .features import name_features
from .key import key_of
from .naming import ADVICE, Named, name_soil
from .recorded import AGREES
from .soil import soil_of

FEATURES = "features"


def name_soils(pits: Pits, settings: NamingSettings, context: Context, record: Record) -> SoilNames:
    """Name every pit from its record.

    Parameters
    ----------
    pits : checked descriptions.
    settings : the [naming] section.
    context : the survey's frame; a pit's own convention outranks the survey's.
    record : how this product comes about.

    Returns
    -------
    SoilNames: one row a pit, and the steps with their evidence. Source of the key: the header of
    ``soil_names_canadian.toml``.
    """
    known: dict[tuple, Named] = {}
    names: list[tuple] = []
    steps: list[tuple] = []
    recorded = pits.pits["recorded_soil"].fillna("").astype(object).to_list()
    with context.progress.task("naming soils", len(pits.pits)) as task:
        for number, (profile, said) in enumerate(zip(build_profiles(pits, context.survey.convention), recorded, strict=True)):
            system = _system(settings, profile)
            named = _named(profile, said.strip(), system, settings, known)
            names.append(_row(profile.pit_id, system, said.strip(), named))
            steps += [
                (profile.pit_id, order, step.level, step.soil_class, step.decision, step.asks, step.answer, step.evidence,
                 step.missing, step.source)
                for order, step in enumerate(named.steps, start=1)
            ]  # fmt: skip
            if number % 100 == 99:
                task.advance(100)
    table = typed(pd.DataFrame(names, columns=list(SOIL_NAME_COLUMNS)), SOIL_NAME_COLUMNS)
    return SoilNames(
        record=record,
        names=table,
        steps=typed(pd.DataFrame(steps, columns=list(SOIL_NAME_STEP_COLUMNS)), SOIL_NAME_STEP_COLUMNS),
        problems=problems_frame([]),
        notes=_notes(table, settings),
    )


def _system(settings: NamingSettings, profile: Profile) -> str:
    """A key reads its own convention's letters only."""
    return "canadian" if settings.system != FEATURES and profile.convention == "canadian" else FEATURES


def _named(profile: Profile, recorded: str, system: str, settings: NamingSettings, known: dict[tuple, Named]) -> Named:
    if system == FEATURES:
        return name_features(profile)
    seen = (soil_of(profile, settings.mean_annual_soil_temperature_c), recorded)
    if seen not in known:
        known[seen] = name_soil(*seen, system)
    return known[seen]


def _row(pit_id: str, system: str, recorded: str, named: Named) -> tuple:
    joined = "; ".join
    return (pit_id, system, named.subgroup, named.great_group, named.order, named.sure, joined(named.alternatives),
            joined(named.supposes), joined(named.as_designated), joined(named.missing), recorded, named.agreement,
            named.agreement_why)  # fmt: skip


def _notes(names: pd.DataFrame, settings: NamingSettings) -> tuple[str, ...]:
    by_key = names[names["system"] != FEATURES]
    notes = [ADVICE]
    if len(by_key):
        sure = by_key["sure"]
        notes.append(
            f"{key_of('canadian').title}: {int((sure == 'decided').sum())} of {len(by_key)} pits decided, "
            f"{int(sure.str.startswith('decided if').sum())} decided if what was not seen is as usual, "
            f"{int(sure.str.startswith('open').sum())} open, {int(sure.str.startswith('not named').sum())} not named"
        )
        compared = by_key[~by_key["agreement"].isin(["", "not compared"])]
        if len(compared):
            agrees = int(compared["agreement"].str.startswith(AGREES).sum())
            notes.append(f"of {len(compared)} names by surveyors {agrees} agree with the record at some level")
        if settings.mean_annual_soil_temperature_c is None and by_key["missing"].str.contains("mean annual soil temperature").any():
            notes.append("the mean annual soil temperature would settle some names: [naming] mean_annual_soil_temperature_c")
    if len(by_key) < len(names):
        notes.append("for USDA and WRB records only the features that the record supports are given, no names")
    return tuple(notes)
