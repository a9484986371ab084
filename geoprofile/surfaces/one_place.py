"""Which pits are one place, and what that place says.

Visits to one place give one observation, the latest or the mean. Pits that cannot be told apart are one place: nearer
to each other than either's position is known, or than a twentieth of the cell, or than a centimetre. No two of a place
are farther apart, so pits in a line never chain into one. A place counts as the mean of its values; where none
has a value, as the tightest bounds; a bound beside a value gives way to it, and it is said how often. (Rule of our
own; left as they are, two such pits that differ bend the surface between them without measure.)
"""

from __future__ import annotations

import numpy as np
import pandas as pd

SAME_POINT_M = 0.01
SAME_SHARE = 0.05
"""Of the cell: pits nearer than that are one place."""


def one_visit(table: pd.DataFrame, visits: str) -> tuple[pd.DataFrame, int]:
    """One row a place, and how many earlier visits were passed over."""
    if not table["place_id"].duplicated().any():
        return table, 0
    earlier = 0
    kept = []
    for _, group in table.groupby("place_id", sort=False):
        if len(group) > 1 and visits == "latest" and group["date"].notna().all():
            last = group[group["date"] == group["date"].max()]
            earlier += len(group) - len(last)
            group = last
        kept.append(_mean_row(group))
    return _as_table(kept), earlier


def merged_places(table: pd.DataFrame) -> tuple[pd.DataFrame, list[pd.DataFrame]]:
    """Rows that cannot be told apart (rule 6) as one row; and those that were merged."""
    if len(table) < 2:
        return table, []
    labels = one_place(table[["x", "y"]].to_numpy(float), table["same_m"].to_numpy(float))
    if len(np.unique(labels)) == len(table):
        return table, []
    groups = [group for _, group in table.groupby(labels, sort=False)]
    return _as_table([_mean_row(group) for group in groups]), [group for group in groups if len(group) > 1]


def one_place(points: np.ndarray, same_m: np.ndarray) -> np.ndarray:
    """(n,) labels of places: no two points (n, 2) of one are farther apart than the larger of their ``same_m`` (n,)."""
    from scipy.cluster.hierarchy import fcluster, linkage
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree
    from scipy.spatial.distance import squareform

    centred = points - points.mean(axis=0)
    tree = cKDTree(centred)
    near = tree.sparse_distance_matrix(tree, float(same_m.max()), output_type="coo_matrix")
    close = near.data <= np.maximum(same_m[near.row], same_m[near.col])
    near.data[:] = close
    near.eliminate_zeros()
    labels = connected_components(near, directed=False)[1]
    for label in np.flatnonzero(np.bincount(labels) > 2):  # a chain is cut where its ends are too far apart
        own = np.flatnonzero(labels == label)
        away = np.hypot(*(centred[own][:, None] - centred[own]).transpose(2, 0, 1)) / np.maximum(same_m[own][:, None], same_m[own])
        parts = fcluster(linkage(squareform(away, checks=False), "complete"), 1.0, "distance")
        labels[own] = np.where(parts == 1, label, labels.max() + parts)
    return labels


def merged_sentence(groups: list[pd.DataFrame]) -> str:
    pits, yielded, widest = sum(map(len, groups)), 0, 0.0
    for group in groups:
        exact = (group["low"] == group["high"]).to_numpy()
        yielded += int((~exact).sum()) if exact.any() else 0
        across = group[["x", "y"]].to_numpy(float)
        widest = max(widest, float(np.hypot(*(across[:, None] - across).transpose(2, 0, 1)).max()))
    apart = "coincident" if widest < SAME_POINT_M else f"up to {widest:.1f} m apart"
    text = (
        f"{pits} pits that cannot be told apart ({apart}: nearer than their positions are known or than {100 * SAME_SHARE:g} % of the "
        f"cell) count as {len(groups)} place{'s' * (len(groups) > 1)}, each by the mean of its values"
    )
    if yielded:
        text += f"; {yielded} that say{'s' * (yielded == 1)} only a bound give{'s' * (yielded == 1)} way to a value at the same place"
    return text


def _mean_row(group: pd.DataFrame) -> pd.Series:
    """The first row with the mean of values, or with the tightest bounds where some are only bounds."""
    row = group.iloc[0].copy()
    if len(group) > 1:
        exact = group[group["low"] == group["high"]]
        if len(exact):
            mean = exact["low"].mean()
            row["low"] = row["high"] = mean
            row["repeats"] = exact["repeats"].sum()
            row["within"] = exact["within"].sum() + (exact["repeats"] * (exact["low"] - mean) ** 2).sum()
            row["status"] = exact["status"].iloc[0] if exact["status"].nunique() == 1 else "measured"
        else:
            low, high = group["low"].max(), group["high"].min()
            row["low"], row["high"] = (low, high) if low <= high else (group["low"].min(), group["high"].max())
            row["status"] = "between" if np.isfinite([row["low"], row["high"]]).all() else row["status"]
        row["x"], row["y"] = group["x"].mean(), group["y"].mean()
    return row


def _as_table(rows: list[pd.Series]) -> pd.DataFrame:
    return pd.DataFrame(rows).astype({name: float for name in ("x", "y", "low", "high", "repeats", "within")})
