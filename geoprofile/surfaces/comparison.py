"""The methods beside each other, attribute by attribute, so that nobody chooses in silence.

Every installed method predicts the same pits from the same parts by location, each
fitted anew inside every part with whatever it chooses by itself (model, scale, form of
absence). The last row of an attribute is the choice itself, nested: inside each of
a few outer parts the methods are scored on inner parts, the best one is fitted, and
predicts the outer part. Where that row is worse than the best method's own, picking the
best number of the table flatters (Varma & Simon 2006, BMC Bioinformatics 7:91).

A method that cannot use bounds is not tried where pits say only a bound: dropping them
would make its score look better than its map.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from ..context import Context
from ..errors import TooLittleData
from ..kernels.kriging import NegativeVariance
from ..products import AttributeDefinition, Attributes, Pits, Terrain
from ..registry import plugins
from ..settings.surfaces import SurfacesSettings
from .absence import INNER as FORM_PARTS
from .absence import WithAbsence, fit_with_absence
from .choices import NUMERIC_KINDS, chosen, settings_for
from .folds import Targets, location_parts
from .gathering import drift_of, gather, observations_of
from .ground import Ground, lay_ground
from .limits import clip_for
from .mapping import filled, nothing
from .methods.contract import CannotFit, MethodSettings, Observations, Prediction
from .reliability import Backing, reach_of
from .validation import BY_LOCATION, Scoring, held_out

COLUMNS = {
    "attribute": "str", "method": "str", "root_mean_square_error": "float64", "efficiency": "float64",
    "coverage_90": "float64", "ranked_probability": "float64", "bounds_contradicted": "float64", "pits": "Int64",
    "bounds": "Int64", "as_set": "bool", "remark": "str",
}  # fmt: skip
MEASURE = {
    "root_mean_square_error": "root mean square error", "efficiency": "efficiency",
    "coverage_90": "coverage of the 90 % interval", "ranked_probability": "continuous ranked probability score",
    "bounds_contradicted": "bounds contradicted by the 90 % interval",
}  # fmt: skip
CHOICE = "the best by inner score"
OUTER, INNER = 5, 3
TERRAIN = ("relative_elevation", "slope")
"""Drift of the methods that cannot do without one, where the survey file names none."""


@dataclass(frozen=True)
class Case:
    """One attribute, ready to be predicted by any method."""

    observations: Observations
    codes: np.ndarray
    use: str
    labels: np.ndarray
    targets: Targets
    least_pits: int
    seed: int
    drift_is_set: bool = True
    """The survey file names the drift; else only methods that cannot do without get one, and the others are scored as they map."""

    def seen_by(self, method: object) -> Case:
        if self.drift_is_set or _needs_drift(method):
            return self
        return replace(self, observations=replace(self.observations, drift=None, drift_names=()))


def _needs_drift(method: object) -> bool:
    return getattr(method, "needs_drift", getattr(method, "uses_drift", False))


def compare_methods(
    pits: Pits, attributes: Attributes, terrain: Terrain | None, settings: SurfacesSettings, context: Context
) -> pd.DataFrame:
    """COLUMNS; one row an attribute and method, best ranked probability score first, then the nested choice.

    Raises what :func:`geoprofile.surfaces.stage.map_surfaces` raises.
    """
    from threadpoolctl import threadpool_limits

    definitions = [one for one in chosen(settings, attributes.definitions) if one.kind in NUMERIC_KINDS]
    ground = lay_ground(pits, attributes, terrain, context)
    rows: list[dict] = []
    with threadpool_limits(1), context.progress.task("comparing methods", len(definitions)) as task:
        for definition in definitions:
            try:
                rows += _rows(definition, attributes, ground, settings, context)
            except (TooLittleData, CannotFit) as reason:
                rows.append({"attribute": definition.name, "remark": f"not compared: {getattr(reason, 'what', reason)}"})
            task.advance()
    frame = pd.DataFrame(rows, columns=list(COLUMNS))
    frame["as_set"] = frame["as_set"].fillna(False)
    return frame.fillna({"method": "", "remark": ""}).astype(COLUMNS)


def _rows(definition: AttributeDefinition, attributes: Attributes, ground: Ground, settings: SurfacesSettings, context: Context) -> list[dict]:
    choice = settings_for(definition.name, settings)
    methods = dict(plugins("geoprofile.methods").loaded)
    drift_names = choice.drift or tuple(
        name for name in TERRAIN if ground.terrain is not None and name in ground.terrain.rasters
    )
    drift_is_set, choice = bool(choice.drift), replace(choice, drift=drift_names)
    bounded_method = next(method for method in methods.values() if method.uses_bounds)
    drift = drift_of(methods["drift_kriging"], choice, ground, context) if drift_names else None
    places = gather(definition, attributes, ground, bounded_method, choice, drift)
    off = 0 if drift_is_set or drift is None else len(gather(definition, attributes, ground, bounded_method, choice, None).frame) - len(places.frame)
    if len(places.frame) < settings.least_pits:
        raise TooLittleData(f"{len(places.frame)} usable pits are fewer than the {settings.least_pits} that a surface needs")
    observations, codes = observations_of(definition, places, ground, drift)
    sample, reach = ground.sample(drift), reach_of(observations.points, None, choice.reach_m)
    targets = sample.targets(Backing(observations.points, reach).near(sample.points))
    split = bool(ground.strata.use)
    labels = location_parts(observations.points, codes, targets, settings.folds, settings.seed, split).labels
    case = Case(observations, codes, ground.strata.use, labels, targets, settings.least_pits, settings.seed, drift_is_set)
    score = Scoring(observations, clip_for(definition))
    rows, usable = [], {}
    for name, method in methods.items():
        row = {"attribute": definition.name, "method": name, "as_set": name == choice.method}
        why_not = _unusable(method, observations, drift)
        found = None
        if not why_not:
            found, why_not = _predicted(method, case.seen_by(method), replace(choice, method=name))
        if found is not None:
            usable[name] = method
            row |= _scored(score, found)
            missed = int((~np.isfinite(found.estimate)).sum())
            used = getattr(method, "uses_drift", False) and case.seen_by(method).observations.drift is not None
            uses = f"with drift on {', '.join(drift_names)}" if used else ""
            fewer = f"pits without terrain left out, so that all methods see the same: {off}" if off and row["as_set"] else ""
            row["remark"] = "; ".join(filter(None, [uses, f"{missed} pits could not be predicted" if missed else "", fewer]))
        else:
            row["remark"] = why_not
        rows.append(row)
        context.progress.check()
    rows.sort(key=lambda row: (not np.isfinite(row.get("ranked_probability", np.nan)), row.get("ranked_probability", np.inf)))
    if len(usable) > 1:
        nested, picked = _nested(usable, case, choice, score, split)
        rows.append({"attribute": definition.name, "method": CHOICE, "remark": picked, **_scored(score, nested)})
    return rows


def _unusable(method: object, observations: Observations, drift: np.ndarray | None) -> str:
    bounds = int((observations.low != observations.high).sum())
    if bounds and not method.uses_bounds:
        return f"not tried: cannot use the {bounds} pits that say only a bound"
    if drift is None and _needs_drift(method):
        return "not tried: there is no terrain to use as drift"
    return ""


def _predicted(method: object, case: Case, choice: MethodSettings) -> tuple[Prediction | None, str]:
    """Every pit from the other parts, or None and why not."""
    try:
        start = _fitted(method, case, choice)
        found = held_out(
            method, case.observations, case.codes, case.use, start.settings, case.labels, case.least_pits, case.seed, start.fitted,
            start.anew,
        )  # fmt: skip
    except (CannotFit, NegativeVariance) as reason:
        return None, f"cannot be fitted: {reason}"
    return (found, "") if np.isfinite(found.estimate).any() else (None, "cannot be fitted when a part is left out")


def _fitted(method: object, case: Case, choice: MethodSettings) -> WithAbsence:
    """The method with its form of absence, chosen by few parts: it is done often."""
    return fit_with_absence(
        method, case.observations, case.codes, case.use, choice, case.targets, least_pits=case.least_pits, seed=case.seed,
        folds=FORM_PARTS, names={},
    )  # fmt: skip


def _scored(score: Scoring, found: Prediction) -> dict:
    rows = score.rows(BY_LOCATION, found, "")
    value = {row["measure"]: row["value"] for row in rows}
    pits = {row["measure"]: row["pits"] for row in rows}
    out = {column: value.get(measure, np.nan) for column, measure in MEASURE.items()}
    return out | {
        "pits": pits.get("efficiency", 0), "bounds": pits.get(MEASURE["bounds_contradicted"], 0),
    }  # fmt: skip


def _nested(methods: dict, case: Case, choice: MethodSettings, score: Scoring, split: bool) -> tuple[Prediction, str]:
    """Predictions of the method that is best by inner parts, chosen anew in each outer part; and how often each was."""
    outer = location_parts(case.observations.points, case.codes, case.targets, OUTER, case.seed, split).labels
    out, picked = nothing((len(outer),)), []
    for part in np.unique(outer):
        train, test = outer != part, outer == part
        rest = case.observations.take(train)
        labels = location_parts(rest.points, case.codes[train], case.targets, INNER, case.seed, split).labels
        inside = replace(case, observations=rest, codes=case.codes[train], labels=labels, least_pits=max(3, int(0.6 * case.least_pits)))
        inner_score = Scoring(rest, score.clip)
        best, least, settings = None, np.inf, choice
        for name, method in methods.items():
            found, _ = _predicted(method, inside.seen_by(method), replace(choice, method=name))
            value = _scored(inner_score, found)["ranked_probability"] if found is not None else np.nan
            if value < least:
                best, least, settings = name, value, replace(choice, method=name)
        if best is None:
            continue
        picked.append(best)
        try:
            fitted = _fitted(methods[best], inside.seen_by(methods[best]), settings).fitted
        except CannotFit:
            continue
        drift = case.seen_by(methods[best]).observations.drift
        drift = None if drift is None else drift[test]
        out = filled(out, test, fitted.predict(case.observations.points[test], drift, case.codes[test]))
    counts = pd.Series(picked).value_counts()
    told = ", ".join(f"{name} {count} times" for name, count in counts.items())
    return out, f"chosen inside each of {len(np.unique(outer))} outer parts: {told or 'none'}"


def comparison_lines(table: pd.DataFrame, titles: dict[str, str]) -> Iterator[str]:
    """The table as lines for people, one block an attribute."""
    names = max([len(name) for name in table["method"]], default=0) + 2
    for attribute, part in table.groupby("attribute", sort=False):
        yield f"{titles.get(attribute, attribute)}"
        scored = part["root_mean_square_error"].notna()
        if scored.any():
            yield f"  {'':<{names}}{'RMSE':>8}{'efficiency':>12}{'held':>7}{'ranked':>9}{'against':>9}{'pits':>6}"
        for row in part.itertuples():
            mark = "*" if row.as_set else " "
            if not np.isfinite(row.root_mean_square_error):
                yield f"  {mark}{row.method:<{names - 1}}{row.remark}"
                continue
            against = "" if not np.isfinite(row.bounds_contradicted) else f"{100 * row.bounds_contradicted:.0f} %"
            yield (
                f"  {mark}{row.method:<{names - 1}}{row.root_mean_square_error:>8.2f}{row.efficiency:>12.2f}"
                f"{100 * row.coverage_90:>5.0f} %{row.ranked_probability:>9.2f}{against:>9}{row.pits:>6}  {row.remark}"
            ).rstrip()
    yield ""
    yield "* as set. By location, everything refitted in each part; ranked: ranked probability score, the lower the better;"
    yield "held: measured pits inside their 90 % interval; against: bounds that the interval contradicts."
