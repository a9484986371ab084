"""One id, one description: what happens where the same id stands more than once (R9)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from ..errors import InputError
from ..problems import Problem
from ..settings.pits import PitsSettings
from .joining import at, one_place, positions_by_id, without

AGAIN = "the same id again: the fuller description is used and this one is not"
FULLEST = "one description an id: of those of the latest date or of no date the one with more horizons, then the deeper, then the first that has a place"


def settle_repeated_ids(pits: pd.DataFrame, horizons: pd.DataFrame, readings: pd.DataFrame, settings: PitsSettings,
                        problems: list[Problem]) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """One row an id. Rows of one id at one place are visits, settled by ``visits``; at two places none is used.

    Of visits the latest counts; where dates do not decide, the fuller description (FULLEST). Horizons follow their
    row: when the rows of an id stand in as many separate runs as there are visits, run by run.
    """
    counts = pits["pit_id"].value_counts(sort=False)
    repeated = set(counts[counts > 1].index)
    if not repeated:
        return pits, horizons, readings
    if settings.visits == "error":
        raise InputError("pit ids stand more than once", where=pits["file"].iloc[0], found=", ".join(sorted(repeated)[:12]),
                         remedy='give each visit its own id, or say visits = "latest" or "all"')
    pit_positions = positions_by_id(pits, repeated)
    drop_pits: list[int] = []
    drop_horizons: list[int] = []
    horizon_ids = horizons["pit_id"].to_numpy(object).copy()
    pit_ids = pits["pit_id"].to_numpy(object).copy()
    runs = _runs(horizons, repeated)
    reading_positions = positions_by_id(readings, repeated)
    reading_ids = readings["pit_id"].to_numpy(object).copy()
    drop_readings: list[int] = []
    extent = _extents(horizons)
    for key, rows in pit_positions.items():
        together = [position for run in runs.get(key, []) for position in run]
        parts = _by_visit(runs.get(key, []), horizons, len(rows))
        if not one_place(pits["geometry"].to_numpy(object)[rows], settings.same_place_m):
            drop_pits += rows
            drop_horizons += together
            drop_readings += reading_positions.get(key, [])
            for row in rows:
                problems.append(at(pits.iloc[row], "error", "repeated id", "the same id stands at two places, so neither was used", pit_id=key,
                                   found=key, remedy="give each pit its own id"))
            continue
        dates = pits["date"].to_numpy(object)[rows]
        kept = _fullest(pits.iloc[rows], [extent(part) for part in parts] if parts else [(0, 0.0)] * len(rows))
        if parts is None:  # nothing tells whose horizons these are: they go with the row that is used, rows written twice once
            parts = [together if k == kept else [] for k in range(len(rows))]
            drop_horizons += _doubles(horizons, together) if settings.visits == "latest" else []
        for k, row in enumerate(rows):
            if k == kept:
                continue
            if settings.visits == "all":
                name = f"{key} visit {k + 1}"
                pit_ids[row] = name
                horizon_ids[parts[k]] = name
                reading_ids[_beside(pits.iloc[row], readings, reading_positions.get(key, []))] = name
                problems.append(at(pits.iloc[row], "note", "visit", f"a further visit to one pit; it is called {name!r}", pit_id=key, found=key))
                continue
            drop_pits.append(row)
            drop_horizons += parts[k]
            drop_readings += _beside(pits.iloc[row], readings, reading_positions.get(key, []))
            used = f"used: row {pits['row'].iloc[rows[kept]]} with {_in_words(*extent(parts[kept]))}"
            found = f"{key} with {_in_words(*extent(parts[k]))}; {used}"
            if dates[k] and dates[kept] > dates[k]:
                problems.append(at(pits.iloc[row], "warning", "older visit", "an older visit to this pit; it is set aside", pit_id=key,
                                   found=found, remedy='say visits = "all" to use every visit'))
            else:
                problems.append(at(pits.iloc[row], "error", "repeated id", AGAIN, pit_id=key, found=found, allowed=FULLEST,
                                   remedy="give each pit its own id, or take the row out"))
    pits = pits.assign(pit_id=pit_ids)
    horizons = horizons.assign(pit_id=horizon_ids)
    readings = readings.assign(pit_id=reading_ids)
    return without(pits, drop_pits), without(horizons, drop_horizons), without(readings, drop_readings)


def _runs(horizons: pd.DataFrame, ids: set[str]) -> dict[str, list[list[int]]]:
    """Runs of neighbouring rows of one id (and one visit, where the table tells them apart), in source order."""
    runs: dict[str, list[list[int]]] = {}
    previous = None
    visits = horizons["visit"].to_numpy(object) if "visit" in horizons else np.full(len(horizons), "", dtype=object)
    for position, key in enumerate(zip(horizons["pit_id"], visits, strict=True)):
        if key[0] in ids:
            if key == previous:
                runs[key[0]][-1].append(position)
            else:
                runs.setdefault(key[0], []).append([position])
        previous = key
    return runs


def _by_visit(runs: list[list[int]], horizons: pd.DataFrame, visits: int) -> list[list[int]] | None:
    """Positions of the horizons of each visit; None when nothing tells the visits apart."""
    if len(runs) == visits:
        return runs
    first = list(zip(horizons["upper_cm"], horizons["designation"].str.casefold(), strict=True))
    restarted: list[list[int]] = []
    for run in runs:
        restarted.append([])
        for position in run:
            part = restarted[-1]
            if part and first[position] == first[part[0]]:  # the description starts again
                restarted.append([])
            restarted[-1].append(position)
    return restarted if len(restarted) == visits else None


def _fullest(rows: pd.DataFrame, described: list[tuple[int, float]]) -> int:
    """Which row of one id is used, by FULLEST: of the latest date and of no date, by what is described."""
    dates = rows["date"].to_numpy(object)
    placed = [shape is not None for shape in rows["geometry"]]
    last = max(dates)
    return max(
        (k for k in range(len(rows)) if dates[k] in (last, "")),
        key=lambda k: (*described[k], placed[k], dates[k], -k),
    )


def _beside(pit: pd.Series, readings: pd.DataFrame, positions: list[int]) -> list[int]:
    """Of the readings at some positions those that stand in the very row of ``pit``."""
    same = [readings[name].to_numpy(object)[positions] == pit[name] for name in ("file", "sheet", "row")] if positions else []
    return [position for position, here in zip(positions, np.logical_and.reduce(same), strict=True) if here] if positions else []


def _extents(horizons: pd.DataFrame) -> Callable[[list[int]], tuple[int, float]]:
    """How many different horizons stand at some positions, and how deep they go, cm."""
    upper, lower = horizons["upper_cm"].to_numpy(float), horizons["lower_cm"].to_numpy(float)
    rows = list(zip(horizons["designation"], upper.tolist(), np.where(np.isnan(lower), upper, lower).tolist(), strict=True))

    def extent(positions: list[int]) -> tuple[int, float]:
        own = {rows[position] for position in positions if rows[position][1] == rows[position][1]}
        return len(own), max((max(upper, lower) for _, upper, lower in own), default=0.0)

    return extent


def _in_words(count: int, depth: float) -> str:
    return f"{count} horizon{'' if count == 1 else 's'} to {depth:g} cm" if count else "no horizons"


def _doubles(horizons: pd.DataFrame, positions: list[int]) -> list[int]:
    rows = horizons.iloc[positions].drop(columns=["row"], errors="ignore")
    return [position for position, double in zip(positions, rows.astype(str).duplicated(), strict=True) if double]
