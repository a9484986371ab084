"""report.pdf: to scale, from data that is never markup, the same bytes every time."""

import re
import shutil
import subprocess
from dataclasses import replace
from xml.etree import ElementTree

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

from geoprofile import products as p
from geoprofile.outputs.frames import surface_register
from geoprofile.outputs.geopackage_layers import layers_of
from geoprofile.outputs.report import write
from geoprofile.outputs.report_facts import CAUTIONS, facts, median_text, pit_rows, problem_rows, score_rows, table_of
from geoprofile.outputs.report_map import _draw_pits, _fill, bar_length, paper_map, scale_for
from geoprofile.outputs.report_panels import class_counts, class_panels
from geoprofile.outputs.report_salvage import salvage_rows
from geoprofile.problems import Problem, problems_frame
from geoprofile.rasters import CLASS, write_raster

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def needs_poppler():
    if shutil.which("pdftoppm") is None:
        pytest.skip("poppler-utils is not here (Debian: poppler-utils)")


def pdf_text(path):
    return subprocess.run(["pdftotext", "-layout", str(path), "-"], capture_output=True, text=True, check=True).stdout


def test_the_bar_measures_100_mm_on_an_unscaled_print(make_bundle, tmp_path, needs_poppler):
    """D8, W14: the page is drawn at 254 dots an inch (10 a millimetre), and the bar is 1000 dots long."""
    bundle = make_bundle()
    write(bundle)
    path = bundle.context.output / "report.pdf"
    subprocess.run(["pdftoppm", "-r", "254", "-gray", str(path), str(tmp_path / "page")], check=True)
    longest = 0
    for picture in sorted(tmp_path.glob("page*.pgm")):
        header, width, height, _ = re.match(rb"(P5\s(\d+) (\d+)\s(\d+)\s)", picture.read_bytes()).groups()
        cells = np.frombuffer(picture.read_bytes()[len(header) :], np.uint8).reshape(int(height), int(width))
        longest = max(longest, bar_in(cells))
    assert longest == pytest.approx(1000, abs=6)  # the outline is half a point wide


def bar_in(cells):
    """Length in dots of a row of five stretches of equal length, dark and light in turn."""
    for row in cells[:, :] < 110:
        edges = np.flatnonzero(np.diff(row.astype(np.int8)))
        runs = np.diff(edges)
        for start in range(len(runs) - 4):
            five = runs[start : start + 5]
            if row[edges[start] + 1] and five.min() > 180 and five.max() < 220:
                return int(edges[start + 5] - edges[start])
    return 0


def test_ground_lies_at_the_stated_scale(make_bundle):
    """D8: 200 m between two zones' edges measure 200 m / scale on paper, and the bar 100 mm, in the SVG itself."""
    sheet = paper_map(make_bundle(map_scale=5000), 174, 200)
    assert sheet.scale == 5000
    root = ElementTree.fromstring(sheet.svg)
    assert float(root.get("width").removesuffix("pt")) == pytest.approx(174 * 72 / 25.4, rel=1e-6)
    bars = [element for element in root.iter(f"{SVG}g") if (element.get("id") or "").startswith("scale-bar-")]
    xs = [float(x) for bar in bars for x in re.findall(r"[ML] (-?[\d.]+) ", bar.find(f"{SVG}path").get("d"))]
    assert len(bars) == 5 and max(xs) - min(xs) == pytest.approx(100 * 72 / 25.4, rel=1e-5)
    zones = [element for element in root.iter(f"{SVG}g") if (element.get("id") or "").startswith("PathCollection")]
    corners = [float(x) for x in re.findall(r"[ML] (-?[\d.]+) ", zones[0].find(f".//{SVG}path").get("d"))]
    assert max(corners) - min(corners) == pytest.approx(200_000 / 5000 * 72 / 25.4, rel=1e-4)


def test_the_intended_scale_is_kept_where_it_fits_and_else_a_round_one_taken():
    assert scale_for(1500, 1000, (170, 150), 10_000) == 10_000
    assert scale_for(1500, 1000, (170, 150), 5_000) == 10_000  # 1500 m on 170 mm needs 1:8824
    assert scale_for(400, 200, (170, 150), None) == 2500
    assert bar_length(10_000) == (1000.0, "1000 m") and bar_length(50_000) == (5000.0, "5 km")


