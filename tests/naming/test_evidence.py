"""Single rules: what is measured, what is as designated, what contradicts, what is missing."""

from __future__ import annotations

import pytest

from geoprofile.naming.criteria.clay import clay_needed
from geoprofile.naming.key import key_of
from geoprofile.naming.recorded import read_recorded

LUVISOL = (("LFH", -4, 0), ("Ae", 0, 16), ("Bt", 16, 45), ("Ck", 45, 120))


def with_clay(ae, bt):
    return [LUVISOL[0], (*LUVISOL[1], {"clay_percent": ae}), (*LUVISOL[2], {"clay_percent": bt}), LUVISOL[3]]


@pytest.mark.parametrize(("eluvial", "needed"), [(10, 13), (15, 18), (20, 24), (40, 48), (50, 58)])
def test_the_three_part_rule_of_the_clay_increase(eluvial, needed):
    """CSSC 1998, ch. 2 (from memory; canada.md 1.3 works the same edges)."""
    assert clay_needed(eluvial) == needed


def test_a_measured_increase_bears_the_bt_out_and_is_no_longer_as_designated(name):
    assert "Bt" not in name(with_clay(10.0, 13.0)).as_designated
    assert name(with_clay(10.0, 13.0)).sure == "decided"


def test_a_measured_clay_that_is_too_low_makes_the_bt_open_and_never_takes_it_away_in_silence(name):
    row = name(with_clay(10.0, 12.0))
    assert row.sure.startswith("open between Orthic Gray Luvisol") and "clay measured again" in row.missing


def test_no_clay_test_across_a_change_of_material(name):
    row = name([LUVISOL[0], (*LUVISOL[1], {"clay_percent": 20.0}), ("IIBt", 16, 45, {"clay_percent": 21.0}), ("IICk", 45, 120)])
    assert row.sure == "decided" and "another material" in row.as_designated


def test_an_a_whose_dry_colour_is_known_decides_the_great_group(name):
    """CSSC 1998, ch. 5: dry value 4.5 to 5.5 Brown, 3.5 to 4.5 Dark Brown, below 3.5 Black."""
    for value, group in ((5, "Brown"), (4, "Dark Brown"), (3, "Black")):
        row = name([("Ah", 0, 15, {"colour_dry": f"10YR {value}/2", "colour_moist": "10YR 2/2"}), ("Bm", 15, 40), ("Ck", 40, 120)])
        assert row.great_group == f"{group} Chernozem"


def test_an_ah_just_under_ten_centimetres_with_a_bound_stays_open(name):
    row = name([("LFH", -3, 0), ("Ah", 0, 10, {"lower_low_cm": 8, "lower_high_cm": 12}), ("Bm", 10, 40, {"ph": 6.5}), ("Ck", 40, 120)])
    assert row.sure.startswith("open between") and "dark A" in row.missing


def test_a_pit_that_ended_in_its_a_names_no_subsoil(name):
    row = name([("Ah", 0, 20, {"colour_moist": "10YR 2/1"})], observed_to_cm=20)
    assert row.sure.startswith("open between") and "below 20 cm" in row.missing


def test_the_temperature_of_the_area_parts_gray_brown_from_gray_luvisols(name):
    soil = [("Ah", 0, 8), ("Ae", 8, 20), ("Bt", 20, 50), ("Ck", 50, 120)]
    assert name(soil, settings={"mean_annual_soil_temperature_c": 10.0}).great_group == "Gray Brown Luvisol"
    assert name(soil, settings={"mean_annual_soil_temperature_c": 4.0}).great_group == "Gray Luvisol"
    assert "temperature" in name(soil).missing


def test_faint_mottles_do_not_make_a_luvisol_gleyed_and_the_symbol_keeps_it_open(name):
    """CSSC 1998, ch. 8: distinct mottles within 50 cm."""
    soil = [("LFH", -5, 0), ("Aegj", 0, 18, {"mottles": "common", "mottle_contrast": "faint"}), ("Btgj", 18, 60, {"mottles": "common", "mottle_contrast": "faint"}), ("Ckgj", 60, 120)]
    row = name(soil)
    assert row.subgroup == "Gleyed Gray Luvisol" and row.alternatives == "Orthic Gray Luvisol"


