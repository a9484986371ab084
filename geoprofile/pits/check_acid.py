"""The Canadian k against the acid test: k is any effervescence there, so the two must go together.

Source: Canadian System of Soil Classification 1998, chapter 2. In the USDA and WRB conventions k is secondary
carbonate only, and calcareous parent material is a plain C: nothing is said of those.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from ..problems import Problem
from ..vocabulary.terms import find_term
from .profiles import Profiles

LIMY = ("k", "ca")


def check_acid(all_: Profiles) -> Iterator[Problem]:
    """A reaction without k or ca, and k or ca without a reaction, each once with the number of horizons."""
    if all_.convention != "canadian" or "effervescence" not in all_.frame:
        return
    written = all_.frame["effervescence"].fillna("").astype("str").to_numpy(dtype=object)
    terms = {text: find_term("effervescence", text, all_.convention) for text in pd.unique(written)}
    said = np.array([bool(text) for text in written], bool)
    reacts = np.array([bool(text) and (terms[text].name if terms[text] else text) != "none" for text in written], bool)
    limy = all_.flags(lambda one: any(one.has(letters, weak=True) for letters in LIMY))
    soil = all_.flags(lambda one: one.known and one.master not in ("R", "W") and not one.organic)
    for rows, what, remedy in [
        (np.flatnonzero(reacts & ~limy & soil), "a reaction to acid is written, but neither k nor ca", "write k, or look at the acid test"),
        (np.flatnonzero(said & ~reacts & limy & soil), "k or ca is written, but no reaction to acid", "leave k out, or look at the acid test"),
    ]:
        if len(rows):
            more = f"; {len(rows)} horizons" if len(rows) > 1 else ""
            yield all_.problem(rows[0], "warning", "carbonates", f"{what} ({all_.span(rows[0])}){more}", field="effervescence",
                               found=str(written[rows[0]]), allowed="the Canadian k is any effervescence", remedy=remedy)
