"""Readable title, unit and meaning of every column that an output can hold.

Columns of the contracts in ``products.py`` are described there; columns of
attributes follow from their definitions; those of our tables are in
``column_meanings.py``; the heading of anything else is read by rule from its name
(``lift_volume_m3`` is "Lift volume" in m3).
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from ..products import (
    HORIZON_COLUMNS,
    PIT_COLUMNS,
    READING_COLUMNS,
    SOIL_NAME_COLUMNS,
    SOIL_NAME_STEP_COLUMNS,
    VALUE_COLUMNS,
    AttributeDefinition,
)
from .column_meanings import CARRIED, IN_TABLES, MEANINGS, OF_SOURCES, Column
from .names import RENAMED, unit_suffix

UNITS = {
    "_cm": "cm", "_m3": "m3", "_m2": "m2", "_mm": "mm", "_km": "km", "_m": "m", "_ha": "ha", "_percent": "%",
    "_degrees": "degrees", "_ds_m": "dS/m", "_mg_m3": "Mg/m3",
}  # fmt: skip
"""Unit by the end of a column's name; the longest end wins."""

_WORDS = {
    "id": "id", "ec": "EC", "ph": "pH", "sar": "SAR", "caco3": "CaCO3", "low90": "low of the 90 % interval",
    "high90": "high of the 90 % interval", "sd": "standard deviation",
}  # fmt: skip

_EXPECTED = "the mean of what may come, not the likeliest"
_AS_ONE = "errors of all places taken as one; reaches to the expected amount where that lies beyond it"

