"""``geoprofile doctor`` and ``geoprofile commands``."""

from __future__ import annotations

import shutil
import sys

from .shared import JsonOption, print_json, say


def doctor(as_json: JsonOption = False) -> int:
    """Print versions, the projection database, drivers, the browser, and plug-ins that did not load."""
    report = _report()
    if as_json:
        print_json({"ok": not report["broken_plugins"], **report})
        return 0
    for heading, entries in report.items():
        say(heading.replace("_", " "), False)
        if isinstance(entries, dict):
            width = max((len(name) for name in entries), default=0)
            for name, value in entries.items():
                say(f"  {name:<{width}}  {value}", False)
        else:
            for entry in entries or ["none"]:
                say(f"  {entry}", False)
    return 0


def _report() -> dict:
    from .. import environment as _environment  # noqa: F401
    import fiona
    import pyogrio
    import pyproj
    import rasterio

    from ..record import library_versions
    from ..registry import CONTRACTS, all_broken, plugins

    browser = next((path for name in ("chromium", "chromium-browser", "google-chrome") if (path := shutil.which(name))), "")
    return {
        "versions": {"python": sys.version.split()[0], **library_versions()},
        "projection": {
            "proj": pyproj.proj_version_str,
            "database": pyproj.datadir.get_data_dir(),
            "network": "off: results do not depend on it" if not pyproj.network.is_network_enabled() else "ON",
            "shift_grids": "not in the wheels: datum shifts that need one are refused where accuracy matters",
        },
        "gdal_copies": {
            "rasterio": rasterio.__gdal_version__,
            "fiona": fiona.__gdal_version__,
            "pyogrio": pyogrio.__gdal_version_string__,
        },
        "drivers": {
            "vector_read": ", ".join(sorted(name for name in ("GPKG", "GeoJSON", "ESRI Shapefile", "GPX", "KML") if name in pyogrio.list_drivers(read=True))),
            "raster": "GTiff, COG",
        },
        "browser": {"for_tests": browser or "none found; browser tests skip"},
        "plugins": {group: ", ".join(plugins(group).loaded) for group in CONTRACTS},
        "broken_plugins": [f"{b.group} {b.name} ({b.value}): {b.reason}" for b in all_broken()],
    }


def commands(as_json: JsonOption = False) -> int:
    """List every command with its options; --json for programs that build a form from it."""
    from typer.main import get_command

    from .app import app

    described = []
    for name, command in get_command(app).commands.items():
        described.append(
            {
                "name": name,
                "help": (command.help or "").strip(),
                "parameters": [
                    {
                        "name": parameter.name,
                        "kind": "argument" if parameter.param_type_name == "argument" else "option",
                        "flags": list(parameter.opts) if parameter.param_type_name == "option" else [],
                        "type": _type_name(parameter.type_descriptor.annotation),
                        "required": parameter.required,
                        "default": None if callable(parameter.default) else _plain(parameter.default),
                        "help": getattr(parameter, "help", None) or "",
                        "multiple": bool(getattr(parameter, "multiple", False)),
                    }
                    for parameter in command.params
                    if parameter.name != "help"
                ],
            }
        )
    if as_json:
        print_json({"ok": True, "commands": described})
        return 0
    width = max(len(entry["name"]) for entry in described)
    for entry in described:
        say(f"{entry['name']:<{width}}  {entry['help'].splitlines()[0]}", False)
    return 0


def _plain(value: object) -> object:
    return value if isinstance(value, (bool, int, float, str, type(None))) else str(value)


def _type_name(annotation: object) -> str | list[str]:
    """Plain name of a type; the allowed words of a choice."""
    if isinstance(annotation, type) and hasattr(annotation, "__members__"):
        return [member.value for member in annotation]
    names = {"Path": "path", "str": "text", "bool": "flag", "int": "whole number", "float": "number"}
    text = str(getattr(annotation, "__name__", annotation))
    return next((name for key, name in names.items() if key in text or key in str(annotation)), text)
