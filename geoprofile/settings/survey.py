"""[survey], [grid] and [run]: the frame that all stages share."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from .base import LayerSource, Settings

Convention = Literal["canadian", "usda", "wrb"]


class StrataSource(LayerSource):
    """Polygons that surfaces never smooth across."""

    use: Literal["split", "stop"] = Field(
        "split",
        description="split: each stratum is mapped from its own pits; stop: one model, but no pit informs a cell of another stratum",
    )


class SurveySettings(Settings):
    """[survey]"""

    name: str = Field("unnamed survey", description="name shown on every output")
    crs: str = Field(description="projected system in metres, as EPSG:3158; every product is in it")
    convention: Convention = Field("canadian", description="horizon convention: canadian, usda or wrb")
    area: LayerSource | str | None = Field(
        None, description="polygon of the survey area; zones and sums end here", json_schema_extra={"is_file": True}
    )
    strata: StrataSource | None = Field(None, description="polygons that surfaces never smooth across")
    output: str = Field("out", description="folder for all outputs")
    map_scale: int | None = Field(None, description="denominator of the scale the map is meant for, as 10000", gt=0)

    @property
    def area_source(self) -> LayerSource | None:
        return LayerSource(file=self.area) if isinstance(self.area, str) else self.area


class GridSettings(Settings):
    """[grid]"""

    cell_m: float | None = Field(
        None, gt=0, description="cell of surfaces and zones, m: a whole multiple of the elevation's cell"
    )
