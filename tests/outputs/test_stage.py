"""Publishing: all writers are tried, nothing leaves the output folder."""

from fnmatch import fnmatchcase

import pytest

from geoprofile.errors import Cancelled, OutputError, PluginError
from geoprofile.in_the_way import WRITTEN_BY
from geoprofile.outputs import stage
from geoprofile.outputs.placing import write_file
from geoprofile.products import OutputFile
from geoprofile.registry import Broken, Plugins
from geoprofile.written import NOTES


class Writer:
    what = "a file"

    def __init__(self, action):
        self.action = action

    def write(self, bundle):
        return self.action(bundle)


def install(monkeypatch, broken=(), **actions):
    found = Plugins(stage.GROUP, {name: Writer(action) for name, action in actions.items()}, tuple(broken))
    monkeypatch.setattr(stage, "plugins", lambda group: found)


def good(bundle):
    return (write_file(bundle.context, "good.txt", b"good", "a good file"),)


def test_a_writer_that_fails_is_named_after_the_others_were_tried(make_bundle, a_record, monkeypatch):
    def bad(bundle):
        raise ValueError("no ink")

    def worse(bundle):
        raise OutputError("the disk is full", where="somewhere")

    install(monkeypatch, a_bad=bad, b_worse=worse, c_good=good)
    bundle = make_bundle(only=True)
    with pytest.raises(OutputError) as caught:
        stage.publish(bundle, a_record())
    assert "'a_bad'" in str(caught.value) and "no ink" in str(caught.value)
    assert "'b_worse'" in str(caught.value) and "disk is full" in str(caught.value)
    assert caught.value.exit_code == 6
    assert (bundle.context.output / "good.txt").read_bytes() == b"good"


def test_only_the_writers_asked_for_run_and_the_rest_is_said(make_bundle, a_record, monkeypatch):
    install(monkeypatch, good=good, never=lambda bundle: pytest.fail("not asked for"))
    outputs = stage.publish(make_bundle(only=True, writers=("good",)), a_record())
    assert [file.path for file in outputs.files] == ["good.txt"]
    assert outputs.notes == ("not asked for: never",)


def test_a_writer_that_does_not_exist_is_refused_with_the_nearest_name(make_bundle, a_record):
    with pytest.raises(PluginError, match="geopackge") as caught:
        stage.publish(make_bundle(only=True, writers=("geopackge",)), a_record())
    assert "geopackage" in caught.value.remedy


def test_a_broken_writer_is_fenced_and_named(make_bundle, a_record, monkeypatch):
    install(monkeypatch, broken=[Broken(stage.GROUP, "theirs", "their.module", "ImportError: no")], good=good)
    assert "their.module" in stage.publish(make_bundle(only=True), a_record()).notes[0]


@pytest.mark.parametrize("path", ["../escaped.txt", "/tmp/escaped.txt"])
def test_a_file_outside_the_output_folder_is_an_error(make_bundle, a_record, monkeypatch, path):
    install(monkeypatch, escaping=lambda bundle: (OutputFile(path, "0" * 64, "x"),))
    with pytest.raises(OutputError, match="escaping"):
        stage.publish(make_bundle(only=True), a_record())


def test_a_file_that_is_not_as_it_was_said_to_be_is_an_error(make_bundle, a_record, monkeypatch):
    def lying(bundle):
        write_file(bundle.context, "lie.txt", b"one", "")
        return (OutputFile("lie.txt", "0" * 64, ""),)

    install(monkeypatch, lying=lying)
    with pytest.raises(OutputError, match="lying"):
        stage.publish(make_bundle(only=True), a_record())


def test_a_cancel_stops_at_once(make_bundle, a_record, monkeypatch):
    def cancelling(bundle):
        raise Cancelled("stopped")

    install(monkeypatch, a=cancelling, b=lambda bundle: pytest.fail("went on after the cancel"))
    with pytest.raises(Cancelled):
        stage.publish(make_bundle(only=True), a_record())


