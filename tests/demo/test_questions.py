"""The questions that the demonstration must answer (the invented survey's own list)."""

from __future__ import annotations

import numpy as np
import pytest

from geoprofile.attributes.explain import explain_bt, silence
from geoprofile.intervals import interval_text

LIME = "depth_to_carbonates"


def _text(row) -> str:
    return interval_text(row["low"], row["high"], row["status"])


@pytest.fixture(scope="session")
def planted(demo):
    """Where each fault was planted, by the maker of the survey."""
    import sys

    from .conftest import ROOT

    sys.path.insert(0, str(ROOT / "scripts"))
    try:
        import make_demo_data
    finally:
        sys.path.remove(str(ROOT / "scripts"))
    import tempfile
    from pathlib import Path

    with tempfile.TemporaryDirectory() as folder:
        return make_demo_data.write(Path(folder)).survey.planted


def test_a_pit_augered_to_60_with_acid_to_60_says_more_than_60_and_is_used(demo, value):
    pits = demo.products["pits"].pits.set_index("pit_id")
    values = demo.products["attributes"].values
    bounded = values[(values["attribute"] == LIME) & (values["status"] == "at_least") & (values["low"] == 60)]
    pit = next(pit for pit in bounded["pit_id"] if pits.loc[pit, "observed_to_cm"] == pits.loc[pit, "acid_to_cm"] == 60)
    row = value(pit, LIME)
    assert _text(row) == ">60"
    assert row["evidence"] == "acid to 60 cm, no effervescence"
    # used, not dropped: it counts among the pits that are not below 25 cm in its parcel
    tables = demo.products["zones"].tables
    places = tables["pit_places"].set_index("pit_id")
    below = tables["parcel_pits_below"].set_index(["parcel_id", "attribute", "limit_cm"])
    parcel = below.loc[(places.loc[pit, "parcel_id"], LIME, 25.0)]
    own = [one for one in bounded["pit_id"] if places["parcel_id"].get(one) == places.loc[pit, "parcel_id"]]
    assert parcel["not_below"] >= len(own) > 0 and parcel["undecided"] + parcel["below"] + parcel["not_below"] == parcel["pits"]


def test_how_many_pits_say_nothing_of_carbonates_by_cause(demo, planted):
    silent = silence(demo.products["attributes"], LIME).set_index("cause")["pits"]
    values = demo.products["attributes"].values
    assert silent.sum() == ((values["attribute"] == LIME) & (values["status"] == "unknown")).sum()
    without_acid = silent[[cause for cause in silent.index if "acid" in cause]].sum()
    assert without_acid == len(planted["no acid test"]) == 9
    assert silent["stripped or filled ground: says nothing of the natural soil"] == 2


def test_hardly_any_bt_on_the_knolls_probability_shown_and_no_depth_drawn(demo):
    surfaces, terrain = demo.products["surfaces"], demo.products["terrain"]
    surface = next(one for one in surfaces.surfaces if one.attribute == "depth_to_bt")
    presence = surfaces.rasters[surface.presence].read(demo.context.output)
    depth = surfaces.rasters[surface.estimate].read(demo.context.output)
    assert surfaces.rasters[surface.presence].unit == "%" and np.nanmin(presence) >= 0 and 50 < np.nanmax(presence) <= 100
    assert np.isnan(depth[presence < 50]).all(), "no depth where the feature is probably absent"
    elements = terrain.rasters["landform_element"]
    shoulder = next(code for code, name in elements.legend.items() if name == "divergent shoulder")
    knolls = (elements.read(demo.context.output) == shoulder) & np.isfinite(presence)
    assert np.isfinite(depth[knolls]).mean() < 0.2 and presence[knolls].mean() < 30
    table = demo.products["zones"].tables["landform_element_presence"]
    bt = table[table["attribute"] == "depth_to_bt"].set_index("landform_element")
    knoll, hollow = bt.loc["divergent shoulder"], bt.loc["convergent footslope"]
    assert knoll["present_percent"] < 20 < hollow["present_percent"]
    assert knoll["low90_percent"] <= knoll["present_percent"] <= knoll["high90_percent"]


def test_a_last_row_bt_17_to_45_is_at_least_28_thick(demo, value):
    horizons = demo.products["pits"].horizons
    last = horizons[(horizons["upper_cm"] == 17) & (horizons["lower_cm"] == 45) & horizons["lower_is_end"]]
    pit = last[last["designation"].str.startswith("Bt")]["pit_id"].iloc[0]
    assert _text(value(pit, "bt_thickness")) == ">28"
    assert _text(value(pit, "depth_to_bt")) == "17"


