"""The polygons that are to be stripped, the pits inside each, and the strata both lie in."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from ..context import Context
from ..layers import read_polygons
from ..overlay import PLACE_RULE, points_in
from ..problems import Problem, counted
from ..products import NOT_NATURAL, Attributes, Pits


class Ground:
    """Which pits speak for which polygon. Pits on stripped or filled ground speak for none."""

    def __init__(self, pits: Pits, attributes: Attributes, polygons: gpd.GeoDataFrame, context: Context) -> None:
        disturbed = set(pits.pits.loc[pits.pits["datum"].isin(NOT_NATURAL), "pit_id"])
        own = attributes.pits[~attributes.pits["pit_id"].isin(disturbed)].sort_values("pit_id", kind="stable")
        self.polygons = polygons
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


def overlap_problems(polygons: gpd.GeoDataFrame) -> list[Problem]:
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
