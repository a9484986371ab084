"""Carbonates: depth to effervescence, to secondary carbonates, and to carbonates with the evidence named.

The Canadian k is any effervescence and ca is enrichment; in the USDA and WRB
conventions k means secondary carbonates, and C of calcareous till has no k. The
letters draw different maps, so pits of several conventions are never pooled by them.
"""

from __future__ import annotations

from ..described.profile import Profile
from ..errors import SettingsError
from ..intervals import Interval, absent_depth, at_least
from ..products import AttributeDefinition
from .plugin import (
    CSSC,
    KEYS,
    NO_ACID,
    NO_HORIZONS,
    NOT_TESTED,
    POOLED,
    WRB,
    Attribute,
    silent,
    why_silent,
)  # fmt: skip
from .rules import Rules
from .tested import Tested, as_tested
from .walk import answers_of, depth_of_first

BY_DESIGNATION = ("depth_to_carbonates", "depth_to_secondary_carbonates")
"""Attributes whose designations mean different things in different conventions."""
LIME_OVER_LIME_FREE = "lime over a lime-free layer"
"""The flag that two depths follow: first calcareous, continuously calcareous."""
LIME_FREE_WORDS = ("lime-free", "lime free", "noncalcareous", "non-calcareous")


def evidence_for(rules: Rules, convention: str) -> str:
    """[attributes.for.depth_to_carbonates] evidence, or the default of the convention."""
    chosen = rules.choice("depth_to_carbonates").evidence
    return chosen or ("shallower" if convention == "canadian" else "effervescence")


def refuse_pooling(conventions: tuple[str, ...], attribute: str, evidence: str = "designation") -> None:
    """Raise SettingsError when pits of several conventions would be pooled by designation.

    Effervescence is the same test in all of them and may be pooled.
    """
    distinct = tuple(sorted(set(conventions)))
    if len(distinct) < 2 or attribute not in BY_DESIGNATION:
        return
    if attribute == "depth_to_carbonates" and evidence == "effervescence":
        return
    raise SettingsError(
        "k does not mean the same in these conventions, so the pits are not pooled by designation",
        where=attribute, found=", ".join(distinct),
        allowed="canadian k: any effervescence; canadian ca: enrichment; usda and wrb k: secondary carbonates only",
        remedy='use depth_to_effervescence, or set [attributes.for.depth_to_carbonates] evidence = "effervescence"',
    )


def pooling_refusal(rules: Rules, attribute: str) -> SettingsError | None:
    """The refusal that a survey of several conventions meets for this attribute; None where it may be derived."""
    evidence = {evidence_for(rules, one) for one in rules.pooled} if attribute == "depth_to_carbonates" else set()
    try:
        refuse_pooling(rules.pooled, attribute, "effervescence" if evidence == {"effervescence"} else "designation")
    except SettingsError as refusal:
        return refusal
    return None


def _acid(profile: Profile) -> Tested:
    """Effervescence horizon by horizon. In the Canadian convention k where acid was used is effervescence written down."""
    recorded = [horizon.effervescent for horizon in profile.soil]
    if profile.convention == "canadian" and profile.acid_to:
        recorded = [
            True if said is None and horizon.kinds["calcareous"] and horizon.upper < profile.acid_to else said
            for horizon, said in zip(profile.soil, recorded)
        ]
    return as_tested(recorded, profile, profile.acid_to)


def _no_acid(profile: Profile) -> Interval:
    if not profile.soil:
        return silent(NO_HORIZONS)
    return silent(NOT_TESTED if profile.acid_to == 0 else NO_ACID)


def depth_to_effervescence(profile: Profile, rules: Rules) -> Interval:
    said = _acid(profile)
    if not said.reach:
        return _no_acid(profile)
    return _from_acid(profile, said)


def _from_acid(profile: Profile, said: Tested) -> Interval:
    parts = [horizon.effervescence_part for horizon in profile.soil]
    got = depth_of_first(profile, said.answers, reach=said.reach, parts=parts)
    if got.status == "unknown":
        return silent(NO_ACID)
    if got.presence == "present":
        return got.because("effervescence", *_in_a_part(profile, said.answers), *_layers(profile, said.answers, said.reach))
    return at_least(min(got.low, said.reach), "not_seen").because(f"acid to {min(got.low, said.reach):g} cm, no effervescence")


def _in_a_part(profile: Profile, answers: list[bool | None]) -> tuple[str, ...]:
    """The flag that only a part of the first horizon effervesces."""
    first = profile.soil[answers.index(True)]
    return (f"{first.name}: {first.effervescence_part}",) if first.effervescence_part else ()


def depth_to_secondary_carbonates(profile: Profile, rules: Rules) -> Interval:
    if pooling_refusal(rules, "depth_to_secondary_carbonates"):
        return silent(POOLED)
    if not profile.soil:
        return silent(NO_HORIZONS)
    got = depth_of_first(profile, answers_of(profile, "secondary_carbonates"))
    if got.status == "unknown":
        return silent(why_silent(profile))
    letters = {"canadian": "ca", "usda": "k or kk", "wrb": "k"}[profile.convention]
    return got.because(f"designation {letters}")


def depth_to_carbonates(profile: Profile, rules: Rules) -> Interval:
    if pooling_refusal(rules, "depth_to_carbonates"):
        return silent(POOLED)
    evidence = evidence_for(rules, profile.convention)
    got = {
        "effervescence": _by_effervescence, "designation": _by_designation, "shallower": _by_shallower,
    }[evidence](profile)  # fmt: skip
    if got.presence != "present" and _lime_free(profile, rules):
        return absent_depth().because("lime-free parent material")
    return got


