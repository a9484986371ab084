"""Real field tables, read from the open data beside the project: everything is read or listed."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from geoprofile.context import Context
from geoprofile.pits.stage import read_pits
from geoprofile.record import Record
from geoprofile.settings import load_survey

pytestmark = pytest.mark.shared
SURVEYS = Path(__file__).parent / "surveys"
SHARED = Path(__file__).resolve().parents[2].parent / "shared"


def read(name: str, data: Path, out: Path):
    """The survey file of that name, its paths starting at the folder of the data."""
    survey = load_survey(SURVEYS / f"{name}.toml")
    return read_pits(survey.pits, Context(survey.survey, survey.grid, data, out), Record("pits", {}))


@pytest.fixture(scope="module")
def american(tmp_path_factory):
    data = SHARED / "data" / "pits-us"
    if not data.is_dir():
        pytest.skip("the open data folder ../shared is not beside the project")
    return read("pits_us", data, tmp_path_factory.mktemp("out"))


TWICE = ("an older visit to this pit; it is set aside", "the same id again: the fuller description is used and this one is not")


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_the_ridge_workbook_is_read_as_it_is(shared, tmp_path):
    """doi 10.5281/zenodo.6791484: 36 pits, Bt in each, six restricting layers deeper than the auger (126 cm)."""
    pits = read("ridge_36", shared / "data" / "ridge-36", tmp_path)
    assert len(pits.pits) == 36 and pits.pits.geometry.notna().all()
    assert pits.pits["pit_id"].iloc[0] == "0\\Well3" and pits.pits["pit_id"].iloc[5] == "5"
    bt = pits.readings[pits.readings["attribute"] == "depth_to_bt"]
    assert len(bt) == 36 and (bt["status"] == "measured").all() and bt.set_index("pit_id")["low"]["0\\Well3"] == 39.2
    rock = pits.readings[pits.readings["attribute"] == "depth_to_rock"]
    bounded = rock[rock["status"] == "at_least"]
    assert len(rock) == 36 and len(bounded) == 6
    assert set(bounded["low"]) == {126.0} and bounded["high"].isna().all() and set(bounded["presence"]) == {"not_seen"}
    assert pits.problems.empty
    # all pits lie on the elevation raster: 317 x 344 cells of 9.24 m
    import rasterio

    with rasterio.open(shared / "data" / "ridge-36" / "1_3arcsec_arcproj_bilin.tif") as raster:
        heights = np.array([value[0] for value in raster.sample([(p.x, p.y) for p in pits.pits.geometry])])
    assert ((heights > 601) & (heights < 688)).all()


def test_none_as_text_is_absence_in_the_ridge_workbook_R7(shared, tmp_path):
    """Four pits say 'None' for the depth to a Ba: looked for and absent, not missing. Read here as another depth."""
    survey = load_survey(SURVEYS / "ridge_36.toml")
    pits_settings = survey.pits.model_validate({
        **survey.pits.model_dump(exclude={"columns"}),
        "columns": {"pits": {**survey.pits.columns.pits, "depth_to_discontinuity": "Depth to Ba (cm)"}},
    })  # fmt: skip
    pits = read_pits(pits_settings, Context(survey.survey, survey.grid, shared / "data" / "ridge-36", tmp_path), Record("pits", {}))
    ba = pits.readings[pits.readings["attribute"] == "depth_to_discontinuity"]
    assert (ba["status"] == "absent").sum() == 4 and (ba["presence"] == "absent").sum() == 4 and len(ba) == 36


def test_every_american_description_is_read_or_listed(american):
    data, pits = SHARED / "data" / "pits-us", american
    sites, horizons = rows_of(data / "sites.csv"), rows_of(data / "horizons.csv")
    assert (len(sites), len(horizons)) == (994, 4636)
    listed = pits.problems[(pits.problems["file"] == "sites.csv") & (pits.problems["severity"] == "error")]
    assert set(pits.pits["row"]) | set(listed["row"]) == set(range(2, 996))
    assert set(pits.pits["pit_id"]) == {row["pit_id"] for row in sites}  # no id is lost
    # an id that stands twice keeps one whole description, never a mixture of two, and the fuller one
    fuller = pits.problems[pits.problems["pit_id"] == "S2018WY029001"]
    assert list(pits.horizons[pits.horizons["pit_id"] == "S2018WY029001"]["designation"])[-1] == "Btk4"
    assert "4 horizons to 87 cm; used: row 824 with 8 horizons to 200 cm" in fuller[fuller["check"] == "repeated id"]["found"].iloc[0]
    rows = pits.horizons.groupby("pit_id")["row"]
    assert (rows.max() - rows.min() + 1 <= rows.count() + 8).all()
    used = set(pits.horizons["row"])
    assert pits.horizons["pit_id"].isin(set(pits.pits["pit_id"])).all()
    no_top = {number for number, row in enumerate(horizons, 2) if not row["upper_depth_cm"]}
    said = set(pits.problems[pits.problems["what"].str.contains("no upper depth")]["row"])
    assert no_top == said and not used & no_top


def test_american_sites_without_coordinates_are_kept_and_listed(american):
    pits = american
    nowhere = pits.pits[pits.pits.geometry.isna()]
    assert len(nowhere) == 15  # one of them is the undated, fuller description of an id whose dated rows have coordinates
    assert set(nowhere["pit_id"]) == set(pits.problems[pits.problems["check"] == "no place"]["pit_id"])


def test_american_depths_count_from_the_mineral_surface(american):
    """USDA counts downward from the top of O (Soil Survey Manual 2017): A horizons under O start at 0 here."""
    pits = american
    frame = pits.horizons.set_index("pit_id").loc["S2015AK240001"]  # Oe 0-5, A 5-16, Bw 16-30
    assert list(zip(frame["designation"][:3], frame["upper_cm"][:3], frame["lower_cm"][:3], strict=True)) == [
        ("Oe", -5, 0), ("A", 0, 11), ("Bw", 11, 25)]  # fmt: skip
    assert pits.pits.set_index("pit_id")["datum_shift_cm"]["S2015AK240001"] == -5
    assert any("counted down" in note for note in pits.notes)


def test_brazilian_tables_read_without_exception_and_their_faults_are_listed(shared, tmp_path):
    """7,300 sites, 21,125 layers; known faults: 350 missing depths, 33 inverted, 15 ids twice, 3 pits without site."""
    data = shared / "data" / "brazil"
    pits = read("brazil", data, tmp_path)
    problems = pits.problems
    assert any("semicolon between cells, decimal comma" in note for note in pits.notes)
    errors = problems[(problems["file"] == "observacao.csv") & (problems["severity"] == "error")]
    aside = problems[problems["check"] == "older visit"]
    assert len(set(pits.pits["row"]) | set(errors["row"]) | set(aside["row"])) == 7300
    assert pits.pits["pit_id"].is_unique and problems["what"].isin(TWICE).sum() == 15
    assert len(problems[problems["what"].str.contains("horizons of an id that the table of pits does not have")]) == 2
    assert not (pits.horizons["lower_cm"] <= pits.horizons["upper_cm"]).any()
    assert len(problems[problems["check"].isin(["inverted", "zero thickness"])]) >= 25
    clay = pits.horizons["clay_percent"].dropna()
    assert len(clay) > 5900 and clay.between(0, 100).all()
