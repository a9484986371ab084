"""map.html as a whole."""

import json
import re
import shutil
import subprocess
from dataclasses import replace
from html.parser import HTMLParser

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from geoprofile.errors import OutputError, SettingsError
from geoprofile.outputs.bundle import Bundle
from geoprofile.outputs.web_map import build, web_map
from geoprofile.products import (
    Surface,
)
from geoprofile.rasters import write_raster
from geoprofile.settings.publish import PublishSettings

from . import map_bundle

NOTES_15 = (
    "Bt1 `mottled` ",
    "${horizon name}",
    "${1+1}",
    "C:\\data\\2019\\01",
    "C:\\users",
    "x</script><script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "{{ 1234567*9 }}",
    "{% if %}",
    'O\'Brien "loam" <20% & >5',
    "{# hidden #}",
    "first line\nsecond line",
    "before\u2028after",
)
"""Input 15 of the list of pains, one note a row."""


def parts(text: str) -> tuple[dict, list[str]]:
    """The data of a page, read strictly, and its scripts."""
    (block,) = re.findall(r'<script type="application/json" id="survey-data">(.*?)</script>', text, re.DOTALL)
    return json.loads(block, parse_constant=lambda name: pytest.fail(f"{name} is not JSON")), re.findall(
        r"<script>(.*?)</script>", text, re.DOTALL
    )


