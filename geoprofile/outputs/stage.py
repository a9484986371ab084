"""Publish: the writers run one after another, and what they wrote is listed.

    publish(bundle, record)
      +-- choose the writers          settings.writers, else all that are installed
      +-- run each                    a failing one does not stop the others
      +-- check each file             inside the output folder, there, hashed
      +-- Outputs                     the files of the writers, and the rasters of the stages

Nothing is written outside ``context.output``. Layers and files that people edit
by hand are read elsewhere and never written here.
"""

from __future__ import annotations

import gc
from dataclasses import replace
from pathlib import Path, PurePosixPath

from ..errors import Cancelled, GeoprofileError, OutputError, not_written
from ..memory import give_back
from ..products import OutputFile, Outputs
from ..record import Record
from ..registry import plugins
from ..written import file_sha256
from .bundle import Bundle
from .placing import place_of

GROUP = "geoprofile.writers"


def publish(bundle: Bundle, record: Record) -> Outputs:
    """Run the writers and list their files with hashes.

    Raises OutputError, after all writers were tried, when any of them failed;
    PluginError when a writer that was asked for is not there.
    """
    writers = chosen_writers(bundle)
    output = bundle.context.output
    try:
        output.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise not_written(error, output) from error
    files: list[OutputFile] = []
    failures: dict[str, GeoprofileError] = {}
    with bundle.context.progress.task("writing outputs", len(writers)) as task:
        for name, writer in writers.items():
            try:
                files += checked_files(name, writer.write(bundle), output)
            except Cancelled:
                raise
            except Exception as error:  # whatever one writer raises, the others are still tried
                failures[name] = _failure(error, output)
            gc.collect()  # figures hold on to themselves
            give_back()
            task.advance()
    if failures:
        first, *others = _told_once(failures)
        raise OutputError(
            first.what, where=first.where, found=first.found, allowed=first.allowed, remedy=first.remedy,
            others=(*first.others, *others),
        )  # fmt: skip
    return Outputs(record, (*_without_repeats(files), *_rasters(bundle)), _notes(bundle))


def chosen_writers(bundle: Bundle) -> dict[str, object]:
    """Writers by name, in the order of the settings or of their names."""
    installed = plugins(GROUP)
    names = bundle.settings.writers if bundle.settings.writers is not None else tuple(sorted(installed.loaded))
    return {name: installed.get(name) for name in names}


def checked_files(writer: str, files: tuple[OutputFile, ...], output: Path) -> list[OutputFile]:
    """The files as listed, once each proves to lie inside ``output`` with the hash it is said to have."""
    for file in files:
        path = PurePosixPath(file.path)
        whole = output / path
        if path.is_absolute() or not whole.resolve().is_relative_to(output.resolve()):
            raise OutputError("a file lies outside the output folder", where=f"writer {writer}", found=file.path,
                              remedy=f"repair the writer: its files belong below {output}")
        if not whole.is_file() or file_sha256(whole) != file.sha256:
            raise OutputError("a file is not there as it was said to be", where=f"writer {writer}", found=file.path)
    # a writer's own line may begin with the file it writes: beside the path that would say it twice
    return [replace(file, what=file.what.removeprefix(f"{file.path}: ")) for file in files]


def _failure(error: Exception, output: Path) -> GeoprofileError:
    if isinstance(error, GeoprofileError):
        return error
    if isinstance(error, OSError):  # the system's word, whoever asked: a folder in the way, no permission, no room
        return not_written(error, place_of(error, output))
    return OutputError(
        "it did not finish", found=f"{type(error).__name__}: {error}",
        remedy="what it would have written is as it was before; leave it out with [publish] writers, or report it",
    )  # fmt: skip


def _told_once(failures: dict[str, GeoprofileError]) -> list[OutputError]:
    """The failures by writer; one that stopped several writers is told once, with their names."""
    alike: dict[str, list[str]] = {}
    for name, error in failures.items():
        alike.setdefault(str(error), []).append(name)
    told = []
    for names in alike.values():
        error = failures[names[0]]
        who = f"the writer {names[0]!r}" if len(names) == 1 else f"the writers {', '.join(map(repr, names))}"
        told.append(OutputError(
            f"{who} failed: {error.what}", where=error.where, found=error.found, allowed=error.allowed,
            remedy=error.remedy, others=error.others,
        ))  # fmt: skip
    return told


def _without_repeats(files: list[OutputFile]) -> tuple[OutputFile, ...]:
    return tuple({file.path: file for file in files}.values())


def _rasters(bundle: Bundle) -> tuple[OutputFile, ...]:
    """Rasters that earlier stages left in the output folder belong to the run's files too."""
    return tuple(
        OutputFile(raster.path, raster.sha256, f"{raster.title}, {raster.unit}" if raster.unit else raster.title)
        for product in (bundle.terrain, bundle.surfaces)
        if product is not None
        for raster in product.rasters.values()
    )


def _notes(bundle: Bundle) -> tuple[str, ...]:
    notes = [f"writer {broken.name!r} from {broken.value} was left out: {broken.reason}" for broken in plugins(GROUP).broken]
    if bundle.settings.writers is not None:
        unused = sorted(set(plugins(GROUP).loaded) - set(bundle.settings.writers))
        if unused:
            notes.append(f"not asked for: {', '.join(unused)}")
    return tuple(notes)
