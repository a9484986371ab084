"""Toposequences: true elevation, true depth, boundaries as described."""

from dataclasses import replace
from types import SimpleNamespace
from xml.etree import ElementTree

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from scipy.ndimage import map_coordinates

from geoprofile.grid import Grid
from geoprofile.outputs import transect
from geoprofile.outputs.figures import drawing
from geoprofile.outputs.profile_drawing import (
    BROKEN,
    Frame,
    boundary,
    colour_of,
    depth_of,
    draw_profile,
    end_of,
    ink_on,
)
from geoprofile.outputs.profile_labels import Type, label_profile
from geoprofile.outputs.transect_axis import axes_of, elevations_at, longest_axis
from geoprofile.rasters import BLOCK, write_raster


class Canvas:
    """Stands for axes and keeps what was drawn."""

    def __init__(self):
        self.lines, self.fills, self.texts = [], [], []

    def plot(self, x, y, **look):
        self.lines.append((np.asarray(x, float), np.asarray(y, float), look))

    def fill_between(self, x, top, bottom, **look):
        self.fills.append((np.asarray(top), np.asarray(bottom), look))

    def text(self, x, y, text, **look):
        self.texts.append((float(y), text, look))


@pytest.fixture
def horizons(make_bundle):
    return {pit: part for pit, part in make_bundle(only=True).pits.horizons.groupby("pit_id")}


def test_horizons_are_drawn_at_true_depth_in_their_munsell_colours(horizons):
    canvas = Canvas()
    assert draw_profile(canvas, horizons["007"], 100.0, Frame(0, 1, 300.0, 0.01)) == 100
    label_profile(canvas, horizons["007"], 100.0, Frame(0, 1, 300.0, 0.01), Type(7, 2.0, 20))
    (ap, bm, ck) = canvas.fills
    assert np.allclose(ap[0], 300) and np.allclose(ap[1], 299.85)  # Ap 0-15
    assert np.isclose(bm[1].mean(), 299.60, atol=0.002)  # Bm to 40, wavy
    assert np.isclose(bm[1].max() - bm[1].min(), 0.06, atol=0.001)  # 37 to 43 as described
    from geoprofile.vocabulary import munsell

    assert ap[2]["facecolor"] == munsell.srgb(munsell.parse_colour("10YR 2/1"))
    assert ck[2]["facecolor"] == munsell.srgb(munsell.parse_colour("2.5Y 6/3"))
    assert [text for _, text, _ in canvas.texts] == ["Ap", "Bm", "Ck"]
    assert all(look["parse_math"] is False for *_, look in canvas.texts)


def test_a_colour_that_was_not_described_is_hatched_and_not_invented(horizons):
    canvas = Canvas()
    draw_profile(canvas, horizons["P-4"], 100.0, Frame(0, 1, 0, 1))
    assert colour_of(horizons["P-4"].iloc[2]) is None
    assert canvas.fills[2][2]["hatch"] and not canvas.fills[1][2]["hatch"]


def test_forms_of_boundaries_differ():
    flat = boundary(30, 27, 33, "smooth", 20)
    wavy = boundary(30, 27, 33, "wavy", 20)
    irregular = boundary(30, np.nan, np.nan, "irregular", 20)
    assert np.ptp(flat) == 0
    assert (wavy.min(), wavy.max()) == (27, 33)
    assert np.isclose(np.ptp(irregular), 6)  # nominal, said in the figure
    assert np.ptp(boundary(30, np.nan, np.nan, "wavy", 2)) <= 2  # never higher than the thin horizon beside it


