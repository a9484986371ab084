"""geoprofile: from soil pit descriptions to maps that other people act on.

Public names are resolved on first use, so that importing the package is quick.
"""

from __future__ import annotations

__version__ = "0.1.0"

_PUBLIC = {
    "read_pits": "pits.stage",
    "derive_attributes": "attributes.stage",
    "compute_terrain": "terrain.stage",
    "map_surfaces": "surfaces.stage",
    "draw_zones": "zones.stage",
    "plan_salvage": "salvage.stage",
    "publish": "outputs.stage",
    "run_survey": "pipeline",
    "load_survey": "settings",
    "parse_survey": "settings",
    "Context": "context",
    "Grid": "grid",
    "Interval": "intervals",
    "GeoprofileError": "errors",
    "save": "store",
    "load": "store",
}

__all__ = ["__version__", *_PUBLIC]


def __getattr__(name: str):
    if name in _PUBLIC:
        from importlib import import_module

        return getattr(import_module(f".{_PUBLIC[name]}", __name__), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
