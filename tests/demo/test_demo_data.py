"""The invented survey: made the same each time, agreeing with published landscapes, every planted fault found on reading."""

from __future__ import annotations

import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import openpyxl
import pandas as pd
import pytest
import rasterio

from geoprofile.context import Context
from geoprofile.settings import load_survey

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "demo_data"


@pytest.fixture(scope="module")
def maker():
    sys.path.insert(0, str(ROOT / "scripts"))
    try:
        import make_demo_data

        yield make_demo_data
    finally:
        sys.path.remove(str(ROOT / "scripts"))


@pytest.fixture(scope="module")
def made(maker, tmp_path_factory):
    """Everything invented, and the folder it was written to."""
    folder = tmp_path_factory.mktemp("demo é")  # C4: a folder with a space and an accent
    return maker.write(folder), folder


@pytest.fixture(scope="module")
def survey():
    return load_survey(DEMO)


@pytest.fixture(scope="module")
def pits(survey, tmp_path_factory):
    from geoprofile.pits.stage import read_pits
    from geoprofile.record import Record

    context = Context(survey.survey, survey.grid, DEMO, tmp_path_factory.mktemp("out"))
    return read_pits(survey.pits, context, Record("pits", {}))


# the files


def test_the_folder_holds_what_is_made_now_and_nothing_else(made):
    _, folder = made
    picture = {"map.png", "bounds.png"}  # the README's, made from a run by scripts/make_map_picture.py
    kept = {file.name for file in DEMO.iterdir() if file.is_file()}
    assert {file.name for file in folder.iterdir()} == kept - picture


@pytest.mark.parametrize("name", ["survey.toml", "ABOUT.md", "waypoints.gpx", "inspections.csv"])
def test_text_files_are_the_same_bytes(made, name):
    assert (made[1] / name).read_bytes() == (DEMO / name).read_bytes()


def test_the_workbook_holds_the_same_cells(made):
    def cells(folder):
        book = openpyxl.load_workbook(folder / "pits.xlsx", read_only=True)
        return {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in book}

    assert cells(made[1]) == cells(DEMO)


def test_the_elevation_is_the_same_and_says_metres(made):
    arrays = []
    for folder in (made[1], DEMO):
        with rasterio.open(folder / "elevation.tif") as source:
            arrays.append(source.read(1))
            assert source.units == ("m",) and source.crs.to_epsg() == 3158 and source.res == (5.0, 5.0)
    assert np.array_equal(*arrays)


@pytest.mark.parametrize("name", ["boundary", "lines", "parcels", "disturbance", "route"])
def test_layers_are_the_same_features(made, name):
    import pyogrio

    for layer in pyogrio.list_layers(DEMO / f"{name}.gpkg")[:, 0]:
        one, other = (gpd.read_file(folder / f"{name}.gpkg", layer=layer) for folder in (made[1], DEMO))
        assert one.equals(other) and one.crs.to_epsg() == 3158


def test_made_twice_gives_the_same_bytes(maker, made, tmp_path):
    again = tmp_path / "again"
    maker.write(again, made[0])
    for file in again.iterdir():
        assert file.read_bytes() == (made[1] / file.name).read_bytes(), file.name


def test_it_is_small_enough_for_a_repository_and_says_that_it_is_invented():
    assert sum(file.stat().st_size for file in DEMO.iterdir() if file.is_file()) < 1_500_000
    assert "everything here is invented" in (DEMO / "ABOUT.md").read_text(encoding="utf-8")
    assert "(invented)" in load_survey(DEMO).survey.name


def test_it_lies_in_the_middle_of_a_large_lake():
    """Lake Winnipeg, whose north basin reaches from 51.9 to 53.8 N and here from about 97.3 to 98.6 W (from memory)."""
    west, south, east, north = gpd.read_file(DEMO / "boundary.gpkg").to_crs("EPSG:4326").total_bounds
    assert -98.2 < west < east < -97.8 and 52.5 < south < north < 52.7


# the areas of the scenario, ha


