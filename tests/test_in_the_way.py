"""Before any work a run says what stands in its way: inputs it would write onto, files that are not ours."""

import pytest

from geoprofile.errors import OutputError
from geoprofile.in_the_way import refuse_what_is_in_the_way
from geoprofile.settings import SurveyFile

ALL = ["pits", "attributes", "terrain", "surfaces", "zones", "publish"]


def _ask(folder, output=".", stages=ALL, **sections):
    from geoprofile.context import Context

    settings = SurveyFile.model_validate({"format": 1, "survey": {"name": "x", "crs": "EPSG:3158"}, **sections})
    context = Context(settings.survey, settings.grid, folder.resolve(), (folder / output).resolve())
    refuse_what_is_in_the_way(settings, context, stages)


def _file(folder, path, text="MINE"):
    (folder / path).parent.mkdir(parents=True, exist_ok=True)
    (folder / path).write_text(text)


def test_a_raster_where_terrain_will_be_written_is_refused_as_input(tmp_path):
    _file(tmp_path, "terrain/elevation.tif")
    with pytest.raises(OutputError, match="an input lies where this run writes") as caught:
        _ask(tmp_path, terrain={"elevation": "terrain/elevation.tif"})
    assert "terrain.elevation" in caught.value.found and caught.value.where.endswith("terrain/elevation.tif")


def test_all_inputs_in_the_way_are_told_together(tmp_path):
    for path in ("tables/pits.csv", "tables/horizons.csv", "terrain/elevation.tif"):
        _file(tmp_path, path)
    with pytest.raises(OutputError) as caught:
        _ask(
            tmp_path, terrain={"elevation": "terrain/elevation.tif"},
            pits={"pits": {"file": "tables/pits.csv"}, "horizons": {"file": "tables/horizons.csv"}},
        )  # fmt: skip
    assert len(caught.value.others) == 2


def test_a_stage_that_writes_no_tables_minds_no_tables(tmp_path):
    _file(tmp_path, "tables/horizons.csv")
    _ask(tmp_path, stages=["pits"], pits={"horizons": {"file": "tables/horizons.csv"}})


def test_an_input_of_another_name_beside_the_outputs_is_left_alone(tmp_path):
    _file(tmp_path, "tables/my_notes.csv")
    _file(tmp_path, "terrain/lidar_2019.tif")
    _ask(tmp_path, pits={"horizons": {"file": "tables/my_notes.csv"}}, terrain={"elevation": "terrain/lidar_2019.tif"})


@pytest.mark.parametrize("name", ["slope", "aspect_sine", "slope_at_50m"])
def test_every_raster_that_terrain_derives_is_a_name_it_may_write(tmp_path, name):
    _file(tmp_path, f"terrain/{name}.tif")
    with pytest.raises(OutputError, match="an input lies"):
        _ask(tmp_path, stages=["terrain"], terrain={"elevation": f"terrain/{name}.tif", "derive": ["slope", "aspect"]})


def test_a_folder_of_outputs_that_leads_to_the_inputs_is_seen_through(tmp_path):
    _file(tmp_path, "data/horizons.csv")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "tables").symlink_to(tmp_path / "data", target_is_directory=True)
    with pytest.raises(OutputError, match="an input lies"):
        _ask(tmp_path, "out", pits={"horizons": {"file": "data/horizons.csv"}})


def test_a_name_that_leads_to_an_input_is_seen_through(tmp_path):
    _file(tmp_path, "dem.tif")
    (tmp_path / "out" / "terrain").mkdir(parents=True)
    (tmp_path / "out" / "terrain" / "elevation.tif").symlink_to(tmp_path / "dem.tif")
    with pytest.raises(OutputError, match="an input lies"):
        _ask(tmp_path, "out", terrain={"elevation": "dem.tif"})


def test_a_layer_drawn_in_survey_gpkg_may_be_an_input(tmp_path):
    """The user's layers in it come through whole."""
    _file(tmp_path, "out/survey.gpkg")
    _ask(tmp_path, "out", zones={"parcels": {"file": "out/survey.gpkg", "layer": "my_parcels"}})


@pytest.mark.parametrize("path", ["report.pdf", "map.html", "problems.csv", "record.json", "scores.csv", "tables/pits.csv"])
def test_a_foreign_file_is_refused_before_the_work(tmp_path, path):
    _file(tmp_path, f"out/{path}")
    with pytest.raises(OutputError, match="was not written by this program") as caught:
        _ask(tmp_path, "out")
    assert caught.value.where == str(tmp_path.resolve() / "out" / path)


def test_a_surface_of_the_users_is_refused_where_its_attribute_is_asked_for(tmp_path):
    _file(tmp_path, "out/surfaces/ah_thickness_estimate_cm.tif")
    _ask(tmp_path, "out")
    with pytest.raises(OutputError):
        _ask(tmp_path, "out", attributes={"use": ["ah_thickness"]})


def test_what_a_writer_left_out_would_write_is_not_in_the_way(tmp_path):
    _file(tmp_path, "out/report.pdf")
    _file(tmp_path, "out/tables/mine.csv")
    _file(tmp_path, "out/tables/salvage.csv")
    _ask(tmp_path, "out", publish={"writers": ["tables"]})
