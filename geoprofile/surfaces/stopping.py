"""Did rock or stones stop the pits at random?

'At least 40' is used as if what stopped the pit at 40 cm had nothing to do with the
value below. Where pits stop because rock is near, or on the same ground that makes the
value small, that fails, and the map comes out too deep there (geostatistics with
censored data assumes it away; so do the published studies).

The test, on all pits whose end has a stated cause, those stopped by rock or stones
against the rest:

- cause against terrain, and against the mean of the three nearest measured values:
  Mann & Whitney's rank test (1947);
- stop depth against the same, among the stopped: Spearman's rank correlation (1904).

The smallest p counts, multiplied by the number of looks (Bonferroni). Below .05 the
stopping is said not to be at random. It is a warning light: it can miss what terrain
and neighbours do not show.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from .drift import open_drift
from .ground import Ground

CAUSES = ("rock", "stones")
LEAST = 5
"""Fewer stopped or other pits than this are not tested."""
NEIGHBOURS = 3
BELOW = 0.05
CAUTION_FROM = 0.05
"""Share of the pits used from which stopping that is not at random becomes a caution rather than a note."""
SHOWN_TERRAIN = ("elevation", "relative_elevation", "slope")
"""Looked at, where they were computed, beside the drift of the attribute."""


@dataclass(frozen=True)
class Stopping:
    """``sentence`` for people; ``at_random`` None where too few pits were stopped to tell; ``share`` of the pits concerned."""

    sentence: str
    at_random: bool | None
    share: float
    p: float = float("nan")

    @property
    def matters(self) -> bool:
        """Whether it is a caution: not at random, and enough of the pits used."""
        return self.at_random is False and self.share >= CAUTION_FROM


def stopping_of(places: pd.DataFrame, ground: Ground, drift: tuple[str, ...], output: Path) -> Stopping | None:
    """:func:`test_stopping` for one attribute, with the terrain that was computed and its drift."""
    ends, terrain = ground.located, {}
    if ground.terrain is not None:
        names = tuple(dict.fromkeys(name for name in (*SHOWN_TERRAIN, *drift) if name in ground.terrain.rasters))
        there = open_drift(names, ground.terrain, output).at(ends["x"].to_numpy(float), ends["y"].to_numpy(float))
        terrain = dict(zip(names, there.T, strict=True))
    return test_stopping(ends, places, terrain, drift)


def test_stopping(
    ends: pd.DataFrame, places: pd.DataFrame, terrain: dict[str, np.ndarray], drift: tuple[str, ...] = ()
) -> Stopping | None:
    """None where no bounded observation comes from a pit that rock or stones stopped.

    Parameters
    ----------
    ends : pit_id, x, y, stopped_by, observed_to_cm of every located pit.
    places : what is used of the attribute: pit_id, x, y, low, high.
    terrain : name -> (len(ends),) value at each pit.
    drift : those of them that the surface uses as drift.
    """
    stopped = ends["stopped_by"].isin(CAUSES).to_numpy()
    bounded = places.loc[(places["low"] < places["high"]) & np.isposinf(places["high"]), "pit_id"]
    concerned = int(bounded.isin(ends.loc[stopped, "pit_id"]).sum())
    if not concerned:
        return None
    what = f"{concerned} of the pits that say only a bound {'was' if concerned == 1 else 'were'} stopped by rock or stones"
    other = (ends["stopped_by"].notna() & ~ends["stopped_by"].isin((*CAUSES, "unknown", ""))).to_numpy()
    share = concerned / len(places)
    looks = list(_looks(ends, places, terrain, stopped, other))
    if not looks:
        return Stopping(
            f"{what}; too few pits state why they end to test whether that was at random: it is taken so", None, share
        )
    p, words, subject = min(looks, key=lambda look: look[0])
    p = min(1.0, p * len(looks))
    told = f"p = {p:.2g} after correction for {len(looks)} looks"
    if p >= BELOW:
        return Stopping(
            f"{what}; neither where nor how deep pits are stopped shows a tie to terrain or to neighbouring values ({told}): "
            "taken as at random", True, share, p,
        )  # fmt: skip
    effect = (
        f"the drift on {subject} accounts for it in part; look at the map there with doubt"
        if subject in drift
        else "what is 'at least' there is likely not much more, and the map near those pits may be too deep"
    )
    return Stopping(f"{what}, and pits are not stopped at random: {words} ({told}); {effect}", False, share, p)


test_stopping.__test__ = False  # it tests pits, not this package


def _looks(ends: pd.DataFrame, places: pd.DataFrame, terrain: dict[str, np.ndarray], stopped: np.ndarray, other: np.ndarray):
    """(p, what was found in words, subject) of each look that has enough pits."""
    from scipy.stats import mannwhitneyu, spearmanr

    depth = ends["observed_to_cm"].to_numpy(float)
    for name, values in {**terrain, "neighbours": _neighbours(ends, places)}.items():
        known = np.isfinite(values)
        inside, outside = values[known & stopped], values[known & other]
        subject = "the measured values of their neighbours" if name == "neighbours" else name
        if min(len(inside), len(outside)) >= LEAST and np.ptp(np.concatenate([inside, outside])) > 0:
            way = "high" if np.median(inside) > np.median(outside) else "low"
            p = float(mannwhitneyu(inside, outside).pvalue)
            yield p, f"those that are stand where {subject} {_verb(name)} {way}", name
        deep = known & stopped & np.isfinite(depth)
        if deep.sum() >= LEAST and np.ptp(values[deep]) > 0 and np.ptp(depth[deep]) > 0:
            found = spearmanr(values[deep], depth[deep])
            way = "deeper" if found.statistic > 0 else "shallower"
            yield float(found.pvalue), f"they stop {way} where {subject} {_verb(name)} high", name


def _verb(name: str) -> str:
    return "are" if name == "neighbours" else "is"


def _neighbours(ends: pd.DataFrame, places: pd.DataFrame) -> np.ndarray:
    """(n,) mean of the nearest measured values around each pit, its own left out."""
    from scipy.spatial import cKDTree

    exact = places[places["low"] == places["high"]]
    here = np.isfinite(ends[["x", "y"]].to_numpy(float)).all(axis=1)
    out = np.full(len(ends), np.nan)
    if len(exact) <= NEIGHBOURS or not here.any():
        return out
    _, near = cKDTree(exact[["x", "y"]].to_numpy(float)).query(ends.loc[here, ["x", "y"]].to_numpy(float), k=NEIGHBOURS + 1)
    own = exact["pit_id"].to_numpy()[near] == ends.loc[here, "pit_id"].to_numpy()[:, None]
    values = np.where(own, np.nan, exact["low"].to_numpy(float)[near])
    values[~own.any(axis=1), -1] = np.nan  # the fourth only stands in for the pit itself
    out[here] = np.nanmean(values, axis=1)
    return out
