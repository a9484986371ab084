"""What stands in the way of a run's files, told before any work: inputs of the run, and files that are not ours.

The last word is with :mod:`geoprofile.written`, asked again for each file as it takes its name. Here is what
can be known before.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from fnmatch import fnmatchcase
from pathlib import Path

from . import written
from .context import Context
from .errors import OutputError
from .settings import SurveyFile, files_in

LOOKED_AFTER = ("survey.gpkg", "next_pits.gpkg")
"""GeoPackages that people work in: their own layers come through whole, see outputs/geopackage_guard.py."""

_ALWAYS = ("pits", "horizons", "readings", "attributes", "attribute_definitions", "surfaces", "refusals", "notes")
_TABLES = (
    *_ALWAYS, "salvage", "soil_names", "soil_name_evidence", "depth_functions", "zones", "strata", "parcels", "recorded_soils",
    "route", "routes", "whole_survey", "pit_places", "parcel_classes", "parcel_surfaces", "parcel_limits", "landform_elements",
)  # fmt: skip

WRITTEN_BY = {
    "geopackage": ("survey.gpkg",),
    "record": ("record.json",),
    "report": ("report.pdf",),
    "web_map": ("map.html",),
    "tables": (
        "problems.csv", "scores.csv", "tables/tables.xlsx", "tables/about_tables.txt", *(f"tables/{name}.csv" for name in _TABLES),
        *(f"tables/*_{end}.csv" for end in ("attributes", "attributes_other_units", "pits_below", "presence")),
    ),
    "figures": ("figures/*.svg", "figures/*.png"),
    "transects": ("transects/*.svg", "transects/*.png"),
}  # fmt: skip
"""Writer -> the files it may write; a * stands for what depends on the data."""

_PARTS = ("estimate", "low90", "high90", "presence", "reliability", "below", "above", "class", "probability")
_SURFACES = tuple(f"surfaces/*_{part}*.tif" for part in _PARTS)


def _of_stage(stage: str, settings: SurveyFile) -> Iterator[str]:
    """Patterns of the rasters that a stage may write."""
    if stage == "terrain":
        yield "terrain/elevation.tif"
        for wish in settings.terrain.derive:
            for name in ("aspect_sine", "aspect_cosine") if wish == "aspect" else (wish,):
                yield from (f"terrain/{name}.tif", f"terrain/{name}_at_*m.tif")
    if stage == "surfaces":
        yield from _SURFACES


def refuse_what_is_in_the_way(settings: SurveyFile, context: Context, stages: list[str]) -> None:
    """Raise OutputError where ``stages`` could write onto an input, or would meet a file that is not ours.

    Nothing is read but hashes, and nothing written.
    """
    patterns = [pattern for stage in stages for pattern in _of_stage(stage, settings)]
    if "publish" in stages:
        writers = settings.publish.writers
        patterns += [one for name, own in WRITTEN_BY.items() if writers is None or name in writers for one in own]
    patterns = [pattern for pattern in patterns if pattern not in LOOKED_AFTER]
    inputs = {context.path(path): key for key, path in files_in(settings)}
    refuse_inputs(inputs, context.output, [*patterns, f"{written.PRODUCTS_FOLDER}/*"])
    written.refuse_before_work(context.output, _certain(patterns, settings, context.output))


def refuse_inputs(inputs: dict[Path, str], output: Path, patterns: Iterable[str]) -> None:
    """Raise OutputError where an input (path -> its key) has a name that may be written, links resolved."""
    errors = []
    for path, key in inputs.items():
        for pattern in patterns:
            place = _place_of(path, output, pattern)
            if place is not None:
                errors.append(OutputError(
                    "an input lies where this run writes its outputs and would be replaced; it is untouched", where=str(place),
                    found=f"{key} reads it" + ("" if place == path else f" as {path}"),
                    remedy="choose another folder for outputs (-o FOLDER, or [survey] output), or move the input to a folder of its own",
                ))  # fmt: skip
                break
    if errors:
        first, *others = errors
        raise OutputError(first.what, where=first.where, found=first.found, remedy=first.remedy, others=tuple(others))


def _place_of(path: Path, output: Path, pattern: str) -> Path | None:
    """Where below ``output`` a file of this pattern is, or would be, the input ``path``."""
    folder, _, name = pattern.rpartition("/")
    folder = output / folder
    if path.parent == folder.resolve() and fnmatchcase(path.name.lower(), name.lower()):
        return path
    return next((one for one in _existing(folder, name) if path.exists() and one.exists() and os.path.samefile(one, path)), None)


def _existing(folder: Path, name: str) -> Iterator[Path]:
    if "*" in name:
        yield from sorted(folder.glob(name)) if folder.is_dir() else ()
    elif os.path.lexists(folder / name):
        yield folder / name


def _certain(patterns: list[str], settings: SurveyFile, output: Path) -> list[str]:
    """Names that the run surely writes: those without *, and of surfaces those of the attributes asked for.

    Rasters of ours are left to their stage, which knows whether it writes them; a large one is not hashed twice.
    """
    asked, ours = set(settings.attributes.use or ()), written.known(output)
    there = {f"surfaces/{path.name}": path.stem for one in _SURFACES if one in patterns for path in _existing(output / "surfaces", one[9:])}
    surfaces = [
        path for path, stem in there.items()
        if path not in ours and any(stem.startswith(f"{name}_{part}") for name in asked for part in _PARTS)
    ]  # fmt: skip
    perhaps = {f"tables/{name}.csv" for name in _TABLES} - {f"tables/{name}.csv" for name in _ALWAYS}
    if settings.salvage.polygons is not None:
        perhaps.discard("tables/salvage.csv")
    plain = [one for one in patterns if "*" not in one and not (one.startswith("terrain/") and one in ours)]
    return [*(one for one in plain if one not in perhaps), *surfaces]
