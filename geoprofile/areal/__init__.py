"""Means, totals and shares of areas, and how sure they are."""

from .draws import AreaDraws, area_draws
from .land import draws_over, land_model, why_no_model
from .means import BY_DRAWS, BY_MODEL, NO_INTERVAL, WIDEST, ArealMean, areal_mean, mean_of_all
from .model import ErrorModel
from .rebuilt import error_model, model_of

__all__ = [
    "BY_DRAWS", "BY_MODEL", "NO_INTERVAL", "WIDEST", "AreaDraws", "ArealMean", "ErrorModel", "area_draws", "areal_mean",
    "draws_over", "error_model", "land_model", "mean_of_all", "model_of", "why_no_model",
]  # fmt: skip
