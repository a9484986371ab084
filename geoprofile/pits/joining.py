"""Who belongs to whom: a pit has one point, a point one pit, and each horizon one pit.

Keys are compared as trimmed text; a difference in case, blanks, dashes or leading zeros
is proposed and never applied. Blank and repeated ids are rejected; every id
without a partner is listed, on both sides (R9).
"""

from __future__ import annotations

import re
from collections.abc import Iterable

import numpy as np
import pandas as pd
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from ..errors import InputError
from ..problems import Problem
from ..settings.pits import PitsSettings

FAR_M = 30.0
"""A pit's own coordinates and its point may differ by this, m (common practice, no source)."""


_SEPARATORS = re.compile(r"[\s_\-\u2010-\u2015\u2212]+")
_LEADING_ZEROS = re.compile(r"(?<![\d.])0+(?=\d)")


def drop_blank_ids(frame: pd.DataFrame, what: str, problems: list[Problem]) -> pd.DataFrame:
    """Rows that have an id; the others are listed."""
    blank = (frame["pit_id"] == "").to_numpy()
    for _, row in frame[blank].iterrows():
        problems.append(at(row, "error", "id", f"a row of the {what} table has no pit id and was not used",
                           remedy="write the id on every row"))
    return frame[~blank]


def join_points(pits: pd.DataFrame, points: pd.DataFrame, problems: list[Problem]) -> pd.DataFrame:
    """``pits`` with geometry, position_by and position_accuracy_m of the point of the same id.

    Both frames have ``pit_id``, file, sheet, row; ``points`` has geometry (or None). Raises InputError when no id matches (G9).
    """
    points = _one_point_an_id(points, problems)
    ids, keys = set(pits["pit_id"]), dict(zip(points["pit_id"], range(len(points)), strict=True))
    if len(pits) and len(points) and not ids & set(keys):
        raise InputError(
            "no pit has the id of a point", where=f"{pits['file'].iloc[0]} and {points['file'].iloc[0]}",
            found=f"pits {', '.join(sorted(ids)[:4])} ...; points {', '.join(sorted(keys)[:4])} ...",
            remedy='name the column of the id, as points = { file = "...", id = "name" }',
        )
    alone = {key: row for key, row in keys.items() if key not in ids}
    near = _by_loose_key(alone)
    pits = pits.copy()
    own = pits["geometry"].to_numpy(object)
    place = np.array([keys.get(key, -1) for key in pits["pit_id"]], dtype=int)
    here = place >= 0
    for name in ("geometry", "position_by", "position_accuracy_m"):
        values = pits[name].to_numpy(object).copy()
        values[here] = points[name].to_numpy(object)[place[here]]
        pits[name] = values
    _list_differing(pits, own, problems)
    seen = set()
    for position in np.flatnonzero(~here):
        row = pits.iloc[position]
        if row["pit_id"] in seen:
            continue
        seen.add(row["pit_id"])
        like = near.get(loose(row["pit_id"]), ())
        problems.append(at(row, "warning", "no point", "no point has this pit's id; the pit is kept " + ("without a place" if own[position] is None else "where its own coordinates put it"),
                           pit_id=row["pit_id"],
                           found=row["pit_id"], remedy=f"is it the point {_named(like)}? Write the same id in both tables" if like else "add its point, or correct the id"))
    near_pits = _by_loose_key({pits["pit_id"].iloc[position]: position for position in np.flatnonzero(~here)})
    for key, position in alone.items():
        like = near_pits.get(loose(key), ())
        problems.append(at(points.iloc[position], "warning", "no pit", "no pit is described under this point's id", pit_id=key, found=key,
                           remedy=f"is it the pit {_named(like)}? Write the same id in both tables" if like else "add its description, or leave it"))
    return pits


def _list_differing(pits: pd.DataFrame, own: np.ndarray, problems: list[Problem]) -> None:
    """Pits whose own coordinates are far from their point: the point is used."""
    for position, (before, after) in enumerate(zip(own, pits["geometry"], strict=True)):
        if before is not None and after is not None and before.distance(after) > FAR_M:
            row = pits.iloc[position]
            problems.append(at(row, "warning", "two places", "the pit's own coordinates are not those of its point; the point is used", pit_id=row["pit_id"],
                               found=f"{before.distance(after):.0f} m apart", allowed=f"{FAR_M:g} m", remedy="correct one of the two"))


