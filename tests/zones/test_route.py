"""Chainage, offset and side."""

from __future__ import annotations

import geopandas as gpd
import pytest
import shapely

from geoprofile.zones.findings import Findings
from geoprofile.zones.route import joined_line, side_of

BEND = shapely.LineString([(0, 0), (100, 0), (100, 100)])


@pytest.mark.parametrize(
    ("point", "chainage", "side"),
    [((50, 10), 50, "left"), ((50, -10), 50, "right"), ((90, 50), 150, "left"), ((110, 50), 150, "right"),
     ((110, -10), 100, "right"), ((50, 0), 50, "on the line"), ((-5, 3), 0, "left")],
)  # fmt: skip
def test_left_and_right_are_those_of_somebody_walking_along(point, chainage, side):
    place = shapely.Point(point)
    assert BEND.project(place) == pytest.approx(chainage)
    assert side_of(BEND, place, chainage) == side


def test_parts_that_meet_are_one_route_and_others_begin_anew():
    findings = Findings()
    parts = [shapely.MultiLineString([[(0, 0), (10, 0)], [(10, 0), (20, 0)]]),
             shapely.MultiLineString([[(0, 5), (10, 5)], [(50, 5), (60, 5)]])]  # fmt: skip
    routes = joined_line(gpd.GeoDataFrame({"id": ["a", "b"]}, geometry=parts, crs="EPSG:3158"), findings)
    assert routes["id"].tolist() == ["a", "b", "b part 2"]
    assert routes.geometry.length.tolist() == [20, 10, 10]
    assert any("do not meet" in note for note in findings.notes)
