"""What the report says, as plain data: texts, numbers as text, tables as lists. No layout and no markup."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..products import AttributeDefinition
from . import frames
from .bundle import Bundle
from .columns import NO_SKILL, attribute_columns, describe
from .tables import is_missing, number_text

CAUTIONS = (
    ("Scale of use", "A map holds at the scale it was made for. Enlarged, it shows no more and misleads: boundaries and depths "
     "between pits are estimates, and a single place may differ from them. Check on the ground before acting."),
    ("Estimates are intervals", "Plan with the whole 90 % interval, not with its middle. Where the map says that the pits do not back an "
     "estimate, there is none."),
    ("Entering pits", "The walls of a pit or trench can fall in without warning. Enter none that is not shored or sloped as the local code "
     "requires, and never alone."),
    ("Buried lines", "Have buried pipes and cables located and marked before any digging, augering included."),
    ("Stripping", "Salvage depths are for planning. On the day, strip to what is seen: colour and structure at the face outrank the map. Taking "
     "too much mixes subsoil into the topsoil, and that cannot be undone."),
    ("Clean tools", "Soil carries clubroot, weeds and other diseases from field to field: clean boots, tools and machines between fields as local "
     "rules ask."),
    ("Professional practice", "Interpretation and sign-off belong to the people licensed for it where the work is done; local codes and permits "
     "come first."),
)  # fmt: skip
"""Common practice, no source; local codes decide."""

MEANING_OF_SCORES = (
    ("Mean error", "estimate minus what the pit says, on average; near 0: neither too deep nor too shallow on the whole"),
    ("Root mean square error", "how far off an estimate typically is, large misses weighing more"),
    ("Efficiency", "1 is perfect; 0 is no better than one mean for all; below 0 is worse than that (Nash & Sutcliffe 1970)"),
    ("Held by the interval", "share of pits whose value lay in their 90 % interval: 90 % is right, less is too bold, more too timid"),
    ("Bounds contradicted", "share of pits that say only a bound, as at least 60, which the 90 % interval rules out: up to about 5 % is right"),
)
SHOWN_SCORES = {
    "mean error": "Mean error",
    "root mean square error": "Root mean square error",
    "efficiency": "Efficiency",
    "coverage of the 90 % interval": "Held by the interval (%)",
    "bounds contradicted by the 90 % interval": "Bounds contradicted (%)",
}
"""Measures of the scores table that the report shows, and their headings; scores.csv has all."""


def facts(bundle: Bundle) -> dict:
    """Everything the template shows, ready for strict JSON."""
    pits = bundle.pits.pits
    placed = frames.has_place(pits)
    survey = bundle.context.survey
    return {
        "name": survey.name,
        "crs": survey.crs,
        "convention": survey.convention,
        "intended_scale": spaced(survey.map_scale) if survey.map_scale else "",
        "tiles": _tiles(bundle, int(placed.sum())),
        "story": _story(bundle, int((~placed).sum())),
        "attributes": attribute_rows(bundle),
        "pits": pit_rows(bundle),
        "ground": bundle.terrain is not None,
        "surfaces": 0 if bundle.surfaces is None else len(bundle.surfaces.surfaces),
        "scores": score_rows(frames.all_scores(bundle), bundle.attributes.definitions, _methods(bundle)),
        "score_cautions": [] if bundle.surfaces is None else [
            [surface.title, caution] for surface in bundle.surfaces.surfaces for caution in surface.cautions
        ],
        "classes": [] if bundle.surfaces is None else [
            [one.title, f"{one.pits_used} pits; {one.score}" + "".join(f"; {note}" for note in one.notes if note.startswith(NO_SKILL))]
            for one in bundle.surfaces.classes
        ],
        "score_meanings": [list(pair) for pair in MEANING_OF_SCORES],
        "refusals": [[row.title, row.reason, row.given_instead.split(":")[0]] for row in frames.refusals(bundle).itertuples()],
        "zones": _zones(bundle),
        "problems": problem_rows(frames.all_problems(bundle)),
        "cautions": [list(pair) for pair in CAUTIONS],
        "made": _made(bundle),
        "notes": _notes(bundle),
    }


def spaced(number: float) -> str:
    """12 500 rather than 12500 (the international form, ISO 80000-1)."""
    return f"{number:,.0f}".replace(",", "\u202f")


def _tiles(bundle: Bundle, placed: int) -> list[list[str]]:
    pits = bundle.pits.pits
    tiles = [[spaced(len(pits)), "pits and inspections"], [spaced(placed), "of them with a place"],
             [spaced(len(bundle.pits.horizons)), "horizons"], [spaced(len(bundle.attributes.definitions)), "attributes"]]  # fmt: skip
    if bundle.surfaces is not None:
        tiles.append([spaced(len(bundle.surfaces.surfaces)), "surfaces mapped"])
    if bundle.zones is not None and len(bundle.zones.zones):
        hectares = float(bundle.zones.zones["area_ha"].sum())  # tenths of a thousand and more say nothing and do not fit the tile
        tiles.append([spaced(hectares) if hectares >= 1000 else f"{hectares:.1f}", "hectares in zones"])
    problems = frames.all_problems(bundle)["severity"]
    tiles.append([spaced(len(problems)), f"{'problem' if len(problems) == 1 else 'problems'} found, {int((problems == 'error').sum())} of them errors"])
    return tiles[:7]


def _story(bundle: Bundle, unplaced: int) -> list[str]:
    ends = bundle.pits.pits["observed_to_cm"].dropna()
    lines = []
    if len(ends):
        lines.append(
            f"Half of the pits were observed to {ends.median():.0f} cm or deeper, the deepest to "
            f"{ends.max():.0f} cm. A pit says nothing of what lies below its end: such values are given as "
            "at least, and are used as such."
        )
    if unplaced:
        lines.append(f"Descriptions without a known place: {unplaced}. They are in the tables and on no map.")
    if bundle.surfaces is None:
        lines.append("Nothing was interpolated: the tables by pit, zone and parcel are the result.")
    elif bundle.surfaces.refusals:
        likely = len(frames.presence_rasters(bundle))
        shown = f" For {likely} of them the probability that the feature is there is shown instead." if likely else ""
        lines.append(f"Attributes not drawn: {len(bundle.surfaces.refusals)}.{shown} The reasons are given with the scores.")
    return lines


def attribute_rows(bundle: Bundle) -> list[list[str]]:
    """Title and unit, pits measured, bounded, absent, not described, and where the median lies."""
    values = bundle.attributes.values
    pit_count = len(bundle.pits.pits)
    rows = []
    for definition in bundle.attributes.definitions:
        mine = values[values["attribute"] == definition.name]
        status = mine["status"].value_counts()
        measured = int(status.get("measured", 0) + status.get("at_surface", 0))
        bounded = int(sum(status.get(name, 0) for name in ("at_least", "at_most", "between")))
        absent = int(status.get("absent", 0))
        rows.append([definition.title, definition.unit, str(measured), str(bounded), str(absent),
                     str(pit_count - measured - bounded - absent), median_text(mine, definition)])  # fmt: skip
    return rows


MOST_PITS, MOST_COLUMNS = 40, 7


def pit_rows(bundle: Bundle) -> dict | None:
    """What each pit says, of the attributes that most pits say something of; None where the pits are too many to print.

    For a wellsite or a pipeline this table is the result.
    """
    pits = bundle.pits.pits
    if not 0 < len(pits) <= MOST_PITS:
        return None
    values = bundle.attributes.values
    telling = values[values["status"].isin(["measured", "between", "at_surface", "at_most"])]["attribute"].value_counts()
    order = {definition.name: number for number, definition in enumerate(bundle.attributes.definitions)}
    known = sorted((name for name in telling.index if name in order), key=lambda name: (-telling[name], order[name]))
    chosen = [definition for definition in bundle.attributes.definitions if definition.name in known[:MOST_COLUMNS]]
    if not chosen:
        return None
    wide = frames.wide_attributes(bundle.attributes, pits["pit_id"].reset_index(drop=True))
    headings = ["Pit", *(f"{d.title} ({d.unit})" if d.unit else d.title for d in chosen)]
    columns = [list(pits["pit_id"]), *(list(wide[attribute_columns(d)["text"]]) for d in chosen)]
    rows = [[str(cell) for cell in row] for row in zip(*columns, strict=True)]
    return {"headings": headings, "rows": rows, "more": len(bundle.attributes.definitions) - len(chosen)}


def median_text(values: pd.DataFrame, definition: AttributeDefinition) -> str:
    """Where the median of the pits lies, bounds respected: '38', '30-45', 'at least 38', 'not known'.

    A lower limit that is missing counts as 0, an upper one as beyond every number;
    the median of all lows and of all highs enclose the median itself. Depths of
    absent features have no place in it; absent thicknesses are 0.
    """
    said = values[(values["status"] != "unknown") & ~(values["low"].isna() & values["high"].isna())]
    if said.empty:
        return "not known"
    low = float(np.median(said["low"].fillna(0.0).to_numpy(float)))
    high = float(np.median(said["high"].fillna(np.inf).to_numpy(float)))
    decimals = max(definition.decimals, 1) if low % 1 or (np.isfinite(high) and high % 1) else definition.decimals
    if not np.isfinite(high):
        return f"at least {low:.{decimals}f}"
    return f"{low:.{decimals}f}" if low == high else f"{low:.{decimals}f}-{high:.{decimals}f}"


def table_of(frame: pd.DataFrame, wanted: dict[str, str], most: int) -> dict:
    """Columns of a table that there are, as headings (empty = the usual one) and rows of text; the rows beyond ``most`` are counted."""
    names = [name for name in wanted if name in frame]
    rows = [
        [column_text(name, value) for name, value in zip(names, row, strict=True)]
        for row in frame[names].head(most).itertuples(index=False)
    ]
    numeric = [bool(pd.api.types.is_numeric_dtype(frame[name].dtype)) for name in names]
    return {"headings": [wanted[name] or describe(name).heading for name in names], "rows": rows, "numeric": numeric, "more": max(len(frame) - most, 0)}


PLACES = {"_ha": 2, "_cm": 1, "_percent": 1, "_m3": 0}
"""Decimals by the end of a column's name: one number of them in a column, so that the points stand under each other."""


