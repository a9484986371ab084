"""map_surfaces from end to end on invented pits."""

from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest
import rasterio
import shapely

from geoprofile import store
from geoprofile.errors import Cancelled, InputError, PluginError, SettingsError, TooLittleData
from geoprofile.grid import Grid
from geoprofile.products import Surfaces

THICK = "a_e_thickness"


@pytest.fixture
def made(invented):
    points = invented.scattered(60)
    values = np.maximum(invented.field(points, model=("spherical", 2, 30, 400), mean=15), 0)
    return invented.products(points, {THICK: invented.measured(values)}, [invented.definition(THICK)])


def read(surfaces, context, key):
    return surfaces.rasters[key].read(context.output)


def test_every_raster_has_its_name_its_unit_and_its_place(made, map_it):
    surfaces, context = map_it(made, {"less_than_cm": (10, 22.5)})
    (surface,) = surfaces.surfaces
    assert set(surfaces.rasters) == {
        f"{THICK}_{what}"
        for what in ("estimate_cm", "low90_cm", "high90_cm", "reliability", "below_10cm", "below_22.5cm")
    }
    assert surface.estimate == f"{THICK}_estimate_cm"
    assert surface.below == {"10": f"{THICK}_below_10cm", "22.5": f"{THICK}_below_22.5cm"}
    with rasterio.open(context.output / "surfaces" / f"{THICK}_low90_cm.tif") as source:
        assert source.units == ("cm",) and source.descriptions == ("A e thickness: low end of the 90 % interval",)
    low, estimate, high = (read(surfaces, context, f"{THICK}_{what}_cm") for what in ("low90", "estimate", "high90"))
    shown = np.isfinite(estimate)
    assert (low[shown] >= 0).all() and (low[shown] <= estimate[shown]).all() and (estimate[shown] <= high[shown]).all()
    assert np.array_equal(shown, read(surfaces, context, f"{THICK}_reliability") == 1)
    assert surface.score.startswith("by location: RMSE ") and surface.pits_used == 60
    assert surface.parameters["kind"] == "spherical" and surface.parameters["by_stratum"] is False


def test_the_product_saves_and_loads_without_loss(made, map_it):
    surfaces, context = map_it(made, {"less_than_cm": (10,)})
    again = store.load(Surfaces, store.save(surfaces, context.output / ".products" / "surfaces"))
    assert again.surfaces == surfaces.surfaces and again.rasters == surfaces.rasters
    assert again.scores.equals(surfaces.scores) and again.points.equals(surfaces.points)
    assert store.rasters_are_whole(again.rasters, context.output)


def test_twice_gives_the_same_bytes(made, map_it):
    first, second = map_it(made)[0], map_it(made)[0]
    assert {key: raster.sha256 for key, raster in first.rasters.items()} == {
        key: raster.sha256 for key, raster in second.rasters.items()
    }
    assert first.scores.equals(second.scores)


def test_probability_of_less_than_agrees_with_the_interval(made, map_it):
    """Where the low end of the 90 % interval is 10 cm, 5 % lies below 10 cm."""
    surfaces, context = map_it(made, {"less_than_cm": (10,)}, cell_m=10)
    low, below = read(surfaces, context, f"{THICK}_low90_cm"), read(surfaces, context, f"{THICK}_below_10cm")
    near = np.isfinite(low) & (np.abs(low - 10) < 0.05)
    assert near.sum() > 3
    assert below[near] == pytest.approx(5, abs=0.3)
    known = below[np.isfinite(below)]
    assert known.min() >= 0 and 90 < known.max() <= 100
    assert surfaces.rasters[f"{THICK}_below_10cm"].unit == "%"
    with rasterio.open(context.output / surfaces.rasters[f"{THICK}_below_10cm"].path) as raster:
        assert raster.units == ("%",), "whoever opens the GeoTIFF alone is told too"


