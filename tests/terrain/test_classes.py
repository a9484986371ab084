"""Classes of relative height and cleaned segments, from file to raster."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from geoprofile import blocks
from geoprofile.settings.terrain import TerrainSettings
from geoprofile.terrain import segments
from geoprofile.terrain.relative_height import LEGEND
from geoprofile.terrain.stage import compute_terrain


@pytest.fixture
def compute(make_context, a_record, write_elevation):
    """Rasters and notes of an elevation on cells of 10 m."""

    def run(z, **answers):
        context = make_context(crs="EPSG:32632")
        settings = TerrainSettings(elevation=write_elevation(z, unit="m"), **answers)
        terrain = compute_terrain(settings, context, a_record("terrain"))
        return {name: raster.read(context.output) for name, raster in terrain.rasters.items()}, " | ".join(terrain.notes)

    return run


def ridges(shape=(70, 90)) -> np.ndarray:
    z = np.tile(15 * np.sin(2 * np.pi * np.arange(shape[1]) / 40), (shape[0], 1))
    return 300 + z + np.random.default_rng(5).normal(0, 0.05, shape)


def test_ridges_and_valleys_are_told_apart_and_the_spread_is_stated(compute):
    cells, notes = compute(ridges(), derive=("relative_height_class",), relative_elevation_radius_m=100)
    assert set(cells) == {"elevation", "relative_height_class"}
    code = cells["relative_height_class"]
    assert LEGEND[int(code[35, 50])] == "ridge" and LEGEND[int(code[35, 30])] == "valley"
    assert (code[0] == 0).all()  # no slope there
    assert "Weiss 2001" in notes and "standard deviations" in notes and "Shares: ridge" in notes


def segment_sizes(code):
    sizes = np.zeros(code.shape, int)
    for kind in np.unique(code[code > 0]):
        label, _ = ndimage.label(code == kind)
        sizes += np.where(label > 0, np.bincount(label.ravel())[label], 0)
    return sizes


@pytest.mark.parametrize("tile", [16, 48])
def test_t13_classes_do_not_depend_on_how_the_raster_is_cut(compute, monkeypatch, tile):
    z = ridges()
    z[20:24, 30:33] = np.nan
    wish = {
        "derive": ("relative_height_class", "landform_element"), "relative_elevation_radius_m": 60, "analysis_scale_m": 25,
        "least_segment_m2": 1500,
    }  # fmt: skip
    whole, notes = compute(z, **wish)
    monkeypatch.setattr(blocks, "TILE", tile)
    monkeypatch.setattr(segments, "WINDOW", tile)
    parts, same_notes = compute(z, **wish)
    assert notes == same_notes
    assert all(np.array_equal(whole[name], parts[name], equal_nan=True) for name in whole)


def test_segments_below_the_stated_size_are_gone_and_it_is_said(compute):
    wish = {"derive": ("landform_element", "relative_height_class"), "relative_elevation_radius_m": 80}
    ragged, _ = compute(ridges() + np.random.default_rng(1).normal(0, 0.5, (70, 90)), **wish)
    cleaned, notes = compute(ridges() + np.random.default_rng(1).normal(0, 0.5, (70, 90)), least_segment_m2=2000, **wish)
    for name in wish["derive"]:
        sizes = segment_sizes(cleaned[name])
        assert segment_sizes(ragged[name])[ragged[name] > 0].min() < 20 <= sizes[sizes > 0].min()
        assert f"{name}: segments of less than 2000 m2" in notes
    assert "whole grid at once" not in notes


def test_the_note_of_landform_elements_says_what_noise_does_at_this_cell_and_scale(compute):
    """5 cm on 10 m cells: 0.04 degrees per m; smoothed to 50 m: next to nothing."""
    _, rough = compute(ridges(), derive=("landform_element",))
    _, smooth = compute(ridges(), derive=("landform_element",), analysis_scale_m=50)
    assert "5 cm of noise in elevation would bring 0.041 degrees per m" in rough and "a third of the limit" in rough
    assert "well below the limit" in smooth
