"""Means, totals and shares of areas, and how sure they are."""

from .area import Area, Layers, Tally, areas_in, layers_of
from .cells import certainty
from .draws import AreaDraws, area_draws
from .land import draws_over, land_model, why_no_model
from .means import BY_DRAWS, BY_MODEL, NO_INTERVAL, WIDEST, ArealMean, areal_mean, mean_of_all
from .model import ErrorModel
from .rebuilt import model_of

__all__ = [
    "BY_DRAWS", "BY_MODEL", "NO_INTERVAL", "WIDEST", "Area", "AreaDraws", "ArealMean", "ErrorModel", "Layers", "Tally",
    "area_draws", "areal_mean", "areas_in", "certainty", "draws_over", "land_model", "layers_of", "mean_of_all", "model_of", "why_no_model",
]  # fmt: skip