def test_a_thin_horizon_is_named_beside_the_profile_and_what_has_no_room_is_told(horizons):
    three = horizons["007"].iloc[[0, 0, 0]].assign(
        designation=["Om", "Ae", "Bt"], order=[1, 2, 3], upper_cm=[-2.0, 0.0, 2.0], lower_cm=[0.0, 2.0, 60.0], boundary_form="smooth"
    )
    canvas, frame = Canvas(), Frame(0, 1, 0.0, 1.0)
    assert label_profile(canvas, three, 60.0, frame, Type(7, 2.0, 20)) == ["Ae"], "it would stand on the name above it"
    assert [(text, look["ha"]) for _, text, look in canvas.texts] == [("Om", "left"), ("Bt", "center")]
    assert label_profile(Canvas(), three, 60.0, frame, Type(7, 2.0, 5)) == ["Om", "Ae"], "the next profile is too near"
    assert label_profile(Canvas(), three, 60.0, frame, Type(7, 20.0, 5)) == [], "larger, all have room inside"
    assert depth_of(three, 60.0) == 60


def test_names_of_horizons_lie_neither_on_each_other_nor_on_the_next_profile(make_bundle, monkeypatch):
    """Measured in the drawing itself, and what was left out is said below it."""
    part = next(iter(dict(tuple(make_bundle(only=True).pits.horizons.groupby("pit_id"))).values()))
    thin = part.iloc[[0] * 5].assign(designation=["Om", "Ae", "AB", "Btg", "Ckg"], order=range(1, 6),
                                     upper_cm=[-3.0, 0.0, 2.0, 4.0, 60.0], lower_cm=[0.0, 2.0, 4.0, 60.0, 90.0])  # fmt: skip
    pits = pd.DataFrame({"pit_id": [f"P-{k}" for k in range(10)]})
    monkeypatch.setattr(transect, "observed_to", lambda bundle: dict.fromkeys(pits["pit_id"], 90.0))
    with drawing():
        figure = transect.draw_profiles(make_bundle(only=True), pits, dict.fromkeys(pits["pit_id"], thin), "x", 0)
        figure.canvas.draw()
        boxes = [text.get_window_extent() for text in figure.axes[0].texts]
    assert not [1 for k, one in enumerate(boxes) for other in boxes[:k] if one.overlaps(other)]
    assert any("no room beside them: P-0 AB, P-1 AB" in text.get_text() for text in figure.texts)


def test_a_broken_boundary_has_gaps(horizons):
    canvas = Canvas()
    draw_profile(canvas, horizons["1E5"], 60.0, Frame(0, 1, 0, 1))
    pieces = [x for x, y, _ in canvas.lines if len(x) < 81 and len(x) > 2 and np.allclose(y, -43)]
    assert len(pieces) == len(BROKEN)
    assert sum(np.ptp(piece) for piece in pieces) < 0.75


def test_the_end_of_the_hole_is_torn_and_is_no_boundary(horizons):
    canvas = Canvas()
    draw_profile(canvas, horizons["007"], 100.0, Frame(0, 1, 0, 1))
    assert np.ptp(canvas.fills[2][1]) > 1
    open_below = pd.Series({"upper_cm": 40.0, "lower_cm": np.nan})
    assert end_of(open_below, 90.0) == 90 and end_of(open_below, np.nan) == 50


def test_a_gap_in_the_description_stays_a_gap(horizons):
    gapped = horizons["007"].drop(horizons["007"].index[1])
    canvas = Canvas()
    draw_profile(canvas, gapped, 100.0, Frame(0, 1, 0, 1))
    assert canvas.fills[0][1].max() == -15 and np.allclose(canvas.fills[1][0], -40)


def test_text_reads_on_dark_and_on_light_soil():
    assert ink_on("#332e28") == "#ffffff" and ink_on("#d9cba8") != "#ffffff"


def test_elevations_are_those_of_the_raster_and_unknown_outside(make_bundle):
    bundle = make_bundle()
    grid = bundle.terrain.grid
    cells = bundle.terrain.rasters["elevation"].read(bundle.context.output)
    x, y = grid.centres()
    points = np.array([[x[3], y[5]], [x[39], y[19]], [(x[3] + x[4]) / 2, y[5]], [grid.west - 1, y[0]]])
    found = elevations_at(bundle.terrain, bundle.context.output, points)
    assert np.allclose(found[:3], [cells[5, 3], cells[19, 39], (cells[5, 3] + cells[5, 4]) / 2]) and np.isnan(found[3])


