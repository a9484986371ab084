"""One class a cell, read window by window: from a surface and its limits, from a class raster, from clusters.

Each is small, holds paths and numbers only, and can be sent to another machine. Codes begin
at 1; 0 = not mapped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from ..grid import Window
from ..rasters import RasterCells

ROWS_AT_ONCE = 64
"""Rows of a window that are compared with the centres together."""


class ClassCells(Protocol):
    """Whatever gives the codes of a window, (height, width) uint8."""

    def read(self, window: Window) -> np.ndarray: ...


@dataclass(frozen=True)
class HeldCells:
    """Codes that are in memory."""

    codes: np.ndarray

    def read(self, window: Window) -> np.ndarray:
        return self.codes[window.slices]

    def write(self, window: Window, cells: np.ndarray) -> None:
        self.codes[window.slices] = cells


@dataclass(frozen=True)
class CutSurface:
    """Classes of a surface.

    ``presence``: where it is below ``half`` of what is certain the code is ``unlikely``. ``reliability``: cells of the survey are those
    with a code there; None = ``everywhere``. ``not_backed``: code of cells of the survey without an estimate, 0 = none.
    """

    estimate: RasterCells
    limits: tuple[float, ...]
    presence: RasterCells | None
    unlikely: int
    reliability: RasterCells | None
    everywhere: bool
    not_backed: int
    half: float = 0.5

    def read(self, window: Window) -> np.ndarray:
        codes = class_codes(self.estimate.read(window), self.limits)
        of_survey = np.full(codes.shape, self.everywhere) if self.reliability is None else self.reliability.read(window) > 0
        if self.presence is not None:
            presence = self.presence.read(window)
            # a place without the feature has no depth of it, whatever the estimate where present would be
            codes[np.isfinite(presence) & (presence < self.half) & (of_survey | (codes > 0))] = self.unlikely
        if self.not_backed:
            codes[(codes == 0) & of_survey] = self.not_backed
        return codes


@dataclass(frozen=True)
class Clustered:
    """The nearest of ``centres`` (k, p) in rasters brought to mean 0 and deviation 1; ``code_of`` (k,) its code."""

    rasters: tuple[RasterCells, ...]
    mean: np.ndarray
    spread: np.ndarray
    centres: np.ndarray
    code_of: np.ndarray

    def read(self, window: Window) -> np.ndarray:
        values = [raster.read(window) for raster in self.rasters]
        codes = np.zeros((window.height, window.width), np.uint8)
        for row in range(0, window.height, ROWS_AT_ONCE):
            rows = slice(row, row + ROWS_AT_ONCE)
            columns = [(own[rows] - mean) / spread for own, mean, spread in zip(values, self.mean, self.spread)]
            known = np.isfinite(sum(columns))
            codes[rows][known] = self.code_of[nearest([one[known] for one in columns], self.centres)]
        return codes


def nearest(columns: Sequence[np.ndarray], centres: np.ndarray) -> np.ndarray:
    """(n,) index of the nearest of ``centres`` (k, p) to values given as p columns (n,); the first of equal ones."""
    label, least = np.zeros(len(columns[0]), np.uint8), np.full(len(columns[0]), np.inf)
    for number, centre in enumerate(centres):
        away = sum((column - at) ** 2 for column, at in zip(columns, centre))
        label[away < least] = number
        np.minimum(least, away, out=least)
    return label


def class_codes(values: np.ndarray, limits: tuple[float, ...]) -> np.ndarray:
    """1 for values below the first limit, 2 from it on, and so on; 0 where there is no value. uint8."""
    codes = (np.digitize(np.nan_to_num(values), limits) + 1).astype(np.uint8)
    codes[~np.isfinite(values)] = 0
    return codes
