"""How a product came about: the way from a number back to the files it rests on.

A record is known before the work is done: what would be computed from which
files with which settings. Two equal records mean equal products, and that is
how a stage is reused. No clock and no machine name enters it.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass, field
from importlib.metadata import PackageNotFoundError, version

LIBRARIES = ("numpy", "scipy", "pandas", "geopandas", "shapely", "rasterio", "pyproj", "scikit-learn", "numba", "pyflwdir")


@dataclass(frozen=True)
class InputFile:
    """A file that was read: its role, its path as the survey file names it, its hash."""

    role: str
    path: str
    sha256: str


@dataclass(frozen=True)
class Record:
    """Stage, settings, inputs, upstream record ids, versions, seed."""

    stage: str
    settings: dict
    inputs: tuple[InputFile, ...] = ()
    upstream: dict[str, str] = field(default_factory=dict)
    versions: dict[str, str] = field(default_factory=dict)
    seed: int | None = None

    @property
    def id(self) -> str:
        """SHA-256 of the whole record, 16 hexadecimal digits."""
        text = json.dumps(asdict(self), sort_keys=True, default=str)
        return hashlib.sha256(text.encode()).hexdigest()[:16]


def library_versions() -> dict[str, str]:
    """Versions of geoprofile and of the libraries that results depend on."""
    found = {}
    for name in ("geoprofile", *LIBRARIES):
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed"
    return found
