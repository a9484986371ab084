"""Cells as the page carries them give back what the GeoTIFF holds."""

import base64
import zlib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile import rasters
from geoprofile.grid import Grid
from geoprofile.outputs import map_rasters, map_relief
from geoprofile.outputs.map_rasters import Cells, packed, read_cells
from geoprofile.outputs.map_relief import shaded
from geoprofile.rasters import CLASS, write_raster

GRID = Grid("EPSG:3158", 0.0, 50.0, 10.0, 5, 7)


def unpacked(raster: dict, shape: tuple[int, int]) -> np.ndarray:
    """What the browser does, in numpy: bytes, planes, sums along rows, value = (offset + cell - 1) * step."""
    data = np.frombuffer(zlib.decompress(base64.b64decode(raster["data"])), np.uint8).astype(np.int64)
    size = shape[0] * shape[1]
    whole = data[:size] if raster["bits"] == 8 else data[:size] + 256 * data[size:]
    cells = np.cumsum(whole.reshape(shape), axis=1) % 2 ** raster["bits"]
    return np.where(cells > 0, (raster["offset"] + cells - 1) * raster["step"], np.nan)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.one_of(st.none(), st.floats(-200, 6000, width=32)), min_size=35, max_size=35))
def test_numbers_come_back_within_half_a_step_and_gaps_stay_gaps(values):
    array = np.array([np.nan if value is None else value for value in values], np.float32).reshape(GRID.shape)
    back = unpacked(packed(Cells(GRID, array, 0.1)), GRID.shape)
    assert (np.isnan(back) == np.isnan(array)).all()
    assert np.nanmax(np.abs(back - array), initial=0) <= 0.0501


def test_classes_come_back_as_they_are():
    codes = np.random.default_rng(1).integers(0, 256, GRID.shape).astype(np.uint8)
    back = unpacked(packed(Cells(GRID, codes, 0.0)), GRID.shape)
    assert (np.nan_to_num(back) == codes).all()


def test_a_span_too_wide_for_sixteen_bits_gets_a_wider_step_and_says_it():
    array = np.linspace(0, 5e6, 35).reshape(GRID.shape)
    raster = packed(Cells(GRID, array, 0.1))
    assert raster["step"] >= 100
    assert np.abs(unpacked(raster, GRID.shape) - array).max() <= raster["step"] / 2


def test_a_raster_without_any_value_is_all_gaps():
    back = unpacked(packed(Cells(GRID, np.full(GRID.shape, np.nan), 0.1)), GRID.shape)
    assert np.isnan(back).all()


def test_coarsened_numbers_are_means_of_what_is_there_and_classes_are_never_averaged(tmp_path):
    array = np.arange(35, dtype=float).reshape(GRID.shape)
    array[0, 0] = np.nan
    number = write_raster(tmp_path, "n.tif", array, GRID, name="n", title="n", unit="cm")
    cells = read_cells(number, tmp_path, GRID, 2, 0.1)
    assert cells.array.shape == (3, 4)
    assert cells.array[0, 0] == pytest.approx(np.nanmean(array[:2, :2]))
    assert cells.array[2, 3] == array[4, 6]  # the short last cell holds what is left
    codes = np.where(np.indices(GRID.shape).sum(0) % 2, 10, 50)
    classes = write_raster(
        tmp_path, "c.tif", codes, GRID, name="c", title="c", unit="", kind=CLASS, legend={10: "a", 50: "b"}
    )
    assert set(np.unique(read_cells(classes, tmp_path, GRID, 3, 0.0).array)) <= {10, 50}


def test_slopes_that_face_the_light_are_lighter_than_those_that_face_away():
    x, y = np.meshgrid(np.arange(20), np.arange(20))
    north_west = shaded(Cells(Grid("EPSG:3158", 0, 0, 1, 20, 20), (x + y) * 0.2, 0.1))[
        0
    ].array  # rises to the south-east
    south_east = shaded(Cells(Grid("EPSG:3158", 0, 0, 1, 20, 20), -(x + y) * 0.2, 0.1))[0].array
    assert north_west.min() > south_east.max()


def test_level_ground_is_not_exaggerated_and_gaps_have_no_shade():
    height = np.full((6, 6), 5.0)
    height[2, 2] = np.nan
    shade, factor = shaded(Cells(Grid("EPSG:3158", 0, 0, 1, 6, 6), height, 0.1))
    assert factor == 1.0 and shade.array[2, 2] == 0 and (shade.array > 0).sum() == 35


WIDE = Grid("EPSG:3158", 0.0, 0.0, 10.0, 310, 530)


@pytest.mark.parametrize("factor", [1, 2, 7])
def test_reading_part_by_part_changes_no_cell_and_no_read_is_larger_than_a_part(tmp_path, cells_read, monkeypatch, factor):
    rng = np.random.default_rng(factor)
    array = np.where(rng.random(WIDE.shape) < 0.1, np.nan, rng.normal(20, 5, WIDE.shape)).astype(np.float32)
    raster = write_raster(tmp_path, "n.tif", array, WIDE, name="n", title="n", unit="cm")
    whole = read_cells(raster, tmp_path, WIDE, factor, 0.1).array
    monkeypatch.setattr(map_rasters, "PART", 64)
    cells_read.clear()
    assert np.array_equal(read_cells(raster, tmp_path, WIDE, factor, 0.1).array, whole, equal_nan=True)
    assert max(cells_read) <= 64**2 and sum(cells_read) == array.size
    assert whole[3, 5] == pytest.approx(np.nanmean(array[3 * factor : 4 * factor, 5 * factor : 6 * factor]))


def test_classes_are_read_stretch_by_stretch(tmp_path, cells_read, monkeypatch):
    codes = np.random.default_rng(1).integers(0, 9, WIDE.shape).astype(np.uint8)
    raster = write_raster(tmp_path, "c.tif", codes, WIDE, name="c", title="c", unit="", kind=CLASS, legend={k: str(k) for k in range(1, 9)})
    monkeypatch.setattr(rasters, "STRETCH", 128)
    cells_read.clear()
    found = read_cells(raster, tmp_path, WIDE, 3, 0.0).array
    assert max(cells_read) <= 128**2
    assert found.shape == (104, 177) and found[20, 30] == codes[61, 91] and found[103, 176] == codes[309, 529]


def test_some_rows_at_a_time_give_the_same_bytes_as_all_at_once(monkeypatch):
    height = np.random.default_rng(2).normal(300, 9, (50, 40))
    height[10:13, 5:9] = np.nan
    cells = Cells(Grid("EPSG:3158", 0, 0, 5, 50, 40), height, 0.1)
    made = packed(cells), shaded(cells)
    monkeypatch.setattr(map_rasters, "ROWS", 7)
    monkeypatch.setattr(map_relief, "ROWS", 7)
    again = packed(cells), shaded(cells)
    assert made[0] == again[0] and made[1][1] == again[1][1] and (made[1][0].array == again[1][0].array).all()