class References(HTMLParser):
    """Every attribute that makes a browser fetch something."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag, attrs):
        for name, value in attrs:
            if name in (
                "src",
                "srcset",
                "href",
                "poster",
                "data",
                "action",
                "background",
                "xlink:href",
                "ping",
                "manifest",
            ):
                self.found.append(value or "")


def check_no_remote_reference(text: str) -> None:
    """Raises AssertionError naming a reference that is not inside the page."""
    parser = References()
    parser.feed(text)
    outside = [value for value in parser.found if not value.startswith(("#", "data:", "blob:"))]
    outside += [value for value in re.findall(r"url\(([^)]*)\)", text) if not re.match(r"[\"']?(#|data:)", value)]
    outside += re.findall(r"@import[^;]*", text)
    assert not outside, f"references out of the page: {outside}"


def notes_bundle(folder) -> Bundle:
    """Input 15: one note a pit, one blank x, a date column, a column with NaN and infinity; notes name layers too."""
    names = [pit[0] for pit in map_bundle.PITS]
    notes = dict(zip(names, NOTES_15, strict=True))
    extra = {"visited": pd.Timestamp("2024-06-11"), "reading": [np.nan, np.inf, -np.inf, *range(10)]}
    return map_bundle.bundle(folder, notes=notes, extra=extra, titles=(NOTES_15[7], NOTES_15[5]), name=NOTES_15[9])


def test_every_note_is_in_the_page_as_typed_and_none_was_evaluated_W1_W2_W3_W4(tmp_path):
    """Input 15."""
    text, _ = build(notes_bundle(tmp_path))
    data, _ = parts(text)
    (remarks,) = [field for field in data["pits"]["fields"] if field["name"] == "remarks"]
    assert [data["pits"]["words"][cell] for cell in remarks["cells"]] == list(NOTES_15)
    assert [group["title"] for group in data["groups"][:2]] == [NOTES_15[7], NOTES_15[5]]
    assert data["name"] == NOTES_15[9]
    assert "11111103" not in text
    assert "<img src=x" not in text and "alert(1)</script>" not in text


def test_scripts_are_the_same_whatever_the_notes_say_and_every_one_parses_W2(tmp_path):
    """Input 15."""
    scripts = parts(build(notes_bundle(tmp_path / "a"))[0])[1]
    assert scripts == parts(build(map_bundle.bundle(tmp_path / "b"))[0])[1]
    node = shutil.which("node")
    if node is None:
        return  # the browser tests run every script; here nothing else could parse it
    for k, script in enumerate(scripts):
        (tmp_path / f"{k}.js").write_text(script, encoding="utf-8")
        subprocess.run([node, "--check", str(tmp_path / f"{k}.js")], check=True, capture_output=True)


def test_the_data_are_strict_json_with_iso_dates_W10_W11(tmp_path):
    """Input 15."""
    data, _ = parts(build(notes_bundle(tmp_path))[0])
    fields = {field["name"]: field for field in data["pits"]["fields"]}
    assert fields["reading"]["cells"][:4] == [None, None, None, 0]
    assert {data["pits"]["words"][cell] for cell in fields["visited"]["cells"]} == {"2024-06-11"}


def test_a_pit_with_blank_x_is_listed_and_hides_no_other_W9(tmp_path):
    """Input 15."""
    data, _ = parts(build(notes_bundle(tmp_path))[0])
    assert [name for name, place in zip(data["pits"]["id"], data["pits"]["place"]) if place < 0] == ["P12"]


def test_nothing_refers_out_of_the_page_W5(tmp_path):
    """Input 15."""
    check_no_remote_reference(build(notes_bundle(tmp_path))[0])


@pytest.mark.parametrize(
    "planted",
    [
        '<script src="https://example.org/x.js"></script>',
        '<link rel="stylesheet" href="//example.org/x.css">',
        "<style>@import 'x.css';</style>",
        "<style>p { background: url(https://example.org/x.png) }</style>",
    ],
)
def test_a_planted_reference_is_found(planted, tmp_path):
    """A test of the test."""
    text = build(map_bundle.bundle(tmp_path))[0].replace("</head>", planted + "</head>")
    with pytest.raises(AssertionError, match="out of the page"):
        check_no_remote_reference(text)


def test_twice_gives_the_same_file(tmp_path):
    first = web_map.write(map_bundle.bundle(tmp_path))[0]
    text = (tmp_path / "map.html").read_bytes()
    second = web_map.write(map_bundle.bundle(tmp_path))[0]
    assert first == second and (tmp_path / "map.html").read_bytes() == text
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["map.html"]


def test_a_map_that_cannot_be_written_leaves_the_old_one(tmp_path, monkeypatch):
    web_map.write(map_bundle.bundle(tmp_path))
    before = (tmp_path / "map.html").read_bytes()
    other = map_bundle.bundle(tmp_path, name="Other (invented)")
    monkeypatch.setattr("geoprofile.written.os.replace", lambda *_: (_ for _ in ()).throw(OSError("disk full")))
    with pytest.raises(OutputError, match="could not be written"):
        web_map.write(other)
    assert (tmp_path / "map.html").read_bytes() == before
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["map.html"]


def test_legends_carry_unit_classes_and_hectares_W12(tmp_path):
    data, _ = parts(build(map_bundle.bundle(tmp_path))[0])
    estimate, low, high, presence, below, above, reliability = data["groups"][0]["parts"]
    assert (
        [row["below"] for row in low["legend"]]
        == [row["below"] for row in estimate["legend"]]
        == [row["below"] for row in high["legend"]]
    )
    assert all("cm" in row["label"] for row in estimate["legend"])
    assert all("%" in row["label"] for row in presence["legend"] + below["legend"] + above["legend"])
    assert [row["label"] for row in reliability["legend"]] == list(map_bundle.RELIABILITY.values())
    depth = map_bundle.hill()
    cells = np.isfinite(depth).sum() - np.isfinite(depth[44:, :9]).sum()
    assert sum(row["ha"] for row in estimate["legend"]) == pytest.approx(cells * 0.01, rel=0.01)


def test_zones_come_before_what_is_drawn_above_them_W13(tmp_path):
    data, scripts = parts(build(map_bundle.bundle(tmp_path))[0])
    panes = dict(re.findall(r'\["(\w+)", (\d+)\]', re.search(r"var PANES = (.*?);", scripts[-1])[1]))
    order = sorted(panes, key=lambda name: int(panes[name]))
    assert order.index("relief") < order.index("cells") < order.index("vectors") < order.index("pits") == len(order) - 1
    assert [layer["name"] for layer in data["vectors"]] == ["zones", "parcels", "salvage"]


def test_cautions_name_scale_pit_entry_buried_lines_and_practice(tmp_path):
    data, _ = parts(build(map_bundle.bundle(tmp_path))[0])
    titles = {row["title"]: row["text"] for row in data["cautions"]}
    assert {
        "Invented",
        "Scale of use",
        "Buried lines",
        "Pit entry",
        "Professional practice",
        "Stripping",
        "Clean soil off",
    } <= set(titles)
    assert "1:5 000" in titles["Scale of use"]


def test_tiles_are_there_only_when_asked_for_and_only_with_credit_W15(tmp_path):
    address = "https://{s}.example.org/{z}/{x}/{y}.png"
    assert parts(build(map_bundle.bundle(tmp_path))[0])[0]["tiles"] is None
    asked = build(map_bundle.bundle(tmp_path, tiles=address, tiles_credit="Example <tiles>"))[0]
    assert parts(asked)[0]["tiles"] == {"address": address, "credit": "Example <tiles>"}
    assert "https://*.example.org" in asked
    with pytest.raises(SettingsError, match="credit"):
        build(map_bundle.bundle(tmp_path, tiles=address))
    with pytest.raises(SettingsError, match="cannot be used"):
        build(map_bundle.bundle(tmp_path, tiles="https://example.org/'; script-src *", tiles_credit="x"))


def test_pits_alone_make_a_map_and_no_place_at_all_makes_a_list(tmp_path):
    from dataclasses import replace

    survey = map_bundle.bundle(tmp_path)
    alone = Bundle(survey.settings, survey.context, survey.pits, survey.attributes)
    assert "frame" in parts(build(alone)[0])[0]
    frame = survey.pits.pits.copy()
    frame.geometry = gpd.GeoSeries([None] * len(frame), crs=map_bundle.CRS)
    nowhere = replace(alone, pits=replace(survey.pits, pits=frame))
    data = parts(build(nowhere)[0])[0]
    assert "frame" not in data and set(data["pits"]["place"]) == {-1}


def test_the_writer_enters_by_its_entry_point():
    from geoprofile.registry import plugins

    assert plugins("geoprofile.writers").get("web_map") is web_map


def test_a_fine_terrain_beside_coarse_surfaces_is_not_coarsened_for_it(tmp_path):
    from dataclasses import replace

    from geoprofile.grid import Grid
    from geoprofile.rasters import write_raster

    survey = map_bundle.bundle(tmp_path)
    fine = Grid(map_bundle.CRS, map_bundle.GRID.west, map_bundle.GRID.north, 5.0, 100, 120)
    height = np.repeat(np.repeat(map_bundle.hill(), 2, 0), 2, 1)
    raster = write_raster(tmp_path, "terrain/fine.tif", height, fine, name="elevation", title="Elevation", unit="m")
    text, notes = build(replace(survey, terrain=replace(survey.terrain, grid=fine, rasters={"elevation": raster})))
    assert sorted((grid["cell_m"], grid["factor"]) for grid in parts(text)[0]["grids"]) == [(5.0, 1), (10.0, 1)]
    assert not notes


@pytest.mark.parametrize("alone", [False, True])
def test_a_pit_in_a_wrong_zone_does_not_shrink_the_survey_to_a_dot(tmp_path, alone):
    from dataclasses import replace

    survey = map_bundle.bundle(tmp_path)
    frame = survey.pits.pits.copy()
    frame.geometry = [
        shapely.Point(161_000, 5_838_000) if name == "P5" else shape
        for name, shape in zip(frame["pit_id"], frame.geometry)
    ]
    survey = replace(survey, pits=replace(survey.pits, pits=frame))
    if alone:
        survey = Bundle(survey.settings, survey.context, survey.pits, survey.attributes)
    data = parts(build(survey)[0])[0]
    (south, west), (north, east) = data["frame"]["bounds"]
    assert north - south < 0.01 and east - west < 0.02
    assert [data["pits"]["id"][k] for k in data["pits"]["far"]] == ["P5"]


def opening(bundle) -> str:
    return parts(build(bundle)[0])[0]["open_with"]


def test_the_map_opens_with_what_the_zones_are_drafted_from(tmp_path):
    bundle = map_bundle.bundle(tmp_path)
    assert opening(bundle) == "depth_to_carbonates"  # zones of no surface: the first that varies
    zones = bundle.zones.zones.assign(**{"from": "surface of a_e_thickness"})
    assert opening(replace(bundle, zones=replace(bundle.zones, zones=zones))) == "a_e_thickness"


def test_a_surface_that_is_the_same_everywhere_is_not_shown_first(tmp_path):
    bundle = map_bundle.bundle(tmp_path)
    raster = bundle.surfaces.rasters["depth_to_carbonates_estimate"]
    flat = write_raster(tmp_path, raster.path, np.zeros(map_bundle.GRID.shape), map_bundle.GRID, name="flat", title="Flat", unit="cm")
    rasters = bundle.surfaces.rasters | {"depth_to_carbonates_estimate": flat}
    assert opening(replace(bundle, surfaces=replace(bundle.surfaces, rasters=rasters))) == "a_e_thickness"


def test_the_survey_may_say_what_the_map_opens_with_and_a_wrong_name_is_refused(tmp_path):
    bundle = map_bundle.bundle(tmp_path)
    assert opening(replace(bundle, settings=PublishSettings(open_with="depth_to_bt"))) == "depth_to_bt"  # at pits only
    with pytest.raises(SettingsError, match=r"publish\.open_with"):
        build(replace(bundle, settings=PublishSettings(open_with="depth_to_bedrock")))


def test_where_only_the_presence_is_drawn_the_page_says_so(tmp_path):
    bundle = map_bundle.bundle(tmp_path)
    likely = Surface("depth_to_bt", "Depth to Bt", "cm", "ordinary_kriging", "ordinary kriging", "", presence="depth_to_carbonates_presence")
    data, _ = parts(build(replace(bundle, surfaces=replace(bundle.surfaces, presences=(likely,))))[0])
    group = next(group for group in data["groups"] if group["name"] == "depth_to_bt")
    assert [part["part"] for part in group["parts"]] == ["presence"]
    assert data["refusals"][0]["instead"] == "probability that it is there is shown"


def test_a_surface_without_skill_is_marked_and_not_shown_first(tmp_path):
    """A map that is no better than one mean must not look like one that is."""
    bundle = map_bundle.bundle(tmp_path)
    weak = replace(bundle.surfaces.surfaces[0], score="by location: efficiency -0.75; no spatial skill")
    bundle = replace(bundle, surfaces=replace(bundle.surfaces, surfaces=(weak, bundle.surfaces.surfaces[1])))
    data, _ = parts(build(bundle)[0])
    assert [group["skill"] for group in data["groups"] if group["kind"] == "surface"] == [False, True]
    assert data["open_with"] == "a_e_thickness"