def test_limits_in_the_attributes_own_unit_give_chances_of_less_and_of_more(invented, map_it):
    points = invented.scattered(40)
    clay, thick = invented.definition("clay_0_30", "average", unit="%", can_be_absent=False), invented.definition(THICK)
    values = invented.measured(np.clip(40 + 8 * invented.field(points), 0, 100))
    made = invented.products(points, {"clay_0_30": values, THICK: values}, [clay, thick])
    surfaces, context = map_it(made, {
        "more_than_cm": (35,), "for": {"clay_0_30": {"more_than": [40, 27.5], "less_than": [40]}, THICK: {"more_than": [30]}},
    })  # fmt: skip
    by_name = {surface.attribute: surface for surface in surfaces.surfaces}
    assert by_name["clay_0_30"].above == {"27.5": "clay_0_30_above_27.5percent", "40": "clay_0_30_above_40percent"}
    assert by_name[THICK].above == {"30": f"{THICK}_above_30cm", "35": f"{THICK}_above_35cm"} and by_name[THICK].below == {}
    assert surfaces.rasters["clay_0_30_above_40percent"].title == "Clay 0 30: probability of more than 40 %"
    less, more = (read(surfaces, context, f"clay_0_30_{side}_40percent") for side in ("below", "above"))
    assert np.nanmax(np.abs(less + more - 100)) < 1e-4
    again = store.load(Surfaces, store.save(surfaces, context.output / ".products" / "surfaces"))
    assert again.surfaces == surfaces.surfaces


def test_progress_counts_blocks_to_the_end_whatever_is_refused(invented, make_context, a_record, monkeypatch):
    from geoprofile.progress import Progress
    from geoprofile.settings.surfaces import SurfacesSettings
    from geoprofile.surfaces.stage import map_surfaces

    monkeypatch.setattr("geoprofile.surfaces.writing.SIDE", 16)
    seen = []

    class Watching(Progress):
        def show(self, task):
            seen.append((task.done, task.total))

    points = invented.scattered(30)
    few = [*invented.measured(range(5)), *[(np.nan, np.nan, "unknown", "not_described")] * 25]
    names = (THICK, "solum_thickness")
    made = invented.products(points, dict(zip(names, (few, invented.measured(range(30))))), [invented.definition(name) for name in names])
    map_surfaces(*made, None, SurfacesSettings(), replace(make_context(cell_m=20, crs=invented.CRS), progress=Watching()), a_record())
    done, total = zip(*seen, strict=True)
    assert list(done) == sorted(done) and done[-1] == total[-1] and set(total) == {total[0]}
    assert len([step for step in np.diff(done) if step == 1]) > 3, "block by block"


def test_a_method_without_bounds_refuses_pits_that_say_at_least_and_the_rest_is_mapped(invented, map_it):
    points = invented.scattered(40)
    plain = invented.measured(invented.field(points) + 20)
    bounded = [*plain[:30], *[(60.0, np.nan, "at_least", "not_seen")] * 9, (np.nan, 5.0, "at_most", "present")]
    depth = invented.definition("depth_to_carbonates", "depth")
    made = invented.products(points, {"depth_to_carbonates": bounded, THICK: plain}, [depth, invented.definition(THICK)])
    surfaces, _ = map_it(made, {"method": "ordinary_kriging"})
    assert [surface.attribute for surface in surfaces.surfaces] == [THICK]
    (refusal,) = surfaces.refusals
    assert refusal.reason == (
        "10 of 40 pits say only a bound (9 at least, 1 at most), and ordinary kriging cannot use bounds"
    )
    assert refusal.remedy == "set method = 'bounded_kriging', which can"


def test_too_few_pits_are_a_plain_sentence_with_the_causes(invented, map_it):
    points = invented.scattered(9)
    values = [*invented.measured([11, 12, 13, 14, 15, 16]), *[(np.nan, np.nan, "unknown", "not_described")] * 3]
    surfaces, _ = map_it(invented.products(points, {THICK: values}, [invented.definition(THICK)]))
    assert surfaces.surfaces == () and surfaces.scores.empty
    assert surfaces.refusals[0].reason == (
        "6 usable pits are fewer than the 10 that a surface needs (left out: 3 not described)"
    )


