"""Thicknesses: forest floor, peat, dark A, eluvial, A and E, Bt, solum."""

from __future__ import annotations

from ..described.profile import Horizon, Profile
from ..intervals import Interval, absent_thickness, at_least, between, measured
from ..products import AttributeDefinition
from .plugin import CSSC, KEYS, NO_HORIZONS, NO_ORGANIC_LAYERS, ORGANIC_SOIL, WRB, Attribute, silent, why_silent
from .rules import Rules
from .walk import answers_of, depth_of_first, met, thickness_of, thickness_or

REMOVED = ("cultivat", "crop", "plough", "burn", "scrape", "till", "disturb")
"""Beginnings of land-use words after which a forest floor or peat is gone, not forgotten."""
PLOUGHED_UP = "Ap is ploughed-up B or C"
MIXED = "mixed into Ap"


def ploughed_up(profile: Profile) -> bool:
    """Whether an Ap shows subsoil: moist value 4 or more, chroma 3 or more, or it effervesces (common practice, no source)."""
    for horizon in profile.soil:
        if horizon.kinds["ploughed"]:
            pale = horizon.moist is not None and (horizon.moist[1] >= 4 or horizon.moist[2] >= 3)
            limy = horizon.effervescent is True
            if horizon.effervescent is None and profile.convention == "canadian":
                limy = bool(horizon.kinds["calcareous"])  # the Canadian k is visible effervescence
            if pale or limy:
                return True
    return False


def with_a(profile: Profile, rules: Rules, kind: str) -> list[bool | None]:
    """Answers of a kind of A, with AB, AC and AE where the survey counts them."""
    answers = answers_of(profile, kind)
    if rules.transitional_a:
        more = answers_of(profile, "transitional_a")
        answers = [True if extra else answer for answer, extra in zip(answers, more)]
    return answers


# --- organic layers -------------------------------------------------------------------------------------------


def _organic(profile: Profile, kind: str) -> Interval:
    layers = profile.soil if profile.is_organic else profile.above
    answers = [horizon.kinds[kind] for horizon in layers]
    base_seen = bool(profile.soil or profile.below) and not profile.is_organic
    found = thickness_of(profile, answers, layers=layers, base_is_boundary=base_seen or profile.base_is_boundary)
    if found is not None:
        return found.because("designation")
    if layers and any(horizon.described for horizon in layers):
        return absent_thickness().because("other organic layers described")
    if profile.organic_above is not None:
        if profile.organic_above <= 0:
            return absent_thickness().because("stated: no organic layers", *_removed(profile))
        if kind == "forest_floor":
            return measured(profile.organic_above).because("organic layers stated without a designation")
        return between(0, profile.organic_above, "not_described").because("organic layers stated without a designation")
    if _removed(profile):
        return absent_thickness().because("land use or ploughing", "removed")
    return silent(NO_ORGANIC_LAYERS if profile.soil else NO_HORIZONS)


def _removed(profile: Profile) -> tuple[str, ...]:
    ploughed = bool(profile.soil) and profile.soil[0].kinds["ploughed"]
    return ("removed",) if ploughed or any(word.startswith(REMOVED) for word in profile.land_use.split()) else ()


def forest_floor_thickness(profile: Profile, rules: Rules) -> Interval:
    if profile.is_organic and profile.convention == "usda":
        return absent_thickness().because("organic soil: O is peat")
    return _organic(profile, "forest_floor")


def peat_thickness(profile: Profile, rules: Rules) -> Interval:
    if profile.convention == "usda" and not profile.is_organic:
        floor = _organic(profile, "forest_floor")
        if floor.presence == "present" and "poor" in profile.drainage and floor.high is not None:
            return between(0, floor.high, "not_described").because(
                "designation", "O of a poorly drained mineral soil: litter or peat is not told apart")  # fmt: skip
        if floor.presence == "present":
            return absent_thickness().because("mineral soil: O is forest floor")
        return floor
    return _organic(profile, "peat")


