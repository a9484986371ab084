"""Carbonates: acid and letters, evidence named, two depths, conventions never pooled by letters."""

from __future__ import annotations

import pytest

from geoprofile.attributes.carbonates import refuse_pooling
from geoprofile.errors import SettingsError

STRONG, NONE = {"effervescence": "strong"}, {"effervescence": "none"}


def choose(evidence: str) -> dict:
    return {"for": {"depth_to_carbonates": {"evidence": evidence}}}


def test_a_pit_augered_to_60_with_acid_to_60_says_at_least_60(derive):
    said = derive("depth_to_carbonates", [("Ah", 0, 15), ("Bm", 15, 60)], kind="auger", observed_to_cm=60, acid_to_cm=60)
    assert said == (">60", "not_seen")
    assert said.evidence == "acid to 60 cm, no effervescence"


def test_at_least_uses_the_depth_tested_and_never_the_depth_dug(derive):
    assert derive("depth_to_carbonates", [("Ah", 0, 15), ("Bm", 15, 100)], acid_to_cm=60) == (">60", "not_seen")


def test_c_without_k_is_lime_free_only_where_acid_was_used(derive):
    pit = [("Ah", 0, 15), ("Bm", 15, 40), ("C", 40, 100)]
    assert derive("depth_to_carbonates", pit).status == "unknown"
    assert derive("depth_to_carbonates", pit, acid_to_cm=100) == (">100", "not_seen")


def test_k_says_where_carbonates_begin_even_without_an_acid_depth(derive):
    said = derive("depth_to_carbonates", [("Ah", 0, 15), ("Bm", 15, 40), ("Ck", 40, 100)])
    assert said == ("40", "present")
    assert said.evidence == "designation k"


def test_the_shallower_is_taken_and_named(derive):
    pit = [("Ah", 0, 15, NONE), ("Bm", 15, 30, NONE), ("BC", 30, 45, STRONG), ("Cca", 45, 80, STRONG)]
    said = derive("depth_to_carbonates", pit)
    assert said == ("30", "present") and said.evidence == "effervescence"
    assert derive("depth_to_carbonates", pit, settings=choose("designation")) == ("45", "present")
    assert derive("depth_to_secondary_carbonates", pit) == ("45", "present")


def test_the_same_pit_is_two_maps_by_designation_in_two_conventions(derive):
    # calcareous till: Ck in Canada, plain C in USDA terms
    canadian = derive("depth_to_carbonates", [("Ah", 0, 15), ("Bm", 15, 40), ("Ck", 40, 100)], settings=choose("designation"))
    usda = derive("depth_to_carbonates", [("A", 0, 15), ("Bw", 15, 40), ("C", 40, 100)], convention="usda", settings=choose("designation"))
    assert canadian == ("40", "present")
    assert usda == (">100", "not_seen")


def test_usda_and_wrb_rest_on_effervescence_unless_told_otherwise(derive):
    pit = [("A", 0, 15, NONE), ("Bw", 15, 40, NONE), ("Bk", 40, 60), ("C", 60, 100)]
    said = derive("depth_to_carbonates", pit, convention="usda")
    assert said == (">40", "not_seen")
    assert derive("depth_to_carbonates", pit, convention="usda", settings=choose("designation")) == ("40", "present")
    fizzing = [("A", 0, 15, NONE), ("C", 15, 100, STRONG)]
    for convention in ("usda", "wrb"):
        assert derive("depth_to_carbonates", fizzing, convention=convention) == ("15", "present")


def test_primary_carbonates_of_wrb_count(derive):
    pit = [("Ah", 0, 15), ("Bw", 15, 40), ("Cα", 40, 100)]
    assert derive("depth_to_carbonates", pit, convention="wrb", settings=choose("designation")) == ("40", "present")
    assert derive("depth_to_secondary_carbonates", pit, convention="wrb") == (">100", "not_seen")


def test_pooling_canadian_and_usda_k_is_refused_and_effervescence_offered():
    with pytest.raises(SettingsError) as refused:
        refuse_pooling(("canadian", "usda"), "depth_to_carbonates", "shallower")
    assert "effervescence" in refused.value.remedy
    refuse_pooling(("canadian", "usda"), "depth_to_carbonates", "effervescence")
    refuse_pooling(("canadian", "canadian"), "depth_to_carbonates")
    refuse_pooling(("canadian", "usda"), "depth_to_bt")


def test_a_survey_of_two_conventions_gets_no_carbonates_by_designation(derive_all, pits_of):
    pits = pits_of({"P1": [("Ah", 0, 15, NONE), ("Ck", 15, 60, STRONG)], "P2": [("A", 0, 20, NONE), ("C", 20, 60, STRONG)]})
    pits.pits["convention"] = ["canadian", "usda"]
    both = derive_all(pits, use=["depth_to_carbonates", "depth_to_effervescence"])
    by_name = {name: part for name, part in both.values.groupby("attribute")}
    assert by_name["depth_to_carbonates"]["status"].tolist() == ["unknown", "unknown"]
    assert by_name["depth_to_effervescence"]["low"].tolist() == [15, 20]
    assert both.problems["check"].tolist() == ["conventions"]
    fizz = derive_all(pits, use=["depth_to_carbonates"], **choose("effervescence"))
    assert fizz.values["low"].tolist() == [15, 20] and fizz.problems.empty


