"""Lifts by polygon: depth, interval, bank volume, what was not covered."""

from __future__ import annotations

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from geoprofile import store
from geoprofile.described.rule_sets import rule_set_words
from geoprofile.errors import InputError
from geoprofile.intervals import absent_thickness, at_least, measured, unknown
from geoprofile.products import AttributeDefinition, Salvage
from geoprofile.salvage.stage import plan_salvage
from geoprofile.settings.base import LayerSource
from geoprofile.settings.salvage import SalvageSettings

TOPSOIL = AttributeDefinition("topsoil_thickness", "Topsoil", "cm", "thickness", "", "", True)
A_AND_E = AttributeDefinition("a_e_thickness", "A and E horizons together", "cm", "thickness", "", "", True)
FLOOR = AttributeDefinition("forest_floor_thickness", "Forest floor", "cm", "thickness", "", "", True)
AREAS = LayerSource(file="areas.gpkg", id="area")


def thickness(value, floor=None):
    said = {"a_e_thickness": value}
    return said | ({"forest_floor_thickness": floor} if floor else {})


@pytest.fixture
def five_pits(make_pits, at):
    return make_pits(
        [
            ("a", at(10, 10), thickness(measured(12), measured(5))),
            ("b", at(20, 10), thickness(measured(18), absent_thickness())),
            ("c", at(30, 10), thickness(measured(24), unknown())),
            ("d", at(250, 10), thickness(measured(30), measured(4))),
            ("e", at(250, 30), thickness(absent_thickness(), measured(6))),
        ],
        (A_AND_E, FLOOR),
    )


@pytest.fixture
def two_areas(write_layer, block):
    """1 ha in the west, and 0.5 ha in the east of which half is off the grid."""
    write_layer("areas.gpkg", [block(0, 0, 100, 100), block(250, 0, 350, 50)], area=["west", "east"])


def test_a_surface_gives_bank_volume_by_exact_coverage_and_says_what_it_did_not_cover(
    make_context, a_record, five_pits, two_areas, make_surfaces
):
    context = make_context()
    z = np.full((20, 30), 20.0)
    z[:5, 25:] = 10.0
    z[5:10, :5] = np.nan  # a quarter of the west
    surfaces = make_surfaces(context, attribute="a_e_thickness", estimate=z, low90=z - 4, high90=z + 6)
    salvage = plan_salvage(*five_pits, surfaces, SalvageSettings(polygons=AREAS), context, a_record())
    lifts = salvage.lifts[salvage.lifts["lift"] == "topsoil"].set_index("polygon_id")
    west, east = lifts.loc["west"], lifts.loc["east"]
    assert (west["covered_percent"], west["not_covered_ha"]) == (75, 0.25)
    assert west["bank_volume_m3"] == pytest.approx(0.75 * 10_000 * 0.20)
    assert (east["covered_percent"], east["not_covered_ha"], east["bank_volume_m3"]) == (50, 0.25, 250)
    # no covariance model: limits as if all errors were one
    assert (west["low90_cm"], west["high90_cm"]) == (16, 26) and "as if the errors of all cells were one" in west[
        "basis"
    ]
    assert west["pits_inside"] == 3 and west["pit_ids"] == "a; b; c"
    assert any("0.50 ha are not covered and not in the volume" in note for note in salvage.notes)


def test_W3_a_polygon_that_cuts_cells_weighs_each_by_its_share(
    make_context, a_record, five_pits, write_layer, block, make_surfaces
):
    # a right-of-way 20 m wide, its edges inside the cells: 100 m at 12, 100 m at 18 and 100 m at 28 cm
    write_layer("areas.gpkg", [block(0, 33, 300, 53)], area=["row"])
    context = make_context()
    z = np.tile(np.repeat([12.0, 18.0, 28.0], 10), (20, 1))
    surfaces = make_surfaces(context, attribute="a_e_thickness", estimate=z)
    lift = plan_salvage(*five_pits, surfaces, SalvageSettings(polygons=AREAS), context, a_record()).lifts.iloc[0]
    assert lift["area_ha"] == pytest.approx(0.6) and lift["mean_cm"] == pytest.approx(58 / 3, abs=0.01)
    assert lift["bank_volume_m3"] == pytest.approx(20 * (12 + 18 + 28), abs=0.5)
    assert np.isnan(lift["low90_cm"]) and "no interval" in lift["basis"]


