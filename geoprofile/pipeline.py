"""The order of the stages, and how a run goes through them.

Only this module knows the order. A product is reused when the record of what
would be computed equals the record it was saved with, and every raster it names
is whole.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path

from . import store, written
from .context import Context
from .errors import InputError
from .in_the_way import LOOKED_AFTER, refuse_what_is_in_the_way
from .memory import give_back, keep_few_arenas
from .products import Attributes, Outputs, Pits, Salvage, SoilNames, Surfaces, Terrain, Zones
from .progress import Progress
from .record import InputFile, Record, library_versions
from .registry import from_elsewhere
from .settings import SurveyFile, files_in, load_survey
from .written import PRODUCTS_FOLDER, file_sha256


@dataclass(frozen=True)
class Stage:
    """One stage: its settings section, its function (loaded when first run), what it needs."""

    name: str
    section: str
    function: str
    product: type
    title: str
    needs: tuple[str, ...] = ()
    plugins: str = ""
    """The entry-point group whose plug-ins it uses, if any."""
    asked_for: Callable[[SurveyFile], str] = lambda settings: ""
    """Empty when the survey file asks for the stage, else what is missing."""

    def load(self) -> Callable:
        module, name = self.function.split(":")
        return getattr(import_module(module), name)


def _needs_elevation(settings: SurveyFile) -> str:
    return "" if settings.terrain.elevation else "no elevation raster is named ([terrain] elevation)"


def _needs_grid(settings: SurveyFile) -> str:
    if settings.terrain.elevation or settings.grid.cell_m:
        return ""
    return "there is no grid: name an elevation raster ([terrain] elevation) or a cell ([grid] cell_m)"


def _needs_naming(settings: SurveyFile) -> str:
    return "" if settings.naming.use else "it is switched off ([naming] use)"


def _needs_polygons(settings: SurveyFile) -> str:
    return "" if settings.salvage.polygons else "no polygons to strip are named ([salvage] polygons)"


STAGES = (
    Stage("pits", "pits", "geoprofile.pits.stage:read_pits", Pits, "reading pits", plugins="geoprofile.readers"),
    Stage(
        "attributes", "attributes", "geoprofile.attributes.stage:derive_attributes", Attributes, "deriving attributes",
        needs=("pits",), plugins="geoprofile.attributes",
    ),
    Stage(
        "soil_names", "naming", "geoprofile.naming.stage:name_soils", SoilNames, "naming soils",
        needs=("pits",), asked_for=_needs_naming,
    ),
    Stage(
        "terrain", "terrain", "geoprofile.terrain.stage:compute_terrain", Terrain, "computing terrain",
        asked_for=_needs_elevation,
    ),
    Stage(
        "surfaces", "surfaces", "geoprofile.surfaces.stage:map_surfaces", Surfaces, "mapping surfaces",
        needs=("pits", "attributes", "terrain"), plugins="geoprofile.methods", asked_for=_needs_grid,
    ),
    Stage(
        "zones", "zones", "geoprofile.zones.stage:draw_zones", Zones, "drawing zones",
        needs=("pits", "attributes", "terrain", "surfaces"),
    ),
    Stage(
        "salvage", "salvage", "geoprofile.salvage.stage:plan_salvage", Salvage, "planning salvage",
        needs=("pits", "attributes", "surfaces"), asked_for=_needs_polygons,
    ),
)  # fmt: skip

BY_NAME = {stage.name: stage for stage in STAGES}
STAGE_NAMES = (*BY_NAME, "publish")


@dataclass
class Run:
    """What a run did: products by stage name, which were reused, which were not asked for and why."""

    settings: SurveyFile
    context: Context
    products: dict[str, object] = field(default_factory=dict)
    reused: list[str] = field(default_factory=list)
    skipped: dict[str, str] = field(default_factory=dict)

    @property
    def problems(self):
        """All problems of all products as one table, in the order of the stages."""
        import pandas as pd

        tables = [
            product.problems.assign(stage=name)
            for name, product in self.products.items()
            if hasattr(product, "problems")
        ]
        return pd.concat(tables, ignore_index=True) if tables else pd.DataFrame()


def run_survey(
    survey: Path | SurveyFile,
    *,
    until: str = "publish",
    folder: Path | None = None,
    output: Path | None = None,
    progress: Progress | None = None,
    again: bool = False,
) -> Run:
    """Run the river up to and including the stage ``until``.

    Parameters
    ----------
    survey : path of a survey file (or its folder), or settings already read.
    until : name of a stage; ``publish`` runs everything.
    folder : where relative paths of the settings start; default the survey file's folder.
    output : folder for outputs; default ``survey.output`` below ``folder``.
    progress : who watches; default nobody.
    again : compute everything anew, whatever was saved before.

    Raises
    ------
    GeoprofileError and its kinds; products finished before stay saved.
    """
    if until not in STAGE_NAMES:
        raise ValueError(f"there is no stage {until!r}; stages are {', '.join(STAGE_NAMES)}")
    if isinstance(survey, SurveyFile):
        settings = survey
        folder = Path(folder or ".").resolve()
    else:
        settings = load_survey(Path(survey))
        survey = Path(survey)
        folder = Path(folder or (survey if survey.is_dir() else survey.parent)).resolve()
    output = Path(output or folder / settings.survey.output).resolve()
    context = Context(settings.survey, settings.grid, folder, output, progress or Progress(), settings.run)
    _refuse_unusable_system(settings.survey.crs)
    run = Run(settings, context)
    keep_few_arenas()
    stages = STAGES if until == "publish" else _needed_for(until)
    making = [stage.name for stage in stages if not stage.asked_for(settings)]
    refuse_what_is_in_the_way(settings, context, [*making, *(["publish"] if until == "publish" else [])])
    for stage in stages:
        reason = stage.asked_for(settings)
        if reason:
            run.skipped[stage.name] = reason
            continue
        _run_stage(stage, run, again)
        give_back()
    if until == "publish":
        _publish(run, again)
    return run


def _needed_for(until: str) -> list[Stage]:
    wanted = {until}
    for stage in reversed(STAGES):
        if stage.name in wanted:
            wanted.update(stage.needs)
    return [stage for stage in STAGES if stage.name in wanted]


def _run_stage(stage: Stage, run: Run, again: bool) -> None:
    context = run.context
    record = record_of(stage.name, stage.section, stage.needs, run, stage.plugins)
    place = context.output / PRODUCTS_FOLDER / stage.name
    if not again:
        saved = store.saved_record(place)
        if saved is not None and saved.id == record.id:
            product = store.load_if_whole(stage.product, place)
            if product is not None and store.rasters_are_whole(getattr(product, "rasters", {}), context.output):
                run.products[stage.name] = product
                run.reused.append(stage.name)
                context.progress.say(f"{stage.name}: nothing has changed, reused ({record.id})")
                return
    context.progress.say(f"{stage.name}: {stage.title}")
    context.progress.check()
    upstream = [run.products.get(name) for name in stage.needs]
    before = written.listed(place)
    written.refuse_before_work(context.output, before)  # rasters of ours that the user changed since
    product = stage.load()(*upstream, settings=getattr(run.settings, stage.section), context=context, record=record)
    _remove_what_is_no_longer_made(context, before, {raster.path for raster in getattr(product, "rasters", {}).values()})
    store.save(product, place)
    run.products[stage.name] = product


def _publish(run: Run, again: bool) -> None:
    from .outputs.bundle import Bundle
    from .outputs.stage import publish

    context = run.context
    record = record_of("publish", "publish", tuple(BY_NAME), run, "geoprofile.writers")
    place = context.output / PRODUCTS_FOLDER / "publish"
    if not again:
        saved = store.saved_record(place)
        if saved is not None and saved.id == record.id:
            outputs = store.load_if_whole(Outputs, place)
            if outputs is not None and all(_unchanged(context.output / file.path, file.sha256) for file in outputs.files):
                run.products["publish"] = outputs
                run.reused.append("publish")
                context.progress.say(f"publish: nothing has changed, reused ({record.id})")
                return
    context.progress.say("publish: writing outputs")
    outputs = publish(Bundle(run.settings.publish, context, **run.products), record)
    _remove_what_is_no_longer_made(context, written.listed(place), {file.path for file in outputs.files})
    store.save(outputs, place)
    run.products["publish"] = outputs


def _remove_what_is_no_longer_made(context: Context, before: dict[str, str], now: set[str]) -> None:
    """A file of ours of an earlier run must not stay beside the new ones as if it were current."""
    stale = {path: sha256 for path, sha256 in before.items() if path not in now and path not in LOOKED_AFTER}
    written.remove(context.output, stale)


def _unchanged(path: Path, sha256: str) -> bool:
    return path.is_file() and file_sha256(path) == sha256


def record_of(name: str, section: str, needs: tuple[str, ...], run: Run, group: str = "") -> Record:
    """The record of what stage ``name`` would compute now, with the plug-ins of ``group``."""
    settings, context = run.settings, run.context
    frame = settings.survey.model_dump(mode="json", exclude={"output"} if name == "publish" else {"output", "name"})
    own = getattr(settings, section)
    inputs = [
        InputFile(f"{part}.{key}", path, digest)
        for part, model in (("survey", settings.survey), (section, own))
        for key, path in files_in(model)
        for digest in [_digest(context.path(path), f"{part}.{key}")]
    ]
    return Record(
        stage=name,
        settings={
            "survey": frame,
            "grid": settings.grid.model_dump(mode="json"),
            section: own.model_dump(mode="json", by_alias=True),
        },
        inputs=tuple(inputs),
        upstream={need: run.products[need].record.id for need in needs if need in run.products},
        versions=library_versions() | (from_elsewhere(group) if group else {}),
        seed=getattr(own, "seed", None),
    )


def _digest(path: Path, key: str) -> str:
    """Hash of a file; a Shapefile is hashed with its companions."""
    if path.is_dir():
        raise InputError("the survey file names a folder here, not a file", where=key, found=str(path), remedy="name the file in it")
    if not path.is_file():
        raise InputError(
            "a file that the survey file names is not there", where=key, found=str(path),
            remedy="correct the path; relative paths start at the survey file's folder",
        )  # fmt: skip
    if path.suffix.lower() != ".shp":
        return file_sha256(path)
    companions = [path.with_suffix(suffix) for suffix in (".shp", ".dbf", ".shx", ".prj", ".cpg")]
    return "+".join(file_sha256(file) for file in companions if file.is_file())


def _refuse_unusable_system(crs: str) -> None:
    """Distances and areas need a projected system in metres."""
    from pyproj import CRS
    from pyproj.exceptions import CRSError

    from . import environment as _environment  # noqa: F401

    try:
        system = CRS.from_user_input(crs)
    except CRSError as error:
        raise InputError(
            "the survey's coordinate system is not known", where="survey.crs", found=crs,
            remedy="give an EPSG code of a projected system in metres, as EPSG:3158",
        ) from error  # fmt: skip
    if not system.is_projected or any(axis.unit_conversion_factor != 1 for axis in system.axis_info[:2]):
        raise InputError(
            "the survey's coordinate system must be projected and in metres", where="survey.crs",
            found=f"{crs} ({system.name}, {system.axis_info[0].unit_name})",
            remedy="choose the UTM zone or national grid of the area; degrees give wrong distances and areas",
        )  # fmt: skip
