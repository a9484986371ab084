"""Tables made from products: bounds kept, problems once."""

import geopandas as gpd
import numpy as np
import shapely

from geoprofile.outputs import frames
from geoprofile.outputs.ground import pits_on_the_land, survey_bounds
from geoprofile.outputs.transect_axis import axes_of


def test_a_pit_without_a_value_says_unknown_and_never_zero(make_bundle):
    wide = frames.wide_pits(make_bundle(only=True)).set_index("pit_id")
    assert np.isnan(wide.loc["P-6", "a_e_thickness_low_cm"]) and wide.loc["P-6", "a_e_thickness_status"] == "unknown"
    assert wide.loc["P-6", "a_e_thickness_presence"] == "not_described"
    assert len(wide) == 7


def test_a_problem_that_two_products_carry_is_listed_once(make_bundle):
    from dataclasses import replace

    bundle = make_bundle(only=True)
    again = replace(bundle, attributes=replace(bundle.attributes, problems=bundle.pits.problems))
    assert len(frames.all_problems(again)) == len(frames.all_problems(bundle)) == 3
    assert set(frames.all_problems(again)["stage"]) == {"pits"}


def test_a_place_needs_finite_coordinates():
    points = gpd.GeoSeries([shapely.Point(1, 2), None, shapely.Point(), shapely.Point(np.inf, 2)], crs="EPSG:3158")
    assert frames.has_place(gpd.GeoDataFrame(geometry=points)).tolist() == [True, False, False, False]


def test_one_pit_in_the_wrong_zone_does_not_stretch_map_and_transect(make_bundle):
    """R20: its neighbour zone puts it hundreds of kilometres away; it is a problem, not the extent."""
    bundle = make_bundle()
    before = survey_bounds(bundle), axes_of(bundle)[0].line.length
    geometry = bundle.pits.pits.geometry.copy()
    geometry.iloc[2] = shapely.Point(100_000, 5_800_000)
    bundle.pits.pits.geometry = geometry
    assert survey_bounds(bundle) == before[0]
    assert pits_on_the_land(bundle).tolist() == [True, True, False, True, True, True, False]
    assert axes_of(bundle)[0].line.length == before[1]
    assert "P-3" not in set(axes_of(bundle)[0].pits["pit_id"])