def test_no_usable_pit_at_all_is_the_same_sentence(invented, map_it):
    values = [(np.nan, np.nan, "unknown", "not_described")] * 12
    surfaces, _ = map_it(invented.products(invented.scattered(12), {THICK: values}, [invented.definition(THICK)]))
    assert surfaces.refusals[0].reason.startswith("0 usable pits are fewer than the 10")


def test_asked_for_one_attribute_too_few_pits_are_an_error(invented, make_context):
    from geoprofile.settings.surfaces import SurfacesSettings
    from geoprofile.surfaces.ground import lay_ground
    from geoprofile.surfaces.one_surface import map_attribute

    thickness = invented.definition(THICK)
    pits, attributes = invented.products(invented.scattered(5), {THICK: invented.measured(range(5))}, [thickness])
    context = make_context(cell_m=20)
    with pytest.raises(TooLittleData, match="5 usable pits"):
        map_attribute(thickness, attributes, lay_ground(pits, attributes, None, context), SurfacesSettings(), context)


def test_noise_is_shown_as_the_mean_with_its_spread_and_said_to_be_no_pattern(invented, map_it):
    """K2"""
    points = invented.scattered(50)
    values = np.random.default_rng(8).normal(20, 4, 50)
    surfaces, context = map_it(invented.products(points, {THICK: invented.measured(values)}, [invented.definition(THICK)]))
    (surface,) = surfaces.surfaces
    assert any("no spatial structure was found in 50 pits" in note for note in surface.notes)
    estimate = read(surfaces, context, surface.estimate)
    assert np.nanmin(estimate) == np.nanmax(estimate) == pytest.approx(values.mean(), abs=1e-5)
    assert surface.model == "mean 19.3 cm, standard deviation 4.48 cm, 50 pits"


def test_pits_that_all_say_nothing_thick_are_a_constant(invented, map_it):
    """K3"""
    values = [(0, 0, "absent", "absent")] * 15
    surfaces, context = map_it(invented.products(invented.scattered(15), {THICK: values}, [invented.definition(THICK)]))
    (surface,) = surfaces.surfaces
    assert np.nanmax(read(surfaces, context, surface.high90)) == 0 and surface.presence == ""
    assert any("all 15 pits have the same value, 0 cm" in note for note in surface.notes)


def test_thickness_never_ends_below_zero_and_the_clipped_cells_are_counted(invented, map_it):
    """K6: a gaussian model without much nugget overshoots between zeros and large values."""
    points = invented.ORIGIN + np.array([[x, y] for x in range(0, 400, 40) for y in range(0, 400, 40)], float)
    values = np.where(points[:, 0] < invented.ORIGIN[0] + 180, 0.0, 30.0)
    made = invented.products(points, {THICK: invented.measured(values)}, [invented.definition(THICK)])
    surfaces, context = map_it(made, {"model": "gaussian"}, cell_m=10)
    (surface,) = surfaces.surfaces
    assert np.nanmin(read(surfaces, context, surface.estimate)) == 0
    assert np.nanmin(read(surfaces, context, surface.low90)) == 0
    (note,) = [note for note in surface.notes if "impossible estimates" in note]
    assert int(note.split()[0]) > 0 and "the largest change was" in note


def test_a_depth_is_not_drawn_where_its_feature_is_hardly_there(invented, map_it):
    points = invented.scattered(100)
    east = points[:, 0] - invented.ORIGIN[0] > 400
    here = invented.field(points, model=("spherical", 2, 30, 400), mean=30)
    values = [
        (np.nan, np.nan, "absent", "absent") if there else (float(value), float(value), "measured", "present")
        for there, value in zip(east, here)
    ]
    depth = invented.definition("depth_to_bt", "depth")
    surfaces, context = map_it(invented.products(points, {"depth_to_bt": values}, [depth]))
    (surface,) = surfaces.surfaces
    presence, reach = read(surfaces, context, surface.presence), read(surfaces, context, surface.reliability)
    x, _ = np.meshgrid(*surfaces.grid.centres())
    assert np.nanmin(presence) >= 0 and np.nanmax(presence) <= 100
    assert np.nanmean(presence[x > invented.ORIGIN[0] + 550]) < 20 < 80 < np.nanmean(presence[x < invented.ORIGIN[0] + 250])
    assert (reach == 5).any() and surfaces.rasters[surface.reliability].legend[5] == "feature probably absent"
    assert np.isnan(read(surfaces, context, surface.estimate)[reach == 5]).all()
    scored = surfaces.scores[surfaces.scores["measure"] == "Brier score"].iloc[0]
    assert scored["method"] == "indicator_kriging" and scored["value"] < 0.15
    assert any(f"{int((~east).sum())} pits say present, {int(east.sum())} say absent" in note for note in surface.notes)