def test_text_from_data_is_shown_as_typed_and_never_run(make_bundle, needs_poppler):
    """Markup of the layout language, of HTML and of mathematics in names and notes comes out as text."""
    bundle = make_bundle()
    odd = '#panic("x") *bold* $a_b$ [x] <tag> \\u{41} @ref // c'
    problems = problems_frame([Problem("error", "odd #eval", odd, pit_id="#1", file="a_b*.csv")])
    bundle = replace(bundle, pits=replace(bundle.pits, problems=problems, notes=(odd,)))
    write(bundle)
    text = re.sub(r"\s+", " ", pdf_text(bundle.context.output / "report.pdf"))
    assert "Slope & Sons <invented> #1 $x$" in text
    assert text.replace("”", '"').replace("“", '"').count("#panic(") == 2
    assert "*bold* $a_b$ [x] <tag> \\u{41} @ref // c" in text and "odd #eval" in text


def test_the_report_says_what_it_must(make_bundle, needs_poppler):
    bundle = make_bundle(map_scale=10_000)
    write(bundle)
    text = re.sub(r"\s+", " ", pdf_text(bundle.context.output / "report.pdf"))
    for title, _ in CAUTIONS:
        assert f"{title}." in text
    for words in ("Map at 1:10 000", "bank volumes", "A and E horizons", "1 800", "Depth to carbonates", "one pit says something of it",
                  "Print at 100 %", "EPSG:3158"):  # fmt: skip
        assert words in text, words


def test_the_report_is_two_to_six_pages_of_dejavu_alone(make_bundle, needs_poppler):
    for bundle, most in ((make_bundle(), 6), (make_bundle(only=True, page="letter"), 4)):
        write(bundle)
        path = str(bundle.context.output / "report.pdf")
        told = subprocess.run(["pdfinfo", path], capture_output=True, text=True, check=True).stdout
        assert 2 <= int(re.search(r"Pages:\s+(\d+)", told)[1]) <= most
        assert "CreationDate" not in told
        fonts = subprocess.run(["pdffonts", path], capture_output=True, text=True, check=True).stdout.splitlines()[2:]
        assert fonts and all("DejaVuSans" in line for line in fonts)
    assert re.search(r"612 x 792", told)  # letter paper


def frame(*rows):
    return pd.DataFrame([{"low": low, "high": high, "status": status} for low, high, status in rows]).astype({"low": float, "high": float})


@pytest.mark.parametrize(
    ("rows", "text"),
    [
        ([(17, 17, "measured")] * 3, "17"),
        ([(10, 10, "measured"), (30, 36, "between"), (60, None, "at_least")], "30-36"),
        ([(10, 10, "measured"), (60, None, "at_least"), (60, None, "at_least")], "at least 60"),
        ([(None, None, "absent"), (20, 20, "measured")], "20"),  # an absent feature has no depth
        ([(0, 0, "absent"), (0, 0, "absent"), (12, 12, "measured")], "0"),  # an absent thickness is 0
        ([(None, 30, "at_most")] * 2, "0-30"),
        ([(None, None, "unknown")], "not known"),
    ],
)
def test_the_median_respects_bounds(rows, text):
    definition = p.AttributeDefinition("x", "X", "cm", "depth", "", "")
    assert median_text(frame(*rows), definition) == text


def test_facts_are_strict_json_and_count_every_pit(make_bundle):
    """W10; each row's counts sum to the pits."""
    import json

    told = facts(make_bundle())
    json.dumps(told, allow_nan=False)
    for row in told["attributes"]:
        assert sum(int(count) for count in row[2:6]) == 7


def test_problems_are_summed_by_kind_errors_first():
    table = problems_frame([Problem("note", "a", "n"), Problem("error", "b", "e", row=3, file="f.csv"), Problem("warning", "c", "w1"),
                            Problem("warning", "c", "w2")])  # fmt: skip
    assert [row[:3] for row in problem_rows(table)["rows"]] == [["error", "1", "b"], ["warning", "2", "c"], ["note", "1", "a"]]
    assert problem_rows(table)["rows"][0][4] == "f.csv, row 3"
    assert problem_rows(table, most=1)["more"] == 2


def test_scores_are_shown_by_location_with_shares_as_percent(make_bundle):
    scores = pd.DataFrame({"attribute": ["a"] * 3, "method": ["m_n"] * 3, "validation": ["by location"] * 2 + ["leave-one-out"],
                           "measure": ["efficiency", "coverage of the 90 % interval", "efficiency"], "value": [0.25, 0.885, 0.9], "pits": [9, 9, 9]})  # fmt: skip
    assert score_rows(scores, ())["rows"] == [["a", "m n", "9", "–", "–", "0.25", "88.5", "–"]]


