"""Pits as described: each a Profile of horizons in order, with what was tested and how deep, where it ends."""