def test_a_refused_depth_still_tells_where_its_feature_is_likely(invented, map_it):
    """Too few values stop the depth surface, not the question whether the feature is there at all."""
    points = invented.scattered(80)
    east = points[:, 0] - invented.ORIGIN[0] > 400
    there = (60.0, np.nan, "at_least", "present")
    values = [(np.nan, np.nan, "absent", "absent") if away else there for away in east]
    depth = invented.definition("depth_to_bt", "depth")
    surfaces, context = map_it(invented.products(points, {"depth_to_bt": values}, [depth]))
    assert surfaces.surfaces == () and len(surfaces.refusals) == 1
    (surface,) = surfaces.presences
    assert surface.estimate == "" and surface.method == "indicator_kriging" and surfaces.rasters[surface.presence].unit == "%"
    presence = read(surfaces, context, surface.presence)
    x, _ = np.meshgrid(*surfaces.grid.centres())
    assert np.nanmean(presence[x > invented.ORIGIN[0] + 550]) < 20 < 80 < np.nanmean(presence[x < invented.ORIGIN[0] + 250])
    assert surface.score.startswith("by location: Brier score 0.") and "of 80 pits" in surface.score
    assert surface.notes[0].startswith("presence by indicator kriging: ")
    again = store.load(Surfaces, store.save(surfaces, context.output / ".products" / "surfaces"))
    assert again.presences == surfaces.presences


def test_presence_follows_the_drift_of_its_attribute(invented, map_it):
    """No Bt on ground more than 1 m above its surroundings: the probability falls there, between the pits too."""
    grid = Grid(invented.CRS, *(invented.ORIGIN + [-50, 850]), 10, 90, 90)
    points = invented.scattered(80)

    def high(x, y):
        return 3 * np.sin((x - 500_000) / 60) * np.cos((y - 5_500_000) / 60)

    values = [
        (np.nan, np.nan, "absent", "absent") if up > 1 else (60.0, np.nan, "at_least", "present")
        for up in high(points[:, 0], points[:, 1])
    ]
    depth = invented.definition("depth_to_bt", "depth")
    surfaces, context = map_it(
        invented.products(points, {"depth_to_bt": values}, [depth]), {"drift": ("relative_elevation",)},
        terrain=lambda context: invented.terrain(context, grid, relative_elevation=high),
    )  # fmt: skip
    presence = read(surfaces, context, surfaces.presences[0].presence)
    up = high(*np.meshgrid(*grid.centres()))
    assert np.nanmean(presence[up > 2]) < 30 and np.nanmean(presence[up < -1]) > 90
    assert "its drift" in surfaces.presences[0].model


def halves(context, use, invented):
    """West 'till' and east 'sand', meeting at 400 m; a strip further east has no pits."""
    west, south = invented.ORIGIN - 200
    frame = gpd.GeoDataFrame(
        {"material": ["till", "sand", "clay"]},
        geometry=[
            shapely.box(west, south, west + 600, south + 1300),
            shapely.box(west + 600, south, west + 1050, south + 1300),
            shapely.box(west + 1050, south, west + 1300, south + 1300),
        ],
        crs=invented.CRS,
    )
    frame.to_file(context / "lines.gpkg")
    return {"file": "lines.gpkg", "id": "material", "use": use}


