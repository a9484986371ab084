"""Topsoil by a named rule set, and the rule sets themselves."""

from __future__ import annotations

import pytest

from geoprofile.attributes.topsoil_rules import find_topsoil_rule, parse_topsoil_rule, topsoil_rules
from geoprofile.described.meanings import meanings
from geoprofile.described.rule_sets import rule_set_title
from geoprofile.errors import SettingsError

LUVISOL = [("LFH", -6, 0), ("Ah", 0, 6), ("Ae", 6, 20), ("Bt", 20, 50), ("Ck", 50, 80)]


@pytest.mark.parametrize("rule", topsoil_rules().values(), ids=lambda rule: rule.name)
def test_every_rule_set_says_what_it_is_and_where_it_comes_from(rule):
    assert rule.title and rule.source and rule.help
    for layer in rule.take + rule.stop:
        assert layer.designation or layer.meaning in meanings("canadian")


@pytest.mark.parametrize(("rule", "text"), [("a_and_e", "20"), ("dark_a", "6"), ("a_and_dark_upper_b", "20")])
def test_whether_ae_is_topsoil_is_the_rule_sets_call_and_lfh_stays_apart(derive, rule, text):
    said = derive("topsoil_thickness", LUVISOL, settings={"topsoil_rule": rule})
    assert said.text == text
    title = find_topsoil_rule(rule).title
    assert said.evidence == f"rule set {title} ({rule})"
    assert rule_set_title(rule, [said.evidence]) == title, "what is written is what is read again"


def test_it_says_why_it_stopped(derive):
    assert derive("topsoil_thickness", LUVISOL).flags == ["stops at 20 cm: Bt"]


def test_an_upper_b_as_dark_as_an_a_joins_where_the_rule_lets_it(derive):
    dark, pale, none = {"colour_moist": "10YR 3/2"}, {"colour_moist": "10YR 4/4"}, {"effervescence": "none"}
    pit = [("Ah", 0, 12), ("Bm", 12, 20, {**dark, **none}), ("Bm2", 20, 40, {**pale, **none}), ("Ck", 40, 80)]
    said = derive("topsoil_thickness", pit, settings={"topsoil_rule": "a_and_dark_upper_b"})
    assert said == ("20", "present")
    assert said.flags == ["stops at 20 cm: Bm2, moist value 4"]


def test_a_salty_layer_ends_the_lift_with_its_reason(derive):
    good = {"ec_ds_m": 1, "ec_extract": "paste", "sar": 2, "caco3_percent": 0}
    pit = [("Ah", 0, 12, good), ("Ahe", 12, 20, {**good, "sar": 9}), ("Bnt", 20, 50)]
    said = derive("topsoil_thickness", pit, settings={"topsoil_rule": "a_and_e_within_limits"})
    assert said == ("12", "present") and said.flags == ["stops at 12 cm: Ahe, SAR 9"]


def test_no_least_lift_is_added(derive):
    assert derive("topsoil_thickness", [("Ah", 0, 8), ("Bnt", 8, 40), ("Csk", 40, 80)]) == ("8", "present")


def test_peat_is_taken_where_the_rule_says_so(derive):
    peat = [("Om", 0, 50), ("Ah", 50, 60), ("Cg", 60, 100)]
    said = derive("topsoil_thickness", peat, datum="organic surface", settings={"topsoil_rule": "peat_and_a"})
    assert said == ("60", "present")
    assert derive("topsoil_thickness", peat, datum="organic surface") == ("absent", "absent")


def test_a_rule_set_of_ones_own_has_the_form_of_ours(make_context, pits_of, tmp_path):
    from geoprofile.attributes.stage import derive_attributes
    from geoprofile.record import Record
    from geoprofile.settings.attributes import AttributesSettings

    (tmp_path / "ours.toml").write_text(
        'name = "ah_only"\ntitle = "Ah only"\nsource = "the permit"\n[[take]]\ndesignation = "Ah"\n', encoding="utf-8"
    )
    settings = AttributesSettings(use=("topsoil_thickness",), topsoil_rule_file="ours.toml")
    pits = pits_of({"P1": [("Ah", 0, 9), ("Ae", 9, 20), ("Bt", 20, 50)]})
    attributes = derive_attributes(pits, settings, make_context(), Record("attributes", {}))
    assert attributes.values["low"][0] == 9
    assert "rule set Ah only (ah_only); the permit" in " ".join(attributes.notes)


def test_mistakes_of_a_rule_set_are_reported_together():
    with pytest.raises(SettingsError) as wrong:
        parse_topsoil_rule('name = "x"\ntitle = "x"\n[[take]]\nmeanin = "dark_a"\n', "x.toml")
    assert "source" in str(wrong.value) and "meanin" in str(wrong.value)


def test_an_unknown_rule_set_names_the_nearest():
    with pytest.raises(SettingsError, match="no such topsoil rule set") as wrong:
        find_topsoil_rule("a_and_ee")
    assert "a_and_e" in wrong.value.remedy


@pytest.mark.parametrize("attribute", ["a_e_thickness", "topsoil_thickness", "depth_to_c"])
def test_what_two_horizons_both_claim_is_a_range_and_the_same_in_every_attribute(derive, attribute):
    """Ae 9-14 over Bm 9-31: the A ends somewhere from 9 to 14; C starts where nobody disputes it."""
    overlapping = [("Ap", 0, 9), ("Ae", 9, 14), ("Bm", 9, 31), ("C", 31, 60)]
    assert derive(attribute, overlapping).text == ("31" if attribute == "depth_to_c" else "9-14")


def test_a_buried_a_that_was_never_left_is_topsoil_of_at_least_what_was_seen(derive):
    said = derive("topsoil_thickness", [("Ahb", 0, None)], kind="auger", stopped_by="rock", settings={"topsoil_rule": "a_and_e"})
    assert said.status in ("at_least", "unknown")
