"""How deep a pit was observed and tested, against how deep it is described."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from ..problems import Problem, counted
from .check_depth_unit import factor_told
from .check_depths import SNAP_CM
from .profiles import Profiles


def check_ends(all_: Profiles) -> Iterator[Problem]:
    """Lower depths that are only the end of the hole (one note for all), and depths observed that contradict."""
    ends = (
        all_.frame["lower_is_end"].to_numpy(dtype=bool)
        if "lower_is_end" in all_.frame
        else np.zeros(len(all_.frame), bool)
    )
    rows = np.flatnonzero(ends)
    if len(rows):
        pits = len(np.unique(all_.pit[rows]))
        yield Problem(
            "note",
            "end of the hole",
            f"in {counted(pits, 'pit')} the lower depth of the last horizon is only where observation ended, not a boundary",
            field="lower_cm",
            found=f"first: pit {all_.names[all_.pit[rows[0]]]}, {all_.span(rows[0])}",
            remedy="thicknesses and depths that depend on it read: at least",
        )
    observed = pd.to_numeric(pd.Series(all_.pit_column("observed_to_cm")), errors="coerce").to_numpy(dtype=float)
    deepest = all_.deepest
    with np.errstate(invalid="ignore"):
        short = (deepest > observed + SNAP_CM) & ~factor_told(observed, deepest)  # those are told with their unit
    for pit in np.flatnonzero(short):
        yield all_.pit_problem(
            pit,
            "warning",
            "depth observed",
            f"horizons reach {deepest[pit]:g} cm, the depth observed is {observed[pit]:g} cm",
            field="observed_to_cm",
            remedy="correct one of them",
        )
    for name, what in (
        ("acid_to_cm", "tested with acid"),
        ("ec_to_cm", "tested for salts"),
        ("mottles_to_cm", "looked over for mottles"),
    ):
        tested = pd.to_numeric(pd.Series(all_.pit_column(name)), errors="coerce").to_numpy(dtype=float)
        with np.errstate(invalid="ignore"):
            beyond = tested > np.fmax(observed, deepest) + SNAP_CM
        for pit in np.flatnonzero(beyond):
            yield all_.pit_problem(
                pit,
                "warning",
                "depth observed",
                f"{what} to {tested[pit]:g} cm, deeper than the pit",
                field=name,
                allowed=f"{np.fmax(observed[pit], deepest[pit]):g} cm",
                remedy="correct one of them",
            )