@pytest.mark.parametrize("use", ["split", "stop"])
@pytest.mark.parametrize("method", ["ordinary_kriging", "inverse_distance", "nearest", "mean"])
def test_no_pit_informs_a_cell_of_another_stratum(invented, map_it, tmp_path, use, method):
    points = invented.scattered(70)
    values = invented.field(points, model=("exponential", 2, 30, 150), mean=40)
    strata = halves(tmp_path, use, invented)
    east = points[:, 0] > invented.ORIGIN[0] + 400
    maps = []
    for more in (0.0, 1000.0):
        thick = invented.definition(THICK)
        made = invented.products(points, {THICK: invented.measured(values + np.where(east, more, 0))}, [thick])
        surfaces, context = map_it(made, {"method": method, "show_unbacked": True}, strata=strata)
        maps.append(read(surfaces, context, surfaces.surfaces[0].estimate))
    x, _ = np.meshgrid(*surfaces.grid.centres())
    west_cells = (x < invented.ORIGIN[0] + 400) & np.isfinite(maps[0])
    assert west_cells.any()
    assert maps[1][west_cells] == pytest.approx(maps[0][west_cells], abs=1e-3)
    east_cells = (x > invented.ORIGIN[0] + 420) & np.isfinite(maps[0])
    assert (maps[1][east_cells] > 500).all()


def test_a_stratum_without_enough_pits_is_masked_and_named(invented, map_it, tmp_path):
    points = invented.scattered(70)
    made = invented.products(points, {THICK: invented.measured(invented.field(points) + 9)}, [invented.definition(THICK)])
    surfaces, context = map_it(made, strata=halves(tmp_path, "split", invented))
    (surface,) = surfaces.surfaces
    reach = read(surfaces, context, surface.reliability)
    x, _ = np.meshgrid(*surfaces.grid.centres())
    clay = x > invented.ORIGIN[0] + 850
    assert set(np.unique(reach[clay])) <= {0, 3} and (reach[clay] == 3).any()
    assert "stratum clay is not mapped: 0 pits" in surface.notes
    assert surface.model.startswith("till: ") and " | sand: " in surface.model
    assert surface.parameters["by_stratum"] and set(surface.parameters["strata"]) == {"till", "sand"}
    assert "3 strata: each is mapped from its own pits" in surfaces.notes


def test_the_map_ends_at_the_survey_area(invented, made, map_it, tmp_path):
    west, south = invented.ORIGIN
    box = shapely.box(west + 100, south + 100, west + 700, south + 500)
    gpd.GeoDataFrame(geometry=[box], crs=invented.CRS).to_file(tmp_path / "area.gpkg")
    surfaces, context = map_it(made, area="area.gpkg")
    (surface,) = surfaces.surfaces
    assert surfaces.grid.bounds == box.bounds
    assert surface.pits_used < 60
    assert any("outside the survey area" in note for note in surface.notes)


def knoll(x, y):
    """A knoll higher than anything at the pits."""
    return (np.abs(x - 500_400) < 30) & (np.abs(y - 5_500_400) < 30)


def test_a_drift_on_terrain_comes_from_one_lattice_and_unseen_terrain_is_marked(invented, map_it):
    """K14, K11"""
    grid = Grid(invented.CRS, *(invented.ORIGIN + [-100, 900]), 10, 100, 110)
    points = invented.scattered(60)
    points = points[~knoll(points[:, 0], points[:, 1])]

    def hills(x, y):
        return 5 * np.sin((x - 500_000) / 90)

    def terrain(context):
        return invented.terrain(
            context, grid, elevation=lambda x, y: np.where(y > 5_500_700, np.nan, 300.0),
            relative_elevation=lambda x, y: hills(x, y) + 40.0 * knoll(x, y),
        )  # fmt: skip

    values = 30 + 2 * hills(points[:, 0], points[:, 1]) + np.random.default_rng(1).normal(0, 0.5, len(points))
    made = invented.products(points, {THICK: invented.measured(values)}, [invented.definition(THICK)])
    surfaces, context = map_it(made, {"drift": ("relative_elevation",)}, terrain=terrain)
    (surface,) = surfaces.surfaces
    assert surfaces.grid == grid and surface.method == "bounded_kriging"
    assert surface.parameters["drift"] == ["relative_elevation"]
    x, y = np.meshgrid(*grid.centres())
    estimate, reach = read(surfaces, context, surface.estimate), read(surfaces, context, surface.reliability)
    shown = np.isfinite(estimate)
    assert np.abs(estimate - 30 - 2 * hills(x, y))[shown].max() < 2.5
    assert (reach[y > 5_500_700] == 0).all(), "no terrain, no map"
    assert (reach[knoll(x, y)] == 4).all() and np.isnan(estimate[knoll(x, y)]).all()


