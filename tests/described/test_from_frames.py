"""Profiles from frames: order, gaps, boundaries, buried soils, what was observed."""

from __future__ import annotations

import pytest

from geoprofile.described.from_frames import build_profiles
from geoprofile.errors import InputError


@pytest.fixture
def profile(pits_of):
    def one(horizons, convention="canadian", **facts):
        return next(build_profiles(pits_of({"P1": horizons}, {"P1": facts}), convention))

    return one


def test_organic_layers_lie_above_and_the_soil_starts_at_the_mineral_surface(profile):
    one = profile([("LFH", -5, 0), ("Ah", 0, 10), ("Bm", 10, 40)])
    assert [h.name for h in one.above] == ["LFH"] and [h.name for h in one.soil] == ["Ah", "Bm"]


def test_layers_that_nobody_described_are_kept_as_such(profile):
    one = profile([("Ah", 3, 10), ("Bm", 15, 40)])
    assert [(h.upper, h.lower, h.described) for h in one.soil] == [(0, 3, False), (3, 10, True), (10, 15, False), (15, 40, True)]


def test_a_rounding_gap_is_not_a_layer(profile):
    assert len(profile([("Ah", 0, 10), ("Bm", 10.4, 40)]).soil) == 2


def test_the_depth_observed_is_never_taken_for_a_depth_described(profile):
    one = profile([("Ah", 0, 10), ("Bm", 10, 40)], observed_to_cm=100)
    assert (one.described_to, one.observed_to) == (40, 100)


def test_an_open_horizon_is_described_to_the_depth_observed(profile):
    assert profile([("Ah", 0, 10), ("C", 10, None)], observed_to_cm=100).described_to == 100
    assert profile([("Ah", 0, 10), ("C", 10, None)]).described_to == 10


def test_pits_come_in_the_order_of_the_table_whatever_the_order_of_the_horizons(pits_of):
    pits = pits_of({"B": [("Ah", 0, 10)], "A": [], "007": [("Bm", 0, 20)]})
    profiles = list(build_profiles(pits, "canadian"))
    assert [one.pit_id for one in profiles] == ["B", "A", "007"]
    assert [len(one.soil) for one in profiles] == [1, 0, 1]


def test_a_horizon_without_an_upper_depth_leaves_a_gap(profile):
    one = profile([("Ah", 0, 10), ("Bm", None, 30), ("Ck", 30, 60)])
    assert [h.name for h in one.soil] == ["Ah", "a layer not described", "Ck"]


def test_a_pit_of_a_convention_that_does_not_exist_is_named(pits_of):
    pits = pits_of({"P1": [("Ah", 0, 10)]})
    pits.pits["convention"] = ["martian"]
    with pytest.raises(InputError) as wrong:
        list(build_profiles(pits, "canadian"))
    assert "P1" in str(wrong.value)


def test_an_overlap_is_the_range_of_the_boundary_and_a_layer_inside_another_is_none(profile):
    upper, lower = profile([("A", 0, 20), ("B", 15, 40)]).soil
    assert (upper.lower_low, upper.lower_high) == (lower.upper_low, lower.upper_high) == (15, 20)
    whole, inside = profile([("E", 0, 40), ("Bt", 15, 20)]).soil
    assert (whole.lower_low, whole.lower_high, inside.upper_low, inside.upper_high) == (40, 40, 15, 15)
