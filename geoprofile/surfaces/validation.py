"""How good a surface is: by location, by random parts, and leave-one-out.

By location is the headline. Each part is predicted from the others, everything that is
fitted is fitted anew inside, and the parts leave their pits about as far from the rest
as the map is from its pits (folds.py). Random parts stand beside it and err on the kind
side where pits are clustered. Leave-one-out goes by formula (Dubrule 1983), bounded
pits by their cavity, with the model not refitted, and says so.

Pits that say only a bound are scored by what they say, never by an error against their
limit (kernels/scores.py).
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from scipy.special import ndtr

from ..kernels.scores import all_scores, bounded_scores, efficiency, half_widths, ranked_probability, surprise
from .folds import Parts, Targets, location_parts, random_parts
from .limits import probability_below
from .mapping import FittedMap, filled, fit_map, nothing
from .methods.contract import CannotFit, MethodSettings, Observations, Prediction, number

BY_LOCATION, RANDOM, LEAVE_ONE_OUT = "by location", "random parts", "leave-one-out"
REFITTED = "everything refitted in each part"
NOT_REFITTED = "model not refitted"
NO_SKILL = "no spatial skill"
STEPS = 400
"""Limits over which a ranked probability score is summed where it has no closed form."""
SURE = 0.95
"""Confidence with which the map must beat the mean to be credited with skill, one-sided."""


@dataclass(frozen=True)
class Validation:
    """Scores of one surface.

    ``rows`` are those of Surfaces.scores without attribute and method; ``headline`` one
    line; ``left_out`` (n,) leave-one-out predictions; ``by_location`` predictions of each
    place from the other parts, and ``place`` (n,) the probability they gave to less than
    what was measured; ``notes`` plain sentences for the surface.
    """

    rows: list[dict[str, object]]
    headline: str
    left_out: np.ndarray
    by_location: Prediction
    place: np.ndarray
    notes: tuple[str, ...] = ()


def validate(
    method: object,
    observations: Observations,
    codes: np.ndarray,
    use: str,
    settings: MethodSettings,
    fitted: FittedMap,
    *,
    least_pits: int,
    folds: int,
    seed: int,
    clip,
    targets: Targets,
    refit=None,
) -> Validation:
    """All three validations of one surface.

    ``clip`` is what the map does to impossible values; ``targets`` are the places that are mapped; ``refit`` as in
    :func:`held_out`.
    """
    def predicted_from_others(parts: Parts) -> Prediction:
        return held_out(method, observations, codes, use, settings, parts.labels, least_pits, seed, fitted, refit)

    by_location = location_parts(observations.points, codes, targets, folds, seed, bool(use))
    at_random = random_parts(observations.points, codes, targets, folds, seed, bool(use))
    found = predicted_from_others(by_location)
    same = np.array_equal(by_location.labels, at_random.labels)
    score = Scoring(observations, clip)
    rows = score.rows(BY_LOCATION, found, _remark(by_location))
    skill = skill_of(clip(found).estimate, score, by_location)
    headline, notes = headline_of(rows, observations.unit), ()
    if rows and not skill:
        headline += f"; {NO_SKILL}"
        notes = (no_skill_sentence(),)
    remark = _remark(at_random) + ("; these are the parts by location too: the pits lie evenly" if same else "")
    rows += score.rows(RANDOM, found if same else predicted_from_others(at_random), remark)
    left_out = fitted.leave_one_out(codes)
    rows += score.rows(LEAVE_ONE_OUT, left_out, NOT_REFITTED)
    return Validation(rows, headline, clip(left_out).estimate, clip(found), score.place(found, seed), notes)


def held_out(method, observations, codes, use, settings, labels, least_pits, seed, fitted=None, refit=None) -> Prediction:
    """Each part predicted from all others; NaN where the rest cannot serve its stratum.

    ``refit(observations, codes, least_pits) -> FittedMap`` fits the others where more than the method's own fit is to
    be done anew, as a choice of form.

    A method that can refit from a start (``refit``) begins at the model of all pits:
    it saves the search, not the fit.
    """
    out = nothing((len(observations),))
    least = max(3, int(0.6 * least_pits))  # a part's pits are missing by design
    for part in np.unique(labels):
        test, train = labels == part, labels != part
        try:
            if refit is not None:
                again = refit(observations.take(train), codes[train], least)
            else:
                again = fit_map(
                    method, observations.take(train), codes[train], use, settings, least_pits=least, seed=seed, start=fitted
                )
        except CannotFit:
            continue
        drift = None if observations.drift is None else observations.drift[test]
        out = filled(out, test, again.predict(observations.points[test], drift, codes[test]))
    return out


class Scoring:
    """Scores predictions against what the pits say; what cannot be is clipped in both."""

    def __init__(self, observations: Observations, clip) -> None:
        self.clip = clip
        self.least, self.most = self._possible(np.array([-np.inf])), self._possible(np.array([np.inf]))
        # at most 0 of what cannot be negative is 0
        self.low, self.high = self._possible(observations.low), self._possible(observations.high)
        self.exact = self.low == self.high

    def _possible(self, values: np.ndarray) -> np.ndarray:
        return self.clip(Prediction(values, values, values, values)).estimate

    def rows(self, name: str, predicted: Prediction, remark: str) -> list[dict[str, object]]:
        """Score rows of one validation; none where fewer than three measured pits could be predicted."""
        known = np.isfinite(predicted.estimate)
        if (known & self.exact).sum() < 3:
            return []
        missed = int((~known).sum())
        if missed:
            remark += f"; {missed} pits could not be predicted from the others"
        measured, bounded = known & self.exact, known & ~self.exact
        scores = [(self._measured(predicted, measured), measured)]
        if bounded.any():
            scores.append((self._bounded(predicted, bounded), bounded))
        return [
            {"validation": name, "measure": measure, "value": value, "pits": int(which.sum()), "remark": remark}
            for found, which in scores
            for measure, value in found.items()
        ]

    def _measured(self, raw: Prediction, which: np.ndarray) -> dict[str, float]:
        shown = self.clip(raw)
        return all_scores(
            shown.estimate[which], raw.variance[which], shown.low90[which], shown.high90[which], self.low[which],
            self._ranked(raw, which),
        )  # fmt: skip

    def _bounded(self, raw: Prediction, which: np.ndarray) -> dict[str, float]:
        shown = self.clip(raw)
        # a limit at the end of what is possible says nothing
        low = np.where(self.low == self.least, -np.inf, self.low)[which]
        high = np.where(self.high == self.most, np.inf, self.high)[which]
        return bounded_scores(
            shown.estimate[which], shown.low90[which], shown.high90[which], low, high, self._ranked(raw, which),
            surprise_of(raw, which, low, high),
        )  # fmt: skip

    def place(self, raw: Prediction, seed: int) -> np.ndarray:
        """(n,) probability of less than each measured value, NaN for bounds: even from 0 to 1 where predictions are right.

        A value at the end of what is possible holds all the probability heaped there: its place in the heap is drawn.
        """
        below = np.full(len(self.low), np.nan)
        for row in np.flatnonzero(self.exact & np.isfinite(raw.estimate)):
            below[row] = _below(taken(raw, np.array([row])), float(self.low[row]))
        drawn = np.random.default_rng(seed).random(len(below))
        below = np.where(self.low == self.least, below * drawn, below)
        return np.where(self.low == self.most, below + (1.0 - below) * drawn, below)

    def _ranked(self, raw: Prediction, which: np.ndarray) -> np.ndarray:
        return ranked_of(raw, which, self.low[which], self.high[which], float(self.least[0]), float(self.most[0]))


def ranked_of(raw: Prediction, which: np.ndarray, low: np.ndarray, high: np.ndarray, least: float, most: float) -> np.ndarray:
    """Ranked probability score of the selected predictions: in closed form, or summed where they tell a distribution of their own."""
    if raw.middle is None:
        middle = raw.estimate[which]
        return ranked_probability(middle, *half_widths(middle, raw.low90[which], raw.high90[which]), low, high, least, most)
    some = taken(raw, which)
    ends = np.concatenate([some.low90, some.high90, low, high])
    ends = ends[np.isfinite(ends)]
    spread = np.ptp(ends) + 1e-9
    limits, step = np.linspace(max(ends.min() - spread, least), min(ends.max() + spread, most), STEPS + 1, retstep=True)
    total = np.zeros(len(low))
    for start in limits[:-1]:
        share = probability_below(some, float(start + step / 2))
        # the step in which a limit lies counts by its part on either side
        total += share**2 * np.clip((low - start) / step, 0.0, 1.0) + (1.0 - share) ** 2 * np.clip((start + step - high) / step, 0.0, 1.0)
    return total * step


def surprise_of(raw: Prediction, which: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Minus log probability of lying from ``low`` to ``high``; at most -log of the smallest number where it is 0."""
    if raw.middle is None:
        middle = raw.estimate[which]
        return surprise(middle, *half_widths(middle, raw.low90[which], raw.high90[which]), low, high)
    some = taken(raw, which)
    held = np.empty(len(low))
    for row in range(len(low)):
        one = taken(some, np.array([row]))
        below = [0.0 if np.isneginf(end) else 1.0 if np.isposinf(end) else probability_below(one, float(end))[0]
                 for end in (low[row], high[row])]  # fmt: skip
        held[row] = below[1] - below[0]
    return -np.log(np.maximum(held, np.finfo(float).tiny))