TITLES = {
    "pit_id": Column("Pit"),
    "attribute": Column("Attribute", "", "name of the attribute, as geoprofile explain knows it"),
    "place_id": Column("Place"),
    "sar": Column("Sodium adsorption ratio"),
    "ph": Column("pH"),
    "bulk_density": Column("Bulk density", "Mg/m3"),
    "date": Column("Date of description"),
    "order": Column("Horizon number"),
    "check": Column("Check", "", "name of the check that found it"),
    "what": Column("What is wrong", "", "the fault in one sentence"),
    "severity": Column("Severity", "", "error: not used; warning: used, but look at it; note: read as stated"),
    "remedy": Column("What to do"),
    "found": Column("Found", "", "what the source says"),
    "allowed": Column("Allowed", "", "what would be accepted"),
    "row": Column("Source row", "", "1 = first line of the file"),
    "file": Column("Source file"),
    "sheet": Column("Source sheet"),
    "field": Column("Source field"),
    "stage": Column("Stage", "", "the step of the run that it comes from"),
    "title": Column("Title"),
    "named_soil": Column("Soil named from the record", "", "advice from the record; a qualified pedologist decides"),
    "named_soil_sure": Column("How sure the name is", "", "decided, decided if ..., open between ..., not named and why"),
    "named_soil_agreement": Column("Surveyor's name against the record", "", "agrees, agrees at great group, among the alternatives, differs"),
    "sure": Column("How sure"),
    "supposes": Column("Supposed"),
    "missing": Column("What would settle it"),
    "agreement_why": Column("Where it leaves the surveyor's name"),
    "given_instead": Column("What is given instead"),
    "reason": Column("Why"),
    "shows": Column("What it shows"),
    "raster": Column("File of the raster", "", "below the output folder"),
    "score": Column("How good it is", "", "the score by location, in words"),
    "cautions": Column("Cautions", "", "what nobody who uses the surface may miss"),
    "pits": Column("Pits", "", "how many pits"),
    "pit_ids": Column("Pits by id"),
    "parts": Column("Parts", "", "separate pieces of ground"),
    "area_percent": Column("Share of the area", "%"),
    "smoothing_changed_area_percent": Column("Area changed by smoothing", "%", "what drawing smooth outlines did to its area"),
    "measured": Column("Measured", "", "pits with a measured value"),
    "at_surface": Column("At the surface", "", "pits where it begins at the surface"),
    "at_least": Column("At least", "", "pits that say only: at least, their end or the end of their test came first"),
    "at_most": Column("At most", "", "pits that say only: at most"),
    "between": Column("Between two limits", "", "pits that say only: between two limits"),
    "absent": Column("Absent", "", "pits where it was looked for and is not there"),
    "unknown": Column("Not known", "", "pits where it is not described; never counted as 0"),
    "undecided": Column("Undecided", "", "pits whose bounds lie on both sides of the limit"),
    "interval": Column("What the interval rests on"),
    "acid_to_cm": Column("Tested with acid to", "cm"),
    "ec_to_cm": Column("Tested for salts to", "cm"),
    "mottles_to_cm": Column("Looked for mottles to", "cm"),
    "upper_cm": Column("Upper depth", "cm"),
    "lower_cm": Column("Lower depth", "cm"),
    "polygon_id": Column("Area"),
    "rule": Column("Rule set", "", "what counts as topsoil"),
    "rule_key": Column("Rule set in the survey file", "", "its key, as geoprofile explain knows it"),
    "mean_cm": Column("Mean", "cm"),
    "lift": Column("Lift", "", "what is stripped and kept apart: topsoil by the rule set, forest floor (L, F, H), peat"),
    "bank_volume_m3": Column("Bank volume", "m3", "topsoil as it lies, before it is dug: mean depth over the covered area; not that of a rounded cut"),
    "basis": Column("What it rests on"),
    "strip_depth_cm": Column("Planned stripping depth", "cm", "mean depth rounded as asked, and at least the minimum lift where one is set; empty = mean not known"),
    "planned_cut_m3": Column("Volume of the planned cut", "m3", "planned stripping depth over the covered area, in place; less the subsoil in it, it is the topsoil that is taken"),
    "planned_subsoil_m3": Column("Subsoil in the planned cut", "m3", f"over-stripping: {_EXPECTED}"),
    "planned_subsoil_low90_m3": Column("Subsoil in the planned cut, low of the 90 % interval", "m3", _AS_ONE),
    "planned_subsoil_high90_m3": Column("Subsoil in the planned cut, high of the 90 % interval", "m3", _AS_ONE),
    "planned_left_behind_m3": Column("Topsoil left behind by the planned cut", "m3", _EXPECTED),
    "planned_left_behind_low90_m3": Column("Topsoil left behind by the planned cut, low of the 90 % interval", "m3", _AS_ONE),
    "planned_left_behind_high90_m3": Column("Topsoil left behind by the planned cut, high of the 90 % interval", "m3", _AS_ONE),
    "padded_with_subsoil_m3": Column("Subsoil added by the minimum lift", "m3", "part of the subsoil in the planned cut that only the minimum lift brings"),
    "recovered_bank_m3": Column("Recovered, in place", "m3", "planned cut less losses, subsoil in it included; where no cut is planned, bank volume less losses"),
    "loose_volume_m3": Column("Recovered, loose", "m3", "the same after swelling, as in the truck; a settled pile is less"),
    "flat_strip_cm": Column("Flat strip", "cm", "one depth for all areas, to compare with"),
    "thinner_ha": Column("Expected to be thinner than the flat strip", "ha", "probability of each place, added up over the covered land"),
    "probably_thinner_ha": Column("Land more likely thinner than the flat strip", "ha", "places where that has more than 50 % probability; not how much land is thinner"),
    "surely_thinner_ha": Column("Surely thinner than the flat strip", "ha", "places where that has 95 % probability"),
    "subsoil_m3": Column("Subsoil taken by the flat strip", "m3", f"admixing: {_EXPECTED}"),
    "subsoil_low90_m3": Column("Subsoil taken by the flat strip, low of the 90 % interval", "m3", _AS_ONE),
    "subsoil_high90_m3": Column("Subsoil taken by the flat strip, high of the 90 % interval", "m3", _AS_ONE),
    "left_behind_m3": Column("Topsoil left behind by the flat strip", "m3", _EXPECTED),
    "left_behind_low90_m3": Column("Topsoil left behind by the flat strip, low of the 90 % interval", "m3", _AS_ONE),
    "left_behind_high90_m3": Column("Topsoil left behind by the flat strip, high of the 90 % interval", "m3", _AS_ONE),
    "more_than_m3": Column("Volume asked for", "m3", "in place"),
    "probability_more": Column("Probability of more than that", "", "that the topsoil of the area holds more than the volume asked for; 0 to 1"),
    "text": Column("As written", "", "as a mapper writes it: 17, >60 (at least 60), <30 (at most 30), 15-21, absent"),
    "low": Column("Low limit", "", "in the attribute's unit; empty = none"),
    "high": Column("High limit", "", "in the attribute's unit; empty = none"),
    "unit": Column("Unit", "", "of the figures in the row; empty = they have none"),
    "property": Column("Property", "", "measured column of the horizons"),
    "mean": Column("Mean", "", "in the unit beside it; of a depth function: of the smooth curve over the interval; empty = not known"),
    "lambda": Column("Lambda", "", "weight of smoothness against the measured means, depths in cm"),
    "from": Column("Drawn from"),
    "code": Column("Code"),
    "name": Column("Name"),
    "zone_id": Column("Zone"),
    "area_ha": Column("Area", "ha"),
    "value": Column("Amount", "", "in the unit beside it, where it has one"),
    "measure": Column("Measure", "", "what is measured, as the mean error"),
    "validation": Column("Validation", "", "how the score was obtained: by location, leave-one-out ..."),
}

