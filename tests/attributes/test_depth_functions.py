"""[attributes.new.NAME] kind = "depth_function": the equal-area spline of a pit over the intervals asked for."""

from __future__ import annotations

import pytest

from geoprofile.errors import SettingsError
from geoprofile.settings.attributes import NewAttribute


def carbon(*layers):
    return [("Bm", upper, lower, {"organic_carbon_percent": value}) for upper, lower, value in layers]


def new(**more) -> dict:
    return {"new": {"it": {"kind": "depth_function", "of": "organic_carbon_percent", "upper_cm": 0, "lower_cm": 5, **more}}}


PIT = carbon((0, 15, 3.2), (15, 40, 1.8), (40, 70, 0.9), (70, 110, 0.4))
# means of this pit with lambda 0.1 by exact algebra from the published matrix form; see tests/kernels/test_depth_spline.py
MEANS = {"it_0_to_5_cm": 3.3684, "it_5_to_15_cm": 3.0604, "it_15_to_30_cm": 2.1092, "it_30_to_60_cm": 1.1369, "it_60_to_100_cm": 0.5057}


@pytest.mark.parametrize("name", MEANS)
def test_each_interval_of_a_depth_function_is_an_attribute_of_its_own(derive, name):
    said = derive(name, PIT, settings=new(upper_cm=None, lower_cm=None, depths_cm=[0, 5, 15, 30, 60, 100]))
    assert said.low == said.high == pytest.approx(MEANS[name], abs=1e-4)
    assert "lambda 0.1, 4 layers" in said.evidence


def test_several_intervals_may_be_used_by_their_one_name(derive_all, pits_of):
    used = derive_all(pits_of({"P1": PIT}), use=["it"], **new(upper_cm=None, lower_cm=None, depths_cm=[0, 5, 15, 30, 60, 100]))
    assert [definition.name for definition in used.definitions] == list(MEANS)
    assert list(used.values["low"]) == pytest.approx(list(MEANS.values()), abs=1e-4)
    assert any("0 means where the curve passes what is possible and was clipped, 1 beyond" in note for note in used.notes)


def test_lambda_is_stated_in_the_survey_file_and_in_the_evidence(derive):
    said = derive("it", PIT, settings=new(**{"lambda": 1e-6}))
    assert said.low == pytest.approx(3.4179, abs=1e-4) and "lambda 1e-06" in said.evidence


def test_a_value_beyond_those_of_the_layers_is_said(derive):
    assert "beyond the values of the pit's layers, 0.4 to 3.2" in derive("it", PIT, settings=new()).flags
    assert not any("beyond" in flag for flag in derive("it", PIT, settings=new(upper_cm=15, lower_cm=30)).flags)


def test_where_the_curve_overshoots_it_is_clipped_and_says_so(derive):
    """A peat cap over sand: the curve dives below nothing just under it."""
    steep = carbon((0, 20, 30.0), (20, 30, 0.2), (30, 90, 0.1))
    said = derive("it", steep, settings=new(upper_cm=25, lower_cm=80, **{"lambda": 0.001}))
    assert said.low > 0 and "the curve passes 0 and was clipped there" in said.flags
    unclipped = derive("it", steep, settings=new(upper_cm=25, lower_cm=80, lowest=-100, **{"lambda": 0.001}))
    assert unclipped.low < said.low and not any("clipped" in flag for flag in unclipped.flags)


def test_nothing_is_said_of_depths_below_the_pit(derive):
    shallow = PIT[:2]
    assert derive("it", shallow, settings=new(upper_cm=40, lower_cm=60)).evidence == "too little of the interval has data"
    part = derive("it", shallow, settings=new(upper_cm=10, lower_cm=45))
    assert "data end at 40 cm" in part.flags and "86% of 10 to 45 cm" in part.evidence
    assert part.low == pytest.approx(derive("it", shallow, settings=new(upper_cm=10, lower_cm=40)).low)
    none = derive("it", shallow, settings=new(upper_cm=100, lower_cm=200))
    assert none.status == "unknown" and none.presence == "not_described"


