"""From attribute values to the observations a method is fitted to, with the drift at their places."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np

from ..context import Context
from ..errors import TooLittleData
from ..products import AttributeDefinition, Attributes
from .choices import methods_with_bounds
from .drift import Drift, open_drift
from .ground import Ground
from .methods.contract import MethodSettings, Observations
from .observations import Places, places_of

BETWEEN_UP_TO = 10.0
"""Limits no farther apart than this are used at their middle by methods that cannot use limits, in the attribute's unit."""


def drift_of(method: object, choice: MethodSettings, ground: Ground, context: Context) -> Drift | None:
    """The terrain rasters of the drift, where the method uses one."""
    wanted = choice.drift and getattr(method, "uses_drift", False)
    return open_drift(choice.drift, ground.terrain, context.output) if wanted else None


def gather(
    definition: AttributeDefinition, attributes: Attributes, ground: Ground, method: object, choice: MethodSettings,
    drift: Drift | None,
) -> Places:  # fmt: skip
    """What is used of one attribute; pits without terrain are left out where there is a drift."""
    located = ground.located
    if drift is not None:
        known = np.isfinite(drift.at(located["x"].to_numpy(float), located["y"].to_numpy(float))).all(axis=1)
        located = located.assign(cause=located["cause"].where(known | (located["cause"] != ""), "no terrain"))
    values = attributes.values[attributes.values["attribute"] == definition.name]
    up_to = choice.between_up_to
    if up_to is None:  # a method that can use limits needs no middle
        up_to = 0.0 if method.uses_bounds else BETWEEN_UP_TO
    probes = ground.readings[ground.readings["attribute"] == definition.name] if len(ground.readings) else None
    return places_of(definition, located, values, between_up_to=up_to, visits=ground.visits, probes=probes)


def observations_of(
    definition: AttributeDefinition, places: Places, ground: Ground, drift: Drift | None
) -> tuple[Observations, np.ndarray]:
    """Observations, and the stratum code of each."""
    x, y = places.frame["x"].to_numpy(float), places.frame["y"].to_numpy(float)
    low, high = places.frame["low"].to_numpy(float), places.frame["high"].to_numpy(float)
    columns = None if drift is None else drift.at(x, y)
    names = () if drift is None else drift.names
    absent = None
    if definition.kind == "thickness":
        absent = ((places.frame["status"] == "absent") & (low == 0) & (high == 0)).to_numpy()
    observations = Observations(np.column_stack([x, y]), low, high, definition.unit, columns, names, absent=absent)
    observations = replace(
        observations, repeats=places.frame["repeats"].to_numpy(float), within=places.frame["within"].to_numpy(float)
    )
    return observations, ground.strata.codes_at(x, y)


def refuse_bounds(method: object, places: Places) -> None:
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
