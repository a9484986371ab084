"""Classes noted at the pits, as drainage or the recorded soil: how probable each is, never an average of their codes.

Each class is present (1) or absent (0) at a pit; the indicator is kriged (Journel
1983), with the drift of [surfaces] where there is one, its model fitted like any other.
Probabilities below 0 or above 1 are clipped and the classes of a cell made to add to 1.
The map shows the most probable class; beside it stand the probability of that class and
of every class. Judged by location like all surfaces: the mean greatest probability is
the purity that the model promises, the share of pits in their most probable class the
one it keeps (Kempen et al. 2009, Geoderma, found promises 9 points too high).
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np
import pandas as pd

from ..blocks import Tile
from ..context import Context
from ..errors import SettingsError, TooLittleData
from ..products import PIT_COLUMNS, ClassSurface, Pits
from ..progress import Task
from ..rasters import CLASS, RasterFile, RasterToWrite
from ..settings.surfaces import SurfacesSettings
from .drift import open_drift
from .folds import location_parts, random_parts
from .ground import Ground
from .land import Land
from .mapping import FittedMap, fit_map
from .methods.contract import CannotFit, MethodSettings, Observations
from .methods.kriging import DRIFT_KRIGING, ORDINARY_KRIGING
from .reliability import BACKED, Backing, Reliability, backing_of
from .tiles import one_thread_of_linear_algebra
from .validation import BY_LOCATION, RANDOM, REFITTED, held_out
from .writing import PROBABILITY_UNIT, fill

METHOD = "indicator_kriging"
LEAST_OF_CLASS = 3
MOST_CLASSES = 12
OTHER = "other classes"


@dataclass(frozen=True)
class MappedClasses:
    surface: ClassSurface
    rasters: dict[str, RasterFile]
    scores: pd.DataFrame


def class_columns(settings: SurfacesSettings) -> tuple[str, ...]:
    """Columns to map; SettingsError for one that pits do not have or that holds numbers."""
    texts = [name for name, (kind, _) in PIT_COLUMNS.items() if kind == "text"]
    for name in settings.classes or ():
        if name not in texts:
            near = get_close_matches(name, texts, 1)
            raise SettingsError(
                "pits have no column of classes of this name", where="surfaces.classes", found=name, allowed=", ".join(texts),
                remedy=f"did you mean {near[0]!r}?" if near else "choose one of these",
            )  # fmt: skip
    return tuple(dict.fromkeys(settings.classes or ()))


def map_classes(
    column: str, pits: Pits, ground: Ground, choice: MethodSettings, settings: SurfacesSettings, context: Context,
    *, key: str = "", task: Task | None = None,
) -> MappedClasses:  # fmt: skip
    """Probability of every class of one column of the pits; TooLittleData with one plain sentence why not."""
    frame, lumped = _classed(column, pits, ground)
    drift = open_drift(choice.drift, ground.terrain, context.output) if choice.drift else None
    points = frame[["x", "y"]].to_numpy(float)
    columns = None
    if drift is not None:
        columns = drift.at(points[:, 0], points[:, 1])
        known = np.isfinite(columns).all(axis=1)
        frame, points, columns = frame[known], points[known], columns[known]
    names = sorted(frame["class"].unique(), key=lambda name: (name == OTHER, name))
    title = column.replace("_", " ")
    if len(frame) < settings.least_pits:
        raise TooLittleData(f"{len(frame)} pits say their {title}, fewer than the {settings.least_pits} that a map of classes needs")
    if not 2 <= len(names) <= MOST_CLASSES:
        raise TooLittleData(f"the pits name {len(names)} classes of {title}; between 2 and {MOST_CLASSES} can be mapped",
                            remedy="group them at the pits")  # fmt: skip
    codes = ground.strata.codes_at(points[:, 0], points[:, 1])
    seen = np.column_stack([(frame["class"] == name).to_numpy(float) for name in names])
    method = ORDINARY_KRIGING if drift is None else DRIFT_KRIGING
    plain = MethodSettings(model=choice.model, residual=choice.residual)

    def observed(one: np.ndarray) -> Observations:
        return Observations(points, one, one, "", columns, () if drift is None else choice.drift)

    try:
        fitted = [
            fit_map(method, observed(one), codes, ground.strata.use, plain, least_pits=settings.least_pits,
                    seed=settings.seed, names=ground.strata.names)
            for one in seen.T
        ]  # fmt: skip
    except CannotFit as reason:
        raise TooLittleData(f"classes of {title} cannot be mapped: {reason}") from reason
    reliability, sample = _reliability(fitted, points, codes, choice), ground.sample(drift)
    targets = sample.targets(reliability.at(sample.points, sample.codes) == BACKED)
    rows = []
    for word, cut in ((BY_LOCATION, location_parts), (RANDOM, random_parts)):
        parts = cut(points, codes, targets, settings.folds, settings.seed, bool(ground.strata.use))
        predicted = adding_to_one(np.stack([
            held_out(method, observed(one), codes, ground.strata.use, plain, parts.labels, settings.least_pits, settings.seed, start).estimate
            for one, start in zip(seen.T, fitted, strict=True)
        ], axis=-1), seen.mean(axis=0))  # fmt: skip
        rows += class_scores(word, predicted, seen, f"{len(parts)} parts, {REFITTED}")
    most, purity, each = _outputs(column, title, names)
    land = ground.land.on(drift)
    tile = ClassTile(
        land, tuple(one.to_send() for one in fitted), seen.mean(axis=0), None if choice.show_unbacked else reliability
    )
    rasters, _ = fill([most, purity, *each.values()], tile, land, context, ground.crew, key=f"{key} classes {column}", task=task)
    surface = ClassSurface(
        column, title.capitalize(), tuple(names), most.name, purity.name, {name: one.name for name, one in each.items()},
        pits_used=len(frame), score=headline(rows), notes=_notes(names, seen, lumped, rows),
    )  # fmt: skip
    return MappedClasses(surface, rasters, pd.DataFrame([{"attribute": column, "method": METHOD, **row} for row in rows]))


def adding_to_one(raw: np.ndarray, shares: np.ndarray) -> np.ndarray:
    """(..., k) clipped to 0..1 and divided by their sum; the overall ``shares`` where nothing is left; NaN stays."""
    clipped = np.clip(raw, 0.0, 1.0)
    total = clipped.sum(axis=-1, keepdims=True)
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.where(total == 0, shares, clipped / total)


def class_scores(word: str, predicted: np.ndarray, seen: np.ndarray, remark: str) -> list[dict[str, object]]:
    """Brier score (sum over classes, Brier 1950), purity kept and promised; none where fewer than three pits are predicted."""
    known = np.isfinite(predicted).all(axis=1)
    if known.sum() < 3:
        return []
    p, y = predicted[known], seen[known]
    share = y.mean(axis=0)
    found = {
        "Brier score": float(np.mean(((p - y) ** 2).sum(axis=1))),
        "purity": float(np.mean(p.argmax(axis=1) == y.argmax(axis=1))),
        "purity promised": float(np.mean(p.max(axis=1))),
    }
    alone = float(np.mean(((share - y) ** 2).sum(axis=1)))
    remark += f"; classes; the overall shares alone score {alone:.3f}, the commonest class alone is right at {100 * share.max():.0f} %"
    return [{"validation": word, "measure": name, "value": value, "pits": int(known.sum()), "remark": remark} for name, value in found.items()]


def headline(rows: list[dict[str, object]]) -> str:
    """``by location: 63 % of 90 pits lie in their most probable class (71 % promised)``."""
    value = {row["measure"]: row for row in rows if row["validation"] == BY_LOCATION}
    if not value:
        return "could not be validated by location: too few pits remain when a part is left out"
    kept, promised = value["purity"], value["purity promised"]
    return (
        f"by location: {100 * kept['value']:.0f} % of {kept['pits']} pits lie in their most probable class "
        f"({100 * promised['value']:.0f} % promised)"
    )


def _classed(column: str, pits: Pits, ground: Ground) -> tuple[pd.DataFrame, list[str]]:
    """x, y and class of one pit a place; classes of fewer than LEAST_OF_CLASS pits are lumped, their names told."""
    known = pits.pits.drop_duplicates("pit_id").set_index("pit_id")[column]
    frame = ground.located[ground.located["cause"] == ""].copy()
    said = frame["pit_id"].map(known).astype("string").str.strip()
    frame["class"] = said
    frame = frame[said.notna() & (said != "")].sort_values("date", kind="stable", na_position="first").drop_duplicates("place_id", keep="last")
    frame = frame.sort_index().astype({"class": "object"})
    counts = frame["class"].value_counts()
    rare = sorted(counts.index[counts < LEAST_OF_CLASS])
    if rare:
        frame.loc[frame["class"].isin(rare), "class"] = OTHER
    return frame, rare


def _reliability(fitted: list[FittedMap], points: np.ndarray, codes: np.ndarray, choice: MethodSettings) -> Reliability:
    """By the class whose model reaches least: all of them must be known."""
    parts = {}
    for code in sorted(set.intersection(*(set(one.parts) for one in fitted))):
        own = points[codes == code]
        backing = [backing_of(one.parts[code], own, choice.reach_m) for one in fitted]
        parts[code] = Backing(own, min(one.reach_m * one.ratio for one in backing))
    return Reliability(parts)


@dataclass(frozen=True)
class ClassTile:
    """The most probable class of each cell, its probability, and that of every class, both in per cent; the function of a tile.

    ``shares``: how common each class is among the pits. ``reliability``: which cells the pits back, None = all are shown.
    """

    land: Land
    fitted: tuple[FittedMap, ...]
    shares: np.ndarray
    reliability: Reliability | None

    def __call__(self, tile: Tile, *arrays: np.ndarray) -> tuple[list[np.ndarray], Counter]:
        one_thread_of_linear_algebra()
        grid, window = self.land.grid, tile.core
        codes, drift = self.land.cells(window, *arrays)
        raw = np.stack([one.predict_window(grid, window, codes, drift).estimate for one in self.fitted], axis=-1)
        probability = adding_to_one(raw, self.shares)
        if self.reliability is not None:
            probability[self.reliability.over(grid, window, codes) != BACKED] = np.nan
        known = np.isfinite(probability).all(axis=-1)
        filled_in = np.where(known[..., None], probability, 0.0)
        most = np.where(known, filled_in.argmax(axis=-1) + 1, 0).astype(np.uint8)
        purity = np.where(known, filled_in.max(axis=-1), np.nan)
        return [most, 100 * purity, *np.moveaxis(100 * probability, -1, 0)], Counter()


def _outputs(column: str, title: str, names: list[str]) -> tuple[RasterToWrite, RasterToWrite, dict[str, RasterToWrite]]:
    def output(what: str, words: str, **more) -> RasterToWrite:
        return RasterToWrite(f"{column}_{what}", f"{title.capitalize()}: {words}", **more)

    return (
        output("class", "most probable class", kind=CLASS, legend=dict(enumerate(names, start=1))),
        output("class_probability", "probability of the most probable class", unit=PROBABILITY_UNIT),
        {
            name: output(f"probability_{number}_{_word(name)}", f"probability of {name}", unit=PROBABILITY_UNIT)
            for number, name in enumerate(names, start=1)
        },
    )


def _word(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")[:40] or "class"


def _notes(names: list[str], seen: np.ndarray, lumped: list[str], rows: list[dict]) -> tuple[str, ...]:
    counts = ", ".join(f"{name} {int(count)}" for name, count in zip(names, seen.sum(axis=0), strict=True))
    notes = [f"pits by class: {counts}"]
    if lumped:
        notes.append(f"classes of fewer than {LEAST_OF_CLASS} pits are taken as {OTHER}: {', '.join(lumped)}")
    value = {row["measure"]: row["value"] for row in rows if row["validation"] == BY_LOCATION}
    if value and value["purity"] <= seen.mean(axis=0).max():
        notes.append("no spatial skill: the most probable class is right no more often than the commonest class everywhere")
    return tuple(notes)