def _below(one: Prediction, value: float) -> float:
    """Probability of at most ``value`` under a prediction of one place."""
    if one.middle is not None:
        return float(probability_below(one, value)[0])
    below, above = half_widths(one.estimate, one.low90, one.high90)
    side = below if value < one.estimate[0] else above
    return float(ndtr((value - one.estimate) / side)[0])


def taken(raw: Prediction, which: np.ndarray) -> Prediction:
    """The selected rows of every field that is there."""
    return Prediction(**{
        field.name: getattr(raw, field.name)[which] for field in fields(raw) if getattr(raw, field.name) is not None
    })  # fmt: skip


def skill_of(estimate: np.ndarray, score: Scoring, parts: Parts) -> bool:
    """Whether the map beats, beyond chance, the mean of the measured pits that remain when a part is left out.

    Squared errors of both are compared; their difference is averaged at each place, for repeats of a
    place are no evidence of their own, and must exceed 0 by Student's t over the places, SURE one-sided.
    Nor may the efficiency be below 0. Few pits can fail to show a skill that is there.
    """
    from scipy.stats import t

    known = np.isfinite(estimate) & score.exact
    means = np.full(len(estimate), np.nan)
    for part in np.unique(parts.labels):
        rest = score.exact & (parts.labels != part)
        means[parts.labels == part] = score.low[rest].mean() if rest.any() else np.nan
    known &= np.isfinite(means)
    observed = score.low[known]
    if len(observed) < 3 or not efficiency(estimate[known], observed) > 0:
        return False
    gain = (means[known] - observed) ** 2 - (estimate[known] - observed) ** 2
    _, place = np.unique(parts.places[known], return_inverse=True)
    gain = np.bincount(place, gain) / np.bincount(place)
    return len(gain) > 2 and bool(gain.mean() > t.ppf(SURE, len(gain) - 1) * gain.std(ddof=1) / np.sqrt(len(gain)))