def test_without_a_surface_the_pits_inside_speak_with_a_t_interval(make_context, a_record, five_pits, two_areas):
    salvage = plan_salvage(*five_pits, None, SalvageSettings(polygons=AREAS), make_context(), a_record())
    west = salvage.lifts.iloc[0]
    assert west["mean_cm"] == 18 and west["basis"].startswith("3 pits inside; t interval of the mean")
    # t(0.95, 2) = 2.920 (any t table), sd 6, n 3
    assert west["high90_cm"] - west["mean_cm"] == pytest.approx(2.920 * 6 / 3**0.5, abs=0.01)
    assert west["bank_volume_m3"] == 1800
    east = salvage.lifts.iloc[1]
    assert east["basis"].startswith("5 pits of the whole survey") and east["mean_cm"] == pytest.approx(
        (12 + 18 + 24 + 30 + 0) / 5, abs=0.01
    )
    # pits from elsewhere: as wide as for one place, t(0.95, 4) = 2.132 (any t table)
    half = 2.132 * np.std([12, 18, 24, 30, 0], ddof=1) * (1 + 1 / 5) ** 0.5
    assert east["high90_cm"] == pytest.approx(east["mean_cm"] + half, abs=0.02) and "one place" in east["basis"]


def test_the_forest_floor_is_a_lift_of_its_own_and_what_is_not_described_is_not_zero(
    make_context, a_record, five_pits, two_areas
):
    settings = SalvageSettings(polygons=AREAS, least_pits_inside=2)
    salvage = plan_salvage(*five_pits, None, settings, make_context(), a_record())
    floor = salvage.lifts[salvage.lifts["lift"] == "forest floor"].set_index("polygon_id")
    assert floor.loc["west"]["mean_cm"] == 2.5 and floor.loc["west"]["basis"].startswith(
        "2 pits inside"
    )  # c is unknown
    assert floor.loc["east"]["mean_cm"] == 5
    without = plan_salvage(
        *five_pits, None, SalvageSettings(polygons=AREAS, forest_floor=False), make_context(), a_record()
    )
    assert without.lifts["lift"].unique().tolist() == ["topsoil"]


def test_a_pit_that_says_at_least_lifts_the_low_limit_and_leaves_no_high_one(
    make_context, a_record, make_pits, at, two_areas
):
    pits = make_pits(
        [
            ("a", at(10, 10), thickness(measured(20))),
            ("b", at(20, 10), thickness(measured(22))),
            ("c", at(30, 10), thickness(at_least(30))),
        ],
        (A_AND_E,),
    )
    west = plan_salvage(*pits, None, SalvageSettings(polygons=AREAS), make_context(), a_record()).lifts.iloc[0]
    assert np.isnan(west["mean_cm"]) and np.isnan(west["high90_cm"]) and np.isnan(west["bank_volume_m3"])
    assert west["low90_cm"] == pytest.approx(24 - 2.920 * np.std([20, 22, 30], ddof=1) / 3**0.5, abs=0.01)
    assert "1 of them with only bounds" in west["basis"]


def test_too_few_inside_the_stratum_speaks(make_context, a_record, five_pits, two_areas, write_layer, block):
    write_layer("lines.gpkg", [block(0, 0, 150, 200), block(150, 0, 400, 200)], material=["till", "lacustrine"])
    context = make_context(strata={"file": "lines.gpkg", "id": "material"})
    settings = SalvageSettings(polygons=AREAS, least_pits_inside=2)
    write_layer("areas.gpkg", [block(200, 100, 240, 150)], area=["no pit inside"])
    lift = plan_salvage(*five_pits, None, settings, context, a_record()).lifts.iloc[0]
    assert lift["pits_inside"] == 0 and lift["basis"].startswith("2 pits of the same stratum") and lift["mean_cm"] == 15


