"""Predictions at the cells of a window, whatever a fitted method offers, put together from parts."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np

from .contract import Prediction


def on_cells(fitted: object, x: np.ndarray, y: np.ndarray, drift: np.ndarray | None, wanted: np.ndarray) -> Prediction:
    """At the cells ``wanted`` (height, width) bool of a window, centres x (width,) and y (height,), drift (height, width, p).

    Other cells may be NaN or hold a prediction: nobody is to look at them.
    """
    if hasattr(fitted, "predict_grid"):
        return fitted.predict_grid(x, y, drift, wanted)
    row, column = np.nonzero(wanted)
    points = np.column_stack([x[column], y[row]])
    return spread(fitted.predict(points, None if drift is None else drift[wanted]), wanted)


def spread(found: Prediction, wanted: np.ndarray) -> Prediction:
    """Predictions (m,) of the m ``wanted`` cells in the shape of their window, NaN elsewhere."""
    return filled(nothing(wanted.shape), wanted, found)


def nothing(shape: tuple[int, ...]) -> Prediction:
    return Prediction(*(np.full(shape, np.nan) for _ in range(4)))


def filled(out: Prediction, where, found: Prediction, own: np.ndarray | None = None) -> Prediction:
    """``out`` with ``found`` put in at ``where`` (only its cells ``own``); fields that are new to it begin as NaN."""
    new = {}
    for field in fields(Prediction):
        part = getattr(found, field.name)
        if part is None:
            continue
        whole = getattr(out, field.name)
        if whole is None:
            whole = new[field.name] = np.full(out.estimate.shape, np.nan)
        if own is None:
            whole[where] = part
        else:
            whole[where][own] = part[own]
    return replace(out, **new) if new else out
