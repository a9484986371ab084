"""From attributes at pits to surfaces on the grid, each with its interval, its reach and its score.

The story: lay the grid, find which pits may feed a map and which cells belong to the
area and to which stratum (ground.py); then map attribute by attribute
(one_surface.py), tile by tile in memory that does not grow with the grid (tiles.py). An attribute that cannot be mapped honestly is a refusal in one plain
sentence; the others go on, and the probability that its feature is there may still be
mapped.
"""

from __future__ import annotations

import pandas as pd

from ..blocks import workers
from ..context import Context
from ..errors import TooLittleData
from ..problems import problems_frame
from ..products import Attributes, Pits, Refusal, Surfaces, Terrain
from ..record import Record
from ..settings.surfaces import SurfacesSettings
from .choices import chosen, settings_for
from .classes import class_columns, map_classes
from .fractions import SHARES
from .ground import Ground, lay_ground, position_problems
from .one_surface import Mapped, map_attribute, map_presence_only
from .parts_and_wholes import with_cautions
from .variograms import COLUMNS as VARIOGRAM_COLUMNS
from .writing import layout_of

SCORE_COLUMNS = {
    "attribute": "str", "method": "str", "validation": "str", "measure": "str",
    "value": "float64", "pits": "int64", "remark": "str",
}  # fmt: skip
POINT_COLUMNS = {
    "attribute": "str", "pit_id": "str", "x": "float64", "y": "float64",
    "low": "float64", "high": "float64", "status": "str", "predicted": "float64",
    "by_location": "float64", "by_location_low90": "float64", "by_location_high90": "float64",
    "by_location_place": "float64", "reading": "float64", "reading_variance": "float64",
}  # fmt: skip


def map_surfaces(
    pits: Pits,
    attributes: Attributes,
    terrain: Terrain | None,
    settings: SurfacesSettings,
    context: Context,
    record: Record,
) -> Surfaces:
    """Map every chosen attribute; rasters go to ``context.output/surfaces``.

    Raises InputError (system in degrees, no grid, unreadable polygons), SettingsError
    (unknown attribute, unusable drift) and PluginError (unknown method). Too few pits
    or bounds that the method cannot use are refusals in the product.
    """
    from threadpoolctl import threadpool_limits

    definitions, columns = chosen(settings, attributes.definitions), class_columns(settings)
    context.progress.check()
    # many small matrices: threads inside each only wait for one another, and sums would depend on their number
    with threadpool_limits(1), workers(context.run, context.output) as crew:
        ground = lay_ground(pits, attributes, terrain, context, crew)
        blocks = len(layout_of(ground.grid, crew))
        with context.progress.task("mapping surfaces", (len(definitions) + len(columns)) * (blocks + 1)) as task:
            work = {"key": record.id, "task": task}
            mapped, refusals, presences, classes = [], [], [], []
            for number, definition in enumerate(definitions, start=1):
                try:
                    mapped.append(map_attribute(definition, attributes, ground, settings, context, **work))
                except TooLittleData as reason:
                    refusals.append(Refusal(definition.name, reason.what, reason.remedy))
                    alone = map_presence_only(definition, attributes, ground, settings, context, **work)
                    presences += [alone] if alone else []
                task.advance(max(0, number * (blocks + 1) - task.done))
            for number, column in enumerate(columns, start=1 + len(definitions)):
                choice = settings_for(column, settings)
                try:
                    classes.append(map_classes(column, pits, ground, choice, settings, context, **work))
                except TooLittleData as reason:
                    refusals.append(Refusal(column, reason.what, reason.remedy))
                task.advance(max(0, number * (blocks + 1) - task.done))
    rasters = {key: raster for one in (*mapped, *presences, *classes) for key, raster in one.rasters.items()}
    return Surfaces(
        record=record,
        grid=ground.grid,
        surfaces=with_cautions(tuple(one.surface for one in mapped), rasters, ground.grid, context.output),
        rasters=rasters,
        refusals=tuple(refusals),
        scores=_table([one.scores for one in (*mapped, *presences, *classes)], SCORE_COLUMNS),
        points=_table([one.points for one in mapped], POINT_COLUMNS),
        problems=problems_frame(position_problems(ground)),
        notes=_notes(ground, mapped),
        presences=tuple(one.surface for one in presences),
        classes=tuple(one.surface for one in classes),
        variograms=_table([one.variograms for one in mapped], VARIOGRAM_COLUMNS),
    )


def _notes(ground: Ground, mapped: list[Mapped]) -> tuple[str, ...]:
    grid = ground.grid
    notes = [f"grid of {grid.width} x {grid.height} cells of {grid.cell_m:g} m"]
    if ground.strata.use:
        way = {"split": "each is mapped from its own pits", "stop": "one model, but no pit informs another stratum"}
        notes.append(f"{len(ground.strata.names)} strata: {way[ground.strata.use]}")
    fractions = [
        one.surface.title for one in mapped
        if one.surface.attribute.split("_")[0] in SHARES and not one.surface.method_title.startswith("log-ratios")
    ]  # fmt: skip
    if len(fractions) > 1:
        notes.append(f"{', '.join(fractions)} are each mapped alone and need not add to 100 %")
    return tuple(notes)


def _table(parts: list[pd.DataFrame], columns: dict[str, str]) -> pd.DataFrame:
    parts = [part for part in parts if not part.empty]
    frame = pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=list(columns))
    return frame[list(columns)].astype(columns)
