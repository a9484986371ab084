"""Classes read window by window: the same as of the whole raster, whatever the windows."""

from __future__ import annotations

import pickle

import numpy as np
import pytest

from geoprofile.grid import Window
from geoprofile.settings.zones import DraftSettings
from geoprofile.zones import clusters as room
from geoprofile.zones.classes import HeldCells, nearest
from geoprofile.zones.clusters import terrain_clusters
from geoprofile.zones.draft import MORE_LIKELY_ABSENT, NOT_BACKED, draft_classes
from geoprofile.zones.findings import Findings


def by_windows(cells, grid, tile):
    out = np.full(grid.shape, 99, np.uint8)
    for window in grid.windows(tile):
        out[window.slices] = cells.read(window)
    return out


def test_codes_that_are_held_are_read_by_window():
    assert HeldCells(np.arange(12).reshape(3, 4)).read(Window(1, 2, 2, 1)).tolist() == [[6], [10]]


@pytest.mark.parametrize(("tile", "unit", "certain"), [(7, "%", 100), (64, "%", 100), (64, "", 1)])
def test_a_surface_cut_by_limits_keeps_absence_and_what_is_not_backed_apart(
    make_pits, make_surfaces, make_context, at, tile, unit, certain
):
    """Depth 8, 12 and 30; absent in one column; masked in another; outside the survey in the last."""
    estimate = np.tile(np.repeat([8.0, 10.0, 30.0], 10), (20, 1))
    presence, reliability = np.ones((20, 30)), np.ones((20, 30), np.uint8)
    presence[:, 5], estimate[:, 15], reliability[:, 15] = 0.4, np.nan, 2
    estimate[:, 29], presence[:, 29], reliability[:, 29] = np.nan, np.nan, 0
    context = make_context()
    surfaces = make_surfaces(context, estimate=estimate, presence=certain * presence, reliability=reliability, probability_unit=unit)
    _, attributes = make_pits([("1", at(5, 5), {})])
    draft = DraftSettings(from_="surface", attribute="depth_to_carbonates", limits_cm=(10, 25))
    found = draft_classes(draft, attributes, None, surfaces, None, context, Findings())
    codes = by_windows(pickle.loads(pickle.dumps(found.cells)), found.grid, tile)  # as a worker elsewhere gets it
    owed = np.repeat([1, 2, 3], 10)
    owed[[5, 15, 29]] = 4, 5, 0
    np.testing.assert_array_equal(codes, np.tile(owed, (20, 1)))
    assert (found.names[4], found.names[5], found.kept_apart) == (MORE_LIKELY_ABSENT, NOT_BACKED, {5})


def test_of_equally_near_centres_the_first_is_taken():
    values = [np.array([0.0, 1.0, 2.0, 1.4]), np.array([0.0, 0.0, 0.0, 9.0])]
    assert nearest(values, np.array([[0.0, 0.0], [2.0, 0.0]])).tolist() == [0, 0, 1, 1]


def test_clusters_found_on_a_lattice_are_those_of_all_cells(make_terrain, make_context, monkeypatch):
    """Three clear groups: every fourth row and column tells them as well as all, and the notes say what was looked at."""
    context, noise = make_context(), np.random.default_rng(0).normal(0, 0.1, (20, 30))
    level = np.repeat([5.0, -5.0, 0.0], [7, 7, 6])[:, None] + noise
    level[3, 3] = np.nan
    terrain = make_terrain(context, relative_elevation=level, slope=np.abs(level) + 1)

    def found():
        findings = Findings()
        cells, names = terrain_clusters(terrain, DraftSettings(from_="clusters", clusters=3), 1, context, findings)
        return by_windows(pickle.loads(pickle.dumps(cells)), terrain.grid, 11), by_windows(cells, terrain.grid, 64), names, findings.notes

    whole = found()
    assert whole[0][3, 3] == 0 and "row and column" not in whole[3][0]
    monkeypatch.setattr(room, "MOST_LOOKED_AT", 40)
    asked = []
    every = type(terrain.rasters["slope"].cells(context.output)).every
    monkeypatch.setattr(
        "geoprofile.rasters.RasterCells.every",
        lambda self, rows, columns: asked.append((rows.tolist(), columns.tolist())) or every(self, rows, columns),
    )
    lattice = found()
    assert asked == [(list(range(0, 20, 4)), list(range(0, 30, 4)))] * 2  # 35 cells of 600
    np.testing.assert_array_equal(lattice[0], whole[0])
    np.testing.assert_array_equal(lattice[0], lattice[1])
    assert "found, and their means taken, on every 4th row and column of cells" in lattice[3][0]
    assert lattice[2][1].startswith("higher than around") and lattice[2][3].startswith("lower than around")
