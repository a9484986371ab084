"""Who belongs to whom: pits to points one to one, horizons to pits many to one.

Keys are compared as trimmed text; a difference in case or leading zeros is
proposed and never applied. Blank and repeated ids are rejected; every id
without a partner is listed, on both sides (R9).
"""

from __future__ import annotations

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
AGAIN = "the same id again: the fuller description is used and this one is not"
FULLEST = "one description an id: of those of the latest date or of no date the one with more horizons, then the deeper, then the first that has a place"


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
                           found=row["pit_id"], remedy=f"is it the point {like[0]!r}? Write the same id in both tables" if like else "add its point, or correct the id"))
    near_pits = _by_loose_key({pits["pit_id"].iloc[position]: position for position in np.flatnonzero(~here)})
    for key, position in alone.items():
        like = near_pits.get(loose(key), ())
        problems.append(at(points.iloc[position], "warning", "no pit", "no pit is described under this point's id", pit_id=key, found=key,
                           remedy=f"is it the pit {like[0]!r}? Write the same id in both tables" if like else "add its description, or leave it"))
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
        raise InputError("no horizon has the id of a pit", where=f"{pits['file'].iloc[0]} and {horizons['file'].iloc[0]}",
                         found=f"pits {', '.join(sorted(ids)[:4])} ...; horizons {', '.join(sorted(set(horizons['pit_id']))[:4])} ...",
                         remedy="name the id columns in [pits.columns.pits] and [pits.columns.horizons]")
    described = set(horizons["pit_id"])
    near = _by_loose_key({key: 0 for key in ids - described})
    for key, group in horizons[stray].groupby("pit_id", sort=False):
        like = near.get(loose(key), ())
        problems.append(at(group.iloc[0], "error", "no pit", "horizons of an id that the table of pits does not have were not used", pit_id=key,
                           found=f"{key}: {len(group)} rows", remedy=f"is it the pit {like[0]!r}?" if like else "add the pit, or correct the id"))
    return horizons[~stray]


def drop_repeated_horizons(horizons: pd.DataFrame, problems: list[Problem]) -> pd.DataFrame:
    """Horizons without second copies: same pit, designation and depths. The first is used; pits with copies are listed."""
    again = horizons.duplicated(["pit_id", "designation", "upper_cm", "lower_cm"]) & horizons["upper_cm"].notna()
    for key, group in horizons[again].groupby("pit_id", sort=False):
        problems.append(at(group.iloc[0], "warning", "repeated", "horizons with the same designation and depths stand twice; the first is used", pit_id=key,
                           found=", ".join(f"{row.designation} {row.upper_cm:g}-{row.lower_cm:g}" for row in group.itertuples())[:120],
                           remedy="take out the copy, or give the second pit an id of its own"))
    return horizons[~again]


def list_undescribed(pits: pd.DataFrame, horizons: pd.DataFrame, readings: pd.DataFrame, problems: list[Problem]) -> None:
    """Pits that have neither a horizon nor a reading."""
    said = set(horizons["pit_id"]) | set(readings["pit_id"])
    for _, row in pits[~pits["pit_id"].isin(said)].iterrows():
        problems.append(at(row, "warning", "no horizons", "the pit has no horizons and no readings", pit_id=row["pit_id"], found=row["pit_id"]))


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
    pit_positions = _positions_by_id(pits, repeated)
    drop_pits: list[int] = []
    drop_horizons: list[int] = []
    horizon_ids = horizons["pit_id"].to_numpy(object).copy()
    pit_ids = pits["pit_id"].to_numpy(object).copy()
    runs = _runs(horizons, repeated)
    reading_positions = _positions_by_id(readings, repeated)
    drop_readings: list[int] = []
    for key, rows in pit_positions.items():
        together = [position for run in runs.get(key, []) for position in run]
        parts = _by_visit(runs.get(key, []), horizons, len(rows))
        if not _one_place(pits["geometry"].to_numpy(object)[rows], settings.same_place_m):
            drop_pits += rows
            drop_horizons += together
            drop_readings += reading_positions.get(key, [])
            for row in rows:
                problems.append(at(pits.iloc[row], "error", "repeated id", "the same id stands at two places, so neither was used", pit_id=key,
                                   found=key, remedy="give each pit its own id"))
            continue
        dates = pits["date"].to_numpy(object)[rows]
        kept = _fullest(pits.iloc[rows], parts, horizons)
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
                problems.append(at(pits.iloc[row], "note", "visit", f"a further visit to one pit; it is called {name!r}", pit_id=key, found=key))
                continue
            drop_pits.append(row)
            drop_horizons += parts[k]
            used = f"used: row {pits['row'].iloc[rows[kept]]} with {_horizons_in_words(horizons, parts[kept])}"
            found = f"{key} with {_horizons_in_words(horizons, parts[k])}; {used}"
            if dates[k] and dates[kept] > dates[k]:
                problems.append(at(pits.iloc[row], "warning", "older visit", "an older visit to this pit; it is set aside", pit_id=key,
                                   found=found, remedy='say visits = "all" to use every visit'))
            else:
                problems.append(at(pits.iloc[row], "error", "repeated id", AGAIN, pit_id=key, found=found, allowed=FULLEST,
                                   remedy="give each pit its own id, or take the row out"))
    pits = pits.assign(pit_id=pit_ids)
    horizons = horizons.assign(pit_id=horizon_ids)
    return _without(pits, drop_pits), _without(horizons, drop_horizons), _without(readings, drop_readings)


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
                        problems.append(at(pits.iloc[member], "warning", "older visit", "an older visit to one place; it is set aside",
                                           pit_id=ids[member], found=f"{date}; the latest is {last}: {names}", remedy='say visits = "all" to use every visit'))
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
    """A key for proposals only: case, blanks, leading zeros and a trailing ``.0`` do not count."""
    key = "".join(str(key).casefold().split())
    if key.endswith(".0"):
        key = key[:-2]
    return key.lstrip("0") or key


