"""Depths: wavy tops, buried soils, rock and refusals, discontinuities, colour."""

from __future__ import annotations

import pytest


def test_a_wavy_top_gives_a_depth_between(derive):
    wavy = {"upper_low_cm": 15, "upper_high_cm": 21}
    assert derive("depth_to_bt", [("Ah", 0, 18), ("Bt", 18, 45, wavy), ("Ck", 45, 80)]) == ("15-21", "present")


def test_a_range_written_with_the_horizon_above_belongs_to_both(derive):
    wavy = {"lower_low_cm": 15, "lower_high_cm": 21}
    assert derive("depth_to_bt", [("Ah", 0, 18, wavy), ("Bt", 18, 45), ("Ck", 45, 80)]) == ("15-21", "present")


@pytest.mark.parametrize(
    ("name", "text"),
    [("Btnj", "12"), ("Btjnj", "absent"), ("Bntj", "absent"), ("Btgj", "12"), ("IIBtg", "12"), ("BCt", "absent"), ("Btb", "absent")],
)
def test_depth_to_bt_follows_the_letters(derive, name, text):
    assert derive("depth_to_bt", [("Ah", 0, 12), (name, 12, 40), ("Ck", 40, 80)]).text == text


def test_a_bare_b_above_a_bt_leaves_its_top_between(derive):
    assert derive("depth_to_bt", [("Ah", 0, 12), ("B", 12, 25), ("Bt", 25, 40), ("Ck", 40, 80)]) == ("12-25", "present")


def test_nothing_at_or_below_the_first_buried_horizon_counts(derive):
    pit = [("Ah", 0, 12), ("C", 12, 40), ("Ahb", 40, 52), ("Btb", 52, 70), ("Ckgb", 70, 100)]
    assert derive("depth_to_bt", pit) == ("absent", "absent")
    assert derive("depth_to_buried_a", pit) == ("40", "present")
    lime = derive("depth_to_carbonates", pit, acid_to_cm=100)
    assert lime == (">40", "not_seen")
    assert "a buried horizon begins at 40 cm" in lime.flags
    assert derive("depth_to_gleying", pit) == (">40", "not_seen")
    assert derive("dark_a_thickness", pit) == ("12", "present")


def test_a_buried_a_under_the_surface_a_is_marked_and_joins_the_topsoil(derive):
    pit = [("Ah", 0, 20), ("Ahb", 20, 35), ("C", 35, 80)]
    assert "directly under the surface A" in derive("depth_to_buried_a", pit).flags
    assert derive("topsoil_thickness", pit) == ("35", "present")
    apart = [("Ah", 0, 20), ("C", 20, 35), ("Ahb", 35, 50), ("C", 50, 80)]
    assert derive("depth_to_buried_a", apart).flags == []
    assert derive("topsoil_thickness", apart) == ("20", "present")


def test_usda_asks_for_a_thick_mantle_before_a_soil_is_buried(derive):
    # Keys to Soil Taxonomy, 12th ed. 2014, ch. 1: 50 cm, or 30 cm and half of what is buried (from memory)
    thin = [("A", 0, 12), ("Ab", 12, 32), ("Bt", 32, 80), ("C", 80, 100)]
    assert derive("depth_to_bt", thin, convention="usda") == ("32", "present")
    thick = [("A", 0, 12), ("C", 12, 55), ("Ab", 55, 70), ("Btb", 70, 100), ("Cb", 100, 120)]
    assert derive("depth_to_bt", thick, convention="usda") == ("absent", "absent")


def test_rock_below_a_buried_soil_is_still_rock(derive):
    pit = [("Ah", 0, 12), ("C", 12, 40), ("Ahb", 40, 52), ("C", 52, 90), ("R", 90, None)]
    assert derive("depth_to_rock", pit) == ("90", "present")


def test_hard_and_soft_rock_are_told_apart(derive):
    pit = [("A", 0, 20), ("C", 20, 63), ("Cr", 63, 90), ("R", 90, None)]
    said = derive("depth_to_rock", pit, convention="usda")
    assert said == ("63", "present")
    assert said.flags == ["soft rock", "hard rock at 90 cm"]