def column_text(name: str, value: object) -> str:
    """A cell with the decimals of its column."""
    places = next((places for ending, places in PLACES.items() if name.endswith(ending)), None)
    if places is None or is_missing(value) or not isinstance(value, (float, np.floating)):
        return cell_text(value)
    return f"{value:,.{places}f}".replace(",", "\u202f")


def cell_text(value: object) -> str:
    if is_missing(value):
        return "–"
    if isinstance(value, (bool, np.bool_)):
        return "yes" if value else "no"
    if isinstance(value, (int, np.integer)):
        return spaced(int(value))
    if isinstance(value, (float, np.floating)):
        return spaced(value) if abs(value) >= 1000 else number_text(float(f"{value:.3g}"))
    return str(value)


def score_rows(
    scores: pd.DataFrame, definitions: tuple[AttributeDefinition, ...], methods: dict[str, str] | None = None
) -> dict:
    """One row a surface and one column a measure, from the validation by location where there is one."""
    by_location = scores[scores["validation"].str.startswith("by location")]
    chosen = by_location if len(by_location) else scores.drop_duplicates(["attribute", "method", "measure"])
    known = {definition.name: definition for definition in definitions}
    methods = methods or {}
    rows = []
    for (attribute, method), part in chosen.groupby(["attribute", "method"], sort=False):
        values = part.drop_duplicates("measure").set_index("measure")["value"]
        found = [values.get(measure, np.nan) * (100 if heading.endswith("(%)") else 1) for measure, heading in SHOWN_SCORES.items()]
        if not np.isfinite(found).any():  # scores of the presence have measures of their own, in scores.csv
            continue
        definition = known.get(attribute)
        title = f"{definition.title} ({definition.unit})" if definition else attribute
        rows.append([title, methods.get(attribute, method.replace("_", " ")), _pits(part), *("–" if not np.isfinite(value) else f"{round(float(value), 2) + 0.0:.{1 if heading.endswith('(%)') else 2}f}" for heading, value in zip(SHOWN_SCORES.values(), found))])
    return {"headings": ["Surface", "Method", "Pits", *SHOWN_SCORES.values()], "rows": rows, "numeric": [False, False, *[True] * 6]}


