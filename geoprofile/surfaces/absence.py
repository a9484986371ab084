"""How an absent horizon enters the map of its thickness, and the chance of presence that comes of it.

Three forms: ``latent`` (a thickness that fades out: absent is at most 0), ``two_part``
(whether, then how thick) and ``value`` (0 as a value like others). By default the first
two are scored by location, everything refitted, and the better one is used and named:
latent suits a horizon that thins towards its edge, two-part one that ends abruptly
(Kempen et al. map peat so; study of our own in the reference numbers).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from .folds import location_parts
from .mapping import FittedMap, fit_map
from .methods.contract import CannotFit, MethodSettings, Observations, Prediction, number
from .presence import Presence, chance_of
from .validation import BY_LOCATION, REFITTED, held_out, ranked_of

WORDS = {
    "latent": "a thickness that fades out (latent form)",
    "two_part": "whether it is there, and how thick where it is (two-part form)",
    "value": "a value of 0 like others",
}
LEAST_ABSENT = 3
"""Fewer absent pits than this give no chance of presence, and the latent form is taken without asking."""


def fit_with_absence(
    method: object, observations: Observations, codes: np.ndarray, use: str, settings: MethodSettings, targets, *,
    least_pits: int, seed: int, folds: int, names: dict[int, str],
) -> tuple[FittedMap, MethodSettings, tuple[str, ...]]:  # fmt: skip
    """The fitted map, the settings with the form that was chosen, and the sentence that names it."""

    def fit(form: str) -> FittedMap:
        return fit_map(
            method, observations, codes, use, replace(settings, absent_as=form), least_pits=least_pits, seed=seed, names=names
        )  # fmt: skip

    absent = observations.absent
    if absent is None or not absent.any() or not getattr(method, "knows_absence", False):
        return fit("value"), replace(settings, absent_as="value"), ()
    count = f"{int(absent.sum())} of {len(absent)} pits have none of it"
    if absent.all():
        return fit("value"), replace(settings, absent_as="value"), ()
    if settings.absent_as != "by_score":
        return fit(settings.absent_as), settings, (f"{count}; absence taken as {WORDS[settings.absent_as]}, as set",)
    labels = location_parts(observations.points, codes, targets, folds, seed, bool(use)).labels
    fitted, scores, why_not = {}, {}, {}
    forms = ("latent", "two_part") if absent.sum() >= LEAST_ABSENT else ("latent",)
    for form in forms:
        try:
            fitted[form] = fit(form)
        except CannotFit as reason:
            why_not[form] = str(reason)
            continue
        if len(forms) == 1:
            return fitted[form], replace(settings, absent_as=form), (f"{count}; absence taken as {WORDS[form]}",)
        predicted = held_out(
            method, observations, codes, use, replace(settings, absent_as=form), labels, least_pits, seed, fitted[form]
        )
        scores[form] = _score(predicted, observations)
    if not fitted:
        reasons = "; ".join(dict.fromkeys(why_not.values()))
        return fit("value"), replace(settings, absent_as="value"), (f"{count}; absence taken as {WORDS['value']}: {reasons}",)
    best = min(fitted, key=lambda form: scores.get(form, np.inf))
    told = ", ".join(f"{form.replace('_', '-')} {number(score)}" for form, score in scores.items() if np.isfinite(score))
    sentence = f"{count}; absence taken as {WORDS[best]}, the better by location (ranked probability score: {told})"
    if len(fitted) == 1:
        sentence = f"{count}; absence taken as {WORDS[best]}; the other form cannot be fitted: {'; '.join(why_not.values())}"
    return fitted[best], replace(settings, absent_as=best), (sentence,)


def _score(predicted: Prediction, observations: Observations) -> float:
    known = np.isfinite(predicted.estimate) & (observations.low == observations.high)
    if known.sum() < 3:
        return np.inf
    observed = observations.low[known]
    return float(ranked_of(predicted, known, observed, observed, 0.0, np.inf).mean())


def presence_of(at_pits: Prediction, by_location: Prediction, observations: Observations, form: str) -> Presence | None:
    """What is told of the chance of presence that the method itself gives; None where it gives none (seen ``at_pits``)."""
    if at_pits.presence is None:
        return None
    absent = observations.absent
    found = chance_of(by_location)
    there = ~absent & (observations.low > 0)
    judged = absent | there
    rows, score = [], "presence could not be validated by location"
    known = judged & np.isfinite(found)
    if known.sum() >= 3:
        seen = there[known].astype(float)
        brier = float(np.mean((found[known] - seen) ** 2))
        share = float(np.mean((seen.mean() - seen) ** 2))
        score = f"by location: Brier score {brier:.3f} of {int(known.sum())} pits; the overall share alone scores {share:.3f}"
        remark = f"presence; {REFITTED}; the overall share alone scores {share:.3f}"
        rows.append(
            {"validation": BY_LOCATION, "measure": "Brier score", "value": brier, "pits": int(known.sum()), "remark": remark}
        )
    note = f"presence from the thickness model: {int(there.sum())} pits say present, {int(absent.sum())} say absent"
    return Presence(rows, int(judged.sum()), WORDS[form], score, note)
