"""A pit far from all others is told, with the slip that would explain it (R17)."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pytest
import shapely
from pyproj import Transformer

from geoprofile.pits.check_places import check_places, likely_slip

GRID = [(567050.0 + 137 * (n % 4), 5827950.0 - 133 * (n // 4)) for n in range(16)]


def told(points, listed=()):
    ids = [f"P{n}" for n in range(len(points))]
    shapes = [shapely.Point(point) if point else None for point in points]
    frame = gpd.GeoDataFrame({"pit_id": ids, "file": "pits.csv", "sheet": "", "row": np.arange(len(ids)) + 2}, geometry=shapes, crs="EPSG:3158")
    return list(check_places(frame, set(listed)))


def test_a_northing_with_one_wrong_digit_is_told_with_the_digit():
    """100 km north of a survey of 0.5 km, without any area set."""
    said = told([(567050.0, 5927950.0), *GRID[1:]])
    assert [(one.pit_id, one.severity, one.row) for one in said] == [("P0", "warning", 2)]
    assert "northing 5827950 (digit 2 otherwise)" in said[0].remedy and "100.0 km from the nearest" in said[0].what


def test_two_slips_in_two_directions_do_not_hide_each_other():
    said = told([(567050.0, 5927950.0), (667187.0, 5827950.0), *GRID[2:]])
    assert [one.pit_id for one in said] == ["P0", "P1"]
    assert "easting 567187" in said[1].remedy


def test_a_pit_whose_coordinates_are_of_the_neighbouring_zone_is_told_with_the_zone():
    x, y = Transformer.from_crs("EPSG:3158", "EPSG:3159", always_xy=True).transform(*GRID[0])
    said = told([(x, y), *GRID[1:]])
    assert len(said) == 1 and "its coordinates as of zone 15" in said[0].remedy


def test_a_longitude_one_degree_off_is_told_with_the_degree():
    to_degrees = Transformer.from_crs("EPSG:3158", "EPSG:4617", always_xy=True)
    lon, lat = to_degrees.transform(*GRID[0])
    x, y = to_degrees.transform(lon + 1, lat, direction="INVERSE")
    assert "degree otherwise" in told([(x, y), *GRID[1:]])[0].remedy


def test_digits_exchanged_are_named_and_what_nothing_explains_is_not_invented():
    others = np.array(GRID)
    assert likely_slip(np.array([567050.0, 5287950.0]), others, None).startswith("northing 5827950 (digits 2 and 3 exchanged)")
    assert likely_slip(np.array([123456.0, 5111111.0]), others, None) == ""


@pytest.mark.parametrize(
    "points",
    [GRID, [*GRID, (567700.0, 5828300.0)], [*GRID, *[(x + 30000, y) for x, y in GRID]], [*GRID, *[(x + 30000, y) for x, y in GRID[:8]]],
     [(567000.0 + 200 * n, 5827000.0) for n in range(30)], [(0.0, 0.0), (50.0, 0.0), (3000.0, 0.0)], [*GRID[:5], *GRID[:5], None], [GRID[0]], []],
    ids=["a grid", "a straggler", "two parts", "a lesser part", "a line", "three pits", "one place twice", "one pit", "none"],
)  # fmt: skip
def test_ordinary_surveys_are_left_alone(points):
    assert told(points) == []


def test_three_pits_of_which_one_lies_100_km_away():
    assert [one.pit_id for one in told([*GRID[:3], (567050.0, 5927950.0)])] == ["P3"]


def test_transects_far_apart_are_no_slips():
    """Pits every 5 m on lines 4 km apart: groups, each far from the next by the spacing alone."""
    lines = [(567000.0 + 4000 * line + 5 * n, 5827000.0 + 1500 * (line % 2)) for line in range(6) for n in range(10)]
    assert told(lines) == []


def test_a_pit_listed_as_outside_is_not_told_twice():
    assert told([(567050.0, 5927950.0), *GRID[1:]], listed=["P0"]) == []


def test_the_survey_says_it(read_survey):
    rows = [(567050, 5927950), *[(int(x), int(y)) for x, y in GRID[1:]]]
    files = {"pits.csv": "pit,easting,northing\n" + "".join(f"P{n},{x},{y}\n" for n, (x, y) in enumerate(rows)),
             "horizons.csv": "pit,horizon,upper,lower\n" + "".join(f"P{n},Ap,0,15\n" for n in range(16))}
    given = {"pits": {"file": "pits.csv"}, "horizons": {"file": "horizons.csv"}, "depth_unit": "cm"}
    problems = read_survey(files, **given).problems
    assert list(problems.loc[problems["check"] == "far from the others", "pit_id"]) == ["P0"]
    off = read_survey(files, checks_off=["far from the others"], **given).problems
    assert "far from the others" not in set(off["check"])
