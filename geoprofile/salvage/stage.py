"""Salvage: how much topsoil lies in each polygon that is to be stripped, and how sure that is.

The story: find the attribute that holds topsoil by the rule set; take its mean in each
polygon from its surface, or from the pits where it has none; multiply by the area that
is covered. The forest floor is a lift of its own. All volumes are bank volumes unless a
column says otherwise.

Columns of ``Salvage.lifts`` (one row a polygon and lift):

polygon_id, lift (topsoil, forest floor), rule (its title), rule_key, area_ha, covered_percent, not_covered_ha,
mean_cm, low90_cm, high90_cm, bank_volume_m3, low90_m3, high90_m3 (of the covered part),
pits_inside, pit_ids, basis (words), geometry; where asked for: strip_depth_cm (rounded),
recovered_bank_m3, loose_volume_m3, padded_with_subsoil_m3 (minimum lift), and for a flat
strip flat_strip_cm, thinner_ha, surely_thinner_ha, subsoil_m3, subsoil_low90_m3,
subsoil_high90_m3, left_behind_m3; more_than_m3 and probability_more (missing where the
surface has no covariance model).
"""

from __future__ import annotations

from functools import partial

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from ..areal import ArealMean
from ..context import Context
from ..layers import read_polygons
from ..overlay import PLACE_RULE, points_in
from ..problems import Problem, counted, problems_frame
from ..products import NOT_NATURAL, Attributes, Pits, Salvage, Surfaces
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
from .rules import topsoil_attribute
from .volumes import area_weighted_mean, bank_volume_m3, loose_m3, recovered_m3, rounded_depth

FOREST_FLOOR = "forest_floor_thickness"


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
    problems = _overlap_problems(polygons)
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

    ground = _Ground(pits, attributes, polygons, context)
    notes = [f"rule: {topsoil.words}"]
    lifts = [("topsoil", topsoil.definition, (topsoil.title, topsoil.rule))]
    floor = next((one for one in attributes.definitions if one.name == FOREST_FLOOR), None)
    if settings.forest_floor and floor is not None:
        lifts.append(("forest floor", floor, ("organic layers above the mineral soil", "")))
    elif settings.forest_floor:
        notes.append(f"the forest floor is not listed: {FOREST_FLOOR} was not derived")
    refused = {one.attribute: one.reason for one in (surfaces.refusals if surfaces else ())}
    notes += [f"{lift}: no surface of {definition.name}: {refused[definition.name]}" for lift, definition, _ in lifts
              if definition.name in refused]  # fmt: skip
    rows, together = [], {}
    with context.progress.task("planning salvage", len(lifts)) as task:
        for lift, definition, rule in lifts:
            found, together[lift] = _lift_rows(lift, definition, rule, ground, surfaces, settings, context)
            rows += found
            task.advance()
    frame = _frame(rows, polygons, settings)
    notes += ground.notes + _totals(frame, together) + _method_notes(frame, settings) + list(CAUTIONS)
    return Salvage(record, frame, problems_frame(problems + ground.problems), topsoil.rule, tuple(notes), topsoil.title)


class _Ground:
    """The polygons, the pits inside each, and the strata both lie in."""

    def __init__(self, pits: Pits, attributes: Attributes, polygons: gpd.GeoDataFrame, context: Context) -> None:
        disturbed = set(pits.pits.loc[pits.pits["datum"].isin(NOT_NATURAL), "pit_id"])
        own = attributes.pits[~attributes.pits["pit_id"].isin(disturbed)].sort_values("pit_id", kind="stable")
        self.polygons, self.values = polygons, attributes.values
        self.pit_ids = own["pit_id"].to_numpy(object)
        self.notes = [f"{counted(len(disturbed), 'pit')} on stripped or filled ground, not used"] if disturbed else []
        places = points_in(own.geometry.values, polygons.geometry.values)
        self.inside = places.polygon
        self.problems = [
            Problem("note", "pit on a line", "the pit lies in or on the line of several areas to be stripped",
                    pit_id=str(self.pit_ids[pit]), found=", ".join(polygons["id"].iloc[list(choices)]), allowed=PLACE_RULE,
                    remedy="move the line or the pit if that is wrong")
            for pit, choices in places.ties.items()
        ]  # fmt: skip
        self.pit_stratum = self.polygon_stratum = None
        source = context.survey.strata
        if source is not None:
            strata = read_polygons(context.path(source.file), source.layer, crs=context.survey.crs, what="strata")
            # polygons that share a name are one stratum; the last code stands for none
            codes = np.append(pd.factorize(strata[source.id or "id"].astype(str))[0], -1)
            shapes = strata.geometry.values
            self.pit_stratum = codes[points_in(own.geometry.values, shapes).polygon]
            self.polygon_stratum = codes[points_in(shapely.point_on_surface(polygons.geometry.values), shapes).polygon]

    def pits_of(self, polygon: int) -> list[str]:
        return self.pit_ids[self.inside == polygon].tolist()

    def pits_of_stratum(self, polygon: int) -> list[str]:
        if self.pit_stratum is None or self.polygon_stratum[polygon] < 0:
            return []
        return self.pit_ids[self.pit_stratum == self.polygon_stratum[polygon]].tolist()


