"""The questions of the key, each a small function of a soil and its limits; the limits stand in the tables."""

from . import acidity, clay, colours, organic, rare, surface, wetness
from .question import CRITERIA

__all__ = ["CRITERIA", "acidity", "clay", "colours", "organic", "rare", "surface", "wetness"]