def _pits(scored: pd.DataFrame) -> str:
    """``112`` measured pits, or ``112 + 40`` where bounds were scored too."""
    measures = list(SHOWN_SCORES)
    measured, bounded = (scored.loc[scored["measure"].isin(some), "pits"].max() for some in (measures[:-1], measures[-1:]))
    return f"{int(measured)}" + (f" + {int(bounded)}" if bounded == bounded else "")


def _methods(bundle: Bundle) -> dict[str, str]:
    return {} if bundle.surfaces is None else {surface.attribute: surface.method_title for surface in bundle.surfaces.surfaces}


def _zones(bundle: Bundle) -> dict | None:
    if bundle.zones is None or bundle.zones.zones.empty:
        return None
    table = bundle.zones.tables.get("zones", pd.DataFrame(bundle.zones.zones.drop(columns="geometry")))
    titles = {f"surface of {d.name}": f"the surface of {d.title} ({d.unit})" for d in bundle.attributes.definitions}
    drafted = [titles.get(str(text), str(text)) for text in dict.fromkeys(bundle.zones.zones.get("from", []))]
    wanted = {"zone_id": "", "name": "", "area_ha": "", "area_percent": "Share (%)", "pits": ""}
    sources = set(map(str, bundle.zones.zones.get("from", [])))
    surfaces = () if bundle.surfaces is None else bundle.surfaces.surfaces
    cautions = [f"{s.title}: {caution}" for s in surfaces if f"surface of {s.attribute}" in sources for caution in s.cautions]
    return {"from": ", ".join(drafted), "cautions": cautions, **table_of(table, wanted, 20)}