def test_a_line_across_a_large_raster_reads_what_lies_under_it_and_not_its_box(tmp_path, cells_read):
    grid = Grid("EPSG:3158", 500_000.0, 5_830_000.0, 5.0, 1_200, 1_500)
    ground = np.random.default_rng(4).normal(700, 20, grid.shape).astype(np.float32)
    ground[600:604] = np.nan
    raster = write_raster(tmp_path, "elevation.tif", ground, grid, name="elevation", title="Elevation", unit="m")
    west, south, east, north = grid.bounds
    points = np.column_stack([np.linspace(west - 20, east + 1, 400), np.linspace(south - 1, north, 400)])
    cells_read.clear()
    found = elevations_at(SimpleNamespace(grid=grid, rasters={"elevation": raster}), tmp_path, points)
    assert max(cells_read) <= BLOCK**2 and sum(cells_read) < 0.3 * ground.size
    column, row = (points[:, 0] - west) / grid.cell_m - 0.5, (north - points[:, 1]) / grid.cell_m - 0.5
    # scipy's bilinear interpolation over the whole array, an implementation of somebody else's
    whole = map_coordinates(ground.astype(float), [row, column], order=1, mode="nearest")
    inside = (np.abs(row - (grid.height - 1) / 2) <= grid.height / 2) & (np.abs(column - (grid.width - 1) / 2) <= grid.width / 2)
    assert 300 < np.isfinite(found).sum() < 400
    assert np.array_equal(found, np.where(inside, whole, np.nan), equal_nan=True)


def test_the_longest_axis_joins_the_two_farthest_points():
    points = np.array([[0, 0], [3, 4], [10, 0], [5, 1], [0, 0]], float)
    assert list(longest_axis(points).coords) == [(0, 0), (10, 0)]
    assert longest_axis(np.array([[1.0, 1.0], [1.0, 1.0]])) is None


def test_pits_stand_in_order_of_chainage_and_far_ones_are_left_out(make_bundle):
    axis = axes_of(make_bundle(transect_within_m=13))[0]
    assert axis.pits["pit_id"].tolist() == ["007", "1E5", "P-4", "P-5"]
    assert axis.pits["chainage_m"].is_monotonic_increasing and (axis.pits["offset_m"] <= 13).all()
    few = axes_of(make_bundle(transect_pits=2))[0]
    assert len(few.pits) == 2 and few.left_out == 3


def test_a_route_is_followed_where_there_is_one(make_bundle):
    bundle = make_bundle()
    line = shapely.LineString([(500_000, 5_800_360), (500_200, 5_800_320)])
    route = gpd.GeoDataFrame({"id": ["pipeline"]}, geometry=[line], crs="EPSG:3158")
    zones = replace(bundle.zones, route=route, tables={**bundle.zones.tables, "route": pd.DataFrame({"pit_id": ["007", "P-3"]})})
    (axis,) = axes_of(replace(bundle, zones=zones))
    assert axis.pits["pit_id"].tolist() == ["007", "P-3"] and "pipeline" in axis.title


def test_the_exaggeration_that_is_stated_is_the_one_that_is_drawn(make_bundle):
    bundle = make_bundle()
    axis = axes_of(bundle)[0]
    parts = {pit: part for pit, part in bundle.pits.horizons.groupby("pit_id")}
    with drawing():
        figure = transect.draw_toposequence(bundle, axis, parts, transect._heights(bundle, axis))
        upper = figure.axes[0]
        along = np.subtract(*upper.transData.transform([(100, 300), (0, 300)]))[0] / 100
        upward = np.subtract(*upper.transData.transform([(0, 301), (0, 300)]))[1]
    stated = float(upper.get_title(loc="left").split("exaggeration ")[1].split(" times")[0])
    assert stated == pytest.approx(upward / along, rel=0.005)