def test_cr_is_not_rock_in_the_wrb_convention(derive):
    assert derive("depth_to_rock", [("Ah", 0, 20), ("Cr", 20, 90)], convention="wrb") == (">90", "not_seen")
    assert derive("depth_to_gleying", [("Ah", 0, 20), ("B", 20, 50), ("Cr", 50, 90)], convention="wrb") == ("50", "present")


@pytest.mark.parametrize(("kind", "text"), [("pit", "40"), ("exposure", "40"), ("auger", ">40"), ("probe", ">40"), ("unknown", ">40")])
def test_only_who_can_see_it_can_say_that_rock_stopped_them(derive, kind, text):
    said = derive("depth_to_rock", [("Ah", 0, 15), ("Bm", 15, 40)], kind=kind, stopped_by="rock")
    assert said.text == text


def test_stones_are_not_rock(derive):
    said = derive("depth_to_rock", [("Ah", 0, 15), ("Bm", 15, 40)], kind="pit", stopped_by="stones")
    assert said == (">40", "not_seen")
    assert "stopped by stones" in said.flags


def test_organic_over_mineral_is_not_a_discontinuity(derive):
    pit = [("Oe", 0, 60), ("2Cg", 60, 100)]
    said = derive("depth_to_discontinuity", pit, convention="usda", datum="organic surface")
    assert said == (">100", "not_seen")


def test_a_discontinuity_names_both_materials(derive):
    said = derive("depth_to_discontinuity", [("Ah", 0, 15), ("Bm", 15, 45), ("IICk", 45, 90)])
    assert said == ("45", "present")
    assert said.flags == ["material 2 under material 1"]


def test_a_pit_of_a_survey_that_marks_discontinuities_elsewhere_says_at_least(derive_all, pits_of):
    pits = pits_of({"P1": [("Ah", 0, 15), ("Bm", 15, 60)], "P2": [("Ah", 0, 15), ("IIC", 15, 60)]})
    values = derive_all(pits, use=["depth_to_discontinuity"]).values
    assert values["status"].tolist() == ["at_least", "measured"]


def test_g_counts_and_gj_does_not(derive):
    pit = [("Ah", 0, 15), ("Bmgj", 15, 40), ("Cg", 40, 80)]
    assert derive("depth_to_gleying", pit) == ("40", "present")


def test_colour_changes_where_value_differs_by_one_unit(derive):
    def seen(*colours):
        names = ("Ah", "Bm", "Ck")
        tops = (0, 15, 40, 80)
        return [(name, tops[n], tops[n + 1], {"colour_moist": colour}) for n, (name, colour) in enumerate(zip(names, colours))]

    assert derive("depth_to_colour_change", seen("10YR 2/1", "10YR 4/3", "2.5Y 6/3")) == ("15", "present")
    assert derive("depth_to_colour_change", seen("10YR 2/1", "10YR 2/2", "2.5Y 6/3")) == ("40", "present")
    assert derive("depth_to_colour_change", seen("10YR 2/1", None, "2.5Y 6/3")) == ("15-40", "present")
    assert derive("depth_to_colour_change", seen("10YR 2/1", "10YR 2/1", "10YR 2/1")) == (">80", "not_seen")
    assert derive("depth_to_colour_change", seen(None, None, None)).evidence == "colours not described"


def test_blank_mottles_within_the_depth_looked_at_are_none(derive):
    pit = [("Ah", 0, 15), ("Bm", 15, 40), ("Ck", 40, 90)]
    assert derive("depth_to_mottles", pit, mottles_to_cm=70) == (">70", "not_seen")


def test_none_and_blank_mottles_stay_different_R7(derive):
    none = [("Ah", 0, 20, {"mottles": "None"}), ("Bm", 20, 50, {"mottles": "none"})]
    assert derive("depth_to_mottles", none) == (">50", "not_seen")
    assert derive("depth_to_mottles", [("Ah", 0, 20), ("Bm", 20, 50)]) == ("unknown", "not_described")
    half = [("Ah", 0, 20, {"mottles": "None"}), ("Bm", 20, 50)]
    assert derive("depth_to_mottles", half) == (">20", "not_seen")