def test_lime_over_a_lime_free_layer_gives_two_depths(derive):
    knoll = [("Apk", 0, 12, STRONG), ("Bm", 12, 30, NONE), ("Ck", 30, 80, STRONG)]
    said = derive("depth_to_carbonates", knoll)
    assert said == ("0", "present")
    assert said.flags == ["lime over a lime-free layer", "first calcareous 0 cm", "continuously calcareous 30 cm"]


def test_lime_on_top_of_a_soil_that_is_lime_free_to_the_end(derive):
    dust = [("Ap", 0, 12, STRONG), ("Bm", 12, 60, NONE)]
    assert "continuously calcareous at least 60 cm" in derive("depth_to_carbonates", dust).flags


def test_letters_by_designation_show_knoll_wash_too(derive):
    flags = derive("depth_to_carbonates", [("Apk", 0, 12), ("Bm", 12, 30), ("Ck", 30, 80)]).flags
    assert "continuously calcareous 30 cm" in flags


def test_a_blank_between_tested_horizons_is_not_a_no(derive):
    pit = [("A", 0, 15, NONE), ("Bw", 15, 40), ("C", 40, 100, STRONG)]
    assert derive("depth_to_effervescence", pit, convention="usda") == ("15-40", "present")


def test_k_written_where_acid_showed_nothing_is_flagged(derive):
    pit = [("Ah", 0, 15, NONE), ("Bmk", 15, 40, NONE), ("Ck", 40, 80, STRONG)]
    assert "k written, but no effervescence" in derive("depth_to_carbonates", pit).flags


def test_a_listed_parent_material_is_lime_free(derive):
    pit = [("Ah", 0, 15), ("Bm", 15, 60)]
    settings = {"lime_free_parent_materials": ["Granite till"]}
    assert derive("depth_to_carbonates", pit, parent_material="granite till", settings=settings) == ("absent", "absent")
    shows = [("Ah", 0, 15), ("Ck", 15, 60)]
    assert derive("depth_to_carbonates", shows, parent_material="granite till", settings=settings) == ("15", "present")


def test_a_canadian_k_where_acid_was_used_is_effervescence_written_down(derive):
    """k is visible effervescence (CSSC 1998, ch. 2); below the depth of the acid, or without any, it is only a letter."""
    pit = [("Ah", 0, 12), ("Bm", 12, 40), ("Ck", 40, 90)]
    assert derive("depth_to_effervescence", pit, acid_to_cm=60) == ("40", "present")
    assert derive("depth_to_effervescence", pit, acid_to_cm=30) == (">30", "not_seen")
    assert derive("depth_to_effervescence", pit).status == "unknown"


# a part of a horizon


@pytest.mark.parametrize(
    ("part", "text"),
    [("lower part", "15-40"), ("upper part", "15"), ("", "15"), ("lower 5 cm", "35"), ("lower 2 inches", "34.9"), ("lower half", "27.5"), ("in the lower third", "31.7"),
     ("middle part", "15-40"), ("in cracks", "15-40"), ("throughout", "15")],
)  # fmt: skip
def test_effervescence_of_a_part_begins_somewhere_in_the_horizon_and_a_length_from_its_base_says_where(derive, part, text):
    pit = [("A", 0, 15, NONE), ("Bw", 15, 40, {**STRONG, "effervescence_part": part}), ("C", 40, 100, STRONG)]
    said = derive("depth_to_effervescence", pit, convention="usda")
    assert said == (text, "present")
    assert bool(part) == (f"Bw: {part}" in said.flags)


def test_a_wavy_base_widens_what_begins_a_length_above_it(derive):
    pit = [("A", 0, 15, NONE), ("Bw", 15, 40, {**STRONG, "effervescence_part": "lower 5 cm", "lower_low_cm": 35.0, "lower_high_cm": 45.0}), ("C", 40, 100, STRONG)]
    assert derive("depth_to_effervescence", pit, convention="usda") == ("30-40", "present")


def test_the_lower_part_of_a_horizon_whose_base_nobody_saw_is_at_least_its_top(derive):
    pit = [("A", 0, 15, NONE), ("C", 15, None, {**STRONG, "effervescence_part": "lower part"})]
    assert derive("depth_to_effervescence", pit, convention="usda", observed_to_cm=15) == (">15", "present")


def test_no_effervescence_in_the_upper_part_says_nothing_of_the_lower(derive):
    pit = [("A", 0, 15, NONE), ("Bw", 15, 40, {**NONE, "effervescence_part": "upper part"}), ("C", 40, 100, STRONG)]
    assert derive("depth_to_effervescence", pit, convention="usda") == ("15-40", "present")


def test_k_holds_for_the_whole_horizon_where_acid_is_said_of_a_part(derive):
    part = {**STRONG, "effervescence_part": "lower part"}
    assert derive("depth_to_carbonates", [("Ah", 0, 15, NONE), ("Bmk", 15, 40, part)]) == ("15", "present")
    assert derive("depth_to_carbonates", [("Ah", 0, 15, NONE), ("Bm", 15, 40, part), ("Ck", 40, 80, STRONG)]) == ("15-40", "present")


def test_mottles_of_the_lower_part_begin_somewhere_in_the_horizon(derive):
    pit = [("A", 0, 15, {"mottles": "none"}), ("Bw", 15, 40, {"mottles": "few", "mottles_part": "lower part"})]
    assert derive("depth_to_mottles", pit, convention="usda") == ("15-40", "present")
