"""Thicknesses: what counts as A, what a plough hides, sums of parts, ranges, where the hole ended."""

from __future__ import annotations

import pytest

PLOUGHED_UP = "Ap is ploughed-up B or C"
BELOW = [("Bm", 15, 40), ("Ck", 40, 80)]


@pytest.mark.parametrize("name", ["Ah", "Ahe", "Ap", "Ahk", "Apk", "Ahg"])
def test_dark_a_of_the_canadian_convention(derive, name):
    assert derive("dark_a_thickness", [(name, 0, 15), *BELOW]) == ("15", "present")


@pytest.mark.parametrize(("convention", "name"), [("usda", "A"), ("usda", "Ap"), ("wrb", "Ah"), ("wrb", "Ap"), ("wrb", "A")])
def test_dark_a_of_the_other_conventions(derive, convention, name):
    assert derive("dark_a_thickness", [(name, 0, 15), ("C", 15, 80)], convention=convention) == ("15", "present")


def test_ae_is_an_a_in_canada_and_e_is_not_a_dark_a_anywhere(derive):
    luvisol = [("Ah", 0, 6), ("Ae", 6, 20), ("Bt", 20, 50), ("Ck", 50, 80)]
    assert derive("dark_a_thickness", luvisol) == ("6", "present")
    assert derive("a_e_thickness", luvisol) == ("20", "present")
    usda = [("A", 0, 6), ("E", 6, 20), ("Bt", 20, 50), ("C", 50, 80)]
    assert derive("dark_a_thickness", usda, convention="usda") == ("6", "present")
    assert derive("a_e_thickness", usda, convention="usda") == ("20", "present")


def test_ab_counts_as_a_only_where_the_survey_says_so(derive):
    pit = [("Ah", 0, 12), ("AB", 12, 20), ("Bm", 20, 40), ("Ck", 40, 80)]
    assert derive("dark_a_thickness", pit) == ("12", "present")
    assert derive("dark_a_thickness", pit, settings={"transitional_a": True}) == ("20", "present")


def test_a_weak_ae_is_counted_and_shown_apart(derive):
    said = derive("eluvial_thickness", [("Ah", 0, 10), ("Ae", 10, 13), ("Aej", 13, 17), ("Bt", 17, 40), ("Ck", 40, 60)])
    assert said == ("7", "present")
    assert "of it Aej 4 cm" in said.flags


def test_an_ap_on_bt_hides_what_it_mixed(derive):
    said = derive("eluvial_thickness", [("Ap", 0, 15), ("Bt", 15, 40), ("Ck", 40, 60)])
    assert said == ("absent", "absent")
    assert said.flags == ["mixed into Ap", "original eluvial 0 to 15 cm"]


def test_an_ap_on_what_is_left_of_ae_hides_the_rest(derive):
    said = derive("eluvial_thickness", [("Ap", 0, 15), ("Ae", 15, 20), ("Bt", 20, 40), ("Ck", 40, 60)])
    assert said == ("5", "present")
    assert said.flags == ["mixed into Ap", "original eluvial 5 to 20 cm"]


def test_an_ap_on_bm_is_not_said_to_hide_an_ae(derive):
    assert derive("eluvial_thickness", [("Ap", 0, 15), *BELOW]).flags == []


@pytest.mark.parametrize(
    "seen", [{"colour_moist": "10YR 4/2"}, {"colour_moist": "10YR 3/3"}, {"effervescence": "weak"}],
    ids=["value 4", "chroma 3", "effervesces"],
)  # fmt: skip
def test_an_ap_that_shows_subsoil_is_flagged(derive, seen):
    for attribute in ("dark_a_thickness", "a_e_thickness", "topsoil_thickness"):
        assert PLOUGHED_UP in derive(attribute, [("Ap", 0, 15, seen), *BELOW]).flags


def test_a_dark_ap_is_not_flagged(derive):
    seen = {"colour_moist": "10YR 3/2", "effervescence": "none"}
    assert derive("dark_a_thickness", [("Ap", 0, 15, seen), *BELOW]).flags == []


def test_an_apk_is_flagged_because_k_is_visible_effervescence(derive):
    assert PLOUGHED_UP in derive("dark_a_thickness", [("Apk", 0, 15), *BELOW]).flags


def test_bt_thickness_is_the_sum_of_its_parts_and_not_base_minus_top(derive):
    pit = [("Ah", 0, 10), ("Bt", 10, 20), ("Bm", 20, 30), ("Bt2", 30, 45), ("C", 45, 80)]
    assert derive("bt_thickness", pit) == ("25", "present")


def test_a_last_row_bt_17_45_is_at_least_28_thick(derive):
    pit = [("Ah", 0, 5), ("Ae", 5, 17), ("Bt", 17, 45, {"lower_is_end": True})]
    assert derive("bt_thickness", pit) == (">28", "present")
    assert derive("depth_to_bt", pit) == ("17", "present")


def test_a_pit_known_to_go_deeper_has_seen_the_base_of_its_last_horizon(derive):
    assert derive("bt_thickness", [("Ah", 0, 17), ("Bt", 17, 45)], observed_to_cm=60) == ("28", "present")


def test_lamellae_add_to_the_high_limit_only(derive):
    said = derive("bt_thickness", [("A", 0, 20), ("E and Bt", 20, 60), ("C", 60, 90)], convention="usda")
    assert said == ("0-40", "present")
    assert "Bt is only part of a horizon" in said.flags


def test_a_weak_bt_has_a_presence_of_its_own(derive):
    said = derive("bt_thickness", [("Ah", 0, 10), ("Btj", 10, 30), ("Ck", 30, 60)])
    assert said == ("absent", "absent")
    assert "Btj present" in said.flags