def test_unknown_names_are_mistakes_with_the_nearest_name_all_at_once(made, map_it):
    with pytest.raises(SettingsError) as caught:
        map_it(made, {"use": ("a_e_thicknes",), "for": {"bt": {"power": 2}}})
    assert "a_e_thickness" in caught.value.remedy and len(caught.value.others) == 1
    with pytest.raises(PluginError, match="no method called 'krigging'"):
        map_it(made, {"method": "krigging"})
    with pytest.raises(SettingsError, match="needs drift"):
        map_it(made, {"method": "drift_kriging"})


def test_settings_for_one_attribute_override_those_for_all(invented, map_it):
    points = invented.scattered(40)
    plain = invented.measured(invented.field(points) + 20)
    made = invented.products(points, {THICK: plain, "solum_thickness": plain}, [invented.definition(THICK), invented.definition("solum_thickness")])  # fmt: skip
    surfaces, _ = map_it(made, {"method": "nearest", "for": {THICK: {"method": "mean", "less_than_cm": [5]}}})
    by_name = {surface.attribute: surface for surface in surfaces.surfaces}
    assert (by_name[THICK].method, by_name["solum_thickness"].method) == ("mean", "nearest")
    assert list(by_name[THICK].below) == ["5"] and by_name["solum_thickness"].below == {}


def test_shares_are_written_as_percent_and_stay_between_0_and_100(invented, map_it):
    points = invented.scattered(40)
    clay = invented.definition("clay_0_30", "average", unit="%", can_be_absent=False)
    values = np.clip(50 + 60 * invented.field(points), 0, 100)
    made = invented.products(points, {"clay_0_30": invented.measured(values)}, [clay])
    surfaces, context = map_it(made, {"less_than_cm": (10,)})
    (surface,) = surfaces.surfaces
    assert surface.estimate == "clay_0_30_estimate_percent" and surface.below == {}
    assert np.nanmax(read(surfaces, context, surface.high90)) <= 100


def test_a_class_is_not_averaged_as_a_number(invented, map_it):
    """K20"""
    drainage = invented.definition("drainage", "class", unit="")
    made = invented.products(invented.scattered(15), {"drainage": invented.measured([1, 2, 3] * 5)}, [drainage])
    surfaces, _ = map_it(made)
    assert surfaces.refusals[0].reason == "drainage is a class, and classes are not averaged as numbers"


def test_a_roughly_located_pit_is_listed_as_a_problem(invented, map_it):
    points = invented.scattered(15)
    accuracy = [400.0, *[3.0] * 14]
    made = invented.products(points, {THICK: invented.measured(range(15))}, [invented.definition(THICK)], position_accuracy_m=accuracy)  # fmt: skip
    surfaces, _ = map_it(made)
    assert list(surfaces.problems["pit_id"]) == ["P001"] and list(surfaces.problems["found"]) == ["400 m"]
    assert "P001" not in set(surfaces.points["pit_id"])


def test_points_carry_what_was_observed_and_what_the_others_predict(made, map_it):
    surfaces, _ = map_it(made)
    points = surfaces.points
    assert len(points) == 60 and (points["low"] == points["high"]).all()
    loo = surfaces.scores.query("validation == 'leave-one-out' and measure == 'root mean square error'")["value"].iloc[0]
    assert np.sqrt(np.mean((points["predicted"] - points["low"]) ** 2)) == pytest.approx(loo)


