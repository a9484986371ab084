"""Every raster of an attribute, tile by tile: the same bits however the grid is shared out."""

from __future__ import annotations

import pickle
from collections import Counter
from dataclasses import replace

import geopandas as gpd
import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from geoprofile.blocks import Layout, Threads, Tile, compute
from geoprofile.grid import Grid, Window
from geoprofile.settings.run import RunSettings
from geoprofile.settings.surfaces import SurfacesSettings
from geoprofile.surfaces import one_surface
from geoprofile.surfaces.ground import lay_ground
from geoprofile.surfaces.reliability import BACKED, FAR, UNSEEN
from geoprofile.surfaces.stage import map_surfaces
from geoprofile.surfaces.tiles import empty_caution, share_notes

DEPTH = "depth_to_bt"
GRID = Grid("EPSG:3158", 499_950, 5_500_850, 10, 90, 93)
KINDS = {
    "bounds, drift, strata": ("depth", {"drift": ("relative_elevation",), "less_than_cm": (25,), "more_than_cm": (40,)}),
    "two parts": ("thickness", {"absent_as": "two_part", "less_than_cm": (10,)}),
    "latent, square root": ("thickness", {"absent_as": "latent", "transform": "square_root", "more_than_cm": (0, 20)}),
    "near pits": ("depth", {"nearest_pits": 8}),
    "forest": ("depth", {"method": "forest", "drift": ("relative_elevation",)}),
}


class InMemory:
    def __init__(self, shape, dtype):
        self.cells = np.zeros(shape, dtype)

    def write(self, window, cells):
        self.cells[window.slices] = cells


def high(x, y):
    """Rolling ground with single gaps and a hole."""
    up = 3 * np.sin((x - 500_000) / 60) * np.cos((y - 5_500_000) / 60)
    gaps = np.random.default_rng(4).random(np.shape(up)) < 0.02
    return np.where(gaps | (np.hypot(x - 500_300, y - 5_500_500) < 60), np.nan, up)


def survey(invented, kind):
    """70 pits: absent in the north-west, a quarter say only 'at least'."""
    points = invented.scattered(70)
    value = np.maximum(30 + 6 * invented.field(points, model=("spherical", 0.1, 1, 300)), 3).round()
    rng = np.random.default_rng(7)
    absent = (points[:, 0] < 500_250) & (points[:, 1] > 5_500_400)
    rows = []
    for here, v, ended in zip(absent, value, rng.random(70) < 0.25, strict=True):
        if here:
            rows.append((0.0, 0.0, "absent", "absent") if kind == "thickness" else (np.nan, np.nan, "absent", "absent"))
        else:
            rows.append((v - 4, np.nan, "at_least", "present") if ended else (v, v, "measured", "present"))
    return invented.products(points, {DEPTH: rows}, [invented.definition(DEPTH, kind)])


def strata_file(folder, crs):
    west, south, east, north = GRID.bounds
    line = [(west + 420 + 70 * np.sin(y / 90), y) for y in np.linspace(south, north, 30)]
    frame = gpd.GeoDataFrame(
        {"material": ["till", "sand"]}, geometry=[shapely.Polygon([(west, south), *line, (west, north)]), shapely.Polygon([(east, south), *line, (east, north)])], crs=crs,
    )  # fmt: skip
    frame.to_file(folder / "lines.gpkg")
    return {"file": "lines.gpkg", "id": "material", "use": "stop"}


def frame_of(invented, make_context, folder, kind):
    """Pits, attributes, terrain, settings and context of one of KINDS."""
    what, asked = KINDS[kind]
    strata = strata_file(folder, invented.CRS) if "strata" in kind else None
    context = make_context(crs=invented.CRS, **({"strata": strata} if strata else {}))
    terrain = invented.terrain(context, GRID, elevation=lambda x, y: high(x[:, ::-1], y), relative_elevation=high)
    return *survey(invented, what), terrain, SurfacesSettings(**asked), context


@pytest.fixture(params=list(KINDS))
def tile(request, invented, make_context, tmp_path):
    """The function of a tile, fitted once, as it is sent to a worker."""
    pits, attributes, terrain, asked, context = frame_of(invented, make_context, tmp_path, request.param)
    ground = lay_ground(pits, attributes, terrain, context)
    made = one_surface._fit(one_surface._ask(attributes.definitions[0], attributes, ground, asked, context), ground, asked)
    return pickle.loads(pickle.dumps(made.tile))