def test_svg_and_png_are_the_same_bytes_twice_and_data_text_is_no_markup(make_bundle):
    """D6; the survey's name holds <, & and $."""
    bundle = make_bundle()
    assert transect.write(bundle) == transect.write(bundle)
    svg = (bundle.context.output / "transects" / "longest_axis.svg").read_bytes()
    ElementTree.fromstring(svg)
    assert b"<dc:date>" not in svg and b"script" not in svg
    assert (bundle.context.output / "transects" / "longest_axis.png").read_bytes().startswith(b"\x89PNG")


def test_without_elevation_the_profiles_stand_side_by_side(make_bundle):
    bundle = make_bundle(only=True)
    assert [file.path for file in transect.write(bundle)] == ["transects/longest_axis.svg", "transects/longest_axis.png"]
    nowhere = replace(bundle.pits, pits=bundle.pits.pits.set_geometry(gpd.GeoSeries([None] * 7, crs="EPSG:3158")))
    assert [file.path for file in transect.write(replace(bundle, pits=nowhere))] == ["transects/profiles.svg", "transects/profiles.png"]
    empty = replace(bundle.pits, horizons=bundle.pits.horizons.iloc[:0])
    assert transect.write(replace(bundle, pits=empty)) == ()


@pytest.mark.parametrize("unknown, on_the_ground", [(1, True), (3, False)])
def test_a_pit_without_elevation_stands_side_by_side_and_is_told(make_bundle, monkeypatch, unknown, on_the_ground):
    """One pit on a cell without elevation took the ground from under all others; where most have none, none is drawn on it."""
    bundle = make_bundle()
    axis = axes_of(bundle)[0]
    heights = np.where(np.arange(len(axis.pits)) < unknown, np.nan, 300.0)
    monkeypatch.setattr(transect, "elevations_at", lambda *args: heights)
    found = transect._heights(bundle, axis)
    assert (found is not None) == on_the_ground
    if on_the_ground:
        parts = {pit: part for pit, part in bundle.pits.horizons.groupby("pit_id")}
        with drawing():
            figure = transect.draw_toposequence(bundle, axis, parts, found)
        standing = {text.get_text() for text in figure.axes[0].texts}
        assert standing == set(axis.pits["pit_id"][1:])
        assert f"their elevation is not known: {axis.pits['pit_id'].iloc[0]}." in " ".join(text.get_text() for text in figure.texts)


@pytest.mark.parametrize(("count", "names"), [(24, "P-{}"), (14, "2021-SITE-0045-{}"), (24, "Quarter section {} north")])
def test_names_of_neighbouring_profiles_do_not_overlap(make_bundle, monkeypatch, count, names):
    """Measured in the drawing itself."""
    horizons = next(iter(dict(tuple(make_bundle(only=True).pits.horizons.groupby("pit_id"))).values()))
    pits = pd.DataFrame({"pit_id": [names.format(k) for k in range(count)], "chainage_m": 1000.0 + 12.0 * np.arange(count), "offset_m": 45.0})
    monkeypatch.setattr(transect, "observed_to", lambda bundle: dict.fromkeys(pits["pit_id"], 100.0))
    with drawing():
        figure = transect.draw_profiles(make_bundle(only=True), pits, {pit: horizons for pit in pits["pit_id"]}, "x", 0)
        figure.canvas.draw()
        (axes,) = figure.axes
        boxes = [label.get_window_extent() for label in axes.get_xticklabels()]
    assert len(boxes) == count and all(left.x1 < right.x0 for left, right in zip(boxes, boxes[1:]))


def test_the_few_pits_of_a_site_without_elevation_are_all_drawn(make_bundle):
    """Those away from the longest axis too: nothing is left out where all fit one sheet."""
    bundle = make_bundle(only=True, transect_within_m=10)
    horizons = dict(tuple(bundle.pits.horizons.groupby("pit_id", sort=False)))
    with drawing():
        (name, _, figure) = next(transect._figures(bundle, horizons))
    assert name == "profiles" and len(figure.axes[0].get_xticks()) == len(horizons)
