"""Blocks: the same result however a raster is shared out, in bounded memory, stopped cleanly."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import partial

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.blocks import WIDE_HALO, WIDE_TILE, Layout, Threads, Tile, bounded, compute, work_through, workers
from geoprofile.errors import Cancelled
from geoprofile.grid import Grid, Window
from geoprofile.progress import Progress
from geoprofile.settings.run import RunSettings
from geoprofile.settings.terrain import TerrainSettings
from geoprofile.terrain.derive import Derivation


@dataclass
class InMemory:
    """A grid in memory, read and written by windows."""

    cells: np.ndarray

    def read(self, window: Window) -> np.ndarray:
        return self.cells[window.slices].copy()

    def write(self, window: Window, cells: np.ndarray) -> None:
        self.cells[window.slices] = cells


def a_grid(height: int, width: int) -> Grid:
    return Grid("EPSG:32614", 500_000.0, 5_500_000.0, 5.0, height, width)


def neighbours(tile: Tile, z: np.ndarray):
    """Number of neighbours east and west within two cells: a function with a halo of two."""
    padded = np.pad((~np.isnan(z)).astype(float), ((0, 0), (2, 2)))
    sums = sum(padded[:, k : k + z.shape[1]] for k in range(5))
    return [sums], {"cells": tile.core.height * tile.core.width}


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 60), st.integers(1, 60), st.integers(0, 12), st.integers(1, 5), st.integers(3, 20))
def test_tiles_cover_every_cell_once_and_halos_end_at_the_edge(height, width, halo, block, tile):
    """T12: whole cells, derived in one place."""
    layout = Layout(a_grid(height, width), halo, block, tile)
    seen = np.zeros((height, width), int)
    blocks = list(layout.blocks())
    for one in (tile for group in blocks for tile in group):
        seen[one.core.slices] += 1
        around = one.around
        assert around.row == max(0, one.core.row - halo) and around.column == max(0, one.core.column - halo)
        assert around.row + around.height == min(height, one.core.row + one.core.height + halo)
        inside = np.zeros((around.height, around.width))[one.inner]
        assert inside.shape == (one.core.height, one.core.width)
    assert (seen == 1).all()
    assert len(layout) == len(blocks)


def test_a_wide_halo_gets_wider_tiles():
    assert Layout(a_grid(9, 9), WIDE_HALO + 1).side == WIDE_TILE


def irregular_ground(seed: int, height: int, width: int) -> np.ndarray:
    """Rolling ground with single gaps, a blob without data and a ragged edge."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[:height, :width]
    z = 300 + 4 * np.sin(x / 7) + 3 * np.cos(y / 11) + rng.normal(0, 0.2, (height, width))
    z[rng.random(z.shape) < 0.01] = np.nan
    z[(x - width / 3) ** 2 + (y - height / 2) ** 2 < rng.uniform(3, 12) ** 2] = np.nan
    z[x > width - 4 * (1 + np.sin(y / 3))] = np.nan
    return z


EVERYTHING = (
    "slope", "aspect", "profile_curvature", "plan_curvature", "tangential_curvature", "mean_curvature",
    "relative_elevation", "height_within_relief", "radiation", "hillshade", "landform_element",
)  # fmt: skip


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 6), st.sampled_from([0.0, 12.0, 25.0]), st.integers(1, 3))
def test_terrain_is_the_same_bit_for_bit_for_any_block_size(seed, block, scale, threads):
    """T13: from one tile to the whole; gaps and edges included."""
    z = irregular_ground(seed, 90, 110)
    grid = a_grid(*z.shape)
    derivation = Derivation(
        TerrainSettings(
            derive=EVERYTHING, analysis_scale_m=scale, further_scales_m=(40.0,), relative_elevation_radius_m=35, relief_radius_m=20
        ),
        grid.cell_m, latitude=50.0, smoothed=True,
    )  # fmt: skip
    dtypes = [output.dtype for output in derivation.outputs()] + ["float64"]

    def made(block: int, threads: int) -> tuple[list[np.ndarray], Counter]:
        sinks = [InMemory(np.zeros(grid.shape, dtype)) for dtype in dtypes]
        layout = Layout(grid, derivation.halo, block, tile=20)
        counts = compute(derivation, [InMemory(z)], sinks, layout, Threads(threads), dtypes=dtypes)
        return [sink.cells for sink in sinks], counts

    (one, first), (many, second) = made(block, threads), made(100, 1)
    assert first == second and first["known"] == np.count_nonzero(~np.isnan(z))
    for a, b in zip(one, many, strict=True):
        assert a.tobytes() == b.tobytes()


def test_tiles_and_the_whole_grid_in_one_piece_agree():
    """T13: no seam between tiles."""
    z = irregular_ground(3, 90, 110)
    grid = a_grid(*z.shape)
    derivation = Derivation(
        TerrainSettings(derive=EVERYTHING, analysis_scale_m=25, relative_elevation_radius_m=35, relief_radius_m=20),
        grid.cell_m, latitude=50.0,
    )  # fmt: skip
    made = {}
    for tile in (20, 500):
        made[tile] = [InMemory(np.zeros(grid.shape, output.dtype)) for output in derivation.outputs()]
        compute(
            derivation, [InMemory(z)], made[tile], Layout(grid, derivation.halo, 2, tile), Threads(2),
            dtypes=[output.dtype for output in derivation.outputs()],
        )  # fmt: skip
    for output, a, b in zip(derivation.outputs(), made[20], made[500], strict=True):
        np.testing.assert_allclose(a.cells, b.cells, rtol=1e-5, atol=1e-6, err_msg=output.name)