@pytest.mark.parametrize(
    ("designation", "is_bt"),
    [("Btnj", True), ("Btjnj", False), ("Bntj", False), ("Btgj", True), ("BCt", False), ("IIBtg", True), ("Btb", False)],
)
def test_which_designations_are_bt_and_why(designation, is_bt):
    answer = explain_bt(designation, "canadian")
    assert answer.is_bt is is_bt and len(answer.reason) > 10


def test_pooling_canadian_and_usda_k_is_refused_and_effervescence_offered():
    from geoprofile.attributes.carbonates import refuse_pooling
    from geoprofile.errors import GeoprofileError

    with pytest.raises(GeoprofileError, match="not pooled by designation") as caught:
        refuse_pooling(("canadian", "usda"), LIME)
    assert "effervescence" in caught.value.remedy


def test_bush_pits_measured_from_the_litter_are_found_shifted_and_asked_about(demo, planted):
    problems = demo.problems
    asked = set(problems.loc[problems["check"] == "organic layers", "pit_id"])
    pits = demo.products["pits"].pits.set_index("pit_id")
    moved = set(pits.index[pits["datum_shift_cm"].fillna(0) != 0])
    assert asked == moved == set(planted["measured from the top of LFH"]) and len(asked) == 7
    assert pits.loc[sorted(moved), "datum_shift_cm"].between(-6, -4).all()
    assert [note for note in demo.products["pits"].notes if "moved to the datum" in note]


def test_a_flat_strip_of_15_cm_says_where_a_is_thinner_and_how_much_subsoil_comes_along(demo):
    lifts = demo.products["salvage"].lifts
    topsoil = lifts[lifts["lift"] == "topsoil"]
    assert (topsoil["flat_strip_cm"] == 15).all()
    assert (topsoil["thinner_ha"] <= topsoil["area_ha"]).all()
    # at Camp few places are likely thinner, and many may be: hectares to expect are more than those of likely places
    camp = topsoil.set_index("polygon_id").loc["Camp"]
    assert 0 < camp["probably_thinner_ha"] < camp["thinner_ha"]
    assert (topsoil["subsoil_low90_m3"] <= topsoil["subsoil_m3"]).all()
    assert (topsoil["subsoil_m3"] <= topsoil["subsoil_high90_m3"]).all()
    # no more subsoil than the strip itself
    assert (topsoil["subsoil_m3"] < topsoil["area_ha"] * 10_000 * 0.15).all()


def test_topsoil_comes_as_bank_volume_with_interval_rule_and_what_was_not_covered(demo):
    salvage = demo.products["salvage"]
    lifts = salvage.lifts
    assert set(lifts["lift"]) == {"topsoil", "forest floor", "peat"}, "forest floor and peat are lifts apart"
    assert lifts["area_ha"].groupby(lifts["lift"]).sum().round(2).tolist() == [12.0, 12.0, 12.0]
    topsoil = lifts[lifts["lift"] == "topsoil"]
    covered = topsoil["area_ha"] - topsoil["not_covered_ha"]
    assert np.allclose(topsoil["bank_volume_m3"], topsoil["mean_cm"] / 100 * covered * 10_000, rtol=2e-3)
    assert (topsoil["low90_m3"] < topsoil["bank_volume_m3"]).all() and (topsoil["bank_volume_m3"] < topsoil["high90_m3"]).all()
    assert (topsoil["rule"] == "A and E horizons").all() and (topsoil["rule_key"] == "a_and_e").all() and topsoil["basis"].str.len().gt(10).all()
    assert [note for note in salvage.notes if "bank volumes" in note]


def test_parcel_4_tells_its_share_with_lime_above_25_cm_and_how_sure_that_is(demo):
    zones = demo.products["zones"]
    row = zones.tables["parcel_pits_below"].set_index(["parcel_id", "attribute", "limit_cm"]).loc[("4", LIME, 25.0)]
    assert row["low90_percent"] < row["share_least_percent"] <= row["share_most_percent"] < row["high90_percent"]
    values = demo.products["attributes"].values.set_index(["attribute", "pit_id"]).loc[LIME]
    inside = zones.tables["pit_places"].query("parcel_id == '4'")["pit_id"]
    own = values.loc[inside]
    assert row["below"] == ((own["high"] < 25) & (own["status"] != "unknown")).sum()
    assert row["pits"] + row["unknown"] == len(inside)
    assert [note for note in zones.notes if "stated scale" in note], "the scale limit is told"


def test_low_is_not_always_deep(demo):
    """Knolls that lost their soil and the salty rim of the sloughs: both are calcareous from the surface."""
    pits, values = demo.products["pits"].pits, demo.products["attributes"].values
    rego = pits[pits["recorded_soil"].fillna("").str.contains("Rego")]["pit_id"]
    lime = values[(values["attribute"] == LIME) & values["pit_id"].isin(rego)]
    assert (lime["status"] == "at_surface").any()
