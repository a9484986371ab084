"""How an absent horizon enters the map of its thickness, and the chance of presence that comes of it.

Three forms: ``latent`` (a thickness that fades out: absent is at most 0), ``two_part``
(whether, then how thick) and ``value`` (0 as a value like others). By default the first
two are scored by location, everything refitted, and the better one is used and named:
latent suits a horizon that thins towards its edge, two-part one that ends abruptly
(Kempen et al. map peat so; study of our own in the reference numbers).

The form is part of what is fitted: validation chooses it anew inside each part, from the pits of that
part alone, by a few inner parts (INNER) in which each form keeps the model it has in the part: what is compared
is the form, and it costs two fits a part instead of twenty.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace

import numpy as np

from .folds import Targets, location_parts
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


INNER = 3
"""Parts by which the form is chosen inside a part of the validation."""


@dataclass(frozen=True)
class FormAnew:
    """Fits a part of the pits with the form of absence chosen anew, from that part alone; ``picked`` counts which."""

    method: object
    use: str
    settings: MethodSettings
    targets: Targets
    seed: int
    starts: dict[str, FittedMap]
    """By form, the fitted map of all pits, where the search begins."""
    picked: Counter = field(default_factory=Counter)

    def __call__(self, observations: Observations, codes: np.ndarray, least_pits: int) -> FittedMap:
        if observations.absent.all():
            raise CannotFit("no pit that remains has it")
        fitted, scores, why_not = _tried(
            self.method, observations, codes, self.use, self.settings, self.targets, least_pits=least_pits, seed=self.seed,
            folds=INNER, names={}, starts=self.starts, model_held=True,
        )  # fmt: skip
        if not fitted:
            raise CannotFit("; ".join(dict.fromkeys(why_not.values())))
        best = _best(fitted, scores)
        self.picked[best] += 1
        return fitted[best]


@dataclass(frozen=True)
class WithAbsence:
    """The fitted map, the settings with the form that was used, why, and how a part is fitted (None = with that form)."""

    fitted: FittedMap
    settings: MethodSettings
    why: str = ""
    anew: FormAnew | None = None

    @property
    def notes(self) -> tuple[str, ...]:
        """To be asked when validation is done: how often each form was chosen inside a part."""
        if not self.why:
            return ()
        picked = self.anew.picked if self.anew else {}
        told = ", ".join(f"{form.replace('_', '-')} {count} times" for form, count in sorted(picked.items()))
        return (self.why + (f"; chosen anew inside each part of the validation: {told}" if told else ""),)


def fit_with_absence(
    method: object, observations: Observations, codes: np.ndarray, use: str, settings: MethodSettings, targets: Targets, *,
    least_pits: int, seed: int, folds: int, names: dict[int, str],
) -> WithAbsence:  # fmt: skip
    """The map fitted with the form of absence that was set, or with the better of both by location."""

    def as_form(form: str, why: str = "") -> WithAbsence:
        own = replace(settings, absent_as=form)
        return WithAbsence(fit_map(method, observations, codes, use, own, least_pits=least_pits, seed=seed, names=names), own, why)

    absent = observations.absent
    if absent is None or not absent.any() or not getattr(method, "knows_absence", False) or absent.all():
        return as_form("value")
    count = f"{int(absent.sum())} of {len(absent)} pits have none of it"
    if settings.absent_as != "by_score":
        return as_form(settings.absent_as, f"{count}; absence taken as {WORDS[settings.absent_as]}, as set")
    fitted, scores, why_not = _tried(
        method, observations, codes, use, settings, targets, least_pits=least_pits, seed=seed, folds=folds, names=names, starts={}
    )
    if not fitted:
        return as_form("value", f"{count}; absence taken as {WORDS['value']}: {'; '.join(dict.fromkeys(why_not.values()))}")
    best = _best(fitted, scores)
    why = f"{count}; absence taken as {WORDS[best]}"
    if why_not:
        why += f"; the other form cannot be fitted: {'; '.join(why_not.values())}"
    elif scores:
        told = ", ".join(f"{form.replace('_', '-')} {number(score)}" for form, score in scores.items() if np.isfinite(score))
        why += f", the better by location (ranked probability score: {told})"
    anew = FormAnew(method, use, settings, targets, seed, fitted)
    return WithAbsence(fitted[best], replace(settings, absent_as=best), why, anew)


def _tried(
    method: object, observations: Observations, codes: np.ndarray, use: str, settings: MethodSettings, targets: Targets, *,
    least_pits: int, seed: int, folds: int, names: dict[int, str], starts: dict[str, FittedMap], model_held: bool = False,
) -> tuple[dict[str, FittedMap], dict[str, float], dict[str, str]]:  # fmt: skip
    """By form: the fitted map, its score by location where there is a choice, and why it cannot be fitted."""
    fitted, scores, why_not = {}, {}, {}
    for form in ("latent", "two_part") if observations.absent.sum() >= LEAST_ABSENT else ("latent",):
        try:
            fitted[form] = fit_map(
                method, observations, codes, use, replace(settings, absent_as=form), least_pits=least_pits, seed=seed, names=names,
                start=starts.get(form),
            )  # fmt: skip
        except CannotFit as reason:
            why_not[form] = str(reason)
    if len(fitted) > 1:
        labels = location_parts(observations.points, codes, targets, folds, seed, bool(use)).labels
        for form, start in fitted.items():
            own = replace(settings, absent_as=form, model_held=model_held)
            scores[form] = _score(held_out(method, observations, codes, use, own, labels, least_pits, seed, start), observations)
    return fitted, scores, why_not


def _best(fitted: dict[str, FittedMap], scores: dict[str, float]) -> str:
    return min(fitted, key=lambda form: scores.get(form, np.inf))


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