# --- A and E --------------------------------------------------------------------------------------------------


def dark_a_thickness(profile: Profile, rules: Rules) -> Interval:
    answers = with_a(profile, rules, "dark_a")
    return _a(profile, answers)


def a_e_thickness(profile: Profile, rules: Rules) -> Interval:
    answers = with_a(profile, rules, "a_and_e")
    got = _a(profile, answers)
    return got.because(got.evidence, "not one layer: another horizon between") if _comes_back(answers) else got


def _comes_back(answers: list[bool | None]) -> bool:
    yes = [n for n, answer in enumerate(answers) if answer]
    return bool(yes) and any(answers[n] is False for n in range(yes[0], yes[-1]))


def _a(profile: Profile, answers: list[bool | None]) -> Interval:
    if not profile.soil:
        return at_least(0, "not_seen").because("ended in organic layers") if profile.above else silent(NO_HORIZONS)
    found = thickness_of(profile, answers)
    got = thickness_or(profile, found, answers, ended_above=not met(profile, "b_or_deeper") and not profile.ends_known)
    if got.status == "unknown":
        return silent(why_silent(profile))
    return got.because("designation", *((PLOUGHED_UP,) if ploughed_up(profile) else ()))


def eluvial_thickness(profile: Profile, rules: Rules) -> Interval:
    if not profile.soil:
        return at_least(0, "not_seen").because("ended in organic layers") if profile.above else silent(NO_HORIZONS)
    answers = answers_of(profile, "eluvial")
    found = thickness_of(profile, answers)
    deeper = met(profile, "b_or_deeper") or profile.ends_known
    got = thickness_or(profile, found, answers, ended_above=not deeper)
    if got.status == "unknown":
        return silent(why_silent(profile))
    return got.because("designation", *_weak_part(profile), *_ploughed_part(profile, answers, got))


def _weak_part(profile: Profile) -> tuple[str, ...]:
    """Aej is counted and shown apart."""
    weak = [horizon for horizon in profile.soil if horizon.kinds["weak_eluvial"]]
    if not weak:
        return ()
    total = sum((horizon.lower or horizon.upper) - horizon.upper for horizon in weak)
    return (f"of it Aej {total:g} cm",)


def _ploughed_part(profile: Profile, answers: list[bool | None], remaining: Interval) -> tuple[str, ...]:
    """An Ap straight on Ae, Bt or Bn has mixed eluvial material in; how much is not known, so 0 to all of it."""
    for n, horizon in enumerate(profile.soil[:-1]):
        below = profile.soil[n + 1]
        if horizon.kinds["ploughed"] and horizon.lower is not None and not below.kinds["ploughed"]:
            if answers[n + 1] or below.kinds["illuvial"]:
                low = remaining.low or 0.0
                high = "" if remaining.high is None else f"{remaining.high + horizon.lower - max(horizon.upper, 0.0):g}"
                return MIXED, f"original eluvial {low:g} to {high} cm" if high else f"original eluvial at least {low:g} cm"
            return ()
    return ()


# --- B and solum ----------------------------------------------------------------------------------------------


def bt_thickness(profile: Profile, rules: Rules) -> Interval:
    if not profile.soil:
        return at_least(0, "not_seen").because("ended in organic layers") if profile.above else silent(NO_HORIZONS)
    answers = answers_of(profile, "bt")
    found = thickness_of(profile, answers, whole=_is_whole_bt)
    deeper = met(profile, "below_b") or profile.ends_known
    got = thickness_or(profile, found, answers, ended_above=not deeper and None not in answers)
    if got.status == "unknown":
        return silent(why_silent(profile))
    lamellae = any(answer and not _is_whole_bt(horizon) for horizon, answer in zip(profile.soil, answers))
    weak = met(profile, "weak_bt")
    return got.because("designation", *(("Bt is only part of a horizon",) if lamellae else ()),
                       *(("Btj present",) if weak else ()))  # fmt: skip


