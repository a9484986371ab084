"""Horizons of all pits in order of depth, as arrays, with each designation read once: what the checks look at."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pandas as pd

from ..problems import Problem
from ..vocabulary.designations import Designation, parse_designation
from .places import place_of


class Profiles:
    """Horizons in order of depth as arrays, with each designation read once."""

    def __init__(self, pits: pd.DataFrame, horizons: pd.DataFrame, convention: str) -> None:
        self.convention = convention
        self.pits = pits.set_index(pits["pit_id"].astype("str"), drop=False) if "pit_id" in pits else pits
        upper = horizons["upper_cm"].to_numpy(dtype=float)
        pit, names = pd.factorize(horizons["pit_id"].astype("str"))
        self.as_given = horizons
        rows = horizons["row"].to_numpy(dtype=float, na_value=np.nan) if "row" in horizons else np.arange(len(horizons))
        self.by_row = np.argsort(rows, kind="stable")
        """Positions in ``as_given`` in the order of the file."""
        lower = horizons["lower_cm"].to_numpy(dtype=float)
        named = pd.factorize(horizons["designation"].fillna("").astype("str"))[0]
        order = np.lexsort((named, lower, upper, pit))
        keys = np.nan_to_num(np.stack([pit, named, upper, lower])[:, order], nan=-9e9)
        again = np.append(False, (keys[:, 1:] == keys[:, :-1]).all(axis=0))
        self.repeated = order[again]
        """Positions in ``as_given`` of rows that repeat another row of their pit; left out of all other checks."""
        order = order[~again]
        self.frame = horizons.iloc[order]
        self.pit, self.names = pit[order], np.asarray(names, dtype=object)
        self.upper, self.lower = upper[order], self.frame["lower_cm"].to_numpy(dtype=float)
        codes, uniques = pd.factorize(self.frame["designation"].fillna("").astype("str"))
        self.codes, self.texts = codes, [str(text) for text in uniques]
        self.designations: list[Designation] = [parse_designation(text, convention) for text in self.texts]
        self.rows_by_designation = np.split(np.argsort(codes, kind="stable"), np.cumsum(np.bincount(codes))[:-1])
        """Positions of the rows of each designation, in order of depth within pits."""
        self.same_pit = np.append(self.pit[1:] == self.pit[:-1], False)
        """Whether the next row is of the same pit."""

    def flags(self, of: Callable[[Designation], bool]) -> np.ndarray:
        """One flag per row from its designation."""
        return np.array([of(one) for one in self.designations], dtype=bool)[self.codes]

    def column(self, name: str) -> np.ndarray:
        """A number column (n,), NaN where there is none."""
        if name not in self.frame:
            return np.full(len(self.frame), np.nan)
        return self.frame[name].to_numpy(dtype=float)

    def pit_column(self, name: str) -> np.ndarray:
        """A column of the pits, one value a pit in the order of ``names``; missing where there is none."""
        if name not in self.pits:
            return np.full(len(self.names), np.nan, dtype=object)
        column = self.pits[name]
        return column[~column.index.duplicated()].reindex(self.names).to_numpy(dtype=object)

    def any_by_pit(self, flags: np.ndarray) -> np.ndarray:
        return np.bincount(self.pit, flags, len(self.names)) > 0

    def problem(self, row: int, severity: str, check: str, what: str, **fields: str) -> Problem:
        """A problem with the place of one row (position in order of depth)."""
        return Problem(severity, check, what, **place_of(self.frame.iloc[row]), **fields)

    def pit_problem(self, pit: int, severity: str, check: str, what: str, **fields: str) -> Problem:
        """A problem with the place of a pit: its row in the pits table, else its first horizon."""
        name = str(self.names[pit])
        if name in self.pits.index:
            found = self.pits.loc[name]
            found = found.iloc[0] if isinstance(found, pd.DataFrame) else found
        else:
            found = self.frame.iloc[int(np.argmax(self.pit == pit))]
        return Problem(severity, check, what, **place_of(found), **fields)

    def name_of(self, row: int) -> str:
        return self.texts[self.codes[row]] or "horizon without designation"

    def span(self, row: int) -> str:
        lower = "" if np.isnan(self.lower[row]) else f"{self.lower[row]:g}"
        return f"{self.name_of(row)} {self.upper[row]:g}-{lower}" if np.isfinite(self.upper[row]) else self.name_of(row)
