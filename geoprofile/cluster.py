"""The blocks of blocks.py on a dask.distributed cluster.

Workers write each block into a file of its own on storage that all share; this
process, the only writer, puts them together. A block whose file is there already
is not computed again, so a run that was stopped goes on where it was. Needs the
extra ``cluster``: pip install "geoprofile[cluster]".
"""

from __future__ import annotations

import hashlib
import json
import os
import pickle
import shutil
import tempfile
import zipfile
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import lru_cache, partial
from pathlib import Path

import numpy as np

from .blocks import Done, Layout, Tile, bounded
from .errors import InputError
from .grid import Window
from .settings.run import RunSettings

FOLDER = ".blocks"
BLOCK = 4
"""Tiles along a side of a block: large enough that sending the task costs nothing beside its work."""
PATIENCE_S = 30
WAIT_S = 5


@dataclass(frozen=True)
class Cluster:
    """Workers of a scheduler; ``folder`` holds the files of finished blocks."""

    client: object
    folder: Path
    block: int | None = BLOCK

    def blocks(self, step: Callable, layout: Layout, key: str) -> Iterator[Done]:
        """Done blocks in any order; the files of this computation are removed when all have been used."""
        sides = f"{layout.grid} {layout.halo} {layout.block} {layout.side}"
        place = self.folder / hashlib.sha256(f"{key} {sides}".encode()).hexdigest()[:16]
        place.mkdir(parents=True, exist_ok=True)
        numbered = ((block, str(place / f"{number}.npz")) for number, block in enumerate(layout.blocks()))
        for file in self.each(partial(by_file, *_left_in(place, step)), numbered):
            yield from_file(Path(file))
        shutil.rmtree(place, ignore_errors=True)

    def each(self, step: Callable, items: Iterable) -> Iterator:
        """Results as they come, at most two tasks a thread under way; a worker that is lost gives its tasks to the others."""
        from distributed import TimeoutError as NothingYet
        from distributed import wait

        def first_of(futures: set) -> set:
            while True:
                try:
                    with self.client.as_current():
                        return set(wait(list(futures), timeout=WAIT_S, return_when="FIRST_COMPLETED").done)
                except (NothingYet, TimeoutError):
                    self._somebody_is_there()

        threads = sum(self.client.nthreads().values())
        yield from bounded(lambda item: self.client.submit(step, item, pure=False), items, 2 * threads, first_of)

    def _somebody_is_there(self) -> None:
        if not self.client.nthreads():
            raise InputError(
                "no worker of the cluster is left", where="run.scheduler", found=str(self.client.scheduler.address),
                remedy="start workers and run again: blocks that are finished are taken up",
            )  # fmt: skip


def _left_in(place: Path, step: Callable) -> tuple[str, str]:
    """File and hash of the function: a fitted map is too large to be sent with every block."""
    packed = pickle.dumps(step, protocol=pickle.HIGHEST_PROTOCOL)
    digest = hashlib.sha256(packed).hexdigest()
    with tempfile.NamedTemporaryFile(dir=place, prefix=".writing-", delete=False) as file:
        file.write(packed)
    name = place / f"function-{digest[:16]}"
    os.replace(file.name, name)
    return str(name), digest


def by_file(function: str, digest: str, block_and_file: tuple[tuple[Tile, ...], str]) -> str:
    """:func:`into_file` by the function in a file, on a worker; the file is opened only where it is the one that was sent."""
    return into_file(_opened(function, digest), block_and_file)


@lru_cache(maxsize=2)
def _opened(function: str, digest: str) -> Callable:
    packed = Path(function).read_bytes()
    if hashlib.sha256(packed).hexdigest() != digest:
        raise OSError(f"{function} is not the function that was sent")
    return pickle.loads(packed)


def into_file(step: Callable, block_and_file: tuple[tuple[Tile, ...], str]) -> str:
    """Compute a block into its file tile by tile, on a worker; a file that is whole is left as it is."""
    block, name = block_and_file
    file = Path(name)
    if file.is_file():
        with suppress(OSError, ValueError, KeyError, zipfile.BadZipFile):
            for _ in from_file(file).cells:
                pass
            return name
    windows, number, counts = [], 0, Counter()
    handle, partial_name = tempfile.mkstemp(dir=file.parent, prefix=".writing-", suffix=".npz")
    try:
        with os.fdopen(handle, "wb") as sink, zipfile.ZipFile(sink, "w") as archive:
            for tile in block:
                done = step((tile,))
                ((window, outputs),) = done.cells
                for k, cells in enumerate(outputs):
                    _put(archive, f"{len(windows)}_{k}", cells)
                windows.append([window.row, window.column, window.height, window.width])
                number = len(outputs)
                counts.update(done.counts)
            _put(archive, "told", np.array(json.dumps({"windows": windows, "outputs": number, "counts": counts})))
        os.replace(partial_name, file)
    except BaseException:
        Path(partial_name).unlink(missing_ok=True)
        raise
    return name


def _put(archive: zipfile.ZipFile, name: str, array: np.ndarray) -> None:
    with archive.open(f"{name}.npy", "w", force_zip64=True) as sink:
        np.lib.format.write_array(sink, array, allow_pickle=False)


def from_file(file: Path) -> Done:
    """The block in a file; its cells are read tile by tile as they are asked for: a block of many rasters is large."""
    with np.load(file, allow_pickle=False) as source:
        told = json.loads(str(source["told"]))
    return Done(_tiles_of(file, told["windows"], told["outputs"]), Counter(told["counts"]))


def _tiles_of(file: Path, windows: list[list[int]], outputs: int) -> Iterator[tuple[Window, tuple[np.ndarray, ...]]]:
    with np.load(file, allow_pickle=False) as source:
        for number, window in enumerate(windows):
            yield Window(*window), tuple(source[f"{number}_{k}"] for k in range(outputs))


@contextmanager
def connected(settings: RunSettings, output: Path) -> Iterator[Cluster]:
    """Workers of the scheduler that ``[run]`` names.

    Raises InputError when distributed is not installed, nobody answers, there is no
    worker, or the workers do not see the output folder.
    """
    try:
        from distributed import Client
    except ImportError as error:
        raise InputError(
            "a cluster needs dask.distributed", where="run.scheduler", found="it is not installed",
            remedy='pip install "geoprofile[cluster]", or leave scheduler out to run on this machine',
        ) from error  # fmt: skip
    try:
        client = Client(settings.scheduler, timeout=PATIENCE_S, set_as_default=False)
    except (OSError, TimeoutError) as error:
        raise InputError(
            "the scheduler does not answer", where="run.scheduler", found=settings.scheduler,
            remedy="start one with: dask scheduler; or leave scheduler out to run on this machine",
        ) from error  # fmt: skip
    cluster = Cluster(client, Path(output).resolve() / FOLDER, settings.block_tiles or BLOCK)
    try:
        cluster._somebody_is_there()
        _they_share_the_storage(client, cluster.folder)
        yield cluster
    finally:
        client.close()
        with suppress(OSError):
            cluster.folder.rmdir()  # only when no computation keeps blocks there


def _they_share_the_storage(client, folder: Path) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.NamedTemporaryFile(dir=folder, prefix=".seen-") as file:
        seen = client.run(os.path.isfile, file.name)
    blind = sorted(address for address, sees in seen.items() if not sees)
    if blind:
        raise InputError(
            "workers of the cluster do not see the output folder", where="run.scheduler", found=f"{folder} from {', '.join(blind)}",
            remedy="put survey and output on storage that is mounted under the same path everywhere",
        )  # fmt: skip
