"""One attribute from observations to written rasters.

Gather observations; refuse what the method cannot use honestly; fit; validate; predict;
say where the pits back it; clip, mask and write.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from ..context import Context
from ..errors import TooLittleData
from ..kernels.kriging import NegativeVariance
from ..products import AttributeDefinition, Attributes, Surface
from ..rasters import RasterFile
from ..settings.surfaces import SurfacesSettings
from .absence import fit_with_absence, presence_of
from .choices import NUMERIC_KINDS, method_of, methods_with_bounds, settings_for
from .drift import beyond_pits, drift_at, read_drift
from .folds import Targets
from .fractions import fractions_of, with_all_three
from .ground import Ground
from .limits import clip_for, clip_sentence, probability_below
from .mapping import FittedMap
from .methods.contract import CannotFit, MethodSettings, Observations, Prediction
from .methods.log_ratios import LogRatios
from .observations import Places, left_out_sentence, places_of
from .presence import METHOD as PRESENCE_METHOD
from .presence import TITLE as PRESENCE_TITLE
from .presence import map_presence
from .reliability import BACKED, FAR, HARDLY_THERE, LEGEND, OTHER_TERRAIN, OUTSIDE, SHORT_STRATUM, UNSEEN
from .reliability import backed_by, most_seen, reach_of
from .stopping import stopping_of
from .strata import Strata
from .validation import Validation, validate
from .variograms import variogram_table
from .writing import SurfaceFiles

BETWEEN_UP_TO = 10.0
"""Limits no farther apart than this are used at their middle by methods that cannot use limits, in the attribute's unit."""
_REMEDY = "see the tables by zone, or describe more pits"


@dataclass(frozen=True)
class Mapped:
    """One attribute done: its surface, rasters, score rows and points."""

    surface: Surface
    rasters: dict[str, RasterFile]
    scores: pd.DataFrame
    points: pd.DataFrame
    variograms: pd.DataFrame = field(default_factory=pd.DataFrame)


def map_attribute(
    definition: AttributeDefinition,
    attributes: Attributes,
    ground: Ground,
    settings: SurfacesSettings,
    context: Context,
) -> Mapped:
    """Map one attribute, or raise TooLittleData with one plain sentence why not."""
    if definition.kind not in NUMERIC_KINDS:
        raise TooLittleData(
            f"{definition.title.lower()} is a class, and classes are not averaged as numbers",
            remedy="draw zones, or map the presence of each class",
        )
    choice = settings_for(definition.name, settings)
    method = method_of(choice, definition.name)
    drift = _drift_of(method, choice, ground, context)
    places = _gather(definition, attributes, ground, method, choice, drift)
    together = fractions_of(definition, attributes.definitions)
    shares = None
    if together:
        frames = [_gather(one, attributes, ground, method, choice, drift).frame for one in together]
        others = places.notes
        frame, shares, sentence = with_all_three(frames)
        frame["low"] = frame["high"] = shares[:, together.index(definition)]
        places, method = replace(places, frame=frame, notes=(*others, sentence)), LogRatios(method)
    observations, codes = _observations(definition, places, ground, choice, drift)
    if together:
        observations = replace(observations, together=shares, which=together.index(definition))
    left_out = left_out_sentence(places.left_out, ground.grid.cell_m)
    _refuse_bounds(method, places)
    try:
        clip, wanted = clip_for(definition), _with_drift(ground.wanted, drift)
        fitted, choice, absence_notes = fit_with_absence(
            method, observations, codes, ground.strata.use, choice, Targets.of(ground.grid, ground.strata.cells, wanted),
            least_pits=settings.least_pits, seed=settings.seed, folds=settings.folds, names=ground.strata.names,
        )  # fmt: skip
        codes_of_cells = _reliability(fitted, observations, codes, ground, wanted, choice, drift)
        backed = codes_of_cells == BACKED
        validation = validate(
            method, observations, codes, ground.strata.use, choice, fitted,
            least_pits=settings.least_pits, folds=settings.folds, seed=settings.seed, clip=clip,
            targets=Targets.of(ground.grid, ground.strata.cells, backed if backed.any() else wanted),
        )  # fmt: skip
        raw = fitted.predict_grid(ground.grid, ground.strata.cells, wanted, drift, context.progress.check)
        codes_of_cells[(codes_of_cells == BACKED) & np.isnan(raw.estimate)] = FAR
        seen = most_seen(observations.low, observations.high)
        codes_of_cells[(codes_of_cells == BACKED) & (raw.estimate > seen)] = UNSEEN
    except CannotFit as reason:
        raise TooLittleData(str(reason) + (f" ({left_out})" if left_out else ""), remedy=_REMEDY) from reason
    except NegativeVariance as reason:
        raise TooLittleData(f"the kriging system is not fit for use: {reason}", remedy="choose another model") from reason
    shown = wanted if choice.show_unbacked else codes_of_cells == BACKED
    presence = presence_of(raw, validation.by_location, observations, choice.absent_as, shown)
    if presence is None and definition.can_be_absent:
        presence = map_presence(
            places.presence, ground.grid, ground.strata, wanted, choice, drift,
            least_pits=settings.least_pits, folds=settings.folds, seed=settings.seed,
        )  # fmt: skip
    if presence is not None and definition.kind == "depth":
        codes_of_cells[(codes_of_cells == BACKED) & (presence.probability < choice.least_presence)] = HARDLY_THERE
    shown = wanted if choice.show_unbacked else codes_of_cells == BACKED
    files = SurfaceFiles(definition, ground.grid, context)
    keys, clip_note = _write(files, raw, clip, shown, codes_of_cells, presence, choice, definition)
    if left_out:
        left_out = f"used {len(observations)} places; {left_out}"
    stopping = stopping_of(places.frame, ground, () if drift is None else choice.drift, context.output)
    cautions = (*validation.notes, *([stopping.sentence] if stopping and stopping.matters else []))
    notes = (*places.notes, left_out, *absence_notes, *fitted.notes, *_short_notes(fitted, ground.strata), clip_note,
             *_share_notes(codes_of_cells), *validation.notes, stopping.sentence if stopping else "",
             presence.note if presence else "")  # fmt: skip
    surface = Surface(
        attribute=definition.name,
        title=definition.title,
        unit=definition.unit,
        method=choice.method,
        method_title=method.title,
        **keys,
        pits_used=len(observations),
        model=fitted.summary,
        score=validation.headline,
        notes=tuple(note for note in notes if note),
        parameters=fitted.parameters(ground.strata.names, () if drift is None else choice.drift),
        cautions=cautions,
    )
    readings, reading_variance = fitted.readings(codes)
    return Mapped(
        surface, files.rasters, _scores(definition, choice, validation, presence),
        places.frame.assign(
            attribute=definition.name, reading=readings, reading_variance=reading_variance, predicted=validation.left_out,
            by_location=validation.by_location.estimate, by_location_low90=validation.by_location.low90,
            by_location_high90=validation.by_location.high90, by_location_place=validation.place,
        ),
        variogram_table(definition.name, observations, codes, ground.strata.use, ground.strata.names),
    )  # fmt: skip


