"""One attribute from observations to written rasters.

Gather observations; refuse what the method cannot use honestly; fit; validate; then
predict, say where the pits back it, clip, mask and write, tile by tile.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from ..context import Context
from ..errors import TooLittleData
from ..kernels.kriging import NegativeVariance
from ..products import AttributeDefinition, Attributes, Surface
from ..progress import Task
from ..rasters import RasterFile
from ..settings.surfaces import SurfacesSettings
from .absence import fit_with_absence, presence_of
from .choices import NUMERIC_KINDS, method_of, settings_for
from .drift import Drift
from .fractions import fractions_of, with_all_three
from .gathering import drift_of, gather, observations_of, refuse_bounds
from .ground import Ground
from .limits import clip_for, clip_sentence, limits_of
from .mapping import FittedMap
from .methods.contract import CannotFit, MethodSettings, Observations
from .methods.direction import direction_in
from .methods.log_ratios import LogRatios
from .observations import Places, left_out_sentence, roughly_placed
from .presence import METHOD as PRESENCE_METHOD
from .presence import TITLE as PRESENCE_TITLE
from .presence import Presence, map_presence
from .reliability import BACKED, most_seen, reliability_of
from .stopping import stopping_of
from .strata import Strata
from .tiles import PresenceTile, SurfaceTile, empty_caution, share_notes
from .validation import Validation, validate
from .variograms import variogram_table
from .writing import Names, fill

_REMEDY = "see the tables by zone, or describe more pits"


@dataclass(frozen=True)
class Mapped:
    """One attribute done: its surface, rasters, score rows and points."""

    surface: Surface
    rasters: dict[str, RasterFile]
    scores: pd.DataFrame
    points: pd.DataFrame
    variograms: pd.DataFrame = field(default_factory=pd.DataFrame)


@dataclass(frozen=True)
class Asked:
    """One attribute with its method, settings and drift, and the places that say something of it."""

    definition: AttributeDefinition
    method: object
    choice: MethodSettings
    drift: Drift | None
    places: Places
    observations: Observations
    codes: object
    """(n,) strata of the observations."""


@dataclass(frozen=True)
class Fitted:
    """What was fitted, how good it is, and the function of a tile that draws it."""

    map: FittedMap
    choice: MethodSettings
    validation: Validation
    presence: Presence | None
    tile: SurfaceTile
    absence_notes: tuple[str, ...]


def map_attribute(
    definition: AttributeDefinition, attributes: Attributes, ground: Ground, settings: SurfacesSettings, context: Context,
    *, key: str = "", task: Task | None = None,
) -> Mapped:  # fmt: skip
    """Map one attribute, or raise TooLittleData with one plain sentence why not.

    ``key`` names the run where finished blocks are kept; ``task`` is advanced once a block.
    """
    if definition.kind not in NUMERIC_KINDS:
        raise TooLittleData(
            f"{definition.title.lower()} is a class, and classes are not averaged as numbers",
            remedy="draw zones, or map the presence of each class",
        )
    asked = _ask(definition, attributes, ground, settings, context)
    left_out = left_out_sentence(asked.places.left_out, ground.grid.cell_m)
    refuse_bounds(asked.method, asked.places)
    try:
        fitted = _fit(asked, ground, settings)
        reach = {code: None if part.reach_m is None else part.reach_m * direction_in(part)[1] for code, part in fitted.map.parts.items()}
        rough = roughly_placed(asked.places, asked.codes, reach)
        if rough.any():
            asked = _without(asked, rough)
            left_out = left_out_sentence(asked.places.left_out, ground.grid.cell_m)
            fitted = _fit(asked, ground, settings)
        names = Names(definition)
        tile, estimates = fitted.tile, names.estimates
        below, above = names.below(tile.below), names.above(tile.above)
        presence = [names.presence] if fitted.presence else []
        outputs = [*estimates.values(), names.reliability, *presence, *below.values(), *above.values()]
        rasters, counts = fill(
            outputs, tile, tile.land, context, ground.crew, key=f"{key} surface {definition.name}", task=task
        )
    except CannotFit as reason:
        raise TooLittleData(str(reason) + (f" ({left_out})" if left_out else ""), remedy=_REMEDY) from reason
    except NegativeVariance as reason:
        raise TooLittleData(f"the kriging system is not fit for use: {reason}", remedy="choose another model") from reason
    observations, places, codes, validation = asked.observations, asked.places, asked.codes, fitted.validation
    drift_names = () if asked.drift is None else asked.drift.names
    if left_out:
        left_out = f"used {len(observations)} places; {left_out}"
    stopping = stopping_of(places.frame, ground, drift_names, context.output)
    empty = "" if tile.show_unbacked else empty_caution(counts)
    cautions = (*([empty] if empty else []), *validation.notes, *([stopping.sentence] if stopping and stopping.matters else []))
    notes = (*places.notes, left_out, *fitted.absence_notes, *fitted.map.notes, *_short_notes(fitted.map, ground.strata),
             clip_sentence(counts, definition.unit), *share_notes(counts), *validation.notes,
             stopping.sentence if stopping else "", fitted.presence.note if fitted.presence else "")  # fmt: skip
    surface = Surface(
        attribute=definition.name, title=definition.title, unit=definition.unit, method=fitted.choice.method,
        method_title=asked.method.title, **{what: one.name for what, one in estimates.items()},
        reliability=names.reliability.name, presence=names.presence.name if fitted.presence else "",
        below={limit: one.name for limit, one in below.items()}, above={limit: one.name for limit, one in above.items()},
        pits_used=len(observations), model=fitted.map.summary, score=validation.headline,
        notes=tuple(note for note in notes if note), parameters=fitted.map.parameters(ground.strata.names, drift_names),
        cautions=cautions,
    )  # fmt: skip
    readings, reading_variance = fitted.map.readings(codes)
    return Mapped(
        surface, rasters, _scores(definition, fitted.choice, validation, fitted.presence),
        places.frame.assign(
            attribute=definition.name, reading=readings, reading_variance=reading_variance, predicted=validation.left_out,
            by_location=validation.by_location.estimate, by_location_low90=validation.by_location.low90,
            by_location_high90=validation.by_location.high90, by_location_place=validation.place,
        ),
        variogram_table(definition.name, observations, codes, ground.strata.use, ground.strata.names),
    )  # fmt: skip


def map_presence_only(
    definition: AttributeDefinition, attributes: Attributes, ground: Ground, settings: SurfacesSettings, context: Context,
    *, key: str = "", task: Task | None = None,
) -> Mapped | None:  # fmt: skip
    """The probability of presence of an attribute that has no surface itself, or None where the pits do not give one."""
    if not definition.can_be_absent or definition.kind not in NUMERIC_KINDS:
        return None
    choice = settings_for(definition.name, settings)
    method = method_of(choice, definition.name)
    drift = drift_of(method, choice, ground, context)
    places = gather(definition, attributes, ground, method, choice, drift)
    presence = map_presence(
        places.presence, ground, choice, drift, least_pits=settings.least_pits, folds=settings.folds, seed=settings.seed
    )
    if presence is None:
        return None
    output, land = Names(definition).presence, ground.land.on(drift)
    rasters, _ = fill(
        [output], PresenceTile(land, presence.cells), land, context, ground.crew, key=f"{key} presence {definition.name}", task=task
    )
    surface = Surface(
        attribute=definition.name, title=definition.title, unit=definition.unit, method=PRESENCE_METHOD,
        method_title=PRESENCE_TITLE, estimate="", presence=output.name,
        pits_used=presence.pits, model=presence.model, score=presence.score, notes=(presence.note,),
    )  # fmt: skip
    rows = [{"attribute": definition.name, "method": PRESENCE_METHOD, **row} for row in presence.rows]
    return Mapped(surface, rasters, pd.DataFrame(rows), pd.DataFrame())


def _ask(definition: AttributeDefinition, attributes: Attributes, ground: Ground, settings: SurfacesSettings, context: Context) -> Asked:
    choice = settings_for(definition.name, settings)
    method = method_of(choice, definition.name)
    drift = drift_of(method, choice, ground, context)
    places = gather(definition, attributes, ground, method, choice, drift)
    together = fractions_of(definition, attributes.definitions)
    shares = None
    if together:
        frames = [gather(one, attributes, ground, method, choice, drift).frame for one in together]
        others = places.notes
        frame, shares, sentence = with_all_three(frames)
        frame["low"] = frame["high"] = shares[:, together.index(definition)]
        places, method = replace(places, frame=frame, notes=(*others, sentence)), LogRatios(method)
    observations, codes = observations_of(definition, places, ground, drift)
    if together:
        observations = replace(observations, together=shares, which=together.index(definition))
    return Asked(definition, method, choice, drift, places, observations, codes)


def _without(asked: Asked, rough: np.ndarray) -> Asked:
    places = asked.places.without(rough, "place beyond reach")
    return replace(asked, places=places, observations=asked.observations.take(~rough), codes=asked.codes[~rough])


def _fit(asked: Asked, ground: Ground, settings: SurfacesSettings) -> Fitted:
    """Fit and validate; raises CannotFit."""
    definition, observations, codes, use = asked.definition, asked.observations, asked.codes, ground.strata.use
    common = {"least_pits": settings.least_pits, "seed": settings.seed, "folds": settings.folds}
    sample = ground.sample(asked.drift)
    chosen = fit_with_absence(
        asked.method, observations, codes, use, asked.choice, sample.targets(), names=ground.strata.names, **common
    )
    fitted, choice = chosen.fitted, chosen.settings
    reliability = reliability_of(fitted, observations, codes, choice.reach_m, by_drift=True)
    clip = clip_for(definition)
    backed = reliability.at(sample.points, sample.codes, sample.drift) == BACKED
    validation = validate(
        asked.method, observations, codes, use, choice, fitted, clip=clip, targets=sample.targets(backed),
        refit=chosen.anew, **common,
    )  # fmt: skip
    presence = presence_of(
        fitted.predict(observations.points, observations.drift, codes), validation.by_location, observations, choice.absent_as
    )
    own_presence = presence is not None
    if presence is None and definition.can_be_absent:
        presence = map_presence(asked.places.presence, ground, choice, asked.drift, **common)
    below, above = limits_of(definition, choice)
    tile = SurfaceTile(
        ground.land.on(asked.drift), fitted.to_send(), reliability, clip, most_seen(observations.low, observations.high),
        presence=presence.cells if presence else None, own_presence=own_presence,
        least_presence=choice.least_presence if definition.kind == "depth" else None,
        below=below, above=above, show_unbacked=choice.show_unbacked,
    )  # fmt: skip
    return Fitted(fitted, choice, validation, presence, tile, chosen.notes)


def _short_notes(fitted: FittedMap, strata: Strata) -> list[str]:
    return [
        f"stratum {strata.names.get(code, code)} is not mapped: {reason}" for code, reason in fitted.short.items() if strata.use
    ]


def _scores(definition: AttributeDefinition, choice: MethodSettings, validation: Validation, presence: Presence | None) -> pd.DataFrame:
    rows = [{"attribute": definition.name, "method": choice.method, **row} for row in validation.rows]
    if presence is not None:
        rows += [{"attribute": definition.name, "method": PRESENCE_METHOD, **row} for row in presence.rows]
    return pd.DataFrame(rows)