def test_strata_polygons_that_share_a_name_are_one_stratum(
    make_context, a_record, make_pits, at, two_areas, write_layer, block
):
    """As for surfaces: a land use drawn in three pieces is one land use."""
    pieces = [block(0, 0, 120, 200), block(120, 0, 200, 200), block(200, 0, 400, 200)]
    write_layer("lines.gpkg", pieces, kind=["till", "clay", "till"])
    context = make_context(strata={"file": "lines.gpkg", "id": "kind"})
    pits = make_pits(
        [("a", at(130, 10), thickness(measured(90))), ("b", at(210, 150), thickness(measured(10))),
         ("c", at(220, 150), thickness(measured(20))), ("d", at(230, 150), thickness(measured(30)))],
        (A_AND_E, FLOOR),
    )  # fmt: skip
    lifts = plan_salvage(*pits, None, SalvageSettings(polygons=AREAS), context, a_record()).lifts
    west = lifts.set_index(["polygon_id", "lift"]).loc[("west", "topsoil")]
    assert west["basis"].startswith("3 pits of the same stratum") and west["mean_cm"] == 20


def test_losses_swell_rounding_and_minimum_lift_only_when_asked(make_context, a_record, five_pits, two_areas):
    plain = plan_salvage(*five_pits, None, SalvageSettings(polygons=AREAS), make_context(), a_record())
    assert not {"loose_volume_m3", "strip_depth_cm", "padded_with_subsoil_m3", "subsoil_m3"} & set(plain.lifts.columns)
    assert any(note.startswith("no minimum lift") for note in plain.notes)
    asked = SalvageSettings(
        polygons=AREAS, lost_percent=10, swell_factor=1.25, round_to_cm=5, minimum_lift_cm=15, flat_strip_cm=15
    )
    west = plan_salvage(*five_pits, None, asked, make_context(), a_record()).lifts.iloc[0]
    assert (west["strip_depth_cm"], west["bank_volume_m3"], west["planned_cut_m3"]) == (15, 1800, 1500)
    assert (west["recovered_bank_m3"], west["loose_volume_m3"]) == (1350, 1687.5)
    # one of three pits is 3 cm thinner: 1 cm over 1 ha; the two others are 3 and 9 cm thicker
    assert west["planned_subsoil_m3"] == west["subsoil_m3"] == 100 and west["planned_left_behind_m3"] == 400
    assert west["padded_with_subsoil_m3"] == 0, "15 cm are cut without the minimum lift too"
    assert west["thinner_ha"] == pytest.approx(1 / 3, abs=1e-4)
    losses = SalvageSettings(polygons=AREAS, lost_percent=10, swell_factor=1.25)
    west = plan_salvage(*five_pits, None, losses, make_context(), a_record()).lifts.iloc[0]
    assert (west["recovered_bank_m3"], west["loose_volume_m3"]) == (1620, 2025), "no cut is planned: of the topsoil as it lies"


def test_a_rule_set_needs_an_attribute_that_was_derived_under_it(make_context, a_record, make_pits, at, two_areas):
    pits, attributes = make_pits(
        [("a", at(10, 10), {"topsoil_thickness": measured(20), "a_e_thickness": measured(25)})], (TOPSOIL, A_AND_E)
    )
    attributes.values.loc[attributes.values["attribute"] == "topsoil_thickness", "evidence"] = rule_set_words("peat_and_a", "Peat and A")
    context = make_context()
    own = plan_salvage(pits, attributes, None, SalvageSettings(polygons=AREAS, rule="peat_and_a"), context, a_record())
    assert own.lifts["mean_cm"].iloc[0] == 20
    assert (own.lifts["rule"].iloc[0], own.lifts["rule_key"].iloc[0], own.rule_title) == ("Peat and A", "peat_and_a", "Peat and A")
    other = plan_salvage(pits, attributes, None, SalvageSettings(polygons=AREAS, rule="a_and_e"), context, a_record())
    assert other.lifts["mean_cm"].iloc[0] == 25 and other.lifts["rule"].iloc[0] == "A and E horizons"
    none = plan_salvage(pits, attributes, None, SalvageSettings(polygons=AREAS, rule="dark_a"), context, a_record())
    assert none.lifts.empty and 'topsoil_rule = "dark_a"' in none.problems["what"].iloc[0]


def test_why_there_is_no_surface_is_said(make_context, a_record, five_pits, two_areas, make_surfaces):
    context = make_context()
    surfaces = make_surfaces(context, [("a_e_thickness", "5 pits are too few")])
    salvage = plan_salvage(*five_pits, surfaces, SalvageSettings(polygons=AREAS), context, a_record())
    assert "topsoil: no surface of a_e_thickness: 5 pits are too few" in salvage.notes
    assert salvage.lifts["basis"].iloc[0].startswith("3 pits inside")


