"""Along what a transect is drawn: the routes of the survey, else the longest axis through its pits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
import shapely

from ..products import Terrain
from .bundle import Bundle
from .ground import pits_on_the_land

LONGEST = "longest_axis"
SAMPLES = 400
"""Points along the line at which the ground is read."""


@dataclass(frozen=True)
class Axis:
    """A line with the pits near it, in order of chainage.

    ``pits``: pit_id, x, y (m), chainage_m, offset_m (distance from the line, m).
    """

    name: str
    title: str
    line: shapely.LineString
    pits: pd.DataFrame
    left_out: int = 0
    """Pits near the line that are not drawn because there are too many."""


def axes_of(bundle: Bundle) -> list[Axis]:
    """The lines to draw, each with at least two described pits; none when pits with a place are fewer."""
    pits = _described(bundle)
    if len(pits) < 2:
        return []
    zones = bundle.zones
    if zones is not None and zones.route is not None and len(zones.route):
        listed = zones.tables.get("route")
        listed = None if listed is None else set(listed["pit_id"])
        found = [
            _axis(f"route_{number}", f"Along the route {name}", line, pits if listed is None else pits[pits["pit_id"].isin(listed)], bundle)
            for number, (name, line) in enumerate(zip(_names(zones.route), _lines(zones.route), strict=True), start=1)
        ]
        return [axis for axis in found if len(axis.pits) >= 2]
    line = longest_axis(pits[["x", "y"]].to_numpy(float))
    if line is None:
        return []
    axis = _axis(LONGEST, "Along the longest axis of the pits", line, pits, bundle)
    return [axis] if len(axis.pits) >= 2 else []


def longest_axis(points: np.ndarray) -> shapely.LineString | None:
    """The line between the two points (m, 2) that are farthest apart, from west to east; None where all coincide."""
    corners = shapely.get_coordinates(shapely.convex_hull(shapely.multipoints(points)))
    corners = np.unique(corners, axis=0)  # also makes the choice between equal distances a fixed one
    if len(corners) < 2:
        return None
    apart = np.linalg.norm(corners[:, None] - corners[None], axis=2)
    first, second = np.unravel_index(apart.argmax(), apart.shape)
    ends = sorted([tuple(corners[first]), tuple(corners[second])])
    return shapely.LineString(ends)


def _axis(name: str, title: str, line: shapely.LineString, pits: pd.DataFrame, bundle: Bundle) -> Axis:
    points = shapely.points(pits["x"].to_numpy(float), pits["y"].to_numpy(float))
    near = pits.assign(
        chainage_m=shapely.line_locate_point(line, points), offset_m=shapely.distance(line, points)
    )
    within = bundle.settings.transect_within_m or line.length / 10
    near = near[near["offset_m"] <= within]
    most = bundle.settings.transect_pits
    kept = near.sort_values(["offset_m", "pit_id"], kind="stable").head(most)
    kept = kept.sort_values(["chainage_m", "pit_id"], kind="stable").reset_index(drop=True)
    return Axis(name, title, line, kept, len(near) - len(kept))


def _described(bundle: Bundle) -> pd.DataFrame:
    """Pits on the survey's land that have horizons; visits to one place are all kept."""
    pits = bundle.pits.pits
    placed = pits[pits_on_the_land(bundle) & pits["pit_id"].isin(bundle.pits.horizons["pit_id"]).to_numpy()]
    return pd.DataFrame({"pit_id": placed["pit_id"].to_numpy(object), "x": placed.geometry.x, "y": placed.geometry.y}).reset_index(drop=True)


def _lines(route) -> list[shapely.LineString]:
    """Each route as one line; parts that do not meet are joined in their order."""
    lines = []
    for shape in route.geometry:
        merged = shapely.line_merge(shape) if shape.geom_type == "MultiLineString" else shape
        lines.append(merged if merged.geom_type == "LineString" else shapely.LineString(shapely.get_coordinates(merged)))
    return lines


def _names(route) -> list[str]:
    return list(route["id"].astype(str)) if "id" in route else [str(number) for number in range(1, len(route) + 1)]


def elevations_at(terrain: Terrain, output, points: np.ndarray) -> np.ndarray:
    """Elevation at points (m, 2), m: bilinear between cell centres, NaN outside and beside gaps.

    Reads the four cells around each point and not what lies between points: a line across the
    whole survey takes no more memory than a short one.
    """
    grid = terrain.grid
    cells = terrain.rasters["elevation"].cells(output)
    column = (points[:, 0] - grid.west) / grid.cell_m - 0.5
    row = (grid.north - points[:, 1]) / grid.cell_m - 0.5
    inside = (column >= -0.5) & (row >= -0.5) & (column < grid.width - 0.5) & (row < grid.height - 0.5)
    row, column = row[inside], column[inside]
    top, left = np.floor(row).astype(np.intp), np.floor(column).astype(np.intp)
    down, right = row - top, column - left
    found = np.full(len(points), np.nan)
    # in the outer half of a cell at the edge there is no neighbour to go toward: the cell stands for it
    found[inside] = sum(
        cells.at(np.clip(top + lower, 0, grid.height - 1), np.clip(left + farther, 0, grid.width - 1)) * share_down * share_right
        for lower, share_down in enumerate((1 - down, down))
        for farther, share_right in enumerate((1 - right, right))
    )
    return found


def ground_along(axis: Axis, terrain: Terrain, output) -> tuple[np.ndarray, np.ndarray]:
    """Chainage (m) and elevation (m) of the ground along the line."""
    chainage = np.linspace(0, axis.line.length, SAMPLES)
    points = shapely.get_coordinates(shapely.line_interpolate_point(axis.line, chainage))
    return chainage, elevations_at(terrain, output, points)
