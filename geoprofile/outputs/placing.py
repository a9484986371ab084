"""A file appears whole or not at all: a temporary name, then one move into place."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from ..context import Context
from ..errors import OutputError
from ..products import OutputFile
from ..rasters import file_sha256


@contextmanager
def temporary_folder(context: Context) -> Iterator[Path]:
    """A folder beside the outputs that vanishes afterwards, whatever happens."""
    try:
        context.output.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=context.output, prefix=".writing-") as folder:
            yield Path(folder)
    except OSError as error:
        raise OutputError("the output folder cannot be written", where=str(context.output), found=str(error),
                          remedy="check that it exists, has room and may be written") from error


def move_into_place(context: Context, ready: Path, path: str, what: str) -> OutputFile:
    """Give a finished file its name ``path`` below the output folder."""
    target = context.output / path
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        os.replace(ready, target)
    except OSError as error:
        raise OutputError("a finished file could not be put in its place", where=str(target), found=str(error),
                          remedy="close it in other programs, then run again") from error
    return OutputFile(path, file_sha256(target), what)


def write_file(context: Context, path: str, content: bytes, what: str) -> OutputFile:
    """Write ``content`` to ``path`` below the output folder in one step."""
    with temporary_folder(context) as folder:
        ready = folder / "ready"
        ready.write_bytes(content)
        return move_into_place(context, ready, path, what)
