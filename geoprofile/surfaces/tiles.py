"""What is made of each tile: the fitted map in, every raster of one attribute out.

The functions are picklable, so that they run in a thread or on another machine, and
what they give depends on the tile alone: results are the same however a raster is
shared out.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ..blocks import Tile
from ..grid import Grid, Window
from .land import Land
from .limits import Clip, clip_counts, probability_above, probability_below
from .mapping import FittedMap
from .methods.contract import Prediction
from .presence import PresenceCells, chance_of
from .reliability import BACKED, FAR, HARDLY_THERE, LEGEND, OUTSIDE, UNSEEN, Reliability


@dataclass(frozen=True)
class SurfaceTile:
    """All rasters of one attribute: estimate, both ends of its interval, reliability, presence, then the chances of less and of more; these and presence in per cent.

    ``seen``: beyond it no pit vouches for a value. ``presence``: how it is found, None = there is none, ``own_presence`` =
    the map gives it itself. ``least_presence``: below it a depth is not drawn; None = not a depth.
    """

    land: Land
    fitted: FittedMap
    reliability: Reliability
    clip: Clip
    seen: float
    presence: PresenceCells | None = None
    own_presence: bool = False
    least_presence: float | None = None
    below: tuple[float, ...] = ()
    above: tuple[float, ...] = ()
    show_unbacked: bool = False

    def __call__(self, tile: Tile, *arrays: np.ndarray) -> tuple[list[np.ndarray], Counter]:
        one_thread_of_linear_algebra()
        grid, window = self.land.grid, tile.core
        codes, drift = self.land.cells(window, *arrays)
        raw = self.fitted.predict_window(grid, window, codes, drift)
        told = self.reliability.over(grid, window, codes, drift)
        told[(told == BACKED) & np.isnan(raw.estimate)] = FAR
        told[(told == BACKED) & (raw.estimate > self.seen)] = UNSEEN
        presence = self._presence(grid, window, codes, drift, raw, told)
        if presence is not None and self.least_presence is not None:
            told[(told == BACKED) & (presence < self.least_presence)] = HARDLY_THERE
        shown = self._shown(codes, told)
        ready = self.clip(raw)
        outputs = [np.where(shown, part, np.nan) for part in (ready.estimate, ready.low90, ready.high90)]
        outputs.append(told)
        if presence is not None:
            outputs.append(100 * presence)
        outputs += [np.where(shown, 100 * probability_below(raw, limit), np.nan) for limit in self.below]
        outputs += [np.where(shown, 100 * probability_above(raw, limit), np.nan) for limit in self.above]
        return outputs, clip_counts(raw.estimate, ready.estimate, shown) + reason_counts(told)

    def _shown(self, codes: np.ndarray, told: np.ndarray) -> np.ndarray:
        return codes > 0 if self.show_unbacked else told == BACKED

    def _presence(
        self, grid: Grid, window: Window, codes: np.ndarray, drift: np.ndarray | None, raw: Prediction, told: np.ndarray
    ) -> np.ndarray | None:
        if self.own_presence:
            return np.where(self._shown(codes, told), chance_of(raw), np.nan)
        return None if self.presence is None else self.presence.over(grid, window, codes, drift)


@dataclass(frozen=True)
class PresenceTile:
    """The probability of presence alone, in per cent."""

    land: Land
    presence: PresenceCells

    def __call__(self, tile: Tile, *arrays: np.ndarray) -> tuple[list[np.ndarray], Counter]:
        one_thread_of_linear_algebra()
        codes, drift = self.land.cells(tile.core, *arrays)
        return [100 * self.presence.over(self.land.grid, tile.core, codes, drift)], Counter()


def reason_counts(told: np.ndarray) -> Counter:
    """Mapped cells by code of LEGEND."""
    numbers = np.bincount(told.ravel(), minlength=len(LEGEND) + 1)
    return Counter({f"reliability {code}": int(number) for code, number in enumerate(numbers) if number and code != OUTSIDE})


def share_notes(counts: Counter) -> list[str]:
    """How much of the mapped area the pits back, and why not the rest."""
    cells = {code: counts[f"reliability {code}"] for code in LEGEND}
    total = sum(cells.values())
    if not total:
        return ["no cell of the grid lies inside the survey area and its terrain"]
    return [f"of the mapped area: {_shares(cells)}"]


def empty_caution(counts: Counter) -> str:
    """One sentence where no cell is backed by the pits, so that an empty map is not taken for a fault; else empty."""
    cells = {code: counts[f"reliability {code}"] for code in LEGEND}
    return "" if cells[BACKED] or not any(cells.values()) else f"the pits back no place, so no estimate is shown: {_shares(cells)}"


def _shares(cells: dict[int, int]) -> str:
    total = sum(cells.values())
    return ", ".join(f"{100 * number / total:.0f} % {LEGEND[code]}" for code, number in cells.items() if number)


@lru_cache(maxsize=1)
def one_thread_of_linear_algebra() -> None:
    """On a worker as in the stage: sums, to the last bit, would depend on the number of threads."""
    from threadpoolctl import threadpool_limits

    threadpool_limits(1)