def at(row: pd.Series, severity: str, check: str, what: str, **more) -> Problem:
    """A problem at the source row of ``row``."""
    return Problem(severity, check, what, file=str(row["file"]), sheet=str(row["sheet"]), row=int(row["row"]), **more)


def _by_loose_key(keys: dict[str, int]) -> dict[str, list[str]]:
    near: dict[str, list[str]] = {}
    for key in keys:
        near.setdefault(loose(key), []).append(key)
    return near


def _one_point_an_id(points: pd.DataFrame, problems: list[Problem]) -> pd.DataFrame:
    counts = points["pit_id"].value_counts(sort=False)
    drop: list[int] = []
    for key, rows in _positions_by_id(points, set(counts[counts > 1].index)).items():
        shapes = points["geometry"].to_numpy(object)[rows]
        same = _one_place(shapes, 0.01)
        drop += rows[1:] if same else rows
        for row in rows[1:] if same else rows:
            problems.append(at(points.iloc[row], "warning" if same else "error", "repeated id",
                               "the same point stands twice and is used once" if same else "one id has points at several places, so none was used",
                               pit_id=key, found=key, remedy="give each point its own id"))
    return _without(points, drop)


def _one_place(shapes, within_m: float) -> bool:
    known = [shape for shape in shapes if shape is not None]
    return all(known[0].distance(shape) <= max(within_m, 1e-9) for shape in known[1:]) if known else True


def _positions_by_id(frame: pd.DataFrame, ids: set[str]) -> dict[str, list[int]]:
    found: dict[str, list[int]] = {}
    for position, key in enumerate(frame["pit_id"]):
        if key in ids:
            found.setdefault(key, []).append(position)
    return found


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


def _fullest(rows: pd.DataFrame, parts: list[list[int]] | None, horizons: pd.DataFrame) -> int:
    """Which row of one id is used, by FULLEST: of the latest date and of no date, by what is described."""
    dates = rows["date"].to_numpy(object)
    placed = [shape is not None for shape in rows["geometry"]]
    described = [_extent(horizons, part) for part in parts] if parts else [(0, 0.0)] * len(rows)
    last = max(dates)
    return max(
        (k for k in range(len(rows)) if dates[k] in (last, "")),
        key=lambda k: (*described[k], placed[k], dates[k], -k),
    )


def _extent(horizons: pd.DataFrame, positions: list[int]) -> tuple[int, float]:
    """How many different horizons these are, and how deep they go, cm."""
    own = horizons.iloc[positions][["designation", "upper_cm", "lower_cm"]]
    own = own[own["upper_cm"].notna()].drop_duplicates()
    return len(own), float(np.nanmax(own[["upper_cm", "lower_cm"]].to_numpy(float))) if len(own) else 0.0


def _horizons_in_words(horizons: pd.DataFrame, positions: list[int]) -> str:
    count, depth = _extent(horizons, positions)
    return f"{count} horizon{'' if count == 1 else 's'} to {depth:g} cm" if count else "no horizons"


def _doubles(horizons: pd.DataFrame, positions: list[int]) -> list[int]:
    rows = horizons.iloc[positions].drop(columns=["row"], errors="ignore")
    return [position for position, double in zip(positions, rows.astype(str).duplicated(), strict=True) if double]


def _without(frame: pd.DataFrame, positions: list[int]) -> pd.DataFrame:
    keep = np.ones(len(frame), bool)
    keep[positions] = False
    return frame[keep]
