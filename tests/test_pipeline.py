"""The river: order, reuse by hash, and what is not asked for."""

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from geoprofile import pipeline, products
from geoprofile.errors import Cancelled, InputError, OutputError
from geoprofile.grid import Grid
from geoprofile.problems import Problem, problems_frame
from geoprofile.progress import Progress
from geoprofile.rasters import write_raster

SURVEY = """
format = 1
[survey]
name = "{name}"
crs = "EPSG:3158"
[pits]
horizons = {{ file = "h.csv" }}
same_place_m = {same}
"""


@pytest.fixture
def survey(tmp_path):
    """A survey whose stages are recorded instead of computed: calls, and a function that writes the survey file."""
    (tmp_path / "h.csv").write_text("pit_id,from,to\n")

    def write(name="x", same=2.0):
        (tmp_path / "survey.toml").write_text(SURVEY.format(name=name, same=same))
        return tmp_path / "survey.toml"

    write()
    return write


@pytest.fixture
def calls(monkeypatch):
    made = []

    def fake(stage):
        def function(*upstream, settings, context, record):
            made.append(stage.name)
            context.progress.check()
            empty = gpd.GeoDataFrame(geometry=[], crs="EPSG:3158")
            problems = problems_frame([Problem("note", "made", f"{stage.name} was made")])
            if stage.name == "pits":
                return products.Pits(record, empty, pd.DataFrame(), pd.DataFrame(), problems)
            if stage.name == "attributes":
                assert isinstance(upstream[0], products.Pits)
                return products.Attributes(record, empty, pd.DataFrame(), (), problems)
            if stage.name == "soil_names":
                return products.SoilNames(record, pd.DataFrame(), pd.DataFrame(), problems)
            assert upstream[2:] == (None, None), "what is not asked for arrives as None"
            return products.Zones(record, empty, {}, problems)

        return function

    monkeypatch.setattr(pipeline.Stage, "load", fake)
    return made


def test_a_second_run_reuses_everything(survey, calls):
    pipeline.run_survey(survey(), until="zones")
    again = pipeline.run_survey(survey(), until="zones")
    assert calls == ["pits", "attributes", "zones"]
    assert again.reused == ["pits", "attributes", "zones"]
    assert set(again.skipped) == {"terrain", "surfaces"}


def test_a_changed_setting_reruns_its_stage_and_what_follows(survey, calls):
    pipeline.run_survey(survey(), until="attributes")
    run = pipeline.run_survey(survey(same=5.0), until="attributes")
    assert calls == ["pits", "attributes"] * 2 and run.reused == []


def test_a_changed_file_reruns_but_a_changed_name_does_not(survey, calls, tmp_path):
    pipeline.run_survey(survey(), until="attributes")
    assert pipeline.run_survey(survey(name="y"), until="attributes").reused == ["pits", "attributes"]
    (tmp_path / "h.csv").write_text("pit_id,from,to\n1,0,10\n")
    assert pipeline.run_survey(survey(), until="attributes").reused == []


def test_again_reuses_nothing(survey, calls):
    pipeline.run_survey(survey(), until="pits")
    pipeline.run_survey(survey(), until="pits", again=True)
    assert calls == ["pits", "pits"]


def test_a_product_whose_folder_is_damaged_is_made_anew(survey, calls, tmp_path):
    """C6."""
    pipeline.run_survey(survey(), until="pits")
    (tmp_path / "out" / ".products" / "pits" / "product.json").write_text("{")
    pipeline.run_survey(survey(), until="pits")
    assert calls == ["pits", "pits"]


def test_a_product_with_a_truncated_table_is_made_anew_C6(survey, calls, tmp_path):
    pipeline.run_survey(survey(), until="pits")
    table = tmp_path / "out" / ".products" / "pits" / "horizons.parquet"
    table.write_bytes(table.read_bytes()[:10])
    assert pipeline.run_survey(survey(), until="pits").reused == [] and calls == ["pits", "pits"]


def test_a_folder_named_as_a_file_is_called_a_folder(tmp_path):
    with pytest.raises(InputError, match="names a folder here, not a file"):
        pipeline._digest(tmp_path, "pits.pits.file")


@pytest.mark.parametrize("suffix", [".shp", ".dbf", ".prj"])
def test_a_shapefile_is_another_when_any_of_its_files_changes(tmp_path, suffix):
    for one in (".shp", ".shx", ".dbf", ".prj"):
        (tmp_path / f"area{one}").write_text(one)
    before = pipeline._digest(tmp_path / "area.shp", "survey.area")
    (tmp_path / f"area{suffix}").write_text("edited")
    assert pipeline._digest(tmp_path / "area.shp", "survey.area") != before


