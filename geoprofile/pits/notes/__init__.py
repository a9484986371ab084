"""Pit descriptions as the trade writes and dictates them, read as they stand.

``tokens`` cuts the text, ``lexicon`` says what kind of word each is, ``phrases`` finds
the phrases of ``vocabulary/tables/notes.toml``, ``horizon`` and ``header`` turn them
into fields, ``profiles`` finds where pits and horizons begin. What no phrase takes
stays in the remarks; every phrase keeps its place.
"""