def test_with_a_model_the_total_has_an_interval_and_each_area_a_probability_of_more(
    make_context, a_record, five_pits, two_areas, saved
):
    """Errors of neighbours are neither independent nor one: intervals are not added up."""
    context = make_context()
    surfaces = saved(context, attribute="a_e_thickness", bounded=(2, 9))
    settings = SalvageSettings(polygons=AREAS, more_than_m3=3500)
    salvage = plan_salvage(*five_pits, surfaces, settings, context, a_record())
    west = salvage.lifts.set_index(["polygon_id", "lift"]).loc[("west", "topsoil")]
    deviation = (west["high90_m3"] - west["bank_volume_m3"]) / 1.644854
    from scipy.special import ndtr

    assert west["probability_more"] == pytest.approx(ndtr((west["bank_volume_m3"] - 3500) / deviation), abs=0.002)
    assert 0 < west["probability_more"] < 1 and west["more_than_m3"] == 3500
    (total,) = [note for note in salvage.notes if "90 % interval of the total" in note]
    low, high = (float(text.replace(",", "")) for text in total.split("of the total ")[1].split(" m3")[0].split(" to "))
    lifts = salvage.lifts[salvage.lifts["lift"] == "topsoil"]
    assert lifts["low90_m3"].sum() < low < lifts["bank_volume_m3"].sum() < high < lifts["high90_m3"].sum()
    floor = salvage.lifts.set_index(["polygon_id", "lift"]).loc[("west", "forest floor")]
    assert np.isnan(floor["probability_more"]), "asked of topsoil"


def test_a_surface_modelled_on_another_scale_has_its_interval_from_simulation(
    make_context, a_record, five_pits, two_areas, saved
):
    context = make_context()
    surfaces = saved(context, attribute="a_e_thickness", power=0.0)
    settings = SalvageSettings(polygons=AREAS, more_than_m3=3500)
    lifts = plan_salvage(*five_pits, surfaces, settings, context, a_record()).lifts
    west = lifts.set_index(["polygon_id", "lift"]).loc[("west", "topsoil")]
    assert "500 simulations" in west["basis"]
    assert west["low90_cm"] < west["mean_cm"] < west["high90_cm"] and 0 <= west["probability_more"] <= 1


def test_overlapping_areas_are_a_problem_and_missing_ones_an_error(
    make_context, a_record, five_pits, write_layer, block
):
    write_layer("areas.gpkg", [block(0, 0, 100, 100), block(50, 0, 150, 100)], area=["1", "2"])
    salvage = plan_salvage(*five_pits, None, SalvageSettings(polygons=AREAS), make_context(), a_record())
    assert salvage.problems.query("check == 'overlap'")["found"].tolist() == ["1 and 2: 0.5000 ha"]
    with pytest.raises(InputError, match="polygons"):
        plan_salvage(*five_pits, None, SalvageSettings(), make_context(), a_record())


def test_cautions_stand_beside_every_stripping_depth(make_context, a_record, five_pits, two_areas):
    text = " ".join(plan_salvage(*five_pits, None, SalvageSettings(polygons=AREAS), make_context(), a_record()).notes)
    for words in (
        "over-stripping",
        "let the colour",
        "whoever stands beside the machine",
        "buried lines",
        "licensed",
        "bank volumes",
        "clubroot",
    ):
        assert words in text


def test_the_product_saves_and_loads_without_loss(make_context, a_record, five_pits, two_areas, tmp_path):
    salvage = plan_salvage(*five_pits, None, SalvageSettings(polygons=AREAS), make_context(), a_record())
    back = store.load(Salvage, store.save(salvage, tmp_path / "salvage"))
    pd.testing.assert_frame_equal(pd.DataFrame(back.lifts), pd.DataFrame(salvage.lifts))
    assert isinstance(back.lifts, gpd.GeoDataFrame) and back.lifts.crs == salvage.lifts.crs


def test_no_depth_anywhere_is_not_a_total_of_nothing(make_context, a_record, make_pits, at, two_areas):
    pits = make_pits([("a", at(10, 10), thickness(unknown()))], (A_AND_E,))
    salvage = plan_salvage(*pits, None, SalvageSettings(polygons=AREAS), make_context(), a_record())
    area = salvage.lifts["area_ha"].sum()
    assert f"topsoil: {area:.2f} ha, depth not known" in salvage.notes
