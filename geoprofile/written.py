"""Which files of an output folder are ours: only those are ever replaced or removed.

Every file that takes its name is noted first with its hash, in ``.products/written.jsonl``; products
name theirs besides. A file of any other content is the user's, or was changed by the user: it stays.
Notes are only ever added, so that a run that was killed between two files goes on where it stopped.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
from collections.abc import Iterable
from pathlib import Path

from .errors import OutputError, not_written

PRODUCTS_FOLDER = ".products"
NOTES = f"{PRODUCTS_FOLDER}/written.jsonl"


def file_sha256(path: Path) -> str:
    with open(path, "rb") as source:
        return hashlib.file_digest(source, "sha256").hexdigest()


def place(ready: Path, output: Path, path: str, sha256: str | None = None, *, looked_after: bool = False) -> str:
    """Give the finished file ``ready`` its name ``output/path`` and return its hash.

    Raises OutputError, with what is there untouched, where the name is taken by a file that is not ours.
    ``looked_after``: what the user has in the file was carried over, and is no reason to refuse.
    """
    target, sha256 = Path(output) / path, sha256 or file_sha256(ready)
    try:
        if not looked_after:
            refuse(output, [path], sha256)
        note(output, path, sha256)
        target.parent.mkdir(parents=True, exist_ok=True)
        os.replace(ready, target)
    except OSError as error:
        raise not_written(error, target) from error
    return sha256


def refuse(output: Path, paths: Iterable[str], same: str | None = None) -> None:
    """Raise one OutputError that names every one of ``paths`` that is there and may not be replaced.

    A file of the hash ``same`` may: nothing of it would be lost.
    """
    output = Path(output)
    there = [path for path in paths if os.path.lexists(output / path)]
    if not there:
        return
    for path in there:
        if (output / path).is_dir():
            raise not_written(IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR)), output / path)
    ours = known(output)
    errors = [_in_the_way(output / path, path in ours) for path in there if not _matches(output / path, {same, *ours.get(path, ())})]
    if errors:
        first, *others = errors
        raise OutputError(first.what, where=first.where, found=first.found, remedy=first.remedy, others=tuple(others))


def refuse_before_work(output: Path, paths: Iterable[str]) -> None:
    """As :func:`refuse`, early. A folder whose files were not noted yet, by an older version, is judged file by file when written."""
    output = Path(output)
    if (output / NOTES).exists() or not (output / PRODUCTS_FOLDER).exists():
        refuse(output, paths)


def remove(output: Path, files: dict[str, str]) -> None:
    """Remove files (path -> hash) that are still as they were written; one that was changed stays."""
    for path, sha256 in files.items():
        if _matches(Path(output) / path, {sha256}):
            (Path(output) / path).unlink(missing_ok=True)


def known(output: Path) -> dict[str, set[str]]:
    """Path -> hashes it had when we wrote it, from the notes and from the products beside them."""
    found: dict[str, set[str]] = {}
    try:
        lines = (Path(output) / NOTES).read_text(encoding="utf-8").splitlines()
    except (OSError, ValueError):
        lines = []
    for line in lines:
        try:
            path, sha256 = json.loads(line)
            found.setdefault(path, set()).add(sha256)
        except (ValueError, TypeError):  # the last line of a run that was killed
            continue
    for product in (Path(output) / PRODUCTS_FOLDER).glob("*/product.json"):
        for path, sha256 in listed(product.parent).items():
            found.setdefault(path, set()).add(sha256)
    return found


def listed(product: Path) -> dict[str, str]:
    """Path -> hash of the files and rasters that a saved product names; empty where it cannot be read."""
    try:
        plain = json.loads((Path(product) / "product.json").read_text(encoding="utf-8"))
        files = [*plain.get("files", ()), *plain.get("rasters", {}).values()]
        return {file["path"]: file["sha256"] for file in files}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def note(output: Path, path: str, sha256: str) -> None:
    """Say that ``path`` with this content is ours; known already, nothing is written."""
    if sha256 in known(output).get(path, ()):
        return
    notes = Path(output) / NOTES
    notes.parent.mkdir(parents=True, exist_ok=True)
    with open(notes, "a+b") as sink:
        sink.seek(0, os.SEEK_END)
        if sink.tell():
            sink.seek(-1, os.SEEK_END)
            torn = sink.read(1) != b"\n"
        else:
            torn = False
        sink.write((b"\n" if torn else b"") + (json.dumps([path, sha256]) + "\n").encode())


def _matches(path: Path, hashes: set[str | None]) -> bool:
    return path.is_file() and file_sha256(path) in hashes


def _in_the_way(path: Path, was_ours: bool) -> OutputError:
    what = "was changed since it was written" if was_ours else "was not written by this program"
    return OutputError(
        f"a file that {what} is in the way; it is untouched", where=str(path),
        remedy="move or rename it, or choose another folder (of a run: -o FOLDER, or [survey] output), then run again",
    )  # fmt: skip