def test_numbers_of_a_column_have_the_same_decimals():
    frame = pd.DataFrame({"area_ha": [4.84, 2.4], "bank_volume_m3": [7097.2, 712.0], "pits_inside": [6, 2]})
    table = table_of(frame, {name: "" for name in frame}, 9)
    assert table["rows"] == [["4.84", "7\u202f097", "6"], ["2.40", "712", "2"]]


def test_the_report_says_where_only_the_presence_is_drawn(make_bundle, needs_poppler):
    bundle = make_bundle()
    likely = replace(bundle.surfaces.surfaces[0], attribute="clay_0_30", title="Clay, 0 to 30 cm", estimate="",
                     presence=bundle.surfaces.surfaces[0].estimate)  # fmt: skip
    bundle = replace(bundle, surfaces=replace(bundle.surfaces, presences=(likely,)))
    write(bundle)
    text = " ".join(pdf_text(bundle.context.output / "report.pdf").split())
    assert "For 1 of them the probability that the feature is there is shown instead" in text
    assert "Drawn is the probability that it is there" in text


def test_few_pits_are_printed_pit_by_pit_with_their_bounds(make_bundle):
    """A wellsite has five pits and no surface: this table is the result."""
    table = pit_rows(make_bundle(only=True))
    assert table["headings"][0] == "Pit" and "Depth to carbonates (cm)" in table["headings"]
    said = dict(zip(table["headings"], table["rows"][1]))
    assert (said["Pit"], said["Depth to carbonates (cm)"]) == ("1E5", ">60")


def test_many_pits_are_left_to_the_tables(make_bundle):
    bundle = make_bundle(only=True)
    many = pd.concat([bundle.pits.pits] * 6, ignore_index=True)
    assert pit_rows(replace(bundle, pits=replace(bundle.pits, pits=many))) is None


def test_labels_of_pits_in_a_row_do_not_lie_on_each_other():
    from geoprofile.outputs.figures import drawing, new_figure

    names = [f"KP{k:02d}" for k in range(12)]
    placed = gpd.GeoDataFrame({"pit_id": names}, geometry=gpd.points_from_xy(np.arange(12) * 2.0, np.zeros(12)))
    with drawing():
        figure = new_figure(100, 60)
        axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
        axes.set_xlim(-2, 40)
        axes.set_ylim(-10, 10)
        _draw_pits(axes, placed.assign(kind="pit"), [])
        figure.canvas.draw()
        boxes = [text.get_window_extent() for text in axes.texts]
    assert len(boxes) >= 6
    assert not [1 for k, a in enumerate(boxes) for b in boxes[:k] if a.overlaps(b)]


def test_the_report_says_where_a_surface_has_no_spatial_skill(make_bundle):
    """K15, K16: noise described twice at each place ends here as one sentence for everybody."""
    bundle = make_bundle()
    surface = replace(bundle.surfaces.surfaces[0], cautions=("no spatial skill: use the mean",))
    told = facts(replace(bundle, surfaces=replace(bundle.surfaces, surfaces=(surface,))))
    assert told["score_cautions"] == [["Depth to carbonates", "no spatial skill: use the mean"]]


def test_bounds_have_a_column_of_their_own_and_are_counted_apart():
    scores = pd.DataFrame(
        [("t", "m", "by location", "efficiency", 0.4, 112, ""),
         ("t", "m", "by location", "bounds contradicted by the 90 % interval", 0.025, 40, "")],
        columns=["attribute", "method", "validation", "measure", "value", "pits", "remark"],
    )  # fmt: skip
    table = score_rows(scores, (), {})
    (row,) = table["rows"]
    assert row[2] == "112 + 40" and row[-1] == "2.5" and table["headings"][-1] == "Bounds contradicted (%)"