def problem_rows(problems: pd.DataFrame, most: int = 18) -> dict:
    """Problems by severity and check: how many, what, the first place."""
    rank = {"error": 0, "warning": 1, "note": 2}
    kinds = []
    for (severity, check), part in problems.groupby(["severity", "check"], sort=False):
        first = part.iloc[0]
        place = ", ".join(filter(None, [f"pit {first['pit_id']}" if first["pit_id"] else "", first["file"],
                                        "" if pd.isna(first["row"]) else f"row {int(first['row'])}"]))  # fmt: skip
        kinds.append((rank[severity], -len(part), [severity, str(len(part)), str(check).replace("_", " "), first["what"], place]))
    kinds.sort(key=lambda kind: (kind[0], kind[1], kind[2]))
    return {"rows": [row for *_, row in kinds[:most]], "more": max(len(kinds) - most, 0), "total": len(problems)}


def _made(bundle: Bundle) -> dict:
    inputs, records, versions, seeds = [], [], {}, []
    for name, product in frames.products_of(bundle).items():
        records.append([name, product.record.id])
        inputs += [[file.path, file.sha256[:12]] for file in product.record.inputs]
        versions.update(product.record.versions)
        if product.record.seed is not None:
            seeds.append(f"{name} {product.record.seed}")
    unique = [list(pair) for pair in dict.fromkeys(tuple(pair) for pair in inputs)]
    return {"records": records, "inputs": unique[:20], "versions": [f"{k} {v}" for k, v in sorted(versions.items())], "seeds": seeds}


def _notes(bundle: Bundle, most: int = 10) -> list[str]:
    notes = list(dict.fromkeys(frames.notes_of(bundle)["note"]))
    return notes[:most] + ([f"and {len(notes) - most} more, in record.json"] if len(notes) > most else [])