def test_areas_are_those_of_the_scenario():
    def hectares(file, layer=None):
        return gpd.read_file(DEMO / file, layer=layer).area / 10_000

    assert hectares("boundary.gpkg").sum() == pytest.approx(150)
    assert hectares("lines.gpkg", "parent_material").tolist() == pytest.approx([142, 8], abs=0.01)
    assert hectares("lines.gpkg", "land_use").tolist() == pytest.approx([120, 30], abs=0.01)
    assert hectares("parcels.gpkg").tolist() == pytest.approx([37.5] * 4)
    assert hectares("disturbance.gpkg").sum() == pytest.approx(12, abs=0.01)
    assert not gpd.read_file(DEMO / "disturbance.gpkg").geometry.union_all().area < 119_000  # polygons do not overlap
    assert gpd.read_file(DEMO / "route.gpkg").geom_type.tolist() == ["LineString"]


# the landscape


def test_landform_elements_take_the_shares_of_the_scenario(made):
    from demo_survey.ground import cultivated_shares
    from demo_survey.profiles import LANDSCAPE

    for name, share in cultivated_shares(made[0].ground).items():
        assert share == pytest.approx(LANDSCAPE["cultivated"][name]["share"], abs=0.045), name


def test_relief_and_slopes_are_those_of_hummocky_ground(made):
    """Scenario: slopes 4 to 12 %, relief 4 to 9 m. Relief is taken over 80 m, about from a knoll to its slough."""
    from scipy.ndimage import maximum_filter, minimum_filter

    ground = made[0].ground
    relief = maximum_filter(ground.elevation, 17) - minimum_filter(ground.elevation, 17)
    low, middle, high = np.quantile(relief, [0.05, 0.5, 0.85])
    assert low == pytest.approx(4, abs=0.5) and 6 < middle < 8 and high == pytest.approx(9, abs=0.5)
    low, middle, high = np.nanquantile(ground.slope_percent, [0.15, 0.5, 0.75])
    assert low == pytest.approx(4, abs=0.5) and 7 < middle < 9 and high == pytest.approx(12, abs=0.5)


def by_element(truth: pd.DataFrame, column: str) -> pd.DataFrame:
    return truth[~truth.bush].groupby("element")[column].agg(["mean", "var"])


def test_topsoil_of_the_cultivated_land_agrees_with_published_landscapes(made):
    """A and E together 18.6 cm, sd 8, about half of its variance between elements; Pennock & de Jong 1990: 15 to 18 cm."""
    from demo_survey.ground import cultivated_shares

    table = by_element(made[0].truth, "a_e")
    shares = pd.Series(cultivated_shares(made[0].ground))
    mean = (shares * table["mean"]).sum()
    between = (shares * (table["mean"] - mean) ** 2).sum()
    whole = between + (shares * table["var"]).sum()
    assert mean == pytest.approx(18.6, abs=1)
    assert np.sqrt(whole) == pytest.approx(8, abs=1)
    assert 0.4 < between / whole < 0.6
    assert table["mean"].idxmin() == "divergent_shoulder" and table["mean"].idxmax() == "convergent_footslope"


def test_lime_outside_the_sloughs_lies_at_38_cm_and_low_is_not_always_deep(made):
    """Pennock & de Jong 1990: 30 to 35 cm."""
    from demo_survey.ground import cultivated_shares

    table = by_element(made[0].truth, "lime")["mean"]
    shares = pd.Series(cultivated_shares(made[0].ground)).drop(["recharge_slough", "discharge_rim"])
    assert (shares * table[shares.index]).sum() / shares.sum() == pytest.approx(38, abs=3)
    assert table["recharge_slough"] > 70 and table["discharge_rim"] < 8


def test_hardly_any_bt_on_divergent_knolls(made):
    truth = made[0].truth
    knolls = truth[truth.element == "divergent_shoulder"]
    assert knolls[~knolls.bush]["bt"].isna().all()


# what reading finds


def ids(pits, check: str) -> set[str]:
    return set(pits.problems.loc[pits.problems["check"] == check, "pit_id"])


def test_every_pit_and_inspection_is_read(pits):
    """120 pits, one of them in two visits of which the later counts, and 60 inspections."""
    kinds = pits.pits["kind"].value_counts()
    assert len(pits.pits) == 180 and kinds["inspection"] == 60
    assert not (pits.problems["severity"] == "error").sum() > 1


def test_four_waypoints_have_no_description(pits, made):
    assert ids(pits, "no pit") == set(made[0].survey.planted["waypoint without description"])


def test_the_second_visit_is_used_and_the_first_listed(pits, made):
    (pit_id,) = made[0].survey.planted["visited twice"]
    assert pit_id in ids(pits, "older visit")
    assert pits.pits.set_index("pit_id").loc[pit_id, "date"] == "2025-07-02"