def test_a_cancelled_run_stops(made, map_it, make_context, a_record):
    from geoprofile.settings.surfaces import SurfacesSettings
    from geoprofile.surfaces.stage import map_surfaces

    context = make_context(cell_m=20)
    context.progress.cancel()
    with pytest.raises(Cancelled):
        map_surfaces(*made, None, SurfacesSettings(), context, a_record())
    assert not (context.output / "surfaces").exists()


@pytest.mark.parametrize("bounded", [False, True])
def test_K18_pits_are_limited_by_distance_and_number_and_too_few_give_no_value(invented, map_it, bounded):
    points = invented.scattered(60)
    points[:, 0] = np.where(points[:, 0] > invented.ORIGIN[0] + 600, points[:, 0] - 600, points[:, 0])  # none in the east
    points = np.vstack([points, invented.ORIGIN + [780.0, 400.0]])  # but one
    values = invented.measured(np.maximum(invented.field(points, model=("spherical", 2, 30, 400), mean=20), 1))
    if bounded:
        values[:10] = [(low, np.inf, "at_least", "present") for low, *_ in values[:10]]
    made = invented.products(points, {THICK: values}, [invented.definition(THICK, can_be_absent=False)])
    surfaces, context = map_it(made, {"nearest_pits": 12, "pits_within_m": 150.0, "reach_m": 5000.0})
    (surface,) = surfaces.surfaces
    assert "from the nearest 12 pits within 150 m" in surface.model and "none where fewer than 3 are near" in surface.model
    estimate, reliability = (read(surfaces, context, key) for key in (surface.estimate, surface.reliability))
    row, column, _ = surfaces.grid.cells_of(*points[-1:].T)
    assert np.isnan(estimate[row, column]).all(), "one pit alone is too few"
    assert np.isfinite(estimate).any() and np.isnan(estimate).any()
    assert np.array_equal(np.isfinite(estimate), reliability == 1), "where there is no value the reason is told"
    far = map_it(made, {"reach_m": 5000.0})[0]
    assert np.isfinite(read(far, context, surface.estimate)).all(), "without a limit all pits speak everywhere"


def test_an_elevation_raster_of_another_place_is_refused_with_both_extents(invented, map_it):
    """T11: no pit on the raster is a mistake of the survey file, not a map without pits."""
    grid = Grid(invented.CRS, *(invented.ORIGIN + [50_000, 900]), 10, 20, 20)
    points = invented.scattered(30)
    made = invented.products(points, {THICK: invented.measured(np.arange(30.0))}, [invented.definition(THICK)])
    with pytest.raises(InputError, match="no pit lies on the elevation raster") as caught:
        map_it(made, {}, terrain=lambda context: invented.terrain(context, grid, elevation=lambda x, y: x * 0 + 300.0))
    assert "E" in caught.value.found and "EPSG" in caught.value.allowed


def test_pits_off_the_elevation_raster_are_told_with_how_far(invented, map_it):
    """One pit 100 km north of a raster of 1 km (R17); none is told where the raster covers all, or where there is none."""
    grid = Grid(invented.CRS, *(invented.ORIGIN + [-100, 900]), 20, 50, 50)
    inside = invented.scattered(15)
    values = {THICK: invented.measured(range(15))}

    def told(points, terrain):
        made = invented.products(points, values, [invented.definition(THICK)])
        problems = map_it(made, {"method": "inverse_distance"}, terrain=terrain)[0].problems
        return problems[problems["check"] == "off the elevation raster"]

    def level(context):
        return invented.terrain(context, grid, elevation=lambda x, y: x * 0 + 300.0)

    away = inside.copy()
    away[3, 1] += 100_000
    said = told(away, level)
    assert list(said["pit_id"]) == ["P004"] and list(said["severity"]) == ["warning"]
    assert "1 pit lies off the elevation raster" in said.iloc[0]["what"] and "up to 99" in said.iloc[0]["what"]
    assert told(inside, level).empty