def test_several_inputs_and_outputs_go_through_together():
    grid = a_grid(30, 50)
    one, two = np.random.default_rng(1).normal(size=(2, *grid.shape))
    total, product = InMemory(np.zeros(grid.shape)), InMemory(np.zeros(grid.shape, "float32"))
    compute(
        lambda tile, a, b: ([a + b, a * b], {}), [InMemory(one), InMemory(two)], [total, product], Layout(grid, 0, 2, 8), Threads(2),
        dtypes=["float64", "float32"],
    )  # fmt: skip
    assert np.array_equal(total.cells, one + two)
    assert np.array_equal(product.cells, (one * two).astype("float32"))


def test_counts_add_up_over_blocks():
    grid = a_grid(33, 47)
    sink = InMemory(np.zeros(grid.shape))
    counts = compute(neighbours, [InMemory(np.ones(grid.shape))], [sink], Layout(grid, 2, 2, 10), Threads(2), dtypes=["float64"])
    assert counts == {"cells": 33 * 47}
    assert sink.cells[5, 20] == 5 and sink.cells[5, 0] == 3


def test_a_window_that_is_read_with_another_shape_is_refused():
    """T14."""

    class Short(InMemory):
        def read(self, window):
            return self.cells[window.slices][:-1]

    (block,) = Layout(a_grid(8, 8), 0).blocks()
    with pytest.raises(ValueError, match="another shape"):
        work_through(block, neighbours, [Short(np.zeros((8, 8)))], ["float64"])


def test_no_more_than_the_stated_number_of_tasks_is_under_way():
    """T15."""
    under_way, most = set(), []

    class Future:
        def __init__(self, number):
            self.number = number
            under_way.add(self)
            most.append(len(under_way))

        def result(self):
            under_way.discard(self)
            return self.number

        def cancel(self):
            under_way.discard(self)

    found = list(bounded(Future, range(50), 4, lambda futures: {min(futures, key=lambda f: f.number)}))
    assert found == list(range(50)) and max(most) == 4


def test_a_cancel_stops_before_the_next_blocks_and_a_failing_block_stops_all():
    grid, progress, done = a_grid(100, 100), Progress(), []

    def slow(tile, z):
        done.append(tile)
        if len(done) == 3:
            progress.cancel()
        return [z], {}

    sink = InMemory(np.zeros(grid.shape))
    with pytest.raises(Cancelled), progress.task("work", 100) as task:
        compute(slow, [InMemory(np.zeros(grid.shape))], [sink], Layout(grid, 0, 1, 10), Threads(1), dtypes=["float64"], task=task)
    assert len(done) <= 3 + 2 * 1 + 1

    def broken(tile, z):
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        compute(broken, [sink], [sink], Layout(grid, 0, 1, 10), Threads(2), dtypes=["float64"])


def test_threads_are_the_machines_unless_the_survey_file_says_how_many(tmp_path):
    with workers(RunSettings(threads=3), tmp_path) as crew:
        assert crew == Threads(3)
    with workers(RunSettings(), tmp_path) as crew:
        assert crew.number >= 1


def test_where_the_work_is_done_is_no_part_of_a_record():
    """The same products serve whoever asks: on a laptop or on a cluster."""
    from geoprofile.context import Context
    from geoprofile.pipeline import Run, record_of
    from geoprofile.settings import SurveyFile

    def record(**run):
        survey = SurveyFile.model_validate({"format": 1, "survey": {"name": "A", "crs": "EPSG:32614"}, "run": run})
        return record_of("terrain", "terrain", (), Run(survey, Context(survey.survey, survey.grid, None, None, run=survey.run)))

    assert record().id == record(scheduler="tcp://127.0.0.1:8786", threads=4).id


def test_a_block_goes_into_a_file_and_back_and_a_whole_file_is_not_computed_again(tmp_path):
    from geoprofile.cluster import from_file, into_file

    z = irregular_ground(1, 40, 60)
    grid = a_grid(*z.shape)
    step = partial(work_through, function=neighbours, inputs=(InMemory(z),), dtypes=("float32",))
    (block,) = Layout(grid, 2, 10, 20).blocks()
    name = into_file(step, (block, str(tmp_path / "0.npz")))
    done, direct = from_file(tmp_path / "0.npz"), step(block)
    assert done.counts == direct.counts
    for (window, cells), (other, same) in zip(done.cells, direct.cells, strict=True):
        assert window == other and cells[0].tobytes() == same[0].tobytes()
    assert len(direct.cells) > 1 and not list(done.cells), "tiles are read as they are asked for: all of a block are never held at once"

    def never(block):
        raise AssertionError("computed again")

    assert into_file(never, (block, name)) == name
    (tmp_path / "0.npz").write_bytes(b"half a file")
    into_file(step, (block, name))
    assert from_file(tmp_path / "0.npz").counts == direct.counts
    assert [file.name for file in tmp_path.iterdir()] == ["0.npz"], "no half file is left"