def _lime_free(profile: Profile, rules: Rules) -> bool:
    material = profile.parent_material
    named = {name.strip().lower() for name in rules.settings.lime_free_parent_materials}
    return bool(material) and (material in named or any(word in material for word in LIME_FREE_WORDS))


def _by_effervescence(profile: Profile) -> Interval:
    said = _acid(profile)
    if not said.reach:
        return _no_acid(profile)
    got = _from_acid(profile, said)
    letters = next((h for h in profile.soil if h.kinds["calcareous"]), None)
    if letters is not None and (got.low is None or letters.upper < got.low):
        got = got.because(got.evidence, f"{letters.name} at {letters.upper:g} cm not counted: evidence is effervescence")
    return got


def _by_designation(profile: Profile) -> Interval:
    answers = answers_of(profile, "calcareous")
    if not profile.soil:
        return silent(NO_HORIZONS)
    reach = profile.reach
    if profile.convention == "canadian" and True not in answers:
        # a C whose letters do not say k was lime-free if acid was put on it, else nobody knows
        said = _acid(profile)
        if not said.reach:
            return _no_acid(profile)
        reach = min(said.reach, reach)
    got = depth_of_first(profile, answers, reach=reach)
    if got.status == "unknown":
        return silent(why_silent(profile))
    if got.presence == "present":
        return got.because(_letters(profile, answers), *_layers(profile, answers, reach))
    return got.because(f"no k or ca to {got.low:g} cm")


def _by_shallower(profile: Profile) -> Interval:
    letters = answers_of(profile, "calcareous")
    said = _acid(profile)
    if not profile.soil:
        return silent(NO_HORIZONS)
    if not said.reach and True not in letters:
        return _no_acid(profile)
    by_letter = [letter if letter or (True in letters and horizon.described) else None
                 for letter, horizon in zip(letters, profile.soil)]  # fmt: skip
    answers = [_either(acid, letter) for acid, letter in zip(said.answers, by_letter)]
    reach = said.reach if said.reach else profile.reach
    # letters hold for the whole horizon: only where acid alone says so it may be of a part
    parts = ["" if letter else horizon.effervescence_part for letter, horizon in zip(by_letter, profile.soil)]
    got = depth_of_first(profile, answers, reach=reach, parts=parts)
    if got.status == "unknown":
        return silent(NO_ACID)
    if got.presence != "present":
        depth = min(got.low, reach)
        return at_least(depth, "not_seen").because(f"acid to {depth:g} cm, no effervescence")
    first = answers.index(True)
    named = [name for name, yes in (("effervescence", said.answers[first]), (_letters(profile, letters, first), letters[first])) if yes]
    against = said.answers[first] is False and letters[first]
    return got.because(" and ".join(named), *(_in_a_part(profile, answers) if parts[first] else ()), *_layers(profile, answers, max(reach, profile.reach)),
                       *(("k written, but no effervescence",) if against else ()))  # fmt: skip


def _either(acid: bool | None, letter: bool | None) -> bool | None:
    if acid or letter:
        return True
    return False if acid is False or letter is False else None


def _letters(profile: Profile, answers: list, first: int | None = None) -> str:
    horizon = profile.soil[answers.index(True) if first is None else first]
    found = [letters for letters in ("ca", "kk", "k", "α") if horizon.described and horizon.designation.has(letters)]
    return "designation " + (found[0] if found else "k")


def _layers(profile: Profile, answers: list[bool | None], reach: float) -> tuple[str, ...]:
    """Flags where lime lies over a lime-free layer (knoll wash, road dust, lime spread): two depths, not one."""
    first = answers.index(True)
    if False not in answers[first:]:
        return ()
    last_no = max(n for n, answer in enumerate(answers) if answer is False)
    again = next((n for n in range(last_no + 1, len(answers)) if answers[n]), None)
    continuous = f"at least {reach:g}" if again is None else f"{profile.soil[again].upper:g}"
    return (
        LIME_OVER_LIME_FREE,
        f"first calcareous {max(profile.soil[first].upper, 0):g} cm",
        f"continuously calcareous {continuous} cm",
    )


def _depth(name: str, title: str, help_text: str, source: str, derive, absent: bool = False) -> Attribute:
    return Attribute(AttributeDefinition(name, title, "cm", "depth", help_text, source, absent), derive)


DEPTH_TO_EFFERVESCENCE = _depth(
    "depth_to_effervescence", "Depth to effervescence",
    "Where the soil first effervesces with dilute acid. Without a reaction it is at least the depth tested; without a "
    "test nothing is known. Cold dolomite reacts late.", CSSC + ", ch. 17; " + WRB + "; common practice for dolomite",
    depth_to_effervescence,
)  # fmt: skip
DEPTH_TO_SECONDARY_CARBONATES = _depth(
    "depth_to_secondary_carbonates", "Depth to secondary carbonates",
    "Top of the first ca (Canadian), k or kk (USDA), k (WRB). Conventions are not pooled.",
    CSSC + ", ch. 2; " + KEYS + ", ch. 18; " + WRB, depth_to_secondary_carbonates,
)  # fmt: skip
DEPTH_TO_CARBONATES = _depth(
    "depth_to_carbonates", "Depth to carbonates",
    "The shallowest of effervescence, k and ca, with its evidence named, or one of them: [attributes.for."
    "depth_to_carbonates] evidence. The shallower is the default of the Canadian convention, effervescence that of the "
    "others. Lime over a lime-free layer is flagged with two depths.", CSSC + ", ch. 2; " + KEYS + ", ch. 18",
    depth_to_carbonates, True,
)  # fmt: skip
