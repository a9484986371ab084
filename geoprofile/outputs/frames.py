"""The tables that several writers share, made from the products."""

from __future__ import annotations

import json

import geopandas as gpd
import numpy as np
import pandas as pd

from ..intervals import interval_text
from ..products import AttributeDefinition, Attributes, Surface
from ..record import Record
from .bundle import Bundle
from .columns import attribute_columns

STAGES = ("pits", "attributes", "soil_names", "terrain", "surfaces", "zones", "salvage")


def products_of(bundle: Bundle) -> dict[str, object]:
    """The products that there are, by stage, in the order of the river."""
    return {name: getattr(bundle, name) for name in STAGES if getattr(bundle, name) is not None}


def wide_attributes(attributes: Attributes, pit_ids: pd.Series) -> pd.DataFrame:
    """One row a pit: low, high, status, presence and text of each attribute, index as ``pit_ids``.

    A pit that an attribute has no row for says ``unknown``, not described.
    """
    columns: dict[str, np.ndarray] = {}
    for definition in attributes.definitions:
        values = attributes.values[attributes.values["attribute"] == definition.name]
        values = values.drop_duplicates("pit_id").set_index("pit_id").reindex(pit_ids)
        low, high = values["low"].to_numpy(float), values["high"].to_numpy(float)
        status = values["status"].fillna("unknown").to_numpy(object)
        names = attribute_columns(definition)
        finer = np.full(len(low), definition.decimals + FINER)
        columns[names["low"]], columns[names["high"]] = _rounded(low, finer), _rounded(high, finer)
        columns[names["status"]] = status
        columns[names["presence"]] = values["presence"].fillna("not_described").to_numpy(object)
        columns[names["text"]] = [
            value_text(definition, *limits) for limits in zip(low, high, status, strict=True)
        ]
    frame = pd.DataFrame(columns, index=pit_ids.index)
    return frame.astype({name: "str" for name in frame.columns if frame[name].dtype == object})


FINER = 2
"""Digits that a figure has in the tables beyond those that it is told with: a mean of three probes is no repeating decimal."""


def _rounded(values: np.ndarray, digits: np.ndarray) -> np.ndarray:
    """(n,) values, each to its own number of digits behind the point; -0 is 0, NaN stays."""
    told = values.astype(float)
    for digit in np.unique(digits):
        told[digits == digit] = np.round(told[digits == digit], digit)
    return told + 0.0


def value_text(definition: AttributeDefinition, low: float, high: float, status: str) -> str:
    """``17``, ``>60``, ``15-21``, ``absent`` ... from a row of the values."""
    return interval_text(
        None if np.isnan(low) else low, None if np.isnan(high) else high, status, definition.decimals
    )


def wide_pits(bundle: Bundle) -> gpd.GeoDataFrame:
    """Pits with the attributes beside them, geometry last."""
    pits = bundle.pits.pits
    wide = wide_attributes(bundle.attributes, pits["pit_id"])
    plain = pd.DataFrame(pits.drop(columns=pits.geometry.name)).reset_index(drop=True)
    frame = pd.concat([plain, *_named(bundle, plain["pit_id"]), wide.reset_index(drop=True)], axis=1)
    return gpd.GeoDataFrame(frame, geometry=pits.geometry.reset_index(drop=True), crs=pits.crs)


def _named(bundle: Bundle, pit_ids: pd.Series) -> list[pd.DataFrame]:
    """Columns with the soil named from the record, where the survey asks for names."""
    if bundle.soil_names is None:
        return []
    names = bundle.soil_names.names.set_index("pit_id").reindex(pit_ids).fillna("").reset_index(drop=True)
    return [pd.DataFrame({"named_soil": names["subgroup"], "named_soil_sure": names["sure"],
                          "named_soil_agreement": names["agreement"]}).astype("str")]  # fmt: skip


NAMES_TOLD = 3
"""Tied names told in a line about a pit before the rest is counted."""


def named_lines(bundle: Bundle) -> dict[str, str]:
    """pit_id -> ``Orthic Gray Luvisol (decided; advisory)``; pits that are not named are left out."""
    if bundle.soil_names is None:
        return {}
    names = bundle.soil_names.names
    lines = {}
    for pit, subgroup, system, sure in zip(names["pit_id"], names["subgroup"], names["system"], names["sure"], strict=True):
        if subgroup:
            tied = subgroup.split(" or ")
            told = " or ".join(tied[:NAMES_TOLD]) + (f" or {len(tied) - NAMES_TOLD} more" if len(tied) > NAMES_TOLD else "")
            how = "decided on suppositions" if sure.startswith("decided if") else sure.split(" ")[0]
            lines[pit] = f"{told} ({how}; advisory)"
        elif system == "features" and not sure.startswith("not named"):
            lines[pit] = f"{sure} (advisory)"
    return lines


