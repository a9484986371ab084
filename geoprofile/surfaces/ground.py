"""What all surfaces of a run share: the grid, the cells to map, the strata, and which pits may feed a map."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from ..blocks import Threads, Workers
from ..context import Context
from ..errors import InputError
from ..grid import Grid
from ..problems import Problem, counted
from ..products import Attributes, Pits, Terrain
from .drift import Drift
from .land import Land
from .lattice import surface_grid
from .observations import located_pits
from .sample import Sample, sample_land
from .strata import Strata, land_of, points_inside, read_area, read_strata

ALONE = Threads(1)


@dataclass(frozen=True)
class Ground:
    """What all attributes share: the land to map, strata, pits with the cause that keeps each out, who does the work."""

    land: Land
    strata: Strata
    located: pd.DataFrame
    terrain: Terrain | None
    visits: str
    readings: pd.DataFrame = field(default_factory=pd.DataFrame)
    """Direct readings, one row a probe."""
    crew: Workers = ALONE
    _samples: dict[tuple[str, ...], Sample] = field(default_factory=dict, repr=False)

    @property
    def grid(self) -> Grid:
        return self.land.grid

    def sample(self, drift: Drift | None = None) -> Sample:
        """Cells of a coarse lattice over the land that has this drift; looked at once."""
        names = () if drift is None else drift.names
        if names not in self._samples:
            self._samples[names] = sample_land(self.land.on(drift), self.crew)
        return self._samples[names]


def lay_ground(
    pits: Pits, attributes: Attributes, terrain: Terrain | None, context: Context, crew: Workers = ALONE
) -> Ground:
    """``crew`` works through what is as large as the grid; left out = one thread of this process."""
    area = read_area(context)
    geometry = attributes.pits.geometry
    x, y = geometry.x.to_numpy(float), geometry.y.to_numpy(float)
    grid = surface_grid(terrain, context, x, y, area)
    if terrain is not None:
        _refuse_terrain_elsewhere(grid, x, y)
    strata = read_strata(context)
    elevation = terrain.rasters.get("elevation") if terrain is not None else None
    land = land_of(grid, area, strata, elevation.cells(context.output) if elevation else None)
    located = located_pits(pits, attributes, grid.cell_m)
    located["stratum"] = strata.codes_at(x, y)
    free = located["cause"] == ""
    located.loc[free & ~points_inside(area, x, y), "cause"] = "outside"
    located.loc[(located["cause"] == "") & (located["stratum"] == 0), "cause"] = "no stratum"
    known = pits.pits.drop_duplicates("pit_id").set_index("pit_id")
    for name in ("stopped_by", "observed_to_cm"):
        located[name] = located["pit_id"].map(known[name])
    visits = pits.record.settings.get("pits", {}).get("visits", "latest")
    return Ground(land, strata, located, terrain, visits, pits.readings, crew)


def _refuse_terrain_elsewhere(grid: Grid, x: np.ndarray, y: np.ndarray) -> None:
    placed = np.isfinite(x) & np.isfinite(y)
    if placed.any() and not grid.cells_of(x[placed], y[placed])[2].any():
        west, south, east, north = grid.bounds
        raise InputError(
            "no pit lies on the elevation raster",
            where="terrain.elevation",
            found=f"pits from {x[placed].min():.0f} E {y[placed].min():.0f} N to {x[placed].max():.0f} E {y[placed].max():.0f} N",
            allowed=f"{west:.0f} to {east:.0f} E, {south:.0f} to {north:.0f} N in {grid.crs}",
            remedy="give the raster of this survey, or check the pits' coordinate system and zone",
        )


def position_problems(ground: Ground) -> list[Problem]:
    """One note a pit whose place is known too roughly for a surface; one warning for all that lie off the elevation raster."""
    rough = ground.located[ground.located["cause"] == "place too rough"]
    return [
        Problem(
            "note", "position", "the place is known no better than a cell is wide: used for statistics, not for surfaces",
            pit_id=row.pit_id, found=f"{row.position_accuracy_m:g} m", allowed=f"at most {ground.grid.cell_m:g} m",
            remedy="locate the pit better, or choose a wider cell ([grid] cell_m)",
        )
        for row in rough.itertuples()
    ] + _off_the_raster(ground)  # fmt: skip


def _off_the_raster(ground: Ground) -> list[Problem]:
    """Pits beyond the elevation raster that nothing else keeps out: they still inform the surfaces (R17)."""
    if ground.terrain is None:
        return []
    free = ground.located[ground.located["cause"] == ""]
    x, y = free["x"].to_numpy(float), free["y"].to_numpy(float)
    off = ~ground.grid.cells_of(x, y)[2] if len(free) else np.zeros(0, bool)
    if not off.any():
        return []
    west, south, east, north = ground.grid.bounds
    away = np.hypot(np.fmax(np.fmax(west - x, x - east), 0), np.fmax(np.fmax(south - y, y - north), 0))
    order = np.argsort(-np.where(off, away, -1.0), kind="stable")[: int(off.sum())]
    names = free["pit_id"].to_numpy(object)[order]
    return [
        Problem(
            "warning", "off the elevation raster",
            f"{counted(len(names), 'pit')} {'lies' if len(names) == 1 else 'lie'} off the elevation raster, up to {away[order[0]]:.0f} m from it, and {'informs' if len(names) == 1 else 'inform'} the surfaces all the same",
            pit_id=str(names[0]), found=", ".join(map(str, names[:12])) + (f" and {len(names) - 12} more" if len(names) > 12 else ""),
            allowed=f"{west:.0f} to {east:.0f} E, {south:.0f} to {north:.0f} N", remedy="check their coordinates, or give a raster that covers them",
        )
    ]  # fmt: skip
