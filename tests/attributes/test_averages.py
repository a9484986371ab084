"""[attributes.new.NAME]: averages with their share, depths and thicknesses by pattern."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.attributes.averages import average
from geoprofile.errors import SettingsError
from geoprofile.settings.attributes import NewAttribute


def clay(upper, lower, value, name="Bm"):
    return (name, upper, lower, {"clay_percent": value})


def new(**more) -> dict:
    return {"new": {"it": {"kind": "average", "of": "clay_percent", "upper_cm": 0, "lower_cm": 30, **more}}}


# weighted averages that the laboratory of the United States Department of Agriculture printed beside its layers
# (pedon reports 85IA1210041, 88ND013063, S1974UT021010), rounded to 1 %
LAMONI = [clay(18, 30, 36.3), clay(30, 46, 36.3), clay(46, 64, 43.0), clay(64, 84, 40.6)]
CATHAY = [clay(25, 38, 30.3), clay(38, 58, 26.6)]
DENMARK = [clay(0, 8, 12.7), clay(8, 23, 21.2), clay(23, 36, 26.9)]


@pytest.mark.parametrize(
    ("layers", "upper", "lower", "printed", "exact"),
    [(LAMONI, 18, 68, 39, 39.06), (CATHAY, 25, 58, 28, 28.06), (DENMARK, 0, 36, 21, 21.37)],
    ids=["Lamoni", "Cathay", "Denmark"],
)
def test_published_weighted_averages(derive, layers, upper, lower, printed, exact):
    said = derive("it", layers, settings=new(upper_cm=upper, lower_cm=lower))
    assert round(said.low) == printed
    assert said.low == pytest.approx(exact, abs=0.01)


def test_the_divisor_is_the_thickness_that_has_data_R24(derive):
    pit = [clay(0, 10, 20.0), clay(10, 14, None), clay(14, 30, 30.0)]
    said = derive("it", pit, settings=new())
    assert said.low == pytest.approx((10 * 20 + 16 * 30) / 26)
    assert "87% of 0 to 30 cm" in said.evidence


def test_below_the_least_share_there_is_no_value_R24(derive):
    said = derive("it", [clay(0, 10, 20.0), ("C", 10, 60)], settings=new())
    assert said == ("unknown", "not_described")
    assert said.evidence == "too little of the interval has data"
    assert "33% covered, 80% asked for" in said.flags
    assert derive("it", [clay(0, 10, 20.0), ("C", 10, 60)], settings=new(least_share=0.3)).low == 20


def test_it_is_cut_at_rock_and_says_so(derive):
    said = derive("it", [clay(0, 22, 25.0), ("R", 22, None)], settings=new())
    assert said.low == 25
    assert "cut at rock at 22 cm" in said.flags


def test_forest_floor_in_or_out_is_stated(derive):
    pit = [("LFH", -10, 0, {"organic_carbon_percent": 40}), ("Ah", 0, 30, {"organic_carbon_percent": 4})]
    carbon = {"of": "organic_carbon_percent", "lower_cm": 20}
    out, inside = derive("it", pit, settings=new(**carbon)), derive("it", pit, settings=new(**carbon, forest_floor=True))
    assert out.low == 4 and "forest floor left out" in out.flags
    assert inside.low == 22 and "forest floor included" in inside.flags


def test_where_two_horizons_claim_a_depth_the_mean_lies_between_both_R23(derive):
    """Each depth counts once, and nobody knows whose the ten centimetres are."""
    said = derive("it", [clay(0, 20, 20.0), clay(10, 30, 40.0)], settings=new())
    assert (said.low, said.high) == (pytest.approx((20 * 20 + 10 * 40) / 30), pytest.approx((10 * 20 + 20 * 40) / 30))
    assert "10 cm claimed by two horizons" in said.flags


def test_a_horizon_within_another_is_not_ignored_R23(derive):
    """Ap 0-30 with 10 % and Bm 10-30 with 50 %: 10 throughout, or 50 from 10 cm on."""
    said = derive("it", [clay(0, 30, 10.0, "Ap"), clay(10, 30, 50.0)], settings=new())
    assert (said.low, said.high) == (pytest.approx(10), pytest.approx((10 * 10 + 20 * 50) / 30))
    assert derive("it", [clay(0, 30, 10.0, "Ap"), clay(10, 30, 10.0)], settings=new()).low == pytest.approx(10)


def test_a_depth_also_claimed_by_a_horizon_without_a_value_has_no_data_R23(derive):
    said = derive("it", [clay(0, 30, 10.0, "Ap"), clay(10, 30, None)], settings=new())
    assert said == ("unknown", "not_described")
    assert "33% covered, 80% asked for" in said.flags and "20 cm claimed by two horizons" in said.flags


def test_an_overlap_of_rounding_leaves_the_mean_measured_R23(derive):
    said = derive("it", [clay(0, 15.4, 20.0), clay(15, 30, 40.0)], settings=new())
    assert said.low == said.high == pytest.approx((15.4 * 20 + 14.6 * 40) / 30)


def test_a_property_nobody_measured_is_unknown_and_one_that_does_not_exist_is_a_mistake(derive):
    assert derive("it", [("Bm", 0, 60)], settings=new()).evidence == "property not measured"
    with pytest.raises(SettingsError, match="no such measured property") as wrong:
        derive("it", [("Bm", 0, 60)], settings=new(of="clay_procent"))
    assert "clay_percent" in wrong.value.remedy


def test_depth_to_and_thickness_by_pattern(derive):
    pit = [("Ah", 0, 12), ("Ae", 12, 20), ("Btnj", 20, 45), ("Cca", 45, 70), ("Csk", 70, 100)]

    def own(kind, of):
        return derive("it", pit, settings={"new": {"it": {"kind": kind, "of": of}}}).text

    assert own("depth_to", "B*") == "20"
    assert own("depth_to", "Btnj") == "20"
    assert own("depth_to", "*s") == "70"
    assert own("depth_to", "Bn") == ">100"
    assert own("thickness", "A*") == "20"
    assert own("thickness", "C*") == ">55"


def test_depth_to_a_measured_limit_lies_between_samples(derive):
    pit = [("Ah", 0, 20, {"sar": 2}), ("Bnt", 20, 40, {"sar": 14}), ("Ck", 40, 80, {"sar": 9})]
    own = {"new": {"it": {"kind": "depth_to", "of": "sar", "at_least": 8}}}
    assert derive("it", pit, settings=own) == ("10-30", "present")


def test_a_pattern_of_letters_the_convention_does_not_know_is_a_mistake(derive):
    with pytest.raises(SettingsError, match="pattern cannot be read"):
        derive("it", [("Bm", 0, 60)], settings={"new": {"it": {"kind": "depth_to", "of": "Qq"}}})


@pytest.mark.parametrize(
    "wrong", [{"lower_cm": None}, {"upper_cm": 40}, {"kind": "depth_to"}, {"at_least": 4}],
    ids=["no lower depth", "upside down", "interval of a depth", "limit of an average"],
)  # fmt: skip
def test_a_new_attribute_that_contradicts_itself_is_a_mistake(wrong):
    with pytest.raises(ValueError):
        NewAttribute.model_validate({"kind": "average", "of": "clay_percent", "upper_cm": 0, "lower_cm": 30, **wrong})


@given(
    thick=st.lists(st.integers(1, 40), min_size=1, max_size=6), value=st.floats(0, 100), share=st.floats(0.1, 1.0),
)  # fmt: skip
@settings(max_examples=40, deadline=None)
def test_the_mean_of_one_value_is_that_value_however_it_is_cut(thick, value, share):
    import itertools

    from geoprofile.described.from_frames import build_profiles

    tops = [0, *itertools.accumulate(thick)]
    layers = [clay(float(tops[n]), float(tops[n + 1]), value) for n in range(len(thick))]
    profile = next(build_profiles(PITS({"P1": layers}), "canadian"))
    wanted = NewAttribute(kind="average", of="clay_percent", upper_cm=0, lower_cm=60, least_share=share)
    said = average(profile, wanted)
    if min(tops[-1], 60) / 60 >= share:
        assert said.low == pytest.approx(value)
    else:
        assert said.status == "unknown"


@pytest.fixture(autouse=True)
def _pits(pits_of):
    global PITS
    PITS = pits_of


def test_rock_at_the_very_top_of_the_interval_leaves_nothing_to_average(derive):
    soil = [("A", 0, 30, {"clay_percent": 20}), ("R", 30, 60)]
    said = derive("clay_30_60", soil, settings={"new": {"clay_30_60": {"kind": "average", "of": "clay_percent", "unit": "%", "upper_cm": 30, "lower_cm": 60}}})
    assert said.status == "unknown" and "rock at 30 cm, above the interval" in said.flags