def test_three_pits_on_the_waypoint_of_the_truck_are_one_place(pits, made):
    three = made[0].survey.planted["on the waypoint of the truck"]
    assert pits.pits.set_index("pit_id").loc[three, "place_id"].nunique() == 1
    assert set(three) & ids(pits, "one place")


def test_the_pit_in_the_wrong_zone_lies_outside_the_area(pits, made):
    assert ids(pits, "outside the area") == set(made[0].survey.planted["wrong zone"])


def test_bush_pits_measured_from_the_top_of_the_forest_floor_are_shifted_and_named(pits, made):
    seven = made[0].survey.planted["measured from the top of LFH"]
    shift = pits.pits.set_index("pit_id")["datum_shift_cm"]
    assert set(shift[shift != 0].index) == set(seven) == ids(pits, "organic layers")
    mineral = pits.horizons[pits.horizons["pit_id"].isin(seven) & (pits.horizons["designation"] != "LFH")]
    assert (mineral.groupby("pit_id")["upper_cm"].min() == 0).all()


def test_gap_and_overlap_are_found_in_their_pits(pits, made):
    assert ids(pits, "gap") == set(made[0].survey.planted["gap"])
    assert ids(pits, "overlap") == set(made[0].survey.planted["overlap"])


def test_odd_designations_are_read_and_named(pits, made):
    said = " ".join(pits.problems.loc[pits.problems["check"] == "designation", "what"])
    assert "CK read as Ck" in said and "Btjn read as Bntj" in said


def test_the_crew_that_writes_every_ap_as_0_15_is_asked(pits):
    assert "crew 3" in " ".join(pits.problems.loc[pits.problems["check"] == "rounded depths", "what"])


def test_rock_without_a_rock_horizon_is_asked_about(pits, made):
    assert ids(pits, "rock") >= set(made[0].survey.planted["stones entered as rock"])


def test_depths_of_observation_are_as_planned(pits, made):
    frame = pits.pits.set_index("pit_id")
    planted = made[0].survey.planted
    assert (frame.loc[planted["augered to 60 only"], "observed_to_cm"] == 60).all()
    assert (frame.loc[planted["augered to 100 only"], "observed_to_cm"] == 100).all()
    untested = frame.loc[planted["no acid test"], "acid_to_cm"]
    assert (untested.isna() | (untested == 0)).all() and untested.isna().any() and (untested == 0).any()
    assert (frame.loc[planted["stripped yard"], "datum"] == "stripped ground").all()


def test_the_last_bt_closed_where_the_auger_ended_is_17_to_45(pits, made):
    (pit_id,) = made[0].survey.planted["last Bt closed where the auger ended"]
    last = pits.horizons[pits.horizons["pit_id"] == pit_id].iloc[-1]
    assert (last["designation"], last["upper_cm"], last["lower_cm"], bool(last["lower_is_end"])) == ("Bt", 17, 45, True)


def test_salts_are_told_by_two_extracts_half_and_half(pits):
    by_extract = pits.horizons[pits.horizons["ec_ds_m"].notna()].groupby("ec_extract")["pit_id"].nunique()
    assert abs(by_extract["paste"] - by_extract["1:2"]) <= 1
    assert set(pits.horizons.loc[pits.horizons["ec_ds_m"].notna(), "ec_extract"]) == {"paste", "1:2"}


def test_planted_horizons_arrive(pits, made):
    planted, horizons = made[0].survey.planted, pits.horizons
    buried = set(horizons.loc[horizons["designation"] == "Ahb", "pit_id"])
    assert buried >= set(planted["Ahb"])
    for pit_id in planted["Apk over Bm"]:
        mine = horizons[horizons["pit_id"] == pit_id].sort_values("order")
        assert mine["designation"].iloc[0] == "Apk" and mine["effervescence"].iloc[0] not in ("", "none")
        assert mine["effervescence"].iloc[1] == "none"


def test_three_probes_and_a_depth_to_lime_a_place(pits):
    counts = pits.readings.groupby("attribute").size()
    assert counts["topsoil_thickness"] == 180
    lime = pits.readings[pits.readings["attribute"] == "depth_to_carbonates"]
    assert 45 <= len(lime) <= 60 and {"measured", "at_least", "at_surface"} <= set(lime["status"])
