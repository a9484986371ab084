"""One error tree: fields first, text rendered once, an exit code each."""

import pickle

import pytest

from geoprofile import errors


def test_an_error_says_what_where_found_allowed_and_what_to_do():
    error = errors.InputError("a depth is not a number", where="pits.csv, row 4", found="'deep'", allowed="cm", remedy="write 45")
    assert str(error).splitlines() == [
        "pits.csv, row 4: a depth is not a number",
        "  found:   'deep'",
        "  allowed: cm",
        "  do:      write 45",
    ]


def test_mistakes_found_together_are_told_together():
    error = errors.SettingsError("first", others=(errors.SettingsError("second"),))
    assert str(error) == "first\nsecond"
    assert error.as_dict()["others"][0]["what"] == "second"


@pytest.mark.parametrize(
    ("kind", "code"),
    [("GeoprofileError", 1), ("SettingsError", 2), ("InputError", 3), ("TooLittleData", 4), ("PluginError", 5), ("OutputError", 6)],
)
def test_each_kind_has_its_exit_code(kind, code):
    """C8: failures are told apart by the exit code."""
    assert getattr(errors, kind)("x").exit_code == code


def test_an_error_survives_the_way_between_processes():
    error = pickle.loads(pickle.dumps(errors.OutputError("no room", where="out", remedy="free some")))
    assert (type(error), error.what, error.where, error.remedy) == (errors.OutputError, "no room", "out", "free some")


def test_what_the_system_says_of_an_output_is_told_with_its_place_and_what_to_do():
    from geoprofile.errors import not_written

    said = {
        IsADirectoryError(21, "Is a directory"): "a folder stands where", NotADirectoryError(20, "Not a directory"): "a file stands where a folder",
        PermissionError(13, "Permission denied"): "may not be written", OSError(28, "No space left on device"): "no room",
        OSError(5, "Input/output error"): "could not be written",
    }  # fmt: skip
    for error, words in said.items():
        told = not_written(error, "out/map.html")
        assert words in told.what and told.where == "out/map.html" and told.found and told.remedy and told.exit_code == 6
        assert "Errno" not in str(told)


def test_commands_say_so_too_where_a_folder_or_a_file_is_in_the_way(make_context, tmp_path):
    from dataclasses import replace

    import geopandas as gpd
    import pytest

    from geoprofile.cli.composition import _write
    from geoprofile.errors import OutputError
    from geoprofile.outputs.next_pits import write_places

    places = gpd.GeoDataFrame({"name": ["N-01"], "gain": [1.0], "unit": ["cm"], "measure": ["doubt"]},
                              geometry=gpd.points_from_xy([500_000.0], [5_800_000.0]), crs="EPSG:3158")  # fmt: skip
    table, out = places.drop(columns="geometry"), tmp_path / "out"
    (out / "next_pits.gpkg").mkdir(parents=True)
    (out / "composition" / "composition.csv").mkdir(parents=True)
    (tmp_path / "file").write_text("mine")
    context = make_context()
    for write in (lambda: write_places(places, "", context), lambda: _write({"composition": table}, out)):
        with pytest.raises(OutputError, match="a folder stands where"):
            write()
    there = replace(context, output=tmp_path / "file")
    for write in (lambda: write_places(places, "", there), lambda: _write({}, tmp_path / "file")):
        with pytest.raises(OutputError, match="a file stands where"):
            write()
    assert sorted(path.name for path in out.iterdir()) == ["composition", "next_pits.gpkg"]


def test_tables_of_edited_polygons_replace_only_tables_of_ours(tmp_path):
    import pandas as pd
    import pytest

    from geoprofile.cli.composition import _write
    from geoprofile.errors import OutputError

    table = pd.DataFrame({"a": [1]})
    _write({"polygons": table}, tmp_path)
    _write({"polygons": table + 1}, tmp_path)
    (tmp_path / "composition" / "polygons.csv").write_text("MINE")
    with pytest.raises(OutputError, match="was changed since it was written"):
        _write({"polygons": table}, tmp_path)
    assert (tmp_path / "composition" / "polygons.csv").read_text() == "MINE"