def test_a_gap_is_bridged_but_does_not_count_as_covered(derive):
    gap = carbon((0, 20, 3.0), (50, 80, 1.0))
    said = derive("it", gap, settings=new(lower_cm=60))
    assert said.status == "unknown" and "50% covered, 80% asked for" in said.flags
    bridged = derive("it", gap, settings=new(lower_cm=60, least_share=0.4))
    assert "30 cm without data bridged in a straight line" in bridged.flags and 1.0 < bridged.low < 3.0


def test_a_horizon_without_a_value_is_a_gap(derive):
    pit = [*carbon((0, 20, 3.0)), ("Bm", 20, 50), *carbon((50, 80, 1.0))]
    assert "50% covered, 80% asked for" in derive("it", pit, settings=new(lower_cm=60)).flags


def test_one_layer_is_its_own_value_and_no_layer_says_nothing(derive):
    said = derive("it", carbon((0, 20, 3.0)), settings=new(lower_cm=20))
    assert said.low == 3.0 and "one layer only: its own value" in said.flags
    assert derive("it", [("Bm", 0, 60)], settings=new()).evidence == "property not measured"


def test_it_is_cut_at_rock_and_warns_of_a_discontinuity(derive):
    soil = [*carbon((0, 20, 3.0)), ("IIC", 20, 40, {"organic_carbon_percent": 1.0}), ("R", 40, None)]
    said = derive("it", soil, settings=new(lower_cm=60))
    assert "cut at rock at 40 cm" in said.flags
    assert "the curve runs through a discontinuity, which it smooths" in said.flags
    assert derive("it", soil, settings=new(upper_cm=40, lower_cm=60)).status == "unknown"


def test_rows_that_overlap_count_once_R23(derive):
    split = carbon((0, 20, 3.0), (10, 20, 9.0), (20, 40, 1.0))
    assert derive("it", split, settings=new()).low == derive("it", carbon((0, 20, 3.0), (20, 40, 1.0)), settings=new()).low


def test_a_percentage_never_passes_a_hundred(derive):
    clay = [("Bt", upper, lower, {"clay_percent": value}) for upper, lower, value in [(0, 10, 2.0), (10, 20, 99.0), (20, 90, 98.0)]]
    said = derive("it", clay, settings=new(of="clay_percent", upper_cm=15, lower_cm=25, **{"lambda": 0.001}))
    assert said.low <= 100 and "the curve passes 100 and was clipped there" in said.flags


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"upper_cm": None, "lower_cm": None}, "or depths_cm"),
        ({"depths_cm": [0, 5]}, "not both"),
        ({"upper_cm": None, "lower_cm": None, "depths_cm": [0]}, "two or more"),
        ({"upper_cm": None, "lower_cm": None, "depths_cm": [0, 5, 5]}, "each deeper"),
        ({"kind": "average", "smoothing": 1.0}, "depth_function only"),
        ({"kind": "average", "upper_cm": None, "lower_cm": None, "depths_cm": [0, 5]}, "depth_function only"),
        ({"lowest": 5, "highest": 1}, "lowest must be less"),
        ({"lambda": -1}, "greater than or equal"),
    ],
)  # fmt: skip
def test_a_depth_function_that_contradicts_itself_is_a_mistake(wrong, told):
    with pytest.raises(ValueError, match=told):
        NewAttribute.model_validate({"kind": "depth_function", "of": "clay_percent", "upper_cm": 0, "lower_cm": 30, **wrong})


def test_two_attributes_of_one_name_are_a_mistake(derive):
    both = new(upper_cm=None, lower_cm=None, depths_cm=[0, 5, 15])
    both["new"]["it_0_to_5_cm"] = {"kind": "average", "of": "clay_percent", "upper_cm": 0, "lower_cm": 5}
    with pytest.raises(SettingsError, match="one name"):
        derive("it_5_to_15_cm", PIT, settings=both)