def has_place(frame: gpd.GeoDataFrame) -> np.ndarray:
    """True where there is a geometry with finite coordinates."""
    geometry = frame.geometry
    bounds = geometry.bounds.to_numpy()
    return np.asarray(~(geometry.isna() | geometry.is_empty)) & np.isfinite(bounds).all(axis=1)


def attribute_values(attributes: Attributes) -> pd.DataFrame:
    """The long table of values with the unit and the mapper's text beside each."""
    values = attributes.values.reset_index(drop=True)
    decimals = {definition.name: definition.decimals for definition in attributes.definitions}
    units = {definition.name: definition.unit for definition in attributes.definitions}
    values.insert(values.columns.get_loc("high") + 1, "unit", [units.get(name, "") for name in values["attribute"]])
    values = values.astype({"unit": "str"})
    finer = np.array([decimals.get(name, 0) + FINER for name in values["attribute"]], dtype=int)
    for limit in ("low", "high"):
        values[limit] = _rounded(values[limit].to_numpy(float), finer)
    values = values.assign(
        text=[
            interval_text(None if np.isnan(low) else low, None if np.isnan(high) else high, status, decimals.get(name, 0))
            for name, low, high, status in zip(
                values["attribute"], values["low"].astype(float), values["high"].astype(float), values["status"], strict=True
            )
        ]
    )
    return values


def depth_functions(attributes: Attributes) -> pd.DataFrame:
    """One row a pit, property and interval of a depth function; no rows where the survey asks for none."""
    asked = {definition.name: definition for definition in attributes.definitions if definition.smoothing is not None}
    values = attributes.values[attributes.values["attribute"].isin(list(asked))]
    said = [asked[name] for name in values["attribute"]]
    table = pd.DataFrame(
        {
            "pit_id": values["pit_id"], "property": [d.of for d in said], "upper_cm": [d.upper_cm for d in said],
            "lower_cm": [d.lower_cm for d in said], "mean": values["low"], "unit": [d.unit for d in said],
            "lambda": [d.smoothing for d in said], "status": values["status"], "evidence": values["evidence"],
            "flags": values["flags"], "attribute": values["attribute"],
        },
        index=values.index,
    )  # fmt: skip
    return table.sort_values(["pit_id", "property", "upper_cm", "lower_cm", "attribute"], kind="stable", ignore_index=True)


def attribute_definitions(attributes: Attributes) -> pd.DataFrame:
    """What each attribute means, one row each."""
    return pd.DataFrame(
        [
            {"attribute": d.name, "title": d.title, "unit": d.unit, "kind": d.kind, "meaning": d.help, "source": d.source}
            for d in attributes.definitions
        ],
        columns=["attribute", "title", "unit", "kind", "meaning", "source"],
    )


def all_problems(bundle: Bundle) -> pd.DataFrame:
    """Problems of all products with their stage, each listed once."""
    tables = [product.problems.assign(stage=name) for name, product in products_of(bundle).items()]
    table = pd.concat(tables, ignore_index=True)
    return table.drop_duplicates([name for name in table.columns if name != "stage"], ignore_index=True)


def all_scores(bundle: Bundle) -> pd.DataFrame:
    """Scores of the surfaces; an empty table where nothing was mapped."""
    if bundle.surfaces is None:
        return pd.DataFrame(
            {name: pd.Series(dtype="str") for name in ("attribute", "method", "validation", "measure")}
            | {"value": pd.Series(dtype="float64"), "pits": pd.Series(dtype="Int64"), "remark": pd.Series(dtype="str")}
        )
    return bundle.surfaces.scores.reset_index(drop=True)


def scores_told(bundle: Bundle) -> pd.DataFrame:
    """The scores with their unit, rounded to what they mean: two digits finer than the attribute is told, else three.

    A mean error of -5e-18 cm is what arithmetic leaves of 0.
    """
    scores = all_scores(bundle)
    known = {definition.name: definition for definition in bundle.attributes.definitions}
    own = [known.get(attribute) if measure in IN_UNITS_OF_THE_ATTRIBUTE else None
           for attribute, measure in zip(scores["attribute"], scores["measure"], strict=True)]  # fmt: skip
    digits = np.array([one.decimals + FINER if one else 3 for one in own], dtype=int)
    scores = scores.assign(value=_rounded(scores["value"].to_numpy(float), digits))
    scores.insert(scores.columns.get_loc("value") + 1, "unit", pd.array([one.unit if one else "" for one in own], dtype="str"))
    return scores


IN_UNITS_OF_THE_ATTRIBUTE = frozenset(
    {"mean error", "root mean square error", "continuous ranked probability score", "bounds: continuous ranked probability score"}
)
"""Measures of the scores that are a depth or a share themselves; the others have no unit."""