def _is_whole_bt(horizon: Horizon) -> bool:
    """Bt and Bt/E count with all their thickness; E/Bt and E and Bt with an unknown share."""
    return bool(horizon.kinds["b"])


def solum_thickness(profile: Profile, rules: Rules) -> Interval:
    if profile.is_organic:
        return silent(ORGANIC_SOIL)
    if not profile.soil:
        return at_least(0, "not_seen").because("ended in organic layers") if profile.above else silent(NO_HORIZONS)
    ends = answers_of(profile, "not_solum")
    if not rules.bc_in_solum:
        ends = [True if horizon.kinds["bc"] else end for horizon, end in zip(profile.soil, ends)]
    got = depth_of_first(profile, ends)
    if got.status == "unknown":
        return silent(why_silent(profile))
    if got.presence == "not_described":
        return got.because("designation")
    if got.status == "at_surface":
        return absent_thickness().because("C or rock at the surface")
    if got.presence == "not_seen":
        if profile.below:
            return measured(profile.reach).because("designation", "ends at a buried horizon")
        if profile.rock_stopped:
            return measured(profile.reach).because("designation", "ends at rock")
        depth = max(profile.reach, profile.observed_to or 0.0)
        return at_least(depth).because("designation")
    return got.because("designation", *(() if rules.bc_in_solum else ("BC not counted",)))


def _thickness(name: str, title: str, help_text: str, source: str, derive, absent: bool = True) -> Attribute:
    return Attribute(AttributeDefinition(name, title, "cm", "thickness", help_text, source, absent), derive)


FOREST_FLOOR = _thickness(
    "forest_floor_thickness", "Thickness of the forest floor",
    "L, F and H (O in the USDA and WRB conventions) above the mineral surface. Not described is unknown, never 0; "
    "cultivated, burnt or scraped land has none: removed.", CSSC + ", ch. 2", forest_floor_thickness,
)  # fmt: skip
PEAT = _thickness(
    "peat_thickness", "Thickness of peat",
    "O of the Canadian convention, O of organic soils in the USDA convention, H of WRB, from the surface down.",
    CSSC + ", ch. 2; " + WRB, peat_thickness,
)  # fmt: skip
DARK_A = _thickness(
    "dark_a_thickness", "Thickness of the dark A",
    "Ah, Ahe and Ap with or without k, g; A and Ap in the USDA and WRB conventions. AB, AC and AE count only where "
    "[attributes] transitional_a says so. An Ap that shows subsoil is flagged.", CSSC + ", ch. 2", dark_a_thickness,
)  # fmt: skip
ELUVIAL = _thickness(
    "eluvial_thickness", "Thickness of the eluvial horizon",
    "Ae and Aeg, Aej counted and shown apart; E in the USDA and WRB conventions. Under an Ap this is what remains: "
    "the flags say how much there can have been.", CSSC + ", ch. 2; " + KEYS, eluvial_thickness,
)  # fmt: skip
A_E = _thickness(
    "a_e_thickness", "Thickness of A and E together",
    "All A of the Canadian convention (Ae is an A there); A and E in the USDA and WRB conventions.",
    CSSC + ", ch. 2; 30 CFR 701.5", a_e_thickness,
)  # fmt: skip
BT = _thickness(
    "bt_thickness", "Thickness of the Bt",
    "The sum of the Bt parts, not base minus top. A Bt at the end of the hole is at least what was seen.",
    CSSC + ", ch. 2; " + KEYS + ", ch. 3", bt_thickness,
)  # fmt: skip
SOLUM = _thickness(
    "solum_thickness", "Thickness of the solum",
    "A and B down to whichever comes first of C, CB, rock and a buried horizon. A setting decides on BC; the forest floor "
    "never counts. What USDA calls Bk is often Cca in Canada: sola of the two differ by 20 to 40 cm.", CSSC + ", ch. 17", solum_thickness,
)  # fmt: skip