def join_horizons(pits: pd.DataFrame, horizons: pd.DataFrame, problems: list[Problem]) -> pd.DataFrame:
    """Horizons of known pits; those of others are listed once an id and not used. Pits without horizons are listed."""
    ids = set(pits["pit_id"])
    stray = ~horizons["pit_id"].isin(ids).to_numpy()
    if len(horizons) and ids and stray.all():
        alike = _alike(ids, set(horizons["pit_id"]))
        raise InputError("no horizon has the id of a pit", where=f"{pits['file'].iloc[0]} and {horizons['file'].iloc[0]}",
                         found=f"pits {', '.join(sorted(ids)[:4])} ...; horizons {', '.join(sorted(set(horizons['pit_id']))[:4])} ...",
                         remedy=(f"is {alike[0]!r} the pit {alike[1]!r}? Write the ids alike in both tables" if alike
                                 else "name the id columns in [pits.columns.pits] and [pits.columns.horizons]"))
    described = set(horizons["pit_id"])
    near = _by_loose_key({key: 0 for key in ids - described})
    for key, group in horizons[stray].groupby("pit_id", sort=False):
        like = near.get(loose(key), ())
        problems.append(at(group.iloc[0], "error", "no pit", "horizons of an id that the table of pits does not have were not used", pit_id=key,
                           found=f"{key}: {len(group)} rows", remedy=f"is it the pit {_named(like)}? Write the same id in both tables" if like else "add the pit, or correct the id"))
    return horizons[~stray]


def drop_repeated_horizons(horizons: pd.DataFrame, problems: list[Problem]) -> pd.DataFrame:
    """Horizons without second copies: same pit, designation and depths. The first is used; pits with copies are listed."""
    again = horizons.duplicated(["pit_id", "designation", "upper_cm", "lower_cm"]) & horizons["upper_cm"].notna()
    for key, group in horizons[again].groupby("pit_id", sort=False):
        problems.append(at(group.iloc[0], "warning", "repeated", "horizons with the same designation and depths stand twice; the first is used", pit_id=key,
                           found=", ".join(f"{row.designation} {row.upper_cm:g}-{row.lower_cm:g}" for row in group.itertuples())[:120],
                           remedy="take out the copy, or give the second pit an id of its own"))
    return horizons[~again]


def list_undescribed(pits: pd.DataFrame, horizons: pd.DataFrame, readings: pd.DataFrame, problems: list[Problem], read: Iterable[str] = ()) -> None:
    """Pits that have neither a horizon nor a reading. ``read``: ids of all horizons that were read, among them those without a pit."""
    said = set(horizons["pit_id"]) | set(readings["pit_id"])
    near = _by_loose_key(dict.fromkeys(sorted(set(read) - set(pits["pit_id"]) - {""}), 0))
    for _, row in pits[~pits["pit_id"].isin(said)].iterrows():
        like = near.get(loose(row["pit_id"]), ())
        problems.append(at(row, "warning", "no horizons", "the pit has no horizons and no readings", pit_id=row["pit_id"], found=row["pit_id"],
                           remedy=f"are its horizons those of {_named(like)}? Write the same id in both tables" if like else
                           "correct its horizons where they are listed as problems, add them, or leave the pit as a place that says nothing"))  # fmt: skip


