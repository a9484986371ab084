"""Salvage: how much topsoil lies in each polygon that is to be stripped, and how sure that is.

The story: find the attribute that holds topsoil by the rule set; take its mean in each
polygon from its surface, or from the pits where it has none; multiply by the area that
is covered. The forest floor and peat are lifts of their own (lifts.py). All volumes are
bank volumes unless a column says otherwise.

Columns of ``Salvage.lifts`` (one row a polygon and lift):

polygon_id, lift (topsoil, forest floor, peat), rule (its title), rule_key, area_ha, covered_percent, not_covered_ha,
mean_cm, low90_cm, high90_cm, bank_volume_m3, low90_m3, high90_m3 (of the topsoil as it lies in the covered part),
pits_inside, pit_ids, basis (words), geometry; where asked for, of topsoil:

- a planned cut (round_to_cm or minimum_lift_cm): strip_depth_cm, planned_cut_m3 (that depth over the covered area),
  planned_subsoil_m3 (over-stripped) and planned_left_behind_m3 with _low90_m3 and _high90_m3, padded_with_subsoil_m3 (what
  of the subsoil the minimum lift adds);
- recovered_bank_m3, loose_volume_m3: of the planned cut, else of the bank volume;
- a flat strip: flat_strip_cm, thinner_ha (expected), probably_thinner_ha, surely_thinner_ha, subsoil_m3 and left_behind_m3
  with limits;
- more_than_m3 and probability_more (missing where the surface has no covariance model).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

import geopandas as gpd
import numpy as np
import pandas as pd

from ..areal import ArealMean
from ..context import Context
from ..layers import read_polygons
from ..problems import Problem, problems_frame
from ..products import Attributes, Pits, Salvage, Surfaces
from ..record import Record
from ..settings.base import require
from ..settings.salvage import SalvageSettings
from .cautions import CAUTIONS
from .depths import (
    Depth,
    MappedDepth,
    choose_pits,
    depth_from_pits,
    depth_from_surface,
    mapped_depth,
    mean_depth_of_all,
)
from .flat_strip import flat_strip, flat_strip_of_pits, strip_of_cells
from .ground import Ground, overlap_problems
from .lifts import TOPSOIL, Lift, lifts_of
from .notes import Heed, method_notes, totals, warnings_of
from .planned_cut import is_planned, planned_columns, planned_cut
from .rules import topsoil_attribute
from .volumes import bank_volume_m3, loose_m3, recovered_m3


def plan_salvage(
    pits: Pits,
    attributes: Attributes,
    surfaces: Surfaces | None,
    settings: SalvageSettings,
    context: Context,
    record: Record,
) -> Salvage:
    """Lifts by polygon with volumes and 90 % intervals; see the head of this file for the columns.

    Raises InputError where the polygons cannot be used. A rule set that no attribute holds
    is a problem in the product, which then has no lifts.
    """
    require(settings.polygons, "salvage.polygons", "name the areas to be stripped")
    source = settings.polygons
    polygons = read_polygons(context.path(source.file), source.layer, id=source.id, crs=context.survey.crs,
                             what="the areas to be stripped")  # fmt: skip
    problems = overlap_problems(polygons)
    topsoil = topsoil_attribute(settings.rule, attributes, surfaces)
    if isinstance(topsoil, str):
        problems.append(
            Problem(
                "error",
                "rule set",
                topsoil,
                found=settings.rule,
                remedy="change [salvage] rule or [attributes] topsoil_rule",
            )
        )
        return Salvage(
            record, _frame([], polygons, settings), problems_frame(problems), settings.rule, (f"no lifts: {topsoil}",)
        )

    ground = Ground(pits, attributes, polygons, context)
    lifts, said, cautions, wrong = lifts_of(topsoil, pits, attributes, settings, context.survey.convention)
    refused = {one.attribute: one.reason for one in (surfaces.refusals if surfaces else ())}
    said += [f"{lift.name}: no surface of {lift.definition.name}: {refused[lift.definition.name]}" for lift in lifts
             if lift.definition and lift.definition.name in refused]  # fmt: skip
    found = []
    with context.progress.task("planning salvage", len(lifts)) as task:
        for lift in lifts:
            found.append(_lift_rows(lift, ground, surfaces, settings, context))
            task.advance()
    frame = _frame([row for one in found for row in one.rows], polygons, settings)
    heeded, heeds = warnings_of(one.heed for one in found)
    # cautions of this plan stand first, for a reader may take only the first few
    notes = [f"rule: {topsoil.words}", *cautions, *heeded]
    notes += totals(frame, {one.heed.lift: one.together for one in found}) + said + ground.notes
    notes += method_notes(frame, settings) + list(CAUTIONS)
    problems += wrong + heeds + ground.problems
    return Salvage(record, frame, problems_frame(problems), topsoil.rule, tuple(notes), topsoil.title)


@dataclass(frozen=True)
class _Found:
    """Rows of a lift, what is to be heeded, and the mean depth of all polygons together where a model gives its interval."""

    rows: list[dict]
    heed: Heed
    together: ArealMean | None


def _lift_rows(lift: Lift, ground: Ground, surfaces: Surfaces | None, settings: SalvageSettings, context: Context) -> _Found:
    shapes = ground.polygons.geometry.values
    mapped = None
    if lift.may_be_mapped and lift.definition is not None:
        tally = partial(strip_of_cells, settings.flat_strip_cm) if settings.flat_strip_cm else None
        mapped = mapped_depth(surfaces, lift.definition.name, shapes, tally, settings.seed, context)
    rows, far = [], []
    for place, (polygon, shape) in enumerate(zip(ground.polygons["id"], shapes)):
        inside = ground.pits_of(place)
        chosen = None
        if lift.unknown:
            depth = Depth(np.nan, np.nan, np.nan, 0.0, lift.unknown)
        else:
            chosen = choose_pits(
                _rows(lift.values, inside), _rows(lift.values, ground.pits_of_stratum(place)), _rows(lift.values, ground.pit_ids),
                settings.least_pits_inside,
            )  # fmt: skip
            depth = depth_from_surface(mapped, place) if mapped else depth_from_pits(chosen)
            if not mapped and chosen.far and len(chosen.values):
                far.append(str(polygon))
        area_ha = shape.area / 10_000
        row = {
            "polygon_id": polygon, "lift": lift.name, "rule": lift.rule, "rule_key": lift.rule_key, "area_ha": round(area_ha, 4),
            "covered_percent": round(100 * depth.covered, 2), "not_covered_ha": round(area_ha * (1 - depth.covered), 4),
            **_depth_and_volume(depth, area_ha), "pits_inside": len(inside), "pit_ids": "; ".join(inside), "basis": depth.basis,
        }  # fmt: skip
        if lift.name == TOPSOIL:
            row |= _options(row, depth, mapped, place, chosen.known_cm, area_ha, settings)
        rows.append(row)
    # a lift that is surely nowhere needs no caution
    there = any(row["mean_cm"] > 0 or row["high90_cm"] > 0 for row in rows)
    heed = Heed(lift.name, lift.definition.title if lift.definition else "", mapped.cautions if mapped and there else (), tuple(far))
    return _Found(rows, heed, mean_depth_of_all(mapped, settings.seed) if mapped else None)


def _depth_and_volume(depth: Depth, area_ha: float) -> dict[str, float]:
    covered_ha = area_ha * depth.covered
    row = {"mean_cm": depth.mean_cm, "low90_cm": depth.low90_cm, "high90_cm": depth.high90_cm}
    row = {name: round(value, 2) for name, value in row.items()}
    for name, value in (
        ("bank_volume_m3", depth.mean_cm),
        ("low90_m3", depth.low90_cm),
        ("high90_m3", depth.high90_cm),
    ):
        row[name] = round(bank_volume_m3(value, covered_ha), 1)
    return row


def _options(
    row, depth: Depth, mapped: MappedDepth | None, place: int, thickness: np.ndarray, area_ha: float, settings: SalvageSettings
) -> dict:
    more = {}
    covered_ha = area_ha * depth.covered
    if settings.more_than_m3 is not None:
        needed_cm = settings.more_than_m3 / (100 * covered_ha) if covered_ha > 0 else np.inf
        chance = depth.areal.probability_above(needed_cm) if depth.areal else np.nan
        more |= {"more_than_m3": settings.more_than_m3, "probability_more": round(chance, 3)}
    moved_m3 = row["bank_volume_m3"]
    if is_planned(settings):
        cut = planned_cut(depth.mean_cm, covered_ha, mapped, place, thickness, settings)
        more |= planned_columns(cut, settings)
        moved_m3 = cut.cut_m3
    if settings.lost_percent is not None or settings.swell_factor is not None:
        kept = recovered_m3(moved_m3, settings.lost_percent or 0.0)
        more["recovered_bank_m3"] = round(kept, 1)
        if settings.swell_factor is not None:
            more["loose_volume_m3"] = round(loose_m3(kept, settings.swell_factor), 1)
    if settings.flat_strip_cm:
        strip = (
            flat_strip(mapped.areas[place].sums, mapped.cell_m2) if mapped
            else flat_strip_of_pits(settings.flat_strip_cm, thickness, area_ha)
        )  # fmt: skip
        more["flat_strip_cm"] = settings.flat_strip_cm
        more |= {
            name: round(getattr(strip, name), 4 if name.endswith("ha") else 1) for name in strip.__dataclass_fields__
        }
    return more


def _rows(values: pd.DataFrame, pit_ids) -> pd.DataFrame:
    return values.loc[[pit for pit in pit_ids if pit in values.index]]


def _frame(rows: list[dict], polygons: gpd.GeoDataFrame, settings: SalvageSettings) -> gpd.GeoDataFrame:
    columns = ["polygon_id", "lift", "rule", "rule_key", "area_ha", "covered_percent", "not_covered_ha", "mean_cm", "low90_cm",
               "high90_cm", "bank_volume_m3", "low90_m3", "high90_m3", "pits_inside", "pit_ids", "basis"]  # fmt: skip
    table = pd.DataFrame(rows, columns=[*columns, *(name for name in (rows[0] if rows else ()) if name not in columns)])
    texts = ("polygon_id", "lift", "rule", "rule_key", "pit_ids", "basis")
    table = table.astype({name: "str" if name in texts else float for name in table.columns if name != "pits_inside"})
    table["pits_inside"] = table["pits_inside"].astype("Int64")
    shapes = dict(zip(polygons["id"], polygons.geometry))
    return gpd.GeoDataFrame(table, geometry=[shapes[one] for one in table["polygon_id"]], crs=polygons.crs)
