"""Why a designation is or is not a Bt, and why pits are silent."""

from __future__ import annotations

import pytest

from geoprofile.attributes.explain import explain_bt, explain_designation, silence
from geoprofile.errors import SettingsError

# the question at the end of the demo scenario; Canadian System of Soil Classification 1998, ch. 2, for j
ANSWERS = {"Btnj": True, "Btjnj": False, "Bntj": False, "Btgj": True, "BCt": False, "IIBtg": True, "Btb": False}


@pytest.mark.parametrize(("designation", "is_bt"), ANSWERS.items())
def test_which_horizons_are_bt_and_why(designation, is_bt):
    answer = explain_bt(designation)
    assert answer.is_bt is is_bt
    assert len(answer.reason) > 10


def test_the_reasons_name_the_letter_that_decides():
    assert "only the n is weak" in explain_bt("Btnj").reason
    assert "the t is weak" in explain_bt("Bntj").reason
    assert "not a B of its own" in explain_bt("BCt").reason
    assert "buried" in explain_bt("Btb").reason
    assert "material 2" in explain_bt("IIBtg").reason


@pytest.mark.parametrize("designation", ["Btg", "Btk", "Bnt", "IIBt", "Bt1"])
def test_letters_beside_t_change_nothing(designation):
    assert explain_bt(designation).is_bt


@pytest.mark.parametrize("designation", ["2Bt", "Bt/E", "E and Bt", "B't"])
def test_usda_forms_that_count(designation):
    assert explain_bt(designation, "usda").is_bt


def test_a_bare_b_does_not_say():
    assert explain_bt("B").is_bt is None


def test_r_means_soft_rock_in_one_convention_and_reduction_in_another():
    # WRB 2022 Annex 3 against Keys to Soil Taxonomy 2014, ch. 18
    assert "soft rock" in explain_designation("Cr", "usda")
    assert "soft rock" not in explain_designation("Cr", "wrb")
    assert "gleyed" in explain_designation("Cr", "wrb")


def test_a_designation_is_told_in_one_line():
    said = explain_designation("Bntj")
    assert "solonetzic B" in said and "weak Bt" in said and "\n" not in said


def test_silent_pits_are_counted_by_cause(derive_all, pits_of):
    pits = pits_of(
        {
            "tested": [("Ah", 0, 15), ("Bm", 15, 60)],
            "said untested": [("Ah", 0, 15), ("Bm", 15, 60)],
            "nothing said": [("Ah", 0, 15), ("Bm", 15, 60)],
            "nothing said too": [("Ah", 0, 15), ("Bm", 15, 60)],
            "old yard": [("Bm", 0, 30), ("Ck", 30, 60)],
            "empty": [],
        },
        {"tested": {"acid_to_cm": 60}, "said untested": {"acid_to_cm": 0}, "old yard": {"datum": "stripped ground"}},
    )
    table = silence(derive_all(pits), "depth_to_carbonates")
    assert dict(zip(table["cause"], table["pits"])) == {
        "no acid test stated": 2,
        "stated: not tested with acid": 1,
        "stripped or filled ground: says nothing of the natural soil": 1,
        "no horizons described": 1,
    }
    assert table["pit_ids"][0] == "nothing said;nothing said too"


def test_a_pit_that_ended_above_the_layer_says_nothing_of_its_thickness(derive_all, pits_of):
    table = silence(derive_all(pits_of({"P1": [("Ah", 0, 20)]})), "bt_thickness")
    assert table["cause"].tolist() == ["the pit ended above it"]


def test_silence_of_an_attribute_that_was_not_derived_is_refused(derive_all, pits_of):
    attributes = derive_all(pits_of({"P1": [("Ah", 0, 20)]}), use=["depth_to_bt"])
    with pytest.raises(SettingsError, match="no such attribute"):
        silence(attributes, "depth_to_btt")