def _lift_rows(
    lift, definition, rule, ground: _Ground, surfaces, settings: SalvageSettings, context: Context
) -> tuple[list[dict], ArealMean | None]:
    """The rows of a lift, and the mean depth of all polygons together where a model gives its interval."""
    values = ground.values[ground.values["attribute"] == definition.name].set_index("pit_id")
    shapes = ground.polygons.geometry.values
    mapped = mapped_depth(surfaces, definition.name, shapes, partial(_tally, settings), settings.seed, context)
    rows = []
    for place, (polygon, shape) in enumerate(zip(ground.polygons["id"], ground.polygons.geometry)):
        inside = ground.pits_of(place)
        chosen = choose_pits(
            _rows(values, inside), _rows(values, ground.pits_of_stratum(place)), _rows(values, ground.pit_ids),
            settings.least_pits_inside,
        )  # fmt: skip
        depth = depth_from_surface(mapped, place) if mapped else depth_from_pits(chosen)
        area_ha = shape.area / 10_000
        row = {
            "polygon_id": polygon, "lift": lift, "rule": rule[0], "rule_key": rule[1], "area_ha": round(area_ha, 4),
            "covered_percent": round(100 * depth.covered, 2), "not_covered_ha": round(area_ha * (1 - depth.covered), 4),
            **_depth_and_volume(depth, area_ha), "pits_inside": len(inside), "pit_ids": "; ".join(inside), "basis": depth.basis,
        }  # fmt: skip
        if lift == "topsoil":
            row |= _options(row, depth, mapped, place, chosen.known_cm, area_ha, settings)
        rows.append(row)
    return rows, mean_depth_of_all(mapped, settings.seed) if mapped else None


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


def _tally(settings: SalvageSettings, mean: np.ndarray, low: np.ndarray | None, high: np.ndarray | None) -> np.ndarray:
    """(7, m) what cells add: cm that a minimum lift pads, then what a flat strip does."""
    flat = strip_of_cells(settings.flat_strip_cm or 0.0, mean, low, high)
    return np.vstack([np.maximum((settings.minimum_lift_cm or 0.0) - mean, 0.0), flat])