def settle_places(pits: pd.DataFrame, settings: PitsSettings, problems: list[Problem]) -> tuple[pd.DataFrame, set[str]]:
    """``pits`` with place_id, and the ids set aside as older visits.

    Pits nearer than ``same_place_m`` share a place. Where all dates are known and differ, they are visits and
    ``visits`` decides; otherwise all are kept and listed, since one waypoint for several pits is a usual slip.
    """
    ids = pits["pit_id"].to_numpy(object)
    place = ids.copy()
    aside: set[str] = set()
    known = np.flatnonzero([shape is not None for shape in pits["geometry"]])
    if len(known) > 1:
        points = np.array([(shape.x, shape.y) for shape in pits["geometry"].to_numpy(object)[known]])
        pairs = cKDTree(points).query_pairs(max(settings.same_place_m, 1e-9), output_type="ndarray")
        graph = coo_matrix((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(known), len(known)))
        _, labels = connected_components(graph, directed=False)
        groups = pd.Series(known).groupby(labels).agg(list)
        for members in groups[groups.map(len) > 1]:
            place[members] = ids[members[0]]
            dates = pits["date"].to_numpy(object)[members]
            names = ", ".join(ids[members])
            if settings.visits == "error":
                raise InputError("pits stand at one place", where=pits["file"].iloc[members[0]], found=names,
                                 remedy='correct the places, or say visits = "latest" or "all"')
            distinct = all(dates) and len(set(dates)) > 1
            if distinct and settings.visits == "latest":
                last = max(dates)
                for member, date in zip(members, dates, strict=True):
                    if date < last:
                        aside.add(ids[member])
                        problems.append(at(pits.iloc[member], "warning", "older visit",
                                           f"within {settings.same_place_m:g} m of a pit of a later day, so read as an older visit to its place and set aside",
                                           pit_id=ids[member], found=f"{date}; the latest is {last}: {names}",
                                           remedy='if they are pits of their own, say [pits] same_place_m = 0; visits = "all" keeps every visit'))
                members = [member for member, date in zip(members, dates, strict=True) if date == last]
            if len(members) > 1:
                problems.append(at(pits.iloc[members[0]], "warning", "one place", f"{len(members)} pits stand within {settings.same_place_m:g} m of each other",
                                   pit_id=ids[members[0]], found=", ".join(ids[members][:8]),
                                   remedy="check that this is not the waypoint of the vehicle or of a camp"))
    pits = pits.assign(place_id=place)
    # the first pit of a place may have been set aside: the place is called after the first that is there
    there = pits[~pits["pit_id"].isin(aside)].drop_duplicates("place_id")
    name = dict(zip(there["place_id"], there["pit_id"], strict=True))
    pits["place_id"] = [name.get(old, old) for old in pits["place_id"]]
    return pits[~pits["pit_id"].isin(aside)], aside


def loose(key: str) -> str:
    """A key for proposals only: case, blanks, dashes, leading zeros and a trailing ``.0`` do not count (``AH-07``, ``ah 7``)."""
    key = _SEPARATORS.sub("", str(key).casefold())
    while key.endswith(".0"):
        key = key[:-2]
    return _LEADING_ZEROS.sub("", key)


def _named(keys: Iterable[str]) -> str:
    """``'AH-07'`` or ``'AH-07' or 'AH 7'``, for a question."""
    return " or ".join(repr(key) for key in keys)


def at(row: pd.Series, severity: str, check: str, what: str, **more) -> Problem:
    """A problem at the source row of ``row``."""
    return Problem(severity, check, what, file=str(row["file"]), sheet=str(row["sheet"]), row=int(row["row"]), **more)


def _alike(ids: set[str], others: set[str]) -> tuple[str, str] | None:
    """An id of ``others`` with the one of ``ids`` that it may be."""
    near = _by_loose_key(dict.fromkeys(sorted(ids), 0))
    return next(((other, near[loose(other)][0]) for other in sorted(others) if loose(other) in near), None)


def _by_loose_key(keys: dict[str, int]) -> dict[str, list[str]]:
    near: dict[str, list[str]] = {}
    for key in keys:
        near.setdefault(loose(key), []).append(key)
    return near


def _one_point_an_id(points: pd.DataFrame, problems: list[Problem]) -> pd.DataFrame:
    counts = points["pit_id"].value_counts(sort=False)
    drop: list[int] = []
    for key, rows in positions_by_id(points, set(counts[counts > 1].index)).items():
        shapes = points["geometry"].to_numpy(object)[rows]
        same = one_place(shapes, 0.01)
        drop += rows[1:] if same else rows
        for row in rows[1:] if same else rows:
            problems.append(at(points.iloc[row], "warning" if same else "error", "repeated id",
                               "the same point stands twice and is used once" if same else "one id has points at several places, so none was used",
                               pit_id=key, found=key, remedy="give each point its own id"))
    return without(points, drop)


def one_place(shapes, within_m: float) -> bool:
    known = [shape for shape in shapes if shape is not None]
    return all(known[0].distance(shape) <= max(within_m, 1e-9) for shape in known[1:]) if known else True


def positions_by_id(frame: pd.DataFrame, ids: set[str]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for position, key in enumerate(frame["pit_id"]):
        if key in ids:
            found.setdefault(key, []).append(position)
    return found


def without(frame: pd.DataFrame, positions: list[int]) -> pd.DataFrame:
    keep = np.ones(len(frame), bool)
    keep[positions] = False
    return frame[keep]
