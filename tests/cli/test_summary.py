"""What the commands print of a product: short, in words, nothing said twice."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pandas as pd

from geoprofile.cli.summary import problem_lines, summary_document, summary_lines
from geoprofile.grid import Grid
from geoprofile.problems import Problem, problems_frame
from geoprofile.products import ClassSurface, Refusal, Salvage, Surface, Surfaces, Zones
from geoprofile.record import Record

WAY = "use a method that can"
GRID = Grid("EPSG:3158", 500_000.0, 5_800_000.0, 10.0, 2, 2)


def surfaces() -> Surfaces:
    refusals = tuple(Refusal(name, "7 of 44 pits say only a bound", WAY) for name in ("depth_to_bt", "depth_to_salts"))
    likely = Surface("depth_to_bt", "Depth to the Bt", "cm", "ordinary_kriging", "ordinary kriging", "", presence="bt", pits_used=118)
    empty = pd.DataFrame()
    return Surfaces(Record("surfaces", {}), GRID, (), {}, refusals, empty, empty, problems_frame([]), presences=(likely,))


def test_what_is_not_drawn_says_whether_a_probability_is_shown_and_the_way_out_once():
    lines = list(summary_lines(surfaces(), notes=False))
    assert lines == [
        "depth_to_bt: not drawn, probability that it is there shown: 7 of 44 pits say only a bound",
        "depth_to_salts: not drawn: 7 of 44 pits say only a bound",
        f"all of these: {WAY}",
    ]


def test_programs_read_the_same():
    document = summary_document(surfaces())
    assert [row["attribute"] for row in document["presence_only"]] == ["depth_to_bt"]
    assert [row["remedy"] for row in document["not_mapped"]] == [WAY, WAY]


def test_lifts_end_with_their_sum_and_a_lift_that_is_nowhere_is_one_line():
    frame = pd.DataFrame(
        {"polygon_id": ["Pad", "Camp", "Pad", "Camp"], "lift": ["topsoil"] * 2 + ["forest floor"] * 2, "area_ha": [4.0, 1.0] * 2,
         "mean_cm": [15.0, 20.0, 0.0, 5.0], "low90_cm": [12.0, np.nan, 0.0, 4.0], "high90_cm": [18.0, np.nan, 0.0, 6.0],
         "bank_volume_m3": [6000.0, 2000.0, 0.0, 500.0], "not_covered_ha": 0.0, "basis": "x"}
    )  # fmt: skip
    lifts = gpd.GeoDataFrame(frame, geometry=gpd.GeoSeries([None] * 4), crs="EPSG:3158")
    total = "topsoil: 8,000 m3 bank volume on 4.90 ha, area-weighted mean 16.0 cm; 0.10 ha are not covered and not in the volume"
    made = Salvage(Record("salvage", {}), lifts, problems_frame([]), notes=("volumes are bank volumes", total))
    lines = list(summary_lines(made, notes=False))
    assert f"in all, {total}" in lines and list(summary_lines(made)).count(total) == 1
    assert "Pad: no forest floor" in lines and not any("mean 0.0" in line for line in lines)


def test_tables_are_named_without_their_companions():
    names = ["zones", "zone_attributes", "zone_presence", "strata", "stratum_attributes", "parcels", "parcel_limits", "pit_places", "route", "routes"]
    empty = gpd.GeoDataFrame({"area_ha": []}, geometry=[], crs="EPSG:3158")
    zones = Zones(Record("zones", {}), empty, {name: pd.DataFrame() for name in names}, problems_frame([]))
    assert list(summary_lines(zones, notes=False)) == ["tables: zones, strata, parcels, pit_places, route, routes"]
    assert list(summary_lines(zones))[0] == f"tables: {', '.join(names)}"


def test_a_kind_of_problem_says_where_its_first_case_stands():
    problems = problems_frame([Problem("error", "depth", "no upper depth", "A1", "pits.xlsx", "horizons", 7, found="Ap", remedy="write it")])
    assert list(problem_lines(problems)) == [
        "error: depth (1): A1", "    no upper depth [Ap] (pits.xlsx, horizons, row 7)", "    do: write it",
    ]  # fmt: skip
    (_, line) = problem_lines(problems_frame([Problem("note", "x", "about no row")]))
    assert line == "    about no row"


def test_a_caution_that_nobody_may_miss_stands_under_its_surface_and_is_not_said_twice():
    """That there is no skill is in the score already."""
    cautions = ("no spatial skill: use the mean", "pits that rock stopped did not stop at random: too shallow near rock")
    one = Surface("depth_to_bt", "Depth to the Bt", "cm", "m", "kriging", "e", pits_used=30, score="no spatial skill", cautions=cautions)
    made = replace(surfaces(), surfaces=(one,), refusals=())
    assert list(summary_lines(made, notes=False)) == [
        "Depth to the Bt: kriging, 30 pits; no spatial skill",
        "  caution: pits that rock stopped did not stop at random: too shallow near rock",
    ]
    assert summary_document(made)["surfaces"][0]["cautions"] == list(cautions)


def test_classes_are_told_with_their_score():
    one = ClassSurface("drainage", "Drainage", ("well", "poorly"), "c", "p", {}, 40, "by location: 60 %", ("no spatial skill: ...",))
    made = replace(surfaces(), classes=(one,), refusals=())
    assert "Drainage: probabilities of 2 classes, 40 pits; by location: 60 %" in list(summary_lines(made, notes=False))
    assert summary_document(made)["classes"][0]["column"] == "drainage"