def test_a_raster_that_is_no_longer_made_does_not_stay_beside_the_new_ones(survey, monkeypatch, tmp_path):
    grid = Grid("EPSG:3158", 0.0, 0.0, 5.0, 4, 4)
    wanted = ["slope", "aspect"]

    def terrain(*upstream, settings, context, record):
        made = {
            name: write_raster(context.output, f"terrain/{name}.tif", np.ones(grid.shape), grid, name=name, title=name, unit="")
            for name in wanted
        }
        return products.Terrain(record, grid, made, problems_frame([]))

    monkeypatch.setattr(pipeline.Stage, "load", lambda stage: terrain)
    path = survey()
    path.write_text(path.read_text() + '[terrain]\nelevation = "h.csv"\n')
    pipeline.run_survey(path, until="terrain")
    (tmp_path / "out" / "terrain" / "by_hand.tif").write_text("the user's own")
    wanted.remove("aspect")
    pipeline.run_survey(path, until="terrain", again=True)
    assert sorted(one.name for one in (tmp_path / "out" / "terrain").iterdir()) == ["by_hand.tif", "slope.tif"]


def _publishing(monkeypatch, wanted):
    """A publish stage that writes ``wanted`` (path -> text) and lists it."""
    from geoprofile.outputs import stage
    from geoprofile.outputs.placing import write_file

    def publish(bundle, record):
        files = tuple(write_file(bundle.context, path, text.encode(), path) for path, text in wanted.items())
        return products.Outputs(record, files)

    monkeypatch.setattr(stage, "publish", publish)


def test_a_table_that_is_no_longer_made_does_not_stay_beside_the_new_ones(survey, calls, monkeypatch, tmp_path):
    wanted = {"tables/pits.csv": "1", "tables/salvage.csv": "2", "tables/parcels.csv": "3"}
    _publishing(monkeypatch, wanted)
    pipeline.run_survey(survey())
    (tmp_path / "out/tables/mine.csv").write_text("MINE")
    (tmp_path / "out/tables/parcels.csv").write_text("3, with remarks")
    wanted = {"tables/pits.csv": "new"}
    _publishing(monkeypatch, wanted)
    pipeline.run_survey(survey(), again=True)
    assert sorted(path.name for path in (tmp_path / "out/tables").iterdir()) == ["mine.csv", "parcels.csv", "pits.csv"]


def test_a_run_killed_between_two_files_goes_on(survey, calls, monkeypatch, tmp_path):
    """The first file is already the new one, the list of files is still that of the run before."""
    _publishing(monkeypatch, {"record.json": "1", "tables/pits.csv": "1"})
    pipeline.run_survey(survey())
    _publishing(monkeypatch, {"record.json": "2", "..": ""})
    with pytest.raises(OutputError):
        pipeline.run_survey(survey(), again=True)
    assert (tmp_path / "out/record.json").read_text() == "2"
    _publishing(monkeypatch, {"record.json": "3", "tables/pits.csv": "3"})
    pipeline.run_survey(survey(), again=True)
    assert (tmp_path / "out/record.json").read_text() == "3"


def test_a_changed_table_is_refused_before_the_work(survey, calls, monkeypatch, tmp_path):
    _publishing(monkeypatch, {"tables/pits.csv": "1"})
    pipeline.run_survey(survey())
    (tmp_path / "out/tables/pits.csv").write_text("1, with remarks")
    calls.clear()
    with pytest.raises(OutputError, match="was changed since it was written"):
        pipeline.run_survey(survey(), again=True)
    assert calls == [] and (tmp_path / "out/tables/pits.csv").read_text() == "1, with remarks"


def test_an_input_is_never_written_onto(survey, calls, tmp_path):
    path = survey()
    (tmp_path / "tables").mkdir()
    (tmp_path / "h.csv").rename(tmp_path / "tables" / "horizons.csv")
    path.write_text(path.read_text().replace("h.csv", "tables/horizons.csv"))
    with pytest.raises(OutputError, match="an input lies where this run writes"):
        pipeline.run_survey(path, output=tmp_path)
    assert calls == [] and (tmp_path / "tables" / "horizons.csv").read_text() == "pit_id,from,to\n"


def test_a_cancelled_run_keeps_what_was_finished_and_no_more(survey, calls, tmp_path):
    progress = Progress()
    run = pipeline.run_survey(survey(), until="pits", progress=progress)
    assert run.products["pits"]
    progress.cancel()
    with pytest.raises(Cancelled):
        pipeline.run_survey(survey(), until="attributes", progress=progress)
    assert sorted(path.name for path in (tmp_path / "out" / ".products").iterdir()) == ["pits"]


def test_problems_of_all_stages_come_as_one_table(survey, calls):
    run = pipeline.run_survey(survey(), until="attributes")
    assert run.problems[["stage", "check"]].values.tolist() == [["pits", "made"], ["attributes", "made"]]


def test_a_named_file_that_is_missing_is_told_by_its_key(survey, calls, tmp_path):
    path = survey()
    (tmp_path / "h.csv").unlink()
    with pytest.raises(InputError) as caught:
        pipeline.run_survey(path)
    assert caught.value.where == "pits.horizons.file"


@pytest.mark.parametrize("crs", ["EPSG:4326", "EPSG:2263", "nonsense"])
def test_a_system_in_degrees_or_feet_is_refused(survey, calls, crs):
    """K12, Z11: distances and areas need metres."""
    path = survey()
    path.write_text(path.read_text().replace("EPSG:3158", crs))
    with pytest.raises(InputError, match="coordinate system"):
        pipeline.run_survey(path, until="pits")