def test_a_wavy_base_gives_a_thickness_between(derive):
    wavy = {"lower_low_cm": 15, "lower_high_cm": 21}
    assert derive("dark_a_thickness", [("Ah", 0, 18, wavy), ("Bm", 18, 40), ("Ck", 40, 80)]) == ("15-21", "present")


def test_boundaries_inside_do_not_add_to_the_spread(derive):
    wavy = {"lower_low_cm": 8, "lower_high_cm": 12}
    assert derive("a_e_thickness", [("Ah", 0, 10, wavy), ("Ae", 10, 20), ("Bt", 20, 40), ("Ck", 40, 80)]) == ("20", "present")


def test_a_broken_horizon_is_missing_in_places(derive):
    pit = [("Ah", 0, 10), ("Ae", 10, 18, {"boundary_form": "broken"}), ("Bt", 18, 40), ("Ck", 40, 60)]
    assert derive("eluvial_thickness", pit) == ("0-8", "present")


def test_bc_counts_as_solum_unless_the_survey_says_otherwise(derive):
    pit = [("Ah", 0, 15), ("Bm", 15, 40), ("BC", 40, 55), ("Ck", 55, 80)]
    assert derive("solum_thickness", pit) == ("55", "present")
    assert derive("solum_thickness", pit, settings={"bc_in_solum": False}) == ("40", "present")


def test_solum_ends_at_a_buried_horizon_and_leaves_the_forest_floor_out(derive):
    pit = [("LFH", -5, 0), ("Ah", 0, 10), ("Bm", 10, 30), ("Ahb", 30, 45), ("Ck", 45, 80)]
    assert derive("solum_thickness", pit) == ("30", "present")


def test_an_organic_soil_has_peat_and_no_solum(derive):
    pit = [("Om", 0, 60), ("Oh", 60, 90), ("Cg", 90, 120)]
    assert derive("peat_thickness", pit, datum="organic surface") == ("90", "present")
    assert derive("solum_thickness", pit, datum="organic surface").evidence == "organic soil: it has no solum"
    assert derive("depth_to_c", pit, datum="organic surface") == ("90", "present")


def test_usda_o_is_litter_on_dry_soils_and_peat_in_organic_ones(derive):
    dry = [("Oi", -5, 0), ("A", 0, 10), ("Bw", 10, 40), ("C", 40, 80)]
    assert derive("forest_floor_thickness", dry, convention="usda") == ("5", "present")
    assert derive("peat_thickness", dry, convention="usda") == ("absent", "absent")
    wet = derive("peat_thickness", dry, convention="usda", drainage="poorly drained")
    assert wet == ("0-5", "not_described")
    peat = [("Oe", 0, 80), ("Cg", 80, 100)]
    assert derive("peat_thickness", peat, convention="usda", datum="organic surface") == ("80", "present")
    assert derive("forest_floor_thickness", peat, convention="usda", datum="organic surface") == ("absent", "absent")


@pytest.mark.parametrize(("land_use", "status"), [("annual crop, tilled", "absent"), ("rock outcrop", "unknown"), ("bush", "unknown"), (None, "unknown")])
def test_land_use_says_whether_a_forest_floor_was_removed_or_only_not_described(derive, land_use, status):
    assert derive("forest_floor_thickness", [("Bm", 0, 40), ("Ck", 40, 80)], land_use=land_use).status == status


def test_a_canadian_bare_a_may_be_dark_or_eluvial(derive):
    pit = [("A", 0, 10), ("Bm", 10, 30), ("Ck", 30, 60)]
    assert derive("a_e_thickness", pit) == ("10", "present")
    assert derive("dark_a_thickness", pit).status == "unknown"


def test_a_gap_in_the_description_widens_the_interval_and_is_not_filled(derive):
    pit = [("Ah", 0, 15), ("Bt", 17, 45), ("Ck", 45, 80)]
    assert derive("depth_to_bt", pit) == ("15-17", "present")
    assert derive("eluvial_thickness", pit) == ("0-2", "not_described")


@pytest.mark.parametrize("datum", ["stripped ground", "filled ground"])
def test_stripped_and_filled_ground_say_nothing_of_the_natural_soil(derive, datum):
    for attribute in ("dark_a_thickness", "depth_to_bt", "depth_to_rock", "depth_to_carbonates"):
        said = derive(attribute, [("Ah", 0, 10), ("Bt", 10, 40), ("Ck", 40, 60), ("R", 60, None)], datum=datum, acid_to_cm=60)
        assert said == ("unknown", "not_described")
        assert "stripped or filled ground" in said.evidence and datum in said.flags


def test_undescribed_ground_between_two_bt_may_be_bt_or_not(derive):
    """20-40 and 60-80 are 40 cm of Bt for sure; the 20 cm between them are not described, so at most 60."""
    said = derive("bt_thickness", [("Ap", 0, 20), ("Bt1", 20, 40), ("Bt2", 60, 80), ("Ck", 80, 100)])
    assert (said.low, said.high, said.status) == (40, 60, "between")


def test_wavy_tops_and_bases_widen_a_thickness_on_both_sides(derive):
    """Top 15 to 21, base 45 to 55: at least 45 - 21, at most 55 - 15; the boundary inside does not add."""
    wavy = {"upper_low_cm": 15, "upper_high_cm": 21, "lower_low_cm": 28, "lower_high_cm": 32}
    base = {"upper_low_cm": 28, "upper_high_cm": 32, "lower_low_cm": 45, "lower_high_cm": 55}
    said = derive("bt_thickness", [("Ap", 0, 18), ("Bt1", 18, 30, wavy), ("Bt2", 30, 50, base), ("Ck", 50, 90)])
    assert (said.low, said.high, said.status) == (24, 40, "between")