def refusals(bundle: Bundle) -> pd.DataFrame:
    """Attributes whose depth or thickness was not drawn, why, and what is given instead."""
    likely = presence_rasters(bundle)
    titles = {definition.name: definition.title for definition in bundle.attributes.definitions}
    rows = [] if bundle.surfaces is None else [
        {"attribute": r.attribute, "title": titles.get(r.attribute, r.attribute), "reason": r.reason, "remedy": r.remedy,
         "given_instead": f"{PRESENCE_SHOWN}: {likely[r.attribute]}" if r.attribute in likely else BY_AREA}
        for r in bundle.surfaces.refusals
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=["attribute", "title", "reason", "remedy", "given_instead"]).astype("str")


def surface_register(bundle: Bundle) -> pd.DataFrame:
    """One row a raster of a surface: what it shows, in what unit, in which file, by which method, how good it is."""
    rows = []
    if bundle.surfaces is not None:
        rasters = bundle.surfaces.rasters
        for surface in (*bundle.surfaces.surfaces, *bundle.surfaces.presences):
            told = {"method": surface.method_title, "model": surface.model, "pits": surface.pits_used, "score": surface.score,
                    "cautions": "; ".join(surface.cautions)}  # fmt: skip
            rows += [
                {"attribute": surface.attribute, "title": surface.title, "shows": shows, "unit": rasters[key].unit, "raster": rasters[key].path, **told}
                for shows, key in _shown(surface) if key in rasters
            ]  # fmt: skip
        for one in bundle.surfaces.classes:
            told = {"method": "indicator kriging", "model": "", "pits": one.pits_used, "score": one.score, "cautions": ""}
            shown = [("most probable class", one.most_probable), ("probability of the most probable class", one.probability)]
            shown += [(f"probability of {name}", key) for name, key in one.each.items()]
            rows += [
                {"attribute": one.column, "title": one.title, "shows": shows, "unit": rasters[key].unit, "raster": rasters[key].path, **told}
                for shows, key in shown if key in rasters
            ]  # fmt: skip
    names = ["attribute", "title", "shows", "unit", "raster", "method", "model", "pits", "score", "cautions"]
    return pd.DataFrame(rows, columns=names).astype({name: "Int64" if name == "pits" else "str" for name in names})


def _shown(surface: Surface) -> list[tuple[str, str]]:
    return [
        ("estimate", surface.estimate), ("low end of the 90 % interval", surface.low90),
        ("high end of the 90 % interval", surface.high90), ("probability that it is there", surface.presence),
        *((f"probability of less than {limit} {surface.unit}", key) for limit, key in surface.below.items()),
        *((f"probability of more than {limit} {surface.unit}", key) for limit, key in surface.above.items()),
        ("whether the pits back it, and why not", surface.reliability),
    ]  # fmt: skip


PRESENCE_SHOWN = "probability that it is there"
BY_AREA = "pits by zone, stratum and parcel in the tables"


def presence_rasters(bundle: Bundle) -> dict[str, str]:
    """Attribute -> file of the probability of presence, where that is all that could be drawn."""
    if bundle.surfaces is None:
        return {}
    rasters = bundle.surfaces.rasters
    return {s.attribute: rasters[s.presence].path for s in bundle.surfaces.presences if s.presence in rasters}


def notes_of(bundle: Bundle) -> pd.DataFrame:
    """What was decided on the way, one line a note."""
    rows = [{"stage": name, "note": note} for name, product in products_of(bundle).items() for note in product.notes]
    return pd.DataFrame(rows, columns=["stage", "note"]).astype("str")


def record_table(bundle: Bundle) -> pd.DataFrame:
    """How the products came about, as rows of stage, item, content: settings, inputs with hashes, versions."""
    rows: list[tuple[str, str, str]] = [
        ("survey", "name", bundle.context.survey.name),
        ("survey", "coordinate system", bundle.context.survey.crs),
        ("survey", "convention", bundle.context.survey.convention),
    ]
    for name, product in products_of(bundle).items():
        record: Record = product.record
        rows.append((name, "record", record.id))
        rows.append((name, "settings", json.dumps(record.settings, sort_keys=True, default=str, ensure_ascii=False)))
        rows += [(name, f"input {file.role}", f"{file.path} sha256 {file.sha256}") for file in record.inputs]
        rows += [(name, f"made from {upstream}", id) for upstream, id in record.upstream.items()]
        if record.seed is not None:
            rows.append((name, "seed", str(record.seed)))
        rows += [(name, "note", note) for note in product.notes]
    rows += [("versions", library, number) for library, number in _versions(bundle).items()]
    return pd.DataFrame(rows, columns=["stage", "item", "content"]).astype("str")


def _versions(bundle: Bundle) -> dict[str, str]:
    found: dict[str, str] = {}
    for product in products_of(bundle).values():
        found.update(product.record.versions)
    return dict(sorted(found.items()))