def test_grey_below_a_brown_b_is_not_taken_for_gleysolic_without_its_colours(name):
    row = name([("Ah", 0, 8), ("Bm", 8, 30), ("Cg", 30, 120)])
    assert row.soil_order != "Gleysolic"
    grey = name([("Ah", 0, 8), ("Bm", 8, 30), ("Cg", 30, 120, {"colour_moist": "5Y 5/1", "mottles": "many", "mottle_contrast": "prominent"})])
    assert grey.soil_order == "Gleysolic"


def test_stripped_ground_and_pits_without_horizons_are_not_named_and_say_why(name, name_all):
    assert name(LUVISOL, datum="stripped ground").sure == "not named: stripped or filled ground"
    assert name_all({"P1": [], "P2": list(LUVISOL)}).names.iloc[0]["sure"] == "not named: no horizons are described"


def test_a_forest_litter_or_peat_deep_enough_is_organic(name):
    row = name([("Of", 0, 50), ("Om", 50, 160)], datum="organic surface", observed_to_cm=170)
    assert row.great_group == "Mesisol"
    assert name([("Om", 0, 30)], datum="organic surface", observed_to_cm=30).sure.startswith("open between")


@pytest.mark.parametrize(
    ("text", "means"),
    [
        ("Orthic Black Chernozemic", "Orthic Black Chernozem"), ("O.BLC", "Orthic Black Chernozem"), ("Rego Humic Gleysol, saline", "Rego Humic Gleysol"),
        ("GREY LUVISOL", "Gray Luvisol"), ("Gleyed Ortstein Humo-Ferric Podzol", "Gleyed Ortstein Humo-Ferric Podzol"), ("Luvisolic", "Luvisolic"),
    ],
)  # fmt: skip
def test_a_surveyors_name_is_read_in_its_usual_forms(text, means):
    assert read_recorded(text, "canadian").classes[-1].name == means


def test_a_name_that_the_key_does_not_know_is_not_compared(name):
    row = name(LUVISOL, recorded_soil="Breton loam")
    assert (row.agreement, row.agreement_why) == ("not compared", "the key has no such name")


@pytest.mark.parametrize(
    ("recorded", "agreement"),
    [("Orthic Gray Luvisol", "agrees"), ("Dark Gray Luvisol", "agrees at great group"), ("Gray Luvisol", "agrees at great group"),
     ("Orthic Gray Brown Luvisol", "agrees at order"), ("Orthic Black Chernozem", "differs")],
)  # fmt: skip
def test_the_surveyors_name_is_compared_level_by_level_with_the_step_where_they_part(name, recorded, agreement):
    row = name(LUVISOL, recorded_soil=recorded)
    assert row.agreement == agreement
    assert bool(row.agreement_why) == (agreement != "agrees")


def test_every_class_of_the_key_has_a_name_of_its_own_and_says_what_it_asks():
    key = key_of("canadian")
    names = [one.name for one in key.subgroups]
    assert len(names) == len(set(names)) and len(key.orders) == 10
    assert all(one.asks and one.source for one in key.subgroups)


def test_usda_and_wrb_records_get_features_and_no_name(name):
    soil = [("A", 0, 20, {"colour_moist": "10YR 2/2", "colour_dry": "10YR 4/2", "clay_percent": 20.0}), ("E", 20, 30, {"clay_percent": 20.0}),
            ("Bt", 30, 60, {"clay_percent": 25.0}), ("Bkm", 60, 80), ("Cr", 80, 120)]  # fmt: skip
    row = name(soil, "usda")
    assert (row.subgroup, row.great_group, row.soil_order) == ("", "", "") and row.sure.startswith("no name is claimed")
    assert "argillic-like (supported by what was measured)" in row.sure and "mollic-like colours" in row.sure
    assert "paralithic contact possible" in row.sure and "a cemented pan" in row.sure
    # WRB asks 1.4 times the clay of the eluvial horizon from 10 to 50 % (from memory): 28, and 25 was measured
    wrb = name([("Ah", 0, 20), ("E", 20, 30, {"clay_percent": 20.0}), ("Bt", 30, 60, {"clay_percent": 25.0})], "wrb")
    assert "argic-like (not borne out by what was measured)" in wrb.sure


def test_features_alone_can_be_asked_for(name):
    assert name(LUVISOL, settings={"system": "features"}).subgroup == ""


def test_an_unreadable_designation_answers_no_letter_and_stops_nothing(name):
    row = name([("Ah", 0, 12), ("???", 12, 30), ("Ck", 30, 100)])
    assert row.sure