def test_all_our_writers_leave_whole_files_and_twice_gives_the_same_bytes(make_bundle, a_record):
    """C6, D6, G4: no temporary files stay, and nothing carries a clock."""
    bundle = make_bundle(writers=("geopackage", "tables", "record", "transects", "report"))
    first = stage.publish(bundle, a_record("publish"))
    assert stage.publish(bundle, a_record("publish")) == first
    paths = {file.path for file in first.files}
    assert {"survey.gpkg", "problems.csv", "scores.csv", "record.json", "report.pdf", "tables/tables.xlsx",
            "transects/longest_axis.svg", "terrain/elevation.tif"} <= paths  # fmt: skip
    left = {path.relative_to(bundle.context.output).as_posix() for path in bundle.context.output.rglob("*") if path.is_file()}
    assert left - {NOTES} == paths


def test_every_name_that_a_writer_of_ours_takes_is_known_before_the_work(make_bundle, a_record):
    """Else an input under that name would be told of only after hours."""
    bundle = make_bundle(writers=("tables", "record", "transects"))
    names = [name for writer in WRITTEN_BY.values() for name in writer]
    made = [file.path for file in stage.publish(bundle, a_record("publish")).files if not file.path.endswith(".tif")]
    assert made and [path for path in made if not any(fnmatchcase(path, name) for name in names)] == []


def test_a_survey_without_terrain_surfaces_zones_and_salvage_is_published_too(make_bundle, a_record):
    """A wellsite has five pits: the tables are the product."""
    bundle = make_bundle(only=True, writers=("geopackage", "tables", "record", "transects", "report"))
    paths = {file.path for file in stage.publish(bundle, a_record("publish")).files}
    assert {"survey.gpkg", "report.pdf", "tables/pits.csv"} <= paths


def test_what_a_file_holds_does_not_say_its_name_again(make_bundle, a_record, monkeypatch):
    install(monkeypatch, good=lambda bundle: (write_file(bundle.context, "good.txt", b"good", "good.txt: a good file"),))
    assert [file.what for file in stage.publish(make_bundle(only=True), a_record()).files] == ["a good file"]


@pytest.mark.parametrize("name", ["map.html", "report.pdf", "survey.gpkg", "problems.csv", "transects/longest_axis.svg"])
def test_a_folder_where_a_file_is_to_be_written_is_told_in_our_form_and_left_alone(make_bundle, a_record, name):
    writers = {"map.html": "web_map", "report.pdf": "report", "survey.gpkg": "geopackage", "problems.csv": "tables"}
    bundle = make_bundle(only=True, writers=(writers.get(name, "transects"),))
    mine = bundle.context.output / name / "mine.txt"
    mine.parent.mkdir(parents=True)
    mine.write_text("mine")
    with pytest.raises(OutputError) as caught:
        stage.publish(bundle, a_record())
    error = caught.value
    assert "a folder stands where this file is to be written" in error.what and error.where.endswith(name)
    assert error.found == "a folder" and "move or rename the folder" in error.remedy
    assert mine.read_text() == "mine" and not list(bundle.context.output.rglob(".*")), "nothing half-written is left"


def test_what_stops_every_writer_is_told_once_with_their_names(make_bundle, a_record, monkeypatch):
    bundle = make_bundle(only=True)

    def refused(name):
        raise PermissionError(13, "Permission denied", str(bundle.context.output / ".writing-x" / name))

    install(monkeypatch, a=lambda b: refused("one"), b=lambda b: refused("two"), c=good)
    with pytest.raises(OutputError) as caught:
        stage.publish(bundle, a_record())
    told = caught.value
    assert told.what == "the writers 'a', 'b' failed: this may not be written or replaced" and not told.others
    assert (told.where, told.found) == (str(bundle.context.output), "Permission denied") and "-o FOLDER" in told.remedy
