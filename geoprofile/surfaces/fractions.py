"""Which averages are sand, silt and clay of one depth, and their pits with all three."""

from __future__ import annotations

import numpy as np
import pandas as pd

from ..products import AttributeDefinition

SHARES = ("sand", "silt", "clay")
SUM_WITHIN = (90.0, 110.0)
"""A pit whose three shares add to less or more than this is left out; within, they are closed to 100 %."""


def fractions_of(definition: AttributeDefinition, definitions: tuple[AttributeDefinition, ...]) -> tuple[AttributeDefinition, ...]:
    """Sand, silt and clay that belong with ``definition``, itself among them; empty where one of them is not derived.

    They are averages in % whose names differ only in that first word, as ``sand_0_30``, ``silt_0_30``, ``clay_0_30``.
    """
    share, _, rest = definition.name.partition("_")
    by_name = {one.name: one for one in definitions if one.kind == "average" and one.unit == "%"}
    names = [f"{word}_{rest}" for word in SHARES]
    return tuple(by_name[name] for name in names) if share in SHARES and all(name in by_name for name in names) else ()


def with_all_three(frames: list[pd.DataFrame]) -> tuple[pd.DataFrame, np.ndarray, str]:
    """Places measured in all three (their coordinates from the first), shares (n, 3), and a sentence on the rest.

    ``frames``: Places.frame of sand, silt and clay.
    """
    exact = [frame[frame["low"] == frame["high"]].set_index("pit_id") for frame in frames]
    common = [pit for pit in exact[0].index if all(pit in one.index for one in exact[1:])]
    shares = np.column_stack([one.loc[common, "low"].to_numpy(float) for one in exact]) if common else np.empty((0, 3))
    total = shares.sum(axis=1)
    good = (total >= SUM_WITHIN[0]) & (total <= SUM_WITHIN[1])
    kept = np.array(common, dtype=object)[good]
    seen = len(set().union(*(frame["pit_id"] for frame in frames)))
    sentence = f"sand, silt and clay are mapped together from {len(kept)} pits that have all three, so every cell adds to 100 %"
    if seen > len(common):
        sentence += f"; {seen - len(common)} lack one"
    if (~good).any():
        sentence += f"; {int((~good).sum())} whose three shares add to less than {SUM_WITHIN[0]:g} or more than {SUM_WITHIN[1]:g} % are left out"
    return exact[0].loc[kept].reset_index(), shares[good], sentence
