"""Zones and tables, from the products to what the mapper gets."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from geoprofile import store
from geoprofile.intervals import absent_depth, at_least, at_surface, measured, unknown
from geoprofile.products import AttributeDefinition, Zones
from geoprofile.settings.base import LayerSource
from geoprofile.settings.zones import DraftSettings, ZonesSettings
from geoprofile.zones.stage import draw_zones

LIME = AttributeDefinition("depth_to_carbonates", "Depth to carbonates", "cm", "depth", "", "", True)
CLAY = AttributeDefinition("clay_0_30", "Clay 0 to 30 cm", "%", "average", "", "")
LIME_CLASSES = DraftSettings(from_="surface", attribute="depth_to_carbonates", limits_cm=(10, 25, 50, 100))


def said(**lime):
    return {"depth_to_carbonates": lime["lime"]}


@pytest.fixture
def lime_by_column(grid):
    """Five columns of 5, then 10 (a limit), 30, 60, 120 cm: five classes in stripes of 60 m."""
    return np.tile(np.repeat([5.0, 10.0, 30.0, 60.0, 120.0], 6), (20, 1))


@pytest.fixture
def three_pits(make_pits, at):
    return make_pits(
        [
            ("007", at(20, 50), {"depth_to_carbonates": at_surface()}),
            ("P2", at(60, 50), {"depth_to_carbonates": measured(12)}),
            ("P3", at(250, 150), {"depth_to_carbonates": at_least(60)}),
        ]
    )


def test_class_limits_draw_zones_with_units_in_their_names_and_values_at_a_limit_go_up(
    make_context, a_record, three_pits, make_surfaces, lime_by_column
):
    context = make_context()
    surfaces = make_surfaces(context, estimate=lime_by_column)
    zones = draw_zones(
        *three_pits, None, surfaces, ZonesSettings(draft=LIME_CLASSES, least_area_ha=0.1), context, a_record()
    )
    assert zones.zones["name"].tolist() == [
        "less than 10 cm",
        "10 to 25 cm",
        "25 to 50 cm",
        "50 to 100 cm",
        "100 cm and more",
    ]
    assert zones.zones["area_ha"].tolist() == [1.2] * 5
    assert (zones.zones.geom_type == "MultiPolygon").all()
    assert "from" in zones.zones.columns and zones.zones["from"].unique().tolist() == ["surface of depth_to_carbonates"]


def test_Z12_Z15_a_pit_on_the_line_between_zones_is_counted_once_and_listed(
    make_context, a_record, three_pits, make_surfaces, lime_by_column
):
    context = make_context()
    zones = draw_zones(
        *three_pits,
        None,
        make_surfaces(context, estimate=lime_by_column),
        ZonesSettings(draft=LIME_CLASSES, least_area_ha=0.1),
        context,
        a_record(),
    )
    # P2 lies at 60 m, exactly on the line between the first and the second stripe
    assert zones.tables["zones"]["pits"].sum() == 3
    assert zones.tables["pit_places"].set_index("pit_id")["zone_id"].to_dict() == {"007": "1", "P2": "1", "P3": "5"}
    tie = zones.problems[zones.problems["check"] == "pit on a line"]
    assert tie["pit_id"].tolist() == ["P2"] and tie["found"].tolist() == ["1, 2"]
    assert any("listed first" in note for note in zones.notes)


def test_a_masked_estimate_becomes_a_zone_of_its_own_or_is_left_out_with_its_hectares_told(
    make_context, a_record, three_pits, make_surfaces, write_layer, block, lime_by_column
):
    write_layer("area.gpkg", [block(0, 0, 300, 200)])
    context = make_context(area="area.gpkg")
    lime_by_column[:, 24:] = np.nan
    reliability = np.where(np.isnan(lime_by_column), 2, 1)
    surfaces = make_surfaces(context, estimate=lime_by_column, reliability=reliability)
    own = draw_zones(*three_pits, None, surfaces, ZonesSettings(draft=LIME_CLASSES), context, a_record())
    assert own.zones["name"].iloc[-1] == "not backed by the pits"
    assert own.zones["area_ha"].sum() == pytest.approx(6.0)
    left = LIME_CLASSES.model_copy(update={"not_backed": "leave_out"})
    out = draw_zones(*three_pits, None, surfaces, ZonesSettings(draft=left), context, a_record())
    assert out.zones["area_ha"].sum() == pytest.approx(4.8)
    assert any("1.20 ha of the survey area are in no zone" in note for note in out.notes)


def test_where_a_feature_is_more_likely_absent_no_depth_class_is_drawn(
    make_context, a_record, three_pits, make_surfaces, lime_by_column
):
    context = make_context()
    presence = np.ones((20, 30))
    presence[:, :6] = 0.2
    surfaces = make_surfaces(context, estimate=lime_by_column, presence=presence)
    zones = draw_zones(
        *three_pits, None, surfaces, ZonesSettings(draft=LIME_CLASSES, least_area_ha=0.1), context, a_record()
    )
    assert zones.zones.set_index("name")["area_ha"]["more likely absent than present"] == pytest.approx(1.2)
    assert "less than 10 cm" not in zones.zones["name"].tolist()


def test_zones_end_at_the_survey_area_and_their_areas_sum_to_it(
    make_context, a_record, three_pits, make_surfaces, write_layer, at, grid
):
    area = at(150, 100).buffer(90)
    write_layer("area.gpkg", [area])
    context = make_context(area="area.gpkg")
    noise = np.random.default_rng(3).uniform(0, 120, grid.shape)
    surfaces = make_surfaces(context, estimate=noise)
    zones = draw_zones(
        *three_pits, None, surfaces, ZonesSettings(draft=LIME_CLASSES, least_area_ha=0), context, a_record()
    )
    assert shapely.coverage_is_valid(zones.zones.geometry.values)
    assert zones.zones.geometry.area.sum() == pytest.approx(area.area, abs=1.0)
    assert shapely.difference(zones.zones.union_all(), area.buffer(0.01)).area == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("refused", [False, True])
def test_without_a_surface_there_are_no_zones_but_one_sentence_and_the_tables(
    make_context, a_record, three_pits, make_surfaces, refused
):
    context = make_context()
    surfaces = make_surfaces(context, [("depth_to_carbonates", "11 pits are too few", "dig more")]) if refused else None
    zones = draw_zones(*three_pits, None, surfaces, ZonesSettings(draft=LIME_CLASSES), context, a_record())
    assert len(zones.zones) == 0
    assert len([note for note in zones.notes if note.startswith("no draft zones")]) == 1
    assert zones.problems["check"].tolist() == ["draft zones"]
    assert ("11 pits are too few" in zones.problems["what"].iloc[0]) == refused
    assert "pit_places" in zones.tables and "recorded_soils" in zones.tables


def test_recorded_soils_and_strata_get_their_pits_and_bounds_are_respected(
    make_context, a_record, make_pits, at, write_layer, block
):
    write_layer("lines.gpkg", [block(0, 0, 150, 200), block(150, 0, 300, 200)], material=["till", "lacustrine"])
    context = make_context(strata={"file": "lines.gpkg", "id": "material"})
    rows = [
        ("a", at(10, 10), said(lime=measured(20))),
        ("b", at(20, 10), said(lime=measured(30))),
        ("c", at(200, 10), said(lime=at_least(60))),
        ("d", at(210, 10), said(lime=at_least(60))),
        ("e", at(220, 10), said(lime=measured(45))),
        ("f", at(230, 10), said(lime=absent_depth())),
        ("g", None, said(lime=unknown())),
    ]
    pits, attributes = make_pits(rows, fields={"recorded_soil": ["Ash", "Ash", "Birch", "Birch", "Birch", "", "Ash"]})
    zones = draw_zones(pits, attributes, None, None, ZonesSettings(), context, a_record())
    strata = zones.tables["stratum_attributes"].set_index("stratum_id")
    till, lake = strata.loc["till"], strata.loc["lacustrine"]
    assert (till["mean_cm"], till["least_cm"], till["most_cm"]) == (25, 20, 30)
    assert lake["text"] == "45 in 1 of 4; >60 in 2; absent in 1"
    # with two of three deeper than 60 no mean exists; it is at least (45 + 60 + 60) / 3
    assert np.isnan(lake["mean_cm"]) and lake["mean_low_cm"] == 55 and np.isnan(lake["mean_high_cm"])
    assert lake["median_low_cm"] == 60 and np.isnan(lake["median_high_cm"])
    soils = zones.tables["recorded_soils"].set_index("recorded_soil")["pits"]
    assert soils.to_dict() == {"Ash": 3, "Birch": 3}
    assert zones.tables["strata"]["area_ha"].tolist() == [3.0, 3.0]
    assert any("1 pit of 7 lies in none of the strata: g" in note for note in zones.notes)


def test_strata_that_overlap_are_told_as_areas_to_be_stripped_are(make_context, a_record, make_pits, at, write_layer, block):
    write_layer("lines.gpkg", [block(0, 0, 200, 200), block(100, 0, 300, 200)], material=["till", "lacustrine"])
    context = make_context(strata={"file": "lines.gpkg", "id": "material"})
    problems = draw_zones(*make_pits([("a", at(10, 10), said(lime=measured(20)))]), None, None, ZonesSettings(), context, a_record()).problems
    told = problems[problems["check"] == "overlap"].iloc[0]
    assert told["severity"] == "warning" and told["found"] == "till and lacustrine: 2.0000 ha"


def test_D5_attributes_that_are_not_in_cm_have_their_unit_in_a_column(make_context, a_record, make_pits, at):
    pits, attributes = make_pits(
        [("a", at(1, 1), said(lime=measured(20)) | {"clay_0_30": measured(31.5)})],
        (LIME, CLAY),
        {"recorded_soil": ["Ash"]},
    )
    tables = draw_zones(pits, attributes, None, None, ZonesSettings(), make_context(), a_record()).tables
    assert "mean_cm" in tables["recorded_soil_attributes"]
    other = tables["recorded_soil_attributes_other_units"]
    assert other["unit"].tolist() == ["%"] and other["mean"].tolist() == [31.5]


def test_pits_on_stripped_ground_are_in_no_table(make_context, a_record, make_pits, at):
    pits, attributes = make_pits(
        [("a", at(1, 1), said(lime=measured(20))), ("yard", at(2, 2), said(lime=measured(0)))],
        fields={"datum": ["mineral surface", "stripped ground"], "recorded_soil": ["Ash", "Ash"]},
    )
    zones = draw_zones(pits, attributes, None, None, ZonesSettings(), make_context(), a_record())
    assert zones.tables["recorded_soils"]["pit_ids"].tolist() == ["a"]
    assert any("stripped or filled ground" in note and "yard" in note for note in zones.notes)


def test_pits_outside_the_area_are_not_counted_and_every_table_says_how_many_were_left_out(
    make_context, a_record, make_pits, at, write_layer, block
):
    """Zones and sums end at the area; a pit that lies elsewhere says nothing of it."""
    write_layer("area.gpkg", [block(0, 0, 300, 200)])
    write_layer("parcels.gpkg", [block(0, 0, 150, 200), block(150, 0, 300, 200)], parcel=["west", "east"])
    rows = [("a", at(10, 10), said(lime=measured(20))), ("nowhere", None, said(lime=measured(30))),
            ("far", at(400_000, 10), said(lime=measured(90))), ("yard", at(20, 10), said(lime=measured(0)))]  # fmt: skip
    pits, attributes = make_pits(rows, fields={"datum": ["mineral surface"] * 3 + ["stripped ground"], "recorded_soil": ["Ash"] * 4})
    settings = ZonesSettings(parcels=LayerSource(file="parcels.gpkg", id="parcel"))
    tables = draw_zones(pits, attributes, None, None, settings, make_context(area="area.gpkg"), a_record()).tables
    whole = tables["whole_survey"].iloc[0]
    assert (whole["pits"], whole["pit_ids"], whole["pits_without_place"], whole["pits_left_out"]) == (2, "a; nowhere", 1, 2)
    assert whole["left_out"] == "on stripped or filled ground: yard; outside the survey area: far"
    assert whole["pits"] + whole["pits_left_out"] == len(rows)
    assert (tables["survey_attributes"]["pits"].iloc[0], tables["survey_attributes"]["mean_cm"].iloc[0]) == (2, 25)
    assert tables["recorded_soils"][["pits", "pits_left_out"]].to_numpy().tolist() == [[2, 2]]
    parcels = tables["parcels"].set_index("parcel_id")
    assert parcels["pits_left_out"].to_dict() == {"west": 1, "east": 0}
    assert parcels["left_out"].to_dict() == {"west": "on stripped or filled ground: yard", "east": ""}


def test_the_table_of_zones_says_what_merging_moved_and_which_class_it_left_nothing_of(
    make_context, a_record, three_pits, make_surfaces, lime_by_column, write_layer, block
):
    """By cells within the area, as the table of classes by parcel counts."""
    write_layer("area.gpkg", [block(0, 0, 300, 200)])
    write_layer("parcels.gpkg", [block(0, 0, 300, 200)], parcel=["all"])
    lime_by_column[:, 6:] = 30.0
    lime_by_column[:3, 3:6] = 60.0  # 9 cells, 0.09 ha, among land below 10 cm and of 30 cm
    settings = ZonesSettings(draft=LIME_CLASSES, least_area_ha=0.1, smoothing_m=0, parcels=LayerSource(file="parcels.gpkg", id="parcel"))
    zones = draw_zones(
        *three_pits, None, make_surfaces(make_context(), estimate=lime_by_column), settings, make_context(area="area.gpkg"), a_record()
    )
    table = zones.tables["zones"].set_index("name")
    assert table["area_ha"].sum() == table["area_by_cells_ha"].sum() == 6.0
    gone = table.loc["50 to 100 cm"]
    assert (gone["zone_id"], gone["area_ha"], gone["area_by_cells_ha"], gone["parts"], gone["pits"], gone["pit_ids"]) == ("4", 0, 0.09, 0, 0, "")
    by_cells = zones.tables["parcel_classes"].set_index("class")["area_ha"]
    assert by_cells[by_cells > 0].to_dict() == table["area_by_cells_ha"].to_dict()
    assert "50 to 100 cm" not in zones.zones["name"].tolist()
    assert any("no zone is left of them: 50 to 100 cm, 0.09 ha by cells" in note for note in zones.notes)


def test_landform_elements_and_clusters_draw_zones_too(make_context, a_record, three_pits, make_terrain, grid):
    context = make_context()
    code = np.repeat([1, 2], 10)[:, None] * np.ones((1, 30))
    high = np.where(code == 1, 3.0, -3.0) + np.random.default_rng(1).normal(0, 0.1, grid.shape)
    slope = np.where(code == 1, 8.0, 1.0)
    terrain = make_terrain(
        context,
        {1: "divergent shoulder", 2: "convergent footslope"},
        {"slope": "degrees"},
        landform_element=code,
        relative_elevation=high,
        slope=slope,
    )
    elements = draw_zones(
        *three_pits, terrain, None, ZonesSettings(draft=DraftSettings(from_="landform_elements")), context, a_record()
    )
    assert elements.zones["name"].tolist() == ["divergent shoulder", "convergent footslope"]
    clusters = draw_zones(
        *three_pits,
        terrain,
        None,
        ZonesSettings(draft=DraftSettings(from_="clusters", clusters=2)),
        context,
        a_record(),
    )
    assert clusters.zones["name"].tolist() == [
        "higher than around, steeper (relative elevation 3.0 m, slope 8.0 degrees)",
        "lower than around, gentler (relative elevation -3.0 m, slope 1.0 degrees)",
    ]
    again = draw_zones(
        *three_pits,
        terrain,
        None,
        ZonesSettings(draft=DraftSettings(from_="clusters", clusters=2)),
        context,
        a_record(),
    )
    assert again.zones.to_wkb().equals(clusters.zones.to_wkb())


def test_Z1_Z5_what_was_merged_and_what_smoothing_changed_is_told(
    make_context, a_record, three_pits, make_surfaces, grid
):
    from scipy.ndimage import gaussian_filter

    context = make_context()
    hills = 60 + 400 * gaussian_filter(np.random.default_rng(5).normal(size=grid.shape), 2)
    settings = ZonesSettings(draft=LIME_CLASSES, least_area_ha=0.1, smoothing_m=15)
    zones = draw_zones(*three_pits, None, make_surfaces(context, estimate=hills), settings, context, a_record())
    assert zones.zones["smoothing_changed_area_percent"].abs().max() <= 5
    assert (shapely.area(shapely.get_parts(zones.zones.geometry.values)) > 600).all()
    assert zones.zones["area_ha"].sum() == pytest.approx(6.0, abs=1e-3)
    assert any("smaller than 0.1 ha" in note and "longest edge" in note for note in zones.notes)
    assert any("tolerance of" in note for note in zones.notes)


def test_zones_smaller_than_can_be_read_at_the_scale_are_a_problem(
    make_context, a_record, three_pits, make_surfaces, lime_by_column
):
    context = make_context()
    settings = ZonesSettings(draft=LIME_CLASSES, map_scale=50_000, least_area_ha=0.5)
    zones = draw_zones(
        *three_pits, None, make_surfaces(context, estimate=lime_by_column), settings, context, a_record()
    )
    small = zones.problems[zones.problems["check"] == "smaller than legible"]
    # a 5 mm square at 1:50,000 is 6.25 ha (statements printed on published soil maps)
    assert len(small) == 5 and small["allowed"].iloc[0].startswith("6.25 ha")


def test_the_product_saves_and_loads_without_loss(
    make_context, a_record, three_pits, make_surfaces, lime_by_column, tmp_path
):
    context = make_context()
    for draft in (LIME_CLASSES, None):
        zones = draw_zones(
            *three_pits,
            None,
            make_surfaces(context, estimate=lime_by_column),
            ZonesSettings(draft=draft),
            context,
            a_record(),
        )
        back = store.load(Zones, store.save(zones, tmp_path / "zones"))
        assert back.zones.equals(zones.zones) and back.notes == zones.notes
        assert all(back.tables[name].equals(table) for name, table in zones.tables.items())


def test_the_record_of_a_route_counts_chainage_from_its_start(make_context, a_record, make_pits, at, write_layer):
    line = shapely.LineString([at(0, 100), at(300, 100)])
    write_layer("route.gpkg", [line], route=["north line"])
    pits, attributes = make_pits(
        [
            ("c", at(250, 95), said(lime=measured(40))),
            ("a", at(50, 110), said(lime=at_least(60))),
            ("b", at(100, 100), said(lime=measured(20))),
            ("far", at(100, 190), said(lime=measured(20))),
        ]
    )
    settings = ZonesSettings(route=LayerSource(file="route.gpkg", id="route"), route_within_m=20)
    zones = draw_zones(pits, attributes, None, None, settings, make_context(), a_record())
    route = zones.tables["route"]
    assert route["pit_id"].tolist() == ["a", "b", "c"]
    assert route["chainage_m"].tolist() == [50, 100, 250]
    assert route["offset_m"].tolist() == [10, 0, 5]
    assert route["side"].tolist() == ["right", "on the line", "left"]  # the line runs east: south is right
    assert route["from_m"].tolist() == [0, 75, 175] and route["to_m"].tolist() == [75, 175, 300]
    assert route["depth_to_carbonates_text"].tolist() == [">60", "20", "40"]
    assert zones.tables["route_attributes"]["text"].tolist() == ["20 to 40 in 2 of 3; >60 in 1"]
    assert zones.tables["routes"]["length_m"].tolist() == [300]


def test_the_whole_survey_is_a_table_even_without_zones_strata_or_parcels(make_pits, at, make_context, a_record):
    """A wellsite of five pits has nothing else."""
    pits, attributes = make_pits([(str(n), at(10 * n, 10), {"depth_to_carbonates": measured(10 * n)}) for n in range(1, 6)])
    zones = draw_zones(pits, attributes, None, None, ZonesSettings(), make_context(), a_record("zones"))
    row = zones.tables["survey_attributes"].iloc[0]
    assert (zones.tables["whole_survey"]["pits"].tolist(), row["pits"], row["mean_cm"]) == ([5], 5, 30.0)
    assert "survey" not in zones.tables["pit_places"].columns
