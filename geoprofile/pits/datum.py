"""Depths as written, brought to one datum: the mineral surface, or the organic surface of an organic soil.

Organic layers above mineral soil are written in three ways: counted up from the
mineral surface (LFH 4-0, Ah 0-12), counted down from the top of the litter (Oi 0-4,
A 4-16), or signed (LFH -4-0). The way is found per file, with the reason, and held
against every pit: a pit that differs is read as it is written and listed, never
mixed in silence. What cannot be read one way only is not used.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..problems import Problem
from ..vocabulary.conventions import rules_of
from ..vocabulary.designations import parse_designation
from .places import place_of

DEPTHS = ("upper_cm", "lower_cm", "upper_low_cm", "upper_high_cm", "lower_low_cm", "lower_high_cm")
MIRROR = {
    "upper_cm": "upper_cm",
    "lower_cm": "lower_cm",
    "upper_low_cm": "upper_high_cm",
    "upper_high_cm": "upper_low_cm",
    "lower_low_cm": "lower_high_cm",
    "lower_high_cm": "lower_low_cm",
}

ORGANIC_SOIL_CM = 40.0
FIBRIC_SOIL_CM = 60.0
"""Organic layers of an organic soil, cm: mesic and humic; mostly fibric (Canadian System of Soil Classification 1998,
chapter 9, from memory; USDA: 40 cm within the upper 80)."""

STYLES = ("counted_up", "counted_down", "signed")
EXAMPLES = {"counted_up": "LFH 4-0, then 0-12", "counted_down": "O 0-4, then 4-16", "signed": "LFH -4-0, then 0-12"}
NEAR_CM = 0.5


@dataclass(frozen=True)
class Datums:
    """What :func:`to_datum` found.

    ``horizons`` is the frame with its depths from the datum (index and order kept);
    ``pits`` has one row a pit: pit_id, style, datum, datum_shift_cm,
    organic_above_cm. ``style`` is the file's, '' where no pit shows one; ``reason``
    says in one sentence why.
    """

    horizons: pd.DataFrame
    pits: pd.DataFrame
    style: str
    reason: str
    problems: tuple[Problem, ...]

    def shift_lines(self) -> tuple[str, ...]:
        """One line a pit whose depths were moved, for printing."""
        moved = self.pits[self.pits["datum_shift_cm"] != 0]
        return tuple(f"{pit}: {shift:+g} cm" for pit, shift in zip(moved["pit_id"], moved["datum_shift_cm"]))


def to_datum(horizons: pd.DataFrame, convention: str, setting: str = "detect") -> Datums:
    """Depths of all pits from their datum, positive downward.

    Parameters
    ----------
    horizons : pit_id, designation, upper_cm, lower_cm (as written, cm), in the order
        of the file; where present also the limits upper_low_cm ... lower_high_cm,
        file, sheet and row. Not changed.
    convention : canadian, usda or wrb.
    setting : counted_up, counted_down, signed, or detect.

    Source of the three ways of counting: Canadian reports (LFH 4-0), Canadian stored
    records (negative), USDA manual since 1993 and WRB 2022 Annex 3 (downward).
    """
    if setting not in (*STYLES, "detect"):
        raise ValueError(f"organic layers are {', '.join(STYLES)} or detect, not {setting!r}")
    frame = horizons.copy()
    for name in DEPTHS:
        if name in frame:
            frame[name] = frame[name].astype(float)
    rows = _Rows(frame, convention)
    file_style, reason = _file_style(rows, setting)
    _apply(frame, rows)
    pits = pd.DataFrame(
        {
            "pit_id": rows.names,
            "style": rows.style,
            "datum": np.where(rows.organic_soil, "organic surface", "mineral surface"),
            "datum_shift_cm": rows.shift,
            "organic_above_cm": np.where(
                rows.mineral & (rows.thickness > 0) & ~rows.contradicts, rows.thickness, np.nan
            ),
        }
    )
    return Datums(frame, pits, file_style, reason, tuple(_problems(frame, rows, file_style, setting)))


class _Rows:
    """Arrays by row and by pit, worked out once."""

    def __init__(self, frame: pd.DataFrame, convention: str) -> None:
        self.pit, names = pd.factorize(frame["pit_id"].astype("str"), use_na_sentinel=False)
        self.names = np.asarray(names, dtype=object)
        count = len(names)
        upper, lower = frame["upper_cm"].to_numpy(copy=True), frame["lower_cm"].to_numpy(copy=True)
        self.upper, self.lower = upper, lower
        self.designation = frame["designation"].fillna("").astype(str).to_numpy(object)
        organic, buried, fibric, water = _kinds(frame["designation"], convention)
        below = _seen_before(self.pit, ~organic & ~water, count)
        first_mineral = _per_pit(np.minimum, self.pit, np.where(organic | water, np.nan, upper), count)
        with np.errstate(invalid="ignore"):
            up = organic & ~buried & (upper > lower) & (lower >= 0)
            signed = organic & ~buried & ((upper < 0) | (lower < 0))
            level = upper <= first_mineral[self.pit]
            self.surface = (organic & ~buried & (~below | level)) | up | signed
            down = self.surface & ~up & ~signed & (upper >= 0) & ((upper < lower) | np.isnan(lower))
        self.up, self.signed, self.down = up, signed, down
        self.mineral = np.isfinite(first_mineral)
        base = _per_pit(np.maximum, self.pit, np.where(down, np.fmax(upper, lower), np.nan), count)
        with np.errstate(invalid="ignore"):
            # LFH 0-5 over Ah 0-12: written downward, but the mineral soil starts again at 0
            restarts = self.mineral & (first_mineral <= NEAR_CM) & (base > NEAR_CM)
        self.restarts = restarts & ~_any(self.pit, up | signed, count)
        self.thickness = np.nan_to_num(
            _per_pit(
                np.maximum,
                self.pit,
                np.where(
                    up,
                    np.fmax(upper, lower),
                    np.where(signed, -np.fmin(upper, lower), np.where(down, np.fmax(upper, lower), np.nan)),
                ),
                count,
            )
        )
        ways = np.stack([_any(self.pit, one, count) for one in (up, down, signed)])
        self.contradicts = ways.sum(axis=0) > 1
        self.style = np.select(
            [self.contradicts, ways[0] | self.restarts, ways[1], ways[2]],
            ["contradicts itself", "counted_up", "counted_down", "signed"],
            "",
        ).astype(object)
        thick = np.where(self.surface, np.abs(np.nan_to_num(lower - upper)), 0.0)
        fibric_share = np.bincount(self.pit, thick * fibric, count) / np.maximum(
            np.bincount(self.pit, thick, count), 1e-9
        )
        least = np.where(fibric_share > 0.5, FIBRIC_SOIL_CM, ORGANIC_SOIL_CM)
        only_organic = ~self.mineral & (self.style == "counted_down")
        self.organic_soil = ~self.contradicts & ((self.thickness >= least) | only_organic)
        self.shift = np.select(
            [
                self.contradicts,
                self.organic_soil & np.isin(self.style, ("counted_up", "signed")),
                ~self.organic_soil & (self.style == "counted_down"),
            ],
            [0.0, self.thickness, -self.thickness],
            0.0,
        )


def _kinds(designations: pd.Series, convention: str) -> tuple[np.ndarray, ...]:
    """(organic, buried, fibric, water) per row, each designation read once."""
    codes, uniques = pd.factorize(designations.fillna("").astype("str"))
    read = [parse_designation(str(text), convention) for text in uniques]
    fibric = rules_of(convention).fibric_suffix
    table = np.array([[one.organic, one.buried, one.has(fibric), one.master == "W"] for one in read], dtype=bool)
    return tuple(table.reshape(len(read), 4)[codes].T)


def _file_style(rows: _Rows, setting: str) -> tuple[str, str]:
    shown = rows.style[~rows.organic_soil & np.isin(rows.style, STYLES)]
    counts = {style: int((shown == style).sum()) for style in STYLES if (shown == style).any()}
    if setting != "detect":
        return setting, f"organic layers are {_words(setting)} because the survey file says so"
    if not counts:
        return "", "no pit has organic layers above mineral soil: how they are counted makes no difference"
    best = max(counts, key=counts.get)
    share = f"{counts[best]} of {len(shown)} pits that have them above mineral soil"
    return best, f"organic layers are {_words(best)} ({_first_of(rows, best)}) in {share}"


def _first_of(rows: _Rows, style: str) -> str:
    """The first pit that counts so, as it is written: its top organic layer and the mineral soil below."""
    pit = int(np.flatnonzero((rows.style == style) & ~rows.organic_soil)[0])
    organic, mineral = (np.flatnonzero((rows.pit == pit) & mask) for mask in (rows.surface, ~rows.surface))
    layers = [f"{rows.designation[organic[0]]} {_range(rows, organic[0])}", *(f"then {_range(rows, row)}" for row in mineral[:1])]
    return f"pit {rows.names[pit]}: {', '.join(layers)}"


def _range(rows: _Rows, row: int) -> str:
    upper, lower = (f"{depth:g}" if np.isfinite(depth) else "" for depth in (rows.upper[row], rows.lower[row]))
    return f"{upper}-{lower}"


def _apply(frame: pd.DataFrame, rows: _Rows) -> None:
    """Change the depths of ``frame`` in place."""
    style = rows.style[rows.pit]
    turned = rows.surface & (rows.up | (style == "counted_up") & rows.restarts[rows.pit])
    swapped = turned & rows.restarts[rows.pit]
    moved = rows.shift[rows.pit]
    unusable = rows.surface & rows.contradicts[rows.pit]
    before = {name: frame[name].to_numpy(copy=True) for name in DEPTHS if name in frame}
    for name in before:
        depth = np.where(turned, -before[MIRROR[name]] if MIRROR[name] in before else -before[name], before[name])
        if swapped.any():
            other = MIRROR[name].replace("upper", "?").replace("lower", "upper").replace("?", "lower")
            depth = np.where(swapped, -before[other] if other in before else np.nan, depth)
        frame[name] = np.where(unusable, np.nan, depth + moved) + 0.0


def _problems(frame: pd.DataFrame, rows: _Rows, file_style: str, setting: str) -> list[Problem]:
    first_row = pd.Series(np.arange(len(frame))).groupby(rows.pit).first().to_numpy()
    found = []
    stated = setting != "detect"
    for pit in np.flatnonzero(rows.style != ""):
        style, place = rows.style[pit], place_of(frame.iloc[first_row[pit]])
        if rows.contradicts[pit]:
            found.append(
                Problem(
                    "error",
                    "organic layers",
                    "organic layers of one pit are counted in two ways: their depths were not used",
                    field="upper_cm",
                    allowed="one of: " + "; ".join(EXAMPLES.values()),
                    remedy="write them one way",
                    **place,
                )
            )
        elif rows.restarts[pit]:
            found.append(
                Problem(
                    "warning",
                    "organic layers",
                    "organic layers are written downward from 0, yet the mineral soil starts at 0 too: "
                    f"read as {rows.thickness[pit]:g}-0",
                    field="upper_cm",
                    remedy="check that the mineral depths count from the mineral surface",
                    **place,
                )
            )
        elif not rows.organic_soil[pit] and file_style and style != file_style:
            said = "the survey file says" if stated else "the other pits are"
            found.append(
                Problem(
                    "warning",
                    "organic layers",
                    f"organic layers of this pit are {_words(style)}, {said} {_words(file_style)}: each is read as it is counted",
                    field="upper_cm",
                    found=f"counted as in {EXAMPLES[style]}",
                    allowed=f"counted as in {EXAMPLES[file_style]}",
                    remedy="check this pit with the surveyor",
                    **place,
                )
            )
        elif rows.organic_soil[pit] and not rows.mineral[pit] and rows.thickness[pit] < ORGANIC_SOIL_CM:
            found.append(
                Problem(
                    "note",
                    "organic layers",
                    "no mineral soil was reached: depths count from the organic surface",
                    field="upper_cm",
                    **place,
                )
            )
    return found


def _words(style: str) -> str:
    return {"counted_up": "counted up", "counted_down": "counted down", "signed": "signed"}[style]


def _any(pit: np.ndarray, flags: np.ndarray, count: int) -> np.ndarray:
    return np.bincount(pit, flags, count) > 0


def _per_pit(how: np.ufunc, pit: np.ndarray, values: np.ndarray, count: int) -> np.ndarray:
    """Least or greatest of the finite values of each pit; NaN where a pit has none."""
    start = np.inf if how is np.minimum else -np.inf
    ready = np.full(count, start)
    here = np.isfinite(values)
    how.at(ready, pit[here], values[here])
    return np.where(np.isfinite(ready), ready, np.nan)


def _seen_before(pit: np.ndarray, flags: np.ndarray, count: int) -> np.ndarray:
    """Whether an earlier (or this) row of the same pit is flagged, rows in file order."""
    first = np.full(count, len(pit))
    np.minimum.at(first, pit[flags], np.flatnonzero(flags))
    return np.arange(len(pit)) >= first[pit]