def _options(
    row, depth: Depth, mapped: MappedDepth | None, place: int, thickness: np.ndarray, area_ha: float, settings: SalvageSettings
) -> dict:
    more = {}
    if settings.more_than_m3 is not None:
        covered_ha = area_ha * depth.covered
        needed_cm = settings.more_than_m3 / (100 * covered_ha) if covered_ha > 0 else np.inf
        chance = depth.areal.probability_above(needed_cm) if depth.areal else np.nan
        more |= {"more_than_m3": settings.more_than_m3, "probability_more": round(chance, 3)}
    if settings.round_to_cm:
        more["strip_depth_cm"] = rounded_depth(depth.mean_cm, settings.round_to_cm, settings.rounding)
    if settings.lost_percent is not None or settings.swell_factor is not None:
        kept = recovered_m3(row["bank_volume_m3"], settings.lost_percent or 0.0)
        more["recovered_bank_m3"] = round(kept, 1)
        if settings.swell_factor is not None:
            more["loose_volume_m3"] = round(loose_m3(kept, settings.swell_factor), 1)
    if settings.minimum_lift_cm:
        if mapped:
            sums = mapped.areas[place].sums
            padded = 0.0 if sums is None else float(sums[0]) * mapped.cell_m2 / 100
        else:
            padded = flat_strip_of_pits(settings.minimum_lift_cm, thickness, area_ha).subsoil_m3
        more["padded_with_subsoil_m3"] = round(padded, 1)
    if settings.flat_strip_cm:
        strip = (
            flat_strip(None if mapped.areas[place].sums is None else mapped.areas[place].sums[1:], mapped.cell_m2) if mapped
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


def _overlap_problems(polygons: gpd.GeoDataFrame) -> list[Problem]:
    """Polygons that overlap count the land between them twice."""
    one, other = shapely.STRtree(polygons.geometry.values).query(polygons.geometry.values, predicate="intersects")
    found = []
    for a, b in zip(one[one < other], other[one < other]):
        shared = shapely.intersection(polygons.geometry.iloc[a], polygons.geometry.iloc[b]).area
        if shared > 1:
            found.append(Problem(
                "warning", "overlap", "two areas to be stripped overlap: the land between them is in both volumes",
                found=f"{polygons['id'].iloc[a]} and {polygons['id'].iloc[b]}: {shared / 10_000:.4f} ha",
                remedy="cut one of them back"))  # fmt: skip
    return found


def _totals(frame: gpd.GeoDataFrame, together: dict[str, ArealMean | None]) -> list[str]:
    notes = []
    for lift, part in frame.groupby("lift", sort=False):
        known = part[part["bank_volume_m3"].notna() & (part["covered_percent"] > 0)]
        if known.empty:
            notes.append(f"{lift}: {part['area_ha'].sum():.2f} ha, depth not known")
            continue
        covered = known["area_ha"] - known["not_covered_ha"]
        mean = area_weighted_mean(known["mean_cm"].to_numpy(), covered.to_numpy())
        missing = part["area_ha"].sum() - covered.sum()
        text = (f"{lift}: {known['bank_volume_m3'].sum():,.0f} m3 bank volume on {covered.sum():.2f} ha, "
                f"area-weighted mean {mean:.1f} cm")  # fmt: skip
        if missing > 0.00005:
            text += f"; {missing:.2f} ha are not covered and not in the volume"
        # intervals of polygons are not added up: their errors are neither independent nor one
        if together.get(lift) is not None and len(known) > 1:
            low, high = (bank_volume_m3(depth, covered.sum()) for depth in (together[lift].low90, together[lift].high90))
            text += f"; 90 % interval of the total {low:,.0f} to {high:,.0f} m3, from the errors of all areas together"
        notes.append(text)
    return notes


def _method_notes(frame: gpd.GeoDataFrame, settings: SalvageSettings) -> list[str]:
    notes = ["volumes are bank volumes (in place), of the covered part only"]
    mapped = frame["basis"].str.startswith("surface by")
    if mapped.any():
        notes.append(
            "where there is a surface: depth by the exact share of each cell inside the polygon; the interval holds if "
            "the surface's model does, whose own uncertainty is not in it"
        )
    if (~mapped).any():
        notes.append(
            "where there is no surface: depth from the pits named in the column basis; the whole polygon counts as covered"
        )
    if settings.more_than_m3 is not None:
        notes.append(
            f"probability_more is the probability that the topsoil of a polygon holds more than {settings.more_than_m3:g} m3 in place"
        )
    if settings.minimum_lift_cm:
        notes.append(
            f"a minimum lift of {settings.minimum_lift_cm:g} cm was asked for: padded_with_subsoil_m3 is the subsoil that it adds"
        )
    else:
        notes.append("no minimum lift: thin topsoil is not padded with subsoil")
    if settings.lost_percent is not None or settings.swell_factor is not None:
        notes.append(f"losses of {settings.lost_percent or 0:g} % were taken off the bank volume first; what is left swells by "
                     f"{settings.swell_factor or 1:g} (loose volume)")  # fmt: skip
    if settings.round_to_cm:
        notes.append(
            f"strip_depth_cm is rounded {settings.rounding} to {settings.round_to_cm:g} cm; volumes are from unrounded depths"
        )
    if settings.flat_strip_cm:
        notes.append(
            f"flat strip of {settings.flat_strip_cm:g} cm: thinner_ha is where topsoil is more likely thinner than that, "
            "surely_thinner_ha where it is with 95 % probability; subsoil_m3 is what is expected of B and C, its limits take "
            "all errors as one"
        )
    return notes
