"""Polygons edited by hand, taken back: their hectares, their pits, what their map units are made of.

The mapper's file is read and never written. Areas and tables come from its geometry
as it is now; gaps and overlaps are listed, not repaired.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from ..errors import InputError
from ..layers import read_polygons
from ..overlay import PLACE_RULE
from ..problems import problems_frame
from ..products import Attributes, Pits
from . import summary
from .findings import Findings
from .places import group_of_pits, natural_pits
from .tables import Grouping, group_tables, hectares

LEAST_M2 = 1.0
"""Gaps and overlaps smaller than this are not listed."""
TERMS = ((40.0, "dominant"), (16.0, "subdominant"), (0.0, "inclusion"))
"""Share of a polygon from which a soil is called so, % (national soil database of Canada, its manual)."""


NO_UNIT = "(no map unit)"
LISTED = 10
"""Polygons named in a problem before the rest is only counted."""


@dataclass(frozen=True)
class Composition:
    """``polygons``: polygon_id, map_unit, area_ha, geometry. ``tables``: polygons, polygon_attributes, map_units,
    map_unit_attributes, map_unit_soils (map_unit, recorded_soil, pits, share_percent, low90_percent,
    high90_percent, term), pit_places."""

    polygons: gpd.GeoDataFrame
    tables: dict[str, pd.DataFrame]
    problems: pd.DataFrame
    notes: tuple[str, ...]


def composition(
    path: Path,
    layer: str | None,
    pits: Pits,
    attributes: Attributes,
    *,
    crs: str,
    id: str | None = None,
    map_unit: str | None = None,
    area: shapely.Geometry | None = None,
) -> Composition:
    """Recompute areas and tables from the mapper's polygons.

    Parameters
    ----------
    path, layer : the file and layer; ``id`` and ``map_unit`` name its columns.
    crs : the survey's system; polygons are brought into it.
    area : the survey area, when gaps at its edge are to be told too.

    Raises InputError where the layer or a column is not there, or a polygon is invalid
    beyond repair without loss of area.
    """
    frame = read_polygons(Path(path), layer, id=id, crs=crs, what="the edited polygons")
    if map_unit is not None and map_unit not in frame.columns:
        raise InputError(f"the edited polygons have no column {map_unit!r}", where=str(path), found=map_unit,
                         allowed=", ".join(str(name) for name in frame.columns if name not in ("id", "geometry")))  # fmt: skip
    units = frame[map_unit].fillna("").astype("str").str.strip() if map_unit else frame["id"]
    unnamed = units == ""
    units = units.where(~unnamed, NO_UNIT)
    polygons = gpd.GeoDataFrame(
        {"polygon_id": frame["id"], "map_unit": units.astype("str"), "area_ha": hectares(frame.geometry.area)},
        geometry=frame.geometry, crs=frame.crs,
    )  # fmt: skip
    findings = Findings()
    if unnamed.any():
        findings.problem(
            "warning", "no map unit", "polygons have no map unit", found=", ".join(polygons["polygon_id"][unnamed].head(LISTED)),
            allowed=f"{int(unnamed.sum())} of {len(polygons)} polygons", remedy=f"fill the column {map_unit}; they are counted under {NO_UNIT!r}",
        )  # fmt: skip
    _gaps_and_overlaps(polygons, area, findings)
    own_pits = natural_pits(pits, attributes, findings)
    of_pit = group_of_pits(own_pits, polygons, "polygon_id", "edited polygons", findings)
    unit_of = polygons.set_index("polygon_id")["map_unit"]
    unit_of_pit = of_pit.map(unit_of).fillna("").astype("str")
    grouped = polygons.groupby("map_unit", sort=True)
    groups = pd.DataFrame({
        "map_unit": pd.Series(list(grouped.groups), dtype="str"),
        "area_ha": grouped["area_ha"].sum().round(4).to_numpy(),
        "polygons": grouped.size().to_numpy(),
    })  # fmt: skip
    told = pd.DataFrame(polygons.drop(columns="geometry"))
    tables = group_tables(Grouping("polygon_id", "polygon", "polygons", told, of_pit), attributes)
    tables |= group_tables(Grouping("map_unit", "map_unit", "map_units", groups, unit_of_pit), attributes)
    tables["map_unit_soils"] = _soils(pits, unit_of_pit, groups)
    tables["pit_places"] = pd.DataFrame({
        "pit_id": of_pit.index.to_series().astype("str").to_numpy(),
        "polygon_id": of_pit.to_numpy(), "map_unit": unit_of_pit.to_numpy(),
    }).astype("str")  # fmt: skip
    findings.note(
        f"{len(polygons)} polygons, {polygons.geometry.area.sum() / 10_000:.2f} ha; the file was read and not changed"
    )
    findings.note(PLACE_RULE)
    findings.note(summary.RULE)
    findings.note(
        "shares of soils are shares of the pits inside, with a 90 % interval (Clopper & Pearson 1934) that holds for pits "
        "placed at random; pits dug where a soil was expected say less"
    )
    return Composition(polygons, tables, problems_frame(findings.problems), tuple(findings.notes))


def _gaps_and_overlaps(polygons: gpd.GeoDataFrame, area: shapely.Geometry | None, findings: Findings) -> None:
    shapes, ids = polygons.geometry.values, polygons["polygon_id"].to_numpy(object)
    one, other = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    for a, b in zip(one[one < other], other[one < other]):
        shared = shapely.intersection(shapes[a], shapes[b]).area
        if shared >= LEAST_M2:
            findings.problem(
                "warning", "overlap", "two edited polygons overlap: the land between them is counted twice",
                found=f"{ids[a]} and {ids[b]}: {shared / 10_000:.4f} ha", remedy="cut one of them back to the other's line",
            )  # fmt: skip
    covered = shapely.union_all(shapes)
    if area is not None:
        gaps, whose = shapely.get_parts(shapely.difference(area, covered)), "the survey area"
    else:
        rings = [ring for part in shapely.get_parts(covered) for ring in part.interiors]
        gaps, whose = np.array([shapely.Polygon(ring) for ring in rings], object), "the polygons"
    for gap in gaps:
        if gap.area >= LEAST_M2:
            x, y = gap.representative_point().coords[0]
            findings.problem(
                "warning", "gap", f"land inside {whose} belongs to no edited polygon",
                found=f"{gap.area / 10_000:.4f} ha near {x:.0f}, {y:.0f}", remedy="draw a polygon there, or move the lines together",
            )  # fmt: skip


def _soils(pits: Pits, unit_of_pit: pd.Series, groups: pd.DataFrame) -> pd.DataFrame:
    """Which recorded soils the pits of each map unit have, and how sure the share is."""
    from scipy.stats import binomtest

    soil = pits.pits.set_index("pit_id")["recorded_soil"].reindex(unit_of_pit.index).fillna("").str.strip()
    rows = []
    for unit in groups["map_unit"]:
        own = soil[(unit_of_pit == unit) & (soil != "")]
        counts = own.value_counts()
        for name in sorted(counts.index, key=lambda name: (-counts[name], name)):
            found = binomtest(int(counts[name]), len(own)).proportion_ci(0.90, method="exact")
            share = 100 * counts[name] / len(own)
            term = next(word for least, word in TERMS if share >= least)
            rows.append((unit, name, int(counts[name]), len(own), round(share, 1), round(100 * found.low, 1),
                         round(100 * found.high, 1), term))  # fmt: skip
    columns = [
        "map_unit",
        "recorded_soil",
        "pits",
        "pits_with_a_soil",
        "share_percent",
        "low90_percent",
        "high90_percent",
        "term",
    ]
    return pd.DataFrame(rows, columns=columns).astype({"map_unit": "str", "recorded_soil": "str", "term": "str"})
