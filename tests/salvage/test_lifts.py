"""Forest floor and peat are lifts of their own, and peat is never a silent nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from geoprofile.attributes.stage import derive_attributes
from geoprofile.products import HORIZON_COLUMNS, READING_COLUMNS, AttributeDefinition, typed
from geoprofile.salvage.lifts import described_peat
from geoprofile.salvage.stage import plan_salvage
from geoprofile.settings.attributes import AttributesSettings
from geoprofile.settings.base import LayerSource
from geoprofile.settings.salvage import SalvageSettings

DARK_A = AttributeDefinition("dark_a_thickness", "Dark A", "cm", "thickness", "", "", True)
AREAS = LayerSource(file="areas.gpkg", id="area")
WET = [("Om", -12, 0), ("Ah", 0, 10), ("Bg", 10, 30), ("Cg", 30, 60)]
DRY = [("LFH", -4, 0), ("Ah", 0, 10), ("Bm", 10, 30), ("Ck", 30, 60)]
BOG = [("Om", 0, 90), ("Cg", 90, 120)]


@pytest.fixture
def described(make_pits, at):
    """Pits in the west as they are described: {pit_id: horizons}, and fields of the pits."""

    def make(pits, **fields):
        made, _ = make_pits([(name, at(10 * n, 10), {}) for n, name in enumerate(pits, 1)], fields=fields)
        rows = [{"pit_id": name, "order": n, "designation": text, "upper_cm": upper, "lower_cm": lower}
                for name, horizons in pits.items() for n, (text, upper, lower) in enumerate(horizons, 1)]  # fmt: skip
        readings = typed(pd.DataFrame(columns=list(READING_COLUMNS)), READING_COLUMNS)
        return replace(made, horizons=typed(pd.DataFrame(rows), HORIZON_COLUMNS), readings=readings)

    return make


@pytest.fixture
def plan(make_context, a_record, write_layer, block):
    """The salvage plan of 1 ha from pits as described; ``use``: the attributes that the survey derives."""

    def make(pits, use=(), topsoil_rule="a_and_e", **asked):
        write_layer("areas.gpkg", [block(0, 0, 100, 100)], area=["Pad"])
        context = make_context()
        settings = AttributesSettings(topsoil_rule=topsoil_rule, use=("topsoil_thickness", "forest_floor_thickness", *use))
        attributes = derive_attributes(pits, settings, context, a_record())
        asked = SalvageSettings(polygons=AREAS, rule=topsoil_rule, **asked)
        return plan_salvage(pits, attributes, None, asked, context, a_record())

    return make


def lift(plan, name):
    return plan.lifts.set_index("lift").loc[name]


def test_peat_at_every_pit_is_a_lift_with_its_volume_beside_a_forest_floor_of_nothing(plan, described):
    made = plan(described({name: WET for name in "abc"}), use=["peat_thickness"])
    peat, floor = lift(made, "peat"), lift(made, "forest floor")
    assert (peat["mean_cm"], peat["bank_volume_m3"]) == (12, 1200) and floor["bank_volume_m3"] == 0
    assert "not peat" in floor["rule"] and floor["rule"].startswith("L, F and H")
    assert "peat is: peat (O layers), described at 3 pits" in made.notes and made.problems.empty


def test_peat_that_nobody_derived_is_of_unknown_depth_and_a_warning_at_each_pit(plan, described):
    made = plan(described({"a": WET, "b": DRY, "c": WET, "d": DRY}))
    peat = lift(made, "peat")
    assert np.isnan(peat["mean_cm"]) and np.isnan(peat["bank_volume_m3"]) and "2 pits describe peat" in peat["basis"]
    warnings = made.problems[made.problems["check"] == "peat"]
    assert warnings["pit_id"].tolist() == ["a", "c"] and set(warnings["severity"]) == {"warning"}
    assert warnings["found"].tolist() == ["Om 12-0 cm"] * 2 and warnings["remedy"].str.contains("peat_thickness").all()
    assert made.notes[1].startswith("caution: peat: no volume is known") and "(a, c)" in made.notes[1]
    assert "peat: 1.00 ha, depth not known" in made.notes


def test_a_survey_without_peat_has_no_lift_of_it_and_one_that_leaves_it_out_is_told(plan, described):
    dry = described({name: DRY for name in "abc"})
    for use in ([], ["peat_thickness"]):
        made = plan(dry, use=use)
        assert made.lifts["lift"].tolist() == ["topsoil", "forest floor"] and made.problems.empty
    wet = described({name: WET for name in "abc"})
    for use in ([], ["peat_thickness"]):
        made = plan(wet, use=use, peat=False)
        assert "peat" not in set(made.lifts["lift"]) and made.problems.empty
        assert "peat is in no lift, as [salvage] peat asks: 3 pits describe it (a, b, c)" in made.notes


def test_a_rule_set_that_takes_peat_leaves_that_of_mineral_soils_a_lift_and_counts_that_of_organic_soils_once(plan, described):
    """What ``explain peat_and_a`` promises."""
    pits = described({"a": WET, "b": WET, "c": BOG}, datum=["mineral surface", "mineral surface", "organic surface"])
    made = plan(pits, use=["peat_thickness"], topsoil_rule="peat_and_a")
    topsoil, peat = lift(made, "topsoil"), lift(made, "peat")
    assert topsoil["mean_cm"] == pytest.approx((10 + 10 + 90) / 3, abs=0.01)
    assert peat["mean_cm"] == pytest.approx((12 + 12 + 0) / 3, abs=0.01) and peat["rule"].endswith("over mineral soils")
    assert any("1 organic soil (c)" in note and "not counted twice" in note for note in made.notes)
    made = plan(pits, use=["peat_thickness"])
    assert lift(made, "peat")["mean_cm"] == pytest.approx((12 + 12 + 90) / 3, abs=0.01), "A and E take none of it"


def test_what_describes_peat_is_told_from_forest_floor_by_the_convention_and_the_ground(described):
    o_over_a = [("Oi", 0, 5), ("A", 5, 20)]
    pits = described({"litter": [("Oi", -5, 0), ("A", 0, 20)], "bog": o_over_a}, datum=["mineral surface", "organic surface"])
    assert described_peat(pits, "usda") == {"bog": "Oi 0-5 cm"}
    pits = described({"natural": WET, "yard": WET}, datum=["mineral surface", "stripped ground"])
    assert described_peat(pits, "canadian") == {"natural": "Om 12-0 cm"}


def test_a_direct_reading_of_peat_is_peat_described(described):
    pits = described({"a": DRY, "b": DRY})
    rows = [{"pit_id": "a", "attribute": "peat_thickness", "low": 35.0}, {"pit_id": "b", "attribute": "peat_thickness", "low": 0.0}]
    pits = replace(pits, readings=typed(pd.DataFrame(rows), READING_COLUMNS))
    assert described_peat(pits, "canadian") == {"a": "direct reading, 35 cm"}
