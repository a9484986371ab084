"""Published data sets that some check numbers were computed on, read from files of R beside the project.

They come in packages under the GPL: they serve tests, are no part of the project and are never installed with it.
``scripts/fetch_reference_data`` puts the files into ``.venv/reference-data``; the environment variable
GEOPROFILE_REFERENCE_DATA names another folder.
"""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path

import pytest

FOLDER = Path(
    os.environ.get("GEOPROFILE_REFERENCE_DATA") or Path(__file__).resolve().parents[1] / ".venv" / "reference-data"
)


def table(file: str, name: str):
    """The data frame ``name`` of ``file``; the test skips where the file, or what reads it, is absent."""
    path = FOLDER / file
    if not path.is_file():
        pytest.skip(f"{file} is not at hand: scripts/fetch_reference_data fetches it")
    pytest.importorskip("rdata")
    return _objects(path)[name].reset_index(drop=True).rename(columns=str)


@cache
def _objects(path: Path) -> dict:
    import rdata

    return rdata.read_rda(path)