def no_skill_sentence() -> str:
    return (
        f"{NO_SKILL}: at places it had not seen, the map is not better than the mean of the other pits by more than chance; "
        "use the mean and its interval, not the pattern"
    )


def _remark(parts: Parts) -> str:
    return f"{len(parts)} parts, {REFITTED}" + (f"; {parts.words}" if parts.words else "")


def headline_of(rows: list[dict[str, object]], unit: str) -> str:
    """``by location: RMSE 6.1 cm, efficiency 0.34, 90 % intervals held 88 % of 112 pits, contradicted 3 % of 40 bounds``."""
    if not rows:
        return "could not be validated by location: too few pits remain when a part is left out"
    value = {row["measure"]: row["value"] for row in rows}
    pits = {row["measure"]: row["pits"] for row in rows}
    error = value["root mean square error"]
    error = (f"{error:.1f}" if 1 <= error < 100 else number(error, 2)) + (f" {unit}" if unit else "")
    efficiency, held, against = value["efficiency"], "coverage of the 90 % interval", "bounds contradicted by the 90 % interval"
    text = f"by location: RMSE {error}, efficiency {efficiency:.2f}, 90 % intervals held {100 * value[held]:.0f} % of {pits[held]} pits"
    if against in value:
        text += f" and contradicted {100 * value[against]:.0f} % of {pits[against]} bounds"
    return text