def drawn(tile, side, block, threads=2):
    number = 4 + (tile.presence is not None or tile.own_presence) + len(tile.below) + len(tile.above)
    dtypes = ["uint8" if place == 3 else "float32" for place in range(number)]
    sinks = [InMemory(GRID.shape, dtype) for dtype in dtypes]
    counts = compute(tile, tile.land.inputs, sinks, Layout(GRID, 0, block, side), Threads(threads, block), dtypes=dtypes)
    return [sink.cells for sink in sinks], counts


def test_any_block_size_gives_the_same_bits(tile):
    """Irregular no data, strata, drift, bounded pits; the same tiles in other groups, order and threads."""
    first, counts = drawn(tile, 16, 1, threads=1)
    told = first[3]
    assert len(np.unique(told)) >= 3 and np.isfinite(first[0]).any()
    assert {code: counts[f"reliability {code}"] for code in range(1, 7)} == {code: int((told == code).sum()) for code in range(1, 7)}

    @settings(max_examples=5, deadline=None, suppress_health_check=list(HealthCheck))
    @given(st.sampled_from([None, 1, 2, 3, 5, 50]), st.integers(1, 3))
    def holds(block, threads):
        again, more = drawn(tile, 16, block, threads)
        assert more == counts
        assert all(one.tobytes() == other.tobytes() for one, other in zip(first, again, strict=True))

    holds()
    # the lattice of tiles is fixed; were it another, results would agree to what a file can hold
    for one, other in zip(first, drawn(tile, 93, None)[0], strict=True):
        if one.dtype == np.uint8:
            assert (one != other).sum() <= 1
        else:
            assert np.array_equal(np.isnan(one), np.isnan(other)) and np.nanmax(np.abs(one - other), initial=0) < 2e-5


def test_a_tile_of_a_grid_that_no_memory_holds(invented, make_context, tmp_path):
    """T15: nothing of the size of the grid is made; 80 million million cells, of which one window is asked."""
    pits, attributes, terrain, asked, context = frame_of(invented, make_context, tmp_path, "bounds, drift, strata")
    ground = lay_ground(pits, attributes, terrain, context)
    made = one_surface._fit(one_surface._ask(attributes.definitions[0], attributes, ground, asked, context), ground, asked)
    wide = replace(GRID, cell_m=GRID.cell_m / 100_000, height=GRID.height * 100_000, width=GRID.width * 100_000)
    tile, window = replace(made.tile, land=replace(made.tile.land, grid=wide)), Window(7_000_000, 6_000_000, 8, 8)
    outputs, counts = tile(Tile(window, window), *(np.full((8, 8), 0.5) for _ in tile.land.inputs))
    assert {cells.shape for cells in outputs} == {(8, 8)} and counts["reliability 1"] == 64
    assert np.ptp(outputs[0]) < 0.01, "less than a millimetre of land"


def test_blocks_and_threads_change_no_byte_of_the_files(invented, make_context, a_record, tmp_path, monkeypatch):
    monkeypatch.setattr("geoprofile.surfaces.writing.SIDE", 32)
    pits, attributes, terrain, asked, context = frame_of(invented, make_context, tmp_path, "bounds, drift, strata")
    made = [
        map_surfaces(pits, attributes, terrain, asked, replace(context, run=RunSettings(**run)), a_record("surfaces"))
        for run in ({"threads": 1, "block_tiles": 1}, {"threads": 2, "block_tiles": 3}, {})
    ]
    assert all(one == made[0].rasters for one in (more.rasters for more in made[1:]))
    assert all(one.surfaces == made[0].surfaces and one.notes == made[0].notes for one in made[1:])
    (surface,) = made[0].surfaces
    assert surface.presence and surface.below == {"25": f"{DEPTH}_below_25cm"} and surface.above == {"40": f"{DEPTH}_above_40cm"}


def test_a_map_without_any_backed_place_says_why_it_is_empty():
    counts = Counter({f"reliability {UNSEEN}": 9, f"reliability {FAR}": 1})
    assert empty_caution(counts) == "the pits back no place, so no estimate is shown: 10 % far from the pits, 90 % beyond what any pit saw"
    assert empty_caution(counts + Counter({f"reliability {BACKED}": 1})) == "" == empty_caution(Counter())
    assert share_notes(counts) == ["of the mapped area: 10 % far from the pits, 90 % beyond what any pit saw"]
