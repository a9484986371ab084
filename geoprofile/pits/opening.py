"""From a source named in the survey file to a RawTable: the reader is chosen by the file's ending, or named."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from ..context import Context
from ..errors import InputError, PluginError
from ..registry import plugins
from ..settings.pits import PitsSettings, PointsSource, TableSource
from .form import without_example
from .readers.raw import RawTable


class EmptyForm(InputError):
    """A form with nothing but its example."""


def open_table(source: TableSource | PointsSource, settings: PitsSettings, context: Context, what: str) -> RawTable:
    """Read one source, without the example of a form.

    Raises InputError when the file is missing or no reader takes it, EmptyForm when it holds but an example, PluginError when the reader breaks its contract.
    """
    path, reader = choose_reader(source, settings, context, what)
    sheet = getattr(source, "layer", None) or source.sheet
    raw = reader.read(path, sheet=sheet, header_row=getattr(source, "header_row", 1))
    if not isinstance(raw, RawTable):
        raise PluginError("a reader must give a RawTable", where=type(reader).__name__, found=type(raw).__name__,
                          allowed="geoprofile.pits.readers.raw.RawTable")
    rows = len(raw.rows)
    raw = without_example(raw)
    if rows and raw.cells.empty:
        raise EmptyForm("the form has no rows yet", where=str(path), found=f"sheet {raw.sheet} with nothing but its example" if raw.sheet else "its example",
                        remedy="write below the example, one row each, and save it")
    if raw.cells.empty:
        raise InputError(f"the table of {what} has no rows", where=str(path), found=raw.sheet)
    return replace(raw, file=source.file, notes=tuple(f"{source.file}: {note}" for note in raw.notes))


def notes_path(settings: PitsSettings | None, folder: Path) -> Path:
    """The file of field notes that a survey names. Raises InputError where it names none."""
    source = settings and (settings.notes or next((one for one in (settings.horizons, settings.pits) if one and one.file.endswith((".txt", ".md", ".text"))), None))
    if not source:
        raise InputError("the survey names no field notes", where="[pits]", remedy='add notes = { file = "notes.txt" }')
    return (folder / source.file).resolve()


def choose_reader(source: TableSource | PointsSource, settings: PitsSettings, context: Context, what: str) -> tuple[Path, object]:
    """The path of a source and its reader: the named one, or by the file's ending.

    Where several readers take an ending (a .txt is a table or notes), the one that recognises the content goes first.
    """
    path = context.path(source.file)
    if path.is_dir():
        endings = {ending for reader in plugins("geoprofile.readers").loaded.values() for ending in reader.suffixes}
        files = sorted(other.name for other in path.iterdir() if other.suffix.lower() in endings)
        raise InputError(f"the file of {what} is a folder", where=str(path), allowed=", ".join(files[:12]) or "a file",
                         remedy="name the file in it")
    if not path.is_file():
        near = _near(path)
        raise InputError(f"the file of {what} is not there", where=str(path), allowed=near,
                         remedy="check the path in the survey file; it starts at the survey file's folder")
    readers = plugins("geoprofile.readers")
    named = source.reader or (settings.reader if isinstance(source, TableSource) else None)
    if named is not None:
        return path, readers.get(named)
    taking = [reader for reader in readers.loaded.values() if path.suffix.lower() in reader.suffixes]
    if not taking:
        endings = sorted({ending for reader in readers.loaded.values() for ending in reader.suffixes})
        raise InputError("no reader takes a file with this ending", where=str(path), found=path.suffix or "no ending",
                         allowed=", ".join(endings), remedy='name one, as reader = "delimited" in [pits]')
    if len(taking) > 1:
        for reader in taking:
            if hasattr(reader, "recognises") and reader.recognises(path):
                return path, reader
        taking = [reader for reader in taking if not hasattr(reader, "recognises")] or taking
    return path, taking[0]


def _near(path: Path) -> str:
    from difflib import get_close_matches

    if not path.parent.is_dir():
        return ""
    return ", ".join(get_close_matches(path.name, [other.name for other in path.parent.iterdir()], 3, 0.6))
