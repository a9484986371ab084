"""Work over a raster of any size: one function, window by window, with a halo.

The function always sees the same tiles, on a lattice that starts at the grid's
origin. A block is a group of tiles that one task works through; how large it is
changes how work is shared out and nothing else, so results are the same bit for
bit. A bounded number of blocks is under way at any time: memory does not grow
with the raster.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, ThreadPoolExecutor, wait
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Protocol

import numpy as np

from .grid import Grid, Window
from .progress import Task
from .settings.run import RunSettings

TILE = 512
"""Side of a tile, cells."""
WIDE_TILE, WIDE_HALO = 1024, 100
"""Side of a tile where the halo is wider than ``WIDE_HALO``, so that less of it is computed twice."""


class Reader(Protocol):
    """Anything that gives the cells of a window of the grid; small enough to be sent to another machine."""

    def read(self, window: Window) -> np.ndarray: ...


class Sink(Protocol):
    """Anything that takes the cells of a window of the grid."""

    def write(self, window: Window, cells: np.ndarray) -> None: ...


@dataclass(frozen=True, slots=True)
class Tile:
    """``core`` is what a tile is to give; ``around`` is the core and its halo, cut at the grid's edge."""

    core: Window
    around: Window

    @property
    def inner(self) -> tuple[slice, slice]:
        """The core within an array of ``around``."""
        row, column = self.core.row - self.around.row, self.core.column - self.around.column
        return slice(row, row + self.core.height), slice(column, column + self.core.width)


@dataclass(frozen=True)
class Layout:
    """Tiles and blocks of a grid.

    Parameters
    ----------
    halo : cells that the function needs around each cell.
    block : tiles along a block's side; None = 1 high and 2 wide.
    tile : side of a tile, cells; None = by the halo. Unlike ``block`` it may show in the last bit.
    """

    grid: Grid
    halo: int = 0
    block: int | None = None
    tile: int | None = None

    @property
    def side(self) -> int:
        return self.tile or (WIDE_TILE if self.halo > WIDE_HALO else TILE)

    def blocks(self) -> Iterator[tuple[Tile, ...]]:
        """Groups of tiles, row by row from the north-west corner."""
        high, wide = (1, 2) if self.block is None else (self.block, self.block)
        rows, columns = -(-self.grid.height // self.side), -(-self.grid.width // self.side)
        for row in range(0, rows, high):
            for column in range(0, columns, wide):
                yield tuple(
                    self._tile(y, x)
                    for y in range(row, min(row + high, rows))
                    for x in range(column, min(column + wide, columns))
                )

    def _tile(self, y: int, x: int) -> Tile:
        grid, side, halo = self.grid, self.side, self.halo
        row, column = y * side, x * side
        core = Window(row, column, min(side, grid.height - row), min(side, grid.width - column))
        top, left = max(0, row - halo), max(0, column - halo)
        bottom = min(grid.height, row + core.height + halo)
        right = min(grid.width, column + core.width + halo)
        return Tile(core, Window(top, left, bottom - top, right - left))

    def __len__(self) -> int:
        high, wide = (1, 2) if self.block is None else (self.block, self.block)
        rows, columns = -(-self.grid.height // self.side), -(-self.grid.width // self.side)
        return -(-rows // high) * -(-columns // wide)


@dataclass(frozen=True)
class Done:
    """What a block gave: for each tile its core and one array an output, to be gone through once; counts that add up."""

    cells: Iterable[tuple[Window, tuple[np.ndarray, ...]]]
    counts: Counter


Function = Callable[..., tuple[Sequence[np.ndarray], dict]]
"""``function(tile, *arrays) -> outputs, counts``: arrays and outputs have the shape of ``tile.around``."""


def work_through(block: tuple[Tile, ...], function: Function, inputs: Sequence[Reader], dtypes: Sequence[str]) -> Done:
    """Read, compute and cut one block; runs in a thread or on another machine."""
    cells, counts = [], Counter()
    for tile in block:
        arrays = [source.read(tile.around) for source in inputs]
        if any(array.shape != (tile.around.height, tile.around.width) for array in arrays):
            raise ValueError(f"a window of {tile.around} was read with another shape")  # T14: never stretched to fit
        outputs, more = function(tile, *arrays)
        cells.append((tile.core, tuple(np.array(o[tile.inner], dtype) for o, dtype in zip(outputs, dtypes, strict=True))))
        counts.update(more)
    return Done(tuple(cells), counts)


def compute(
    function: Function,
    inputs: Sequence[Reader],
    sinks: Sequence[Sink],
    layout: Layout,
    workers: Workers,
    *,
    dtypes: Sequence[str],
    task: Task | None = None,
    key: str = "",
) -> Counter:
    """Fill every sink with what ``function`` makes of the inputs, and return the sums of its counts.

    Parameters
    ----------
    function : see :data:`Function`; for a cluster it must be picklable (a function of a module, or ``partial``).
    dtypes : type of each output. key : names the computation where finished blocks are kept for a rerun.
    task : advanced once a block; a cancel stops after the blocks under way.
    """
    step = partial(work_through, function=function, inputs=tuple(inputs), dtypes=tuple(dtypes))
    counts = Counter()
    for done in workers.blocks(step, layout, key):
        for window, outputs in done.cells:
            for sink, cells in zip(sinks, outputs, strict=True):
                sink.write(window, cells)
        counts.update(done.counts)
        if task is not None:
            task.advance()
    return counts


class Workers(Protocol):
    """Who works through the blocks: threads here, or a cluster (cluster.py)."""

    block: int | None

    def blocks(self, step: Callable[[tuple[Tile, ...]], Done], layout: Layout, key: str) -> Iterator[Done]: ...

    def each(self, step: Callable, items: Iterable) -> Iterator: ...


@dataclass(frozen=True)
class Threads:
    """Threads of this process; at most ``number`` blocks are computed and as many wait."""

    number: int
    block: int | None = None

    def blocks(self, step, layout: Layout, key: str = "") -> Iterator[Done]:
        yield from self.each(step, layout.blocks())

    def each(self, step: Callable, items: Iterable) -> Iterator:
        """Results of ``step(item)`` as they come; what has not begun when the caller stops is not begun."""
        with ThreadPoolExecutor(self.number, thread_name_prefix="blocks") as pool:
            yield from bounded(lambda item: pool.submit(step, item), items, 2 * self.number, _first_of)


def _first_of(futures: set) -> set:
    return wait(futures, return_when=FIRST_COMPLETED).done


def bounded(submit: Callable, items: Iterable, most: int, first_of: Callable[[set], set]) -> Iterator:
    """Results of submitted items, never more than ``most`` of them under way."""
    under_way: set = set()
    try:
        for item in items:
            while len(under_way) >= most:
                for future in first_of(under_way):
                    under_way.discard(future)
                    yield future.result()
            under_way.add(submit(item))
        while under_way:
            for future in first_of(under_way):
                under_way.discard(future)
                yield future.result()
    finally:
        for future in under_way:
            future.cancel()


@contextmanager
def workers(settings: RunSettings, output: Path) -> Iterator[Workers]:
    """The workers that ``[run]`` asks for: a cluster when it names a scheduler, else threads."""
    if settings.scheduler:
        from .cluster import connected

        with connected(settings, output) as cluster:
            yield cluster
    else:
        yield Threads(settings.threads or os.cpu_count() or 1, settings.block_tiles)
