"""Pits along a route: chainage along the line, offset to the left or right of it.

Chainage counts from the line's first point in metres; left and right are those of
somebody walking with it.
"""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from ..products import Attributes
from .findings import Findings


def joined_line(route: gpd.GeoDataFrame, findings: Findings) -> gpd.GeoDataFrame:
    """One LineString a route; parts that meet are joined, others are kept apart as ``id part 2``."""
    rows = []
    for one in route.itertuples():
        line = shapely.line_merge(one.geometry) if one.geometry.geom_type == "MultiLineString" else one.geometry
        parts = shapely.get_parts(line)
        if len(parts) > 1:
            findings.note(f"route {one.id} has {len(parts)} parts that do not meet: chainage begins anew in each")
        rows += [(one.id if number == 1 else f"{one.id} part {number}", part) for number, part in enumerate(parts, 1)]
    return gpd.GeoDataFrame({"id": pd.Series([row[0] for row in rows], dtype="str")},
                            geometry=[row[1] for row in rows], crs=route.crs)  # fmt: skip


def along_route(
    pits: gpd.GeoDataFrame, routes: gpd.GeoDataFrame, attributes: Attributes, within_m: float, findings: Findings
) -> pd.DataFrame:
    """One row a pit no farther than ``within_m`` from a route, by chainage.

    Columns: route_id, chainage_m, offset_m, side (left, right, on the line),
    pit_id, from_m and to_m (the stretch nearer to this pit than to the next ones),
    and ``<attribute>_text`` as a mapper writes it.
    """
    placed = pits[~(pits.geometry.isna() | pits.geometry.is_empty)]
    columns = ["route_id", "chainage_m", "offset_m", "side", "pit_id", "from_m", "to_m"]
    if placed.empty:
        return pd.DataFrame(columns=columns)
    distance = np.array([shapely.distance(line, placed.geometry.values) for line in routes.geometry.values])
    nearest = distance.argmin(axis=0)
    rows = []
    for place in np.flatnonzero(distance.min(axis=0) <= within_m):
        point, line = placed.geometry.iloc[place], routes.geometry.iloc[nearest[place]]
        tied = np.flatnonzero(np.abs(distance[:, place] - distance[nearest[place], place]) < 1e-6)
        pit_id = placed["pit_id"].iloc[place]
        if len(tied) > 1:
            findings.problem(
                "note",
                "pit between routes",
                "the pit is equally near to several routes",
                pit_id=pit_id,
                found=", ".join(routes["id"].iloc[tied]),
                remedy="it is listed at the first of them",
            )
        chainage = shapely.line_locate_point(line, point)
        rows.append(
            (
                routes["id"].iloc[nearest[place]],
                round(float(chainage), 2),
                round(float(distance[nearest[place], place]), 2),
                side_of(line, point, chainage),
                pit_id,
            )
        )
    rows.sort(key=lambda row: (routes["id"].tolist().index(row[0]), row[1], row[4]))
    table = pd.DataFrame(rows, columns=columns[:5]).astype({"route_id": "str", "side": "str", "pit_id": "str"})
    lengths = dict(zip(routes["id"], shapely.length(routes.geometry.values)))
    table["from_m"], table["to_m"] = np.nan, np.nan
    for route, part in table.groupby("route_id", sort=False):
        middle = (part["chainage_m"].to_numpy()[1:] + part["chainage_m"].to_numpy()[:-1]) / 2
        table.loc[part.index, "from_m"] = np.concatenate([[0.0], middle])
        table.loc[part.index, "to_m"] = np.concatenate([middle, [round(lengths[route], 2)]])
    text = _texts(attributes)
    for definition in attributes.definitions:
        table[f"{definition.name}_text"] = pd.Series(
            [text.get((pit, definition.name), "unknown") for pit in table["pit_id"]], index=table.index, dtype="str"
        )
    return table


def side_of(line: shapely.LineString, point: shapely.Point, chainage: float, step: float = 0.5) -> str:
    """Left or right of the line as it is walked.

    At a bend the direction is taken from a little before to a little after.
    """
    foot = line.interpolate(chainage)
    if foot.distance(point) < 1e-6:
        return "on the line"
    before, after = line.interpolate(max(chainage - step, 0)), line.interpolate(min(chainage + step, line.length))
    cross = (after.x - before.x) * (point.y - foot.y) - (after.y - before.y) * (point.x - foot.x)
    return "left" if cross > 0 else "right" if cross < 0 else "on the line"


def _texts(attributes: Attributes) -> dict[tuple[str, str], str]:
    from ..intervals import interval_text

    decimals = {one.name: one.decimals for one in attributes.definitions}
    values = attributes.values
    return {
        (pit, name): interval_text(low, high, status, decimals.get(name, 0))
        for pit, name, low, high, status in zip(
            values["pit_id"], values["attribute"], values["low"], values["high"], values["status"]
        )
    }
