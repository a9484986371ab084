"""Soil names from described horizons: advice, deferring to a qualified pedologist."""
