"""A file appears whole or not at all: a temporary name, then one move into place."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from .. import written
from ..context import Context
from ..errors import not_written
from ..products import OutputFile


@contextmanager
def temporary_folder(context: Context) -> Iterator[Path]:
    """A folder beside the outputs that vanishes afterwards, whatever happens."""
    try:
        context.output.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=context.output, prefix=".writing-") as folder:
            yield Path(folder)
    except OSError as error:
        raise not_written(error, place_of(error, context.output)) from error


def place_of(error: OSError, output: Path) -> Path:
    """The file or folder below ``output`` that a system error is about; temporary names stand for the folder they lie in."""
    told = error.filename2 or error.filename
    try:
        parts = Path(os.fsdecode(told)).relative_to(output).parts if told else ()
    except (TypeError, ValueError):
        parts = ()
    hidden = next((number for number, part in enumerate(parts) if part.startswith(".")), len(parts))
    return output.joinpath(*parts[:hidden])


def move_into_place(context: Context, ready: Path, path: str, what: str, *, looked_after: bool = False) -> OutputFile:
    """Give a finished file its name ``path`` below the output folder; refused where a file that is not ours has it."""
    return OutputFile(path, written.place(ready, context.output, path, looked_after=looked_after), what)


def write_file(context: Context, path: str, content: bytes, what: str) -> OutputFile:
    """Write ``content`` to ``path`` below the output folder in one step."""
    with temporary_folder(context) as folder:
        ready = folder / "ready"
        ready.write_bytes(content)
        return move_into_place(context, ready, path, what)