_PARTS = (
    # ending, title, meaning; {unit} endings carry the attribute's unit
    ("low", "low limit", "the least it can be; empty = no lower limit is known"),
    ("high", "high limit", "the most it can be; empty = no upper limit is known: the pit says at least"),
    ("status", "status", "measured, at_least, at_most, between, absent, at_surface, unknown"),
    ("presence", "presence", "present, absent, not_seen, not_described"),
    ("text", "as written", "as a mapper writes it: 17, >60 (at least 60), <30 (at most 30), 15-21, absent"),
)


NO_SKILL = "no spatial skill"
"""What the score of a surface says that predicts pits no better than one mean would."""


def attribute_columns(definition: AttributeDefinition) -> dict[str, str]:
    """Part (low, high, status, presence, text) -> column name: ``depth_to_bt_low_cm``, ``depth_to_bt_status``."""
    suffix = unit_suffix(definition.unit)
    ends = {part: f"_{suffix}" if suffix and part in ("low", "high") else "" for part, *_ in _PARTS}
    return {part: f"{definition.name}_{part}{ends[part]}" for part, *_ in _PARTS}


def describe(name: str, definitions: Iterable[AttributeDefinition] = (), table: str = "") -> Column:
    """How a column called ``name`` is shown, whether or not it was renamed for a database; ``table``: the one it stands in."""
    for definition in definitions:
        for (part, title, meaning), column in zip(_PARTS, attribute_columns(definition).values(), strict=True):
            if name == column:
                unit = definition.unit if part in ("low", "high") else ""
                return Column(f"{definition.title}, {title}", unit, f"{definition.help}; {meaning}".lstrip("; "))
    original = _ORIGINAL.get(name, name)
    known = _plain(original)
    here = _in_table(original, table) or known.help or (CARRIED if table in OF_SOURCES else "")
    return Column(known.title, known.unit, here)


def _in_table(name: str, table: str) -> str:
    """What a column means in that table alone; the longest end of the table's name wins."""
    ends = sorted((one for one in IN_TABLES if table == one or (one.startswith("_") and table.endswith(one))), key=len)
    return IN_TABLES[ends[-1]].get(name, "") if ends else ""


_ORIGINAL = {new: old for old, new in RENAMED.items()}


@cache
def _plain(name: str) -> Column:
    told = next((columns[name][1] for columns in _CONTRACTS if name in columns), "")
    more = MEANINGS.get(name)
    if name in TITLES or more:
        known = TITLES.get(name) or more
        return Column(known.title, known.unit or (more.unit if more else ""), known.help or told or (more.help if more else _of_base(name)))
    unit, base = "", name
    for ending in sorted(UNITS, key=len, reverse=True):
        if name.endswith(ending) and name != ending.strip("_"):
            unit, base = UNITS[ending], name[: -len(ending)]
            break
    if base != name and base in MEANINGS and not told:
        return Column(MEANINGS[base].title, unit, MEANINGS[base].help)
    words = [_WORDS.get(word, word) for word in base.replace("_", " ").split()]
    title = " ".join(words) or name
    return Column(title[0].upper() + title[1:] if title[:2] not in ("pH",) else title, unit, told)


def _of_base(name: str) -> str:
    """What the name without the ending of its unit means: ``mean_cm`` is a mean."""
    bases = [name[: -len(ending)] for ending in UNITS if name.endswith(ending)]
    return next((MEANINGS[base].help for base in bases if base in MEANINGS), "")


_CONTRACTS = (PIT_COLUMNS, HORIZON_COLUMNS, READING_COLUMNS, VALUE_COLUMNS, SOIL_NAME_COLUMNS, SOIL_NAME_STEP_COLUMNS)
