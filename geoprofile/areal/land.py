"""Whatever a surface is made of: its model for means over areas, draws of them, and why there are none."""

from __future__ import annotations

from collections.abc import Sequence

from ..context import Context
from ..products import Surface, Surfaces
from .area import Area
from .compound import Compound, compound_draws, compound_model
from .draws import AreaDraws, area_draws
from .model import ErrorModel
from .near import NEAR_PITS, NearModel, near_model
from .rebuilt import error_model, known_cells

Model = ErrorModel | Compound | NearModel


def land_model(surface: Surface, surfaces: Surfaces, context: Context) -> Model | None:
    """The surface's model rebuilt; None where it has none or does not give back the surface's own raster."""
    if not surface.parameters:
        return None
    known = known_cells(surface, surfaces, context)
    for rebuilt in (error_model, compound_model, near_model):
        found = rebuilt(surface, surfaces, known, context)
        if found is not None:
            return found
    return None


def why_no_model(surface: Surface) -> str:
    """One sentence why a surface without a model has none."""
    told = str(surface.parameters)
    if not surface.parameters:
        return "its method has no covariance model of its errors"
    if NEAR_PITS in told and ("'power'" in told or "'floor': True" in told or "two_part" in told or "log_ratios" in told):
        return "on this scale, with only near pits asked, the errors of its cells have no common model"
    return "its model could not be rebuilt from what was saved"


def draws_over(
    model: Model | None, areas: Sequence[Area], limits: tuple[float, ...] = (), *, seed: int = 1
) -> AreaDraws | None:
    """Draws of means and shares of areas; None where there is no model to draw from."""
    if model is None or isinstance(model, NearModel):
        return None
    return (compound_draws if isinstance(model, Compound) else area_draws)(model, areas, limits, seed=seed)
