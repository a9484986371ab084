"""The whole job on real data: 36 pits on one ridge in Virginia (doi 10.5281/zenodo.6791484), read from beside the project.

The workbook as it is, one elevation raster, one survey file. The data are copied to a
temporary folder for the run and never into the project.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from geoprofile.pipeline import Run, run_survey

pytestmark = pytest.mark.shared
ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT.parent / "shared" / "data" / "ridge-36"
WORKBOOK, RASTER = "PhysicalProperties_alldata.xlsx", "1_3arcsec_arcproj_bilin.tif"


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """The survey file beside the workbook and the raster."""
    if not DATA.is_dir():
        pytest.skip("the open data folder ../shared is not beside the project")
    folder = tmp_path_factory.mktemp("ridge") / "crête 36"
    folder.mkdir()
    for name in (WORKBOOK, RASTER):
        shutil.copyfile(DATA / name, folder / name)
    shutil.copyfile(ROOT / "tests" / "pits" / "surveys" / "ridge_36.toml", folder / "survey.toml")
    return folder


@pytest.fixture(scope="module")
def told(folder, tmp_path_factory) -> dict:
    """What ``geoprofile run --json`` says, and how long it took."""
    start = time.perf_counter()
    command = [sys.executable, "-m", "geoprofile", "run", str(folder), "--json"]
    done = subprocess.run(command, capture_output=True, text=True, cwd=tmp_path_factory.mktemp("elsewhere"))
    assert done.returncode == 0, done.stderr
    return {**json.loads(done.stdout), "seconds": time.perf_counter() - start}


@pytest.fixture(scope="module")
def run(folder, told) -> Run:
    """The products of that run, each one reused."""
    run = run_survey(folder)
    assert set(run.reused) == {"pits", "attributes", "soil_names", "terrain", "surfaces", "zones", "publish"}
    return run


@pytest.fixture(scope="module")
def written() -> pd.DataFrame:
    """The table as a spreadsheet shows it: rows that have an id."""
    if not DATA.is_dir():
        pytest.skip("the open data folder ../shared is not beside the project")
    table = pd.read_excel(DATA / WORKBOOK, sheet_name="PhysicalResults", dtype=object, engine="openpyxl")
    table = table[table["Soil Sample ID"].notna()]
    return table.assign(pit_id=table["Soil Sample ID"].astype(str)).set_index("pit_id")


def values_of(run: Run, attribute: str) -> pd.DataFrame:
    values = run.products["attributes"].values
    return values[values["attribute"] == attribute].set_index("pit_id")


def test_the_command_finishes_and_says_so(told, capsys):
    with capsys.disabled():
        print(f"\nridge-36, the whole run from a shell: {told['seconds']:.0f} s")
    assert told["ok"] and told["reused"] == []


def test_depth_to_bt_is_measured_in_every_pit_that_has_it(run, written):
    bt = values_of(run, "depth_to_bt")
    known = pd.to_numeric(written["Depth to Bt (cm)"], errors="coerce").dropna()
    assert len(run.products["pits"].pits) == len(written) == 36 and len(known) == 36
    assert (bt["status"] == "measured").all() and (bt["presence"] == "present").all()
    pd.testing.assert_series_equal(bt["low"], known[bt.index], check_names=False, check_dtype=False)
    assert (bt["low"] == bt["high"]).all()


def test_six_pits_end_above_the_restricting_layer_and_say_at_least_126_cm(run, written):
    """'>126' is the length of the auger, not a depth."""
    rock = values_of(run, "depth_to_rock")
    deeper = written.index[written["Depth to Restricting Layer (cm)"].astype(str).str.contains(">")]
    assert len(deeper) == 6 and set(rock.index[rock["status"] == "at_least"]) == set(deeper)
    assert (rock.loc[deeper, "low"] == 126).all() and rock.loc[deeper, "high"].isna().all()
    assert (rock.loc[deeper, "presence"] == "not_seen").all()
    assert (rock.drop(deeper)["status"] == "measured").all()


def test_the_surface_of_the_bt_comes_with_its_scores_whatever_they_are(run, capsys):
    (surface,) = run.products["surfaces"].surfaces
    assert surface.attribute == "depth_to_bt" and surface.pits_used == 36
    scores = run.products["surfaces"].scores
    assert {"by location", "leave-one-out"} <= set(scores["validation"]) and np.isfinite(scores["value"]).all()
    with capsys.disabled():
        print(f"\nridge-36, depth to the Bt: {surface.score}; {surface.model}")
    import rasterio

    layers = {}
    for key in (surface.estimate, surface.low90, surface.high90, surface.reliability):
        with rasterio.open(run.context.output / run.products["surfaces"].rasters[key].path) as raster:
            layers[key] = raster.read(1, masked=True)
    low, estimate, high = (layers[key] for key in (surface.low90, surface.estimate, surface.high90))
    assert estimate.count() > 36 and (low <= estimate).all() and (estimate <= high).all()
    assert 15 < estimate.mean() < 60, "the pits lie between 15.5 and 58.5 cm"


def test_a_depth_with_bounds_is_refused_in_a_plain_sentence_and_given_by_zone(run):
    (refusal,) = run.products["surfaces"].refusals
    assert refusal.attribute == "depth_to_rock"
    assert refusal.reason == "6 of 36 pits say only a bound (6 at least), and ordinary kriging cannot use bounds"
    table = run.products["zones"].tables["zone_attributes"]
    rock = table[table["attribute"] == "depth_to_rock"]
    assert rock["pits"].sum() == 36 and rock["at_least"].sum() == 6
    bounded = rock[rock["at_least"] > 0]
    assert bounded["mean_cm"].isna().all() and bounded["mean_high_cm"].isna().all(), "no plain mean of what is only bounded"


def test_zones_are_landform_elements_that_hold_every_pit_once(run):
    zones = run.products["zones"].zones
    assert zones.geometry.is_valid.all() and set(zones.geom_type) == {"MultiPolygon"}
    places = run.products["zones"].tables["pit_places"]
    assert places["pit_id"].is_unique and len(places) == 36 and places["zone_id"].notna().all()
    total = zones.geometry.union_all().area
    assert zones.geometry.area.sum() == pytest.approx(total, rel=1e-9), "no overlap"
    assert zones["area_ha"].sum() == pytest.approx(total / 10_000, rel=1e-4)


def test_every_output_is_there(run):
    output = run.context.output
    made = {file.path for file in run.products["publish"].files}
    assert {"survey.gpkg", "map.html", "report.pdf", "record.json", "problems.csv", "scores.csv", "tables/tables.xlsx",
            "tables/attributes.csv", "tables/zone_attributes.csv", "tables/refusals.csv"} <= made  # fmt: skip
    assert {"terrain/slope.tif", "terrain/wetness_index.tif", "surfaces/depth_to_bt_estimate_cm.tif"} <= made
    assert all((output / path).stat().st_size > 0 for path in made)
    assert (output / "report.pdf").read_bytes().startswith(b"%PDF-")
    page = (output / "map.html").read_text(encoding="utf-8")
    assert "0\\\\Well3" in page, "an id with a backslash stays itself"


def test_the_geopackage_opens_with_its_pits_and_zones(run):
    import pyogrio

    file = run.context.output / "survey.gpkg"
    layers = dict(pyogrio.list_layers(file))
    assert layers["pits"] == "Point" and layers["zones"] == "MultiPolygon"
    assert pyogrio.read_info(file, layer="pits")["features"] == 36
    pits = pyogrio.read_dataframe(file, layer="pits")
    assert {"0\\Well3", "5"} <= set(pits["pit_id"]) and pits.crs.to_epsg() == 6346


def test_slope_from_the_raster_against_slope_by_hand(folder, tmp_path, a_record, capsys):
    """Prints the comparison, whatever it shows; only what must hold is asserted."""
    import openpyxl
    from pyproj import Transformer

    from geoprofile.context import Context
    from geoprofile.settings.survey import GridSettings, SurveySettings
    from geoprofile.settings.terrain import TerrainSettings
    from geoprofile.terrain.sample import INSIDE, sample
    from geoprofile.terrain.stage import compute_terrain

    book = openpyxl.load_workbook(DATA / "MeasuredSpatialProperties.xlsx", read_only=True, data_only=True)
    rows = list(book["SpatialProps"].iter_rows(values_only=True))
    place = [rows[0].index(name) for name in ("Long", "Lat", "Slope [degrees] (Phone)")]
    rows = [[row[k] for k in place] for row in rows[1:]]
    longitude, latitude, by_hand = np.array([row for row in rows if all(isinstance(cell, (int, float)) for cell in row)]).T
    x, y = Transformer.from_crs("EPSG:4326", "EPSG:6346", always_xy=True).transform(longitude, latitude)
    lines = []
    for scale in (0, 25, 50):
        context = Context(SurveySettings(crs="EPSG:6346"), GridSettings(), folder, tmp_path / str(scale))
        settings = TerrainSettings(elevation=RASTER, elevation_unit="m", analysis_scale_m=scale, derive=("slope",))
        terrain = compute_terrain(settings, context, a_record("terrain"))
        found = sample(terrain, x, y, name="slope", output=context.output)
        assert (found.outcome == INSIDE).all() and np.isfinite(found.value).all()
        difference = found.value - by_hand
        lines.append(
            f"  analysis scale {scale:>2} m: mean difference {difference.mean():+.2f}, root mean square "
            f"{np.sqrt((difference**2).mean()):.2f} degrees, correlation {np.corrcoef(found.value, by_hand)[0, 1]:.2f}"
        )
    with capsys.disabled():
        print(f"\nridge-36, {len(by_hand)} pits, slope from 9.24 m cells against slope by hand (mean {by_hand.mean():.2f} degrees):")
        print("\n".join(lines))
    assert len(by_hand) >= 35