def test_classes_noted_at_the_pits_are_drawn_with_what_they_promise_and_keep(make_bundle, tmp_path):
    bundle = make_bundle()
    grid = bundle.surfaces.grid
    code = np.where(np.arange(grid.width)[None, :] < 10, 1, 2) * np.ones((grid.height, 1), int)
    raster = write_raster(bundle.context.output, "surfaces/drainage_class.tif", code, grid, name="drainage_class", title="Drainage", unit="",
                          kind=CLASS, legend={1: "well $x$", 2: "poorly", 3: "rapidly"})  # fmt: skip
    one = p.ClassSurface("drainage", "Drainage", ("well $x$", "poorly", "rapidly"), "drainage_class", "", {}, 12, "by location: 60 %",
                       ("no spatial skill: the commonest class everywhere",))  # fmt: skip
    made = replace(bundle, surfaces=replace(bundle.surfaces, classes=(one,), rasters=bundle.surfaces.rasters | {"drainage_class": raster}))
    assert list(class_counts(made, raster)[:4]) == [0, 10 * grid.height, (grid.width - 10) * grid.height, 0]
    svg, more = class_panels(made, 170.0)
    assert more == 0 and b"<svg" in svg
    (told,) = facts(made)["classes"]
    assert told[0] == "Drainage" and told[1].startswith("12 pits; by location: 60 %; no spatial skill")
    (row,) = [row for row in surface_register(made).itertuples() if row.attribute == "drainage"]
    assert (row.shows, row.raster, row.pits) == ("most probable class", "surfaces/drainage_class.tif", 12)
    assert class_panels(bundle, 170.0) is None


def test_a_rule_set_is_shown_by_its_name_and_not_by_its_key(make_bundle):
    bundle = make_bundle()
    layers = {layer.name: layer for layer in layers_of(bundle)}
    for shown in (salvage_rows(bundle)["rule"], layers["salvage"].help):
        assert "A and E horizons" in shown and "a_and_e" not in shown


def test_areas_to_be_stripped_are_named_on_the_map_and_no_name_lies_on_another():
    import shapely

    from geoprofile.outputs.figures import drawing, new_figure
    from geoprofile.outputs.report_map_names import name_areas, name_pits

    areas = [shapely.box(0, 0, 20, 8), shapely.box(24, 0, 26, 2), shapely.box(30, 0, 50, 8)]
    points = [shapely.Point(10, 4), shapely.Point(25, 1), shapely.Point(10, 7)]
    with drawing():
        figure = new_figure(120, 60)
        axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
        axes.set_xlim(-2, 60)
        axes.set_ylim(-10, 15)
        taken = name_areas(axes, ["Pad", "Laydown", "Camp"], areas, points, "#aa0000")
        name_pits(axes, ["A-1", "A-2", "A-3"], points, taken)
        figure.canvas.draw()
        names = [text.get_text() for text in axes.texts]
        boxes = [text.get_window_extent() for text in axes.texts]
        camp = axes.transData.inverted().transform(boxes[2].get_points())
    assert names[:3] == ["Pad", "Laydown", "Camp"] and {"A-1", "A-2", "A-3"} <= set(names)
    assert not [1 for k, a in enumerate(boxes) for b in boxes[:k] if a.overlaps(b)]
    assert areas[2].covers(shapely.box(*camp.ravel())), "where it fits and hides no pit, a name stands in its area"


def test_zones_drafted_from_a_surface_tell_its_cautions(make_bundle):
    bundle = make_bundle()
    surface = replace(bundle.surfaces.surfaces[0], cautions=("no spatial skill: use the mean",))
    zones = bundle.zones.zones.assign(**{"from": "surface of depth_to_carbonates"})
    warned = replace(bundle, surfaces=replace(bundle.surfaces, surfaces=(surface,)), zones=replace(bundle.zones, zones=zones))
    assert facts(warned)["zones"]["cautions"] == ["Depth to carbonates: no spatial skill: use the mean"]
    assert facts(bundle)["zones"]["cautions"] == []


@pytest.mark.parametrize("turned", [False, True])
def test_a_hole_stays_a_hole_whichever_way_its_ring_runs(turned):
    """A zone inside a zone was painted over where both rings ran the same way."""
    import shapely
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    ring = [(2, 2), (8, 2), (8, 8), (2, 8)]
    shape = shapely.Polygon([(0, 0), (10, 0), (10, 10), (0, 10)], [ring[::-1] if turned else ring])
    figure = Figure((1, 1), dpi=100)
    axes = figure.add_axes((0, 0, 1, 1), xlim=(0, 10), ylim=(0, 10))
    axes.set_axis_off()
    _fill(axes, gpd.GeoSeries([shapely.MultiPolygon([shape])]), "#000000", 1.0)
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    red = np.asarray(canvas.buffer_rgba())[..., 0]
    assert red[50, 50] == 255 and red[50, 10] == 0