def map_presence_only(
    definition: AttributeDefinition,
    attributes: Attributes,
    ground: Ground,
    settings: SurfacesSettings,
    context: Context,
) -> Mapped | None:
    """The probability of presence of an attribute that has no surface itself, or None where the pits do not give one."""
    if not definition.can_be_absent or definition.kind not in NUMERIC_KINDS:
        return None
    choice = settings_for(definition.name, settings)
    method = method_of(choice, definition.name)
    drift = _drift_of(method, choice, ground, context)
    places = _gather(definition, attributes, ground, method, choice, drift)
    presence = map_presence(
        places.presence, ground.grid, ground.strata, _with_drift(ground.wanted, drift), choice, drift,
        least_pits=settings.least_pits, folds=settings.folds, seed=settings.seed,
    )  # fmt: skip
    if presence is None:
        return None
    files = SurfaceFiles(definition, ground.grid, context)
    surface = Surface(
        attribute=definition.name, title=definition.title, unit=definition.unit, method=PRESENCE_METHOD,
        method_title=PRESENCE_TITLE, estimate="", presence=files.presence(presence.probability),
        pits_used=presence.pits, model=presence.model, score=presence.score, notes=(presence.note,),
    )  # fmt: skip
    rows = [{"attribute": definition.name, "method": PRESENCE_METHOD, **row} for row in presence.rows]
    return Mapped(surface, files.rasters, pd.DataFrame(rows), pd.DataFrame())


def _drift_of(method: object, choice: MethodSettings, ground: Ground, context: Context) -> np.ndarray | None:
    """(height, width, p) terrain values where the method uses a drift."""
    wanted = choice.drift and getattr(method, "uses_drift", False)
    return read_drift(choice.drift, ground.terrain, context.output) if wanted else None


def _with_drift(wanted: np.ndarray, drift: np.ndarray | None) -> np.ndarray:
    return wanted if drift is None else wanted & np.isfinite(drift).all(axis=2)


def _gather(
    definition: AttributeDefinition, attributes: Attributes, ground: Ground, method: object, choice: MethodSettings,
    drift: np.ndarray | None,
) -> Places:  # fmt: skip
    located = ground.located
    if drift is not None:
        known = np.isfinite(drift_at(drift, ground.grid, located["x"], located["y"])).all(axis=1)
        located = located.assign(cause=located["cause"].where(known | (located["cause"] != ""), "no terrain"))
    values = attributes.values[attributes.values["attribute"] == definition.name]
    up_to = choice.between_up_to
    if up_to is None:  # a method that can use limits needs no middle
        up_to = 0.0 if method.uses_bounds else BETWEEN_UP_TO
    probes = ground.readings[ground.readings["attribute"] == definition.name] if len(ground.readings) else None
    return places_of(definition, located, values, between_up_to=up_to, visits=ground.visits, probes=probes)


