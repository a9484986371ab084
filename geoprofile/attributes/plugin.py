"""The contract of an attribute plug-in, and the causes of silence."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ..described.profile import Profile
from ..intervals import Interval, unknown
from ..products import AttributeDefinition
from .rules import Rules

CSSC = "Canadian System of Soil Classification, 3rd ed. 1998"
KEYS = "Keys to Soil Taxonomy, 12th ed. 2014"
WRB = "World Reference Base 2022, Annex 3"

NOT_NATURAL = "stripped or filled ground: says nothing of the natural soil"
NO_HORIZONS = "no horizons described"
NO_DESIGNATION = "horizons without a designation"
BARE_LETTER = "the letters do not say, as a bare B"
NO_ORGANIC_LAYERS = "organic layers not described"
NO_ACID = "no acid test stated"
NOT_TESTED = "stated: not tested with acid"
NO_MOTTLES = "mottles not described"
NO_SALTS = "no salts measured by the extract asked for"
NO_COLOUR = "colours not described"
NOT_MARKED = "the survey does not mark discontinuities"
POOLED = "conventions are not pooled by designation"
ORGANIC_SOIL = "organic soil: it has no solum"
NO_DATA = "property not measured"
LITTLE_DATA = "too little of the interval has data"
"""Evidence of an unknown; ``silence`` lists pits by these."""


@dataclass(frozen=True)
class Attribute:
    """What an entry point of group geoprofile.attributes names.

    ``derive(profile, rules)`` gives what one pit says; it must not raise for any profile.
    """

    definition: AttributeDefinition
    derive: Callable[[Profile, Rules], Interval]


def silent(cause: str, presence: str = "not_described") -> Interval:
    """Nothing is said, and why."""
    return unknown(presence).because(cause)


def why_silent(profile: Profile) -> str:
    """The cause for an attribute that rests on designations."""
    if not profile.soil and not profile.above and not profile.below:
        return NO_HORIZONS
    if any(horizon.described for horizon in profile.soil):
        return BARE_LETTER
    return NO_DESIGNATION
