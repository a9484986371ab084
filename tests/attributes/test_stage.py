"""The stage: names, plug-ins, the product and its promises."""

from __future__ import annotations

import tomllib
from importlib.metadata import entry_points
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile import store
from geoprofile.attributes.plugin import Attribute
from geoprofile.attributes.stage import GROUP, derive_attributes
from geoprofile.errors import PluginError, SettingsError
from geoprofile.intervals import Interval
from geoprofile.products import VALUE_COLUMNS, AttributeDefinition, Attributes
from geoprofile.record import Record
from geoprofile.registry import plugins
from geoprofile.settings.attributes import AttributesSettings

ROOT = Path(__file__).resolve().parents[2]
SHIPPED = (
    "forest_floor_thickness peat_thickness dark_a_thickness eluvial_thickness a_e_thickness topsoil_thickness depth_to_bt "
    "bt_thickness depth_to_solonetzic_b depth_to_carbonates depth_to_effervescence depth_to_secondary_carbonates "
    "depth_to_salts depth_to_mottles depth_to_gleying depth_to_c solum_thickness depth_to_rock depth_to_discontinuity "
    "depth_to_buried_a depth_to_colour_change"
).split()


def test_all_attributes_of_the_design_enter_by_entry_points():
    declared = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["entry-points"][GROUP]
    assert sorted(declared) == sorted(SHIPPED)
    installed = {point.name: point.value for point in entry_points(group=GROUP) if point.value.startswith("geoprofile.")}
    assert installed == declared


@pytest.mark.parametrize("name", SHIPPED)
def test_an_attribute_says_what_it_means_and_where_that_comes_from(name):
    definition = plugins(GROUP).get(name).definition
    assert definition.name == name and definition.unit == "cm" and definition.source
    assert len(definition.help) > 40 and definition.title[0].isupper()
    assert definition.kind == ("depth" if name.startswith("depth_to") else "thickness")


def test_one_row_a_pit_and_attribute_and_no_loss_on_disk(derive_all, pits_of, tmp_path):
    attributes = derive_all(pits_of({"007": [("Ah", 0, 15), ("Bt", 15, 40)], "7": []}))
    assert list(attributes.values.columns) == list(VALUE_COLUMNS)
    assert len(attributes.values) == 2 * len(SHIPPED)
    assert attributes.values["pit_id"].unique().tolist() == ["007", "7"]
    store.save(attributes, tmp_path / "attributes")
    again = store.load(Attributes, tmp_path / "attributes")
    assert again.values.equals(attributes.values)
    assert again.definitions == attributes.definitions


def test_a_misspelt_attribute_names_the_nearest(derive_all, pits_of):
    with pytest.raises(SettingsError) as wrong:
        derive_all(pits_of({"P1": []}), use=["depth_to_bbt", "solum"])
    assert "depth_to_bt" in str(wrong.value) and "'solum'" in str(wrong.value)
    with pytest.raises(SettingsError, match="no such attribute"):
        derive_all(pits_of({"P1": []}), **{"for": {"depth_to_lime": {"limit": 2}}})


def test_a_choice_that_would_change_nothing_is_a_mistake(derive_all, pits_of):
    choices = {"depth_to_bt": {"limit": 2}, "depth_to_carbonates": {"evidence": "conductivity"}}
    with pytest.raises(SettingsError) as wrong:
        derive_all(pits_of({"P1": []}), **{"for": choices})
    assert "depth_to_bt has no such choice" in str(wrong.value)
    assert "designation, effervescence, shallower" in str(wrong.value)


def test_a_new_attribute_cannot_take_the_name_of_ours(derive_all, pits_of):
    with pytest.raises(SettingsError, match="name of one that exists"):
        derive_all(pits_of({"P1": []}), new={"depth_to_bt": {"kind": "depth_to", "of": "Bt"}})


def test_choices_are_printed_in_the_notes(derive_all, pits_of):
    notes = " ".join(derive_all(pits_of({"P1": [("Ah", 0, 15)]}, {"P1": {"stopped_by": "stones"}})).notes)
    for choice in ("evidence shallower", "EC 4 dS/m, extract paste", "rule set A and E horizons (a_and_e)", "BC counted", "1 pit was stopped by stones"):
        assert choice in notes


def test_a_strangers_attribute_that_breaks_its_contract_is_named(make_context, pits_of, monkeypatch):
    from geoprofile.attributes import stage

    definition = AttributeDefinition("odd", "Odd", "cm", "depth", "", "")

    def derive_with(plugin):
        known = plugins(GROUP)
        monkeypatch.setattr(stage, "plugins", lambda group: type(known)(group, {"odd": plugin}, ()))
        return derive_attributes(pits_of({"P1": []}), AttributesSettings(), make_context(), Record("attributes", {}))

    with pytest.raises(PluginError, match="'odd' broke its contract"):
        derive_with(Attribute(definition, lambda profile, rules: 17))
    with pytest.raises(PluginError, match="'odd' failed"):
        derive_with(Attribute(definition, lambda profile, rules: 1 / 0))


NAMES = st.sampled_from(
    "Ah Ahe Ap Apk Ae Aej A AB B Bm Bmk Bt Btj Btnj Bnt Btg BC BCt C Ck Cca Csk Cg IICk Ahb Btb R LFH Om XX".split() + [None]
)
FIZZ = st.sampled_from([None, "none", "strong"])


LAYERS = st.lists(st.tuples(NAMES, st.integers(1, 40), st.integers(0, 3), FIZZ, FIZZ), max_size=7)
FACTS = st.fixed_dictionaries({
    "acid_to_cm": st.sampled_from([None, 0, 40, 100]), "stopped_by": st.sampled_from(["rock", "stones", "planned depth"]),
    "kind": st.sampled_from(["pit", "auger"]), "parent_material": st.sampled_from([None, "lime-free sand"]),
})  # fmt: skip


@given(pits=st.lists(st.tuples(LAYERS, FACTS, st.booleans()), min_size=1, max_size=12), convention=st.sampled_from(["canadian", "usda", "wrb"]))
@settings(max_examples=30, deadline=None)
def test_any_profile_gives_intervals_that_hold_together(pits, convention):
    """Sound intervals with evidence whatever the profile; nobody says "at least" beyond what was observed or tested."""
    described, facts, deepest = {}, {}, {}
    for number, (layers, fact, closed) in enumerate(pits):
        pit_id, upper, horizons = f"P{number}", 0.0, []
        for name, thick, gap, fizz, mottles in layers:
            upper += gap
            horizons.append((name, upper, upper + thick, {"effervescence": fizz, "mottles": mottles}))
            upper += thick
        if horizons and not closed:
            name, top, _, more = horizons[-1]
            horizons[-1] = (name, top, None, more)
        described[pit_id], facts[pit_id], deepest[pit_id] = horizons, fact, max(upper, fact["acid_to_cm"] or 0)
    values = derive_attributes(PITS(described, facts), AttributesSettings(), CONTEXT(convention=convention), Record("a", {})).values
    for row in values.itertuples():
        low, high = (None if np.isnan(value) else value for value in (row.low, row.high))
        Interval(low, high, row.status, row.presence)  # refuses what does not go together
        assert row.evidence, f"{row.attribute} of {described[row.pit_id]} rests on nothing"
        assert low is None or 0 <= low <= deepest[row.pit_id]
        assert high is None or high <= deepest[row.pit_id]


@pytest.fixture(autouse=True)
def _made(pits_of, make_context):
    global PITS, CONTEXT
    PITS, CONTEXT = pits_of, make_context