def _observations(
    definition: AttributeDefinition, places: Places, ground: Ground, choice: MethodSettings, drift: np.ndarray | None
) -> tuple[Observations, np.ndarray]:
    x, y = places.frame["x"].to_numpy(float), places.frame["y"].to_numpy(float)
    low, high = places.frame["low"].to_numpy(float), places.frame["high"].to_numpy(float)
    columns = None if drift is None else drift_at(drift, ground.grid, x, y)
    names = () if drift is None else choice.drift
    absent = None
    if definition.kind == "thickness":
        absent = ((places.frame["status"] == "absent") & (low == 0) & (high == 0)).to_numpy()
    observations = Observations(np.column_stack([x, y]), low, high, definition.unit, columns, names, absent=absent)
    observations = replace(
        observations, repeats=places.frame["repeats"].to_numpy(float), within=places.frame["within"].to_numpy(float)
    )
    return observations, ground.strata.codes_at(x, y)


def _refuse_bounds(method: object, places: Places) -> None:
    """Bounds are never handed to a method as if they were values."""
    bounded = places.bounded
    if method.uses_bounds or bounded.empty:
        return
    counts = Counter(bounded["status"])
    words = {"at_least": "at least", "at_most": "at most", "between": "between two limits"}
    kinds = ", ".join(f"{count} {words.get(status, status)}" for status, count in sorted(counts.items()))
    able = methods_with_bounds()
    raise TooLittleData(
        f"{len(bounded)} of {len(places.frame)} pits say only a bound ({kinds}), and {method.title} cannot use bounds",
        remedy=f"set method = {able[0]!r}, which can" if able
        else "no installed method can yet: the attribute is given by zone",
    )  # fmt: skip


def _reliability(
    fitted: FittedMap, observations: Observations, codes: np.ndarray, ground: Ground, wanted: np.ndarray,
    choice: MethodSettings, drift: np.ndarray | None,
) -> np.ndarray:  # fmt: skip
    classes = np.where(wanted, SHORT_STRATUM, OUTSIDE).astype(np.uint8)
    for code, part in fitted.parts.items():
        own, points = wanted & (ground.strata.cells == code), observations.points[codes == code]
        reach = reach_of(points, part.reach_m, choice.reach_m)
        classes[own] = np.where(backed_by(points, reach, ground.grid, own)[own], BACKED, FAR)
        if drift is not None:
            classes[own & (classes == BACKED) & beyond_pits(drift, observations.drift[codes == code])] = OTHER_TERRAIN
    return classes


def _write(
    files: SurfaceFiles, raw: Prediction, clip, shown: np.ndarray, classes: np.ndarray, presence, choice: MethodSettings,
    definition: AttributeDefinition,
) -> tuple[dict[str, object], str]:  # fmt: skip
    """Write the rasters; their keys by field of Surface, and the sentence about clipped cells."""
    ready = clip(raw)
    keys: dict[str, object] = {
        name: files.estimate(name, np.where(shown, getattr(ready, name), np.nan)) for name in ("estimate", "low90", "high90")
    }
    keys["reliability"] = files.reliability(classes)
    if presence is not None:
        keys["presence"] = files.presence(presence.probability)
    if definition.unit == "cm":
        keys["below"] = {
            f"{limit:g}": files.below(f"{limit:g}", np.where(shown, probability_below(raw, limit), np.nan))
            for limit in choice.less_than_cm
        }
    return keys, clip_sentence(raw.estimate, ready.estimate, shown, definition.unit)


def _short_notes(fitted: FittedMap, strata: Strata) -> list[str]:
    return [
        f"stratum {strata.names.get(code, code)} is not mapped: {reason}" for code, reason in fitted.short.items() if strata.use
    ]


def _share_notes(classes: np.ndarray) -> list[str]:
    inside = classes != OUTSIDE
    if not inside.any():
        return ["no cell of the grid lies inside the survey area and its terrain"]
    shares = [(LEGEND[code], 100 * float((classes == code).sum()) / float(inside.sum())) for code in LEGEND]
    return ["of the mapped area: " + ", ".join(f"{share:.0f} % {text}" for text, share in shares if share > 0)]


def _scores(definition: AttributeDefinition, choice: MethodSettings, validation: Validation, presence) -> pd.DataFrame:
    rows = [{"attribute": definition.name, "method": choice.method, **row} for row in validation.rows]
    if presence is not None:
        rows += [{"attribute": definition.name, "method": PRESENCE_METHOD, **row} for row in presence.rows]
    return pd.DataFrame(rows)
