"""Answers for people: why a horizon is or is not a Bt, and why pits say nothing of an attribute."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from ..described.meanings import answers
from ..errors import SettingsError
from ..products import Attributes
from ..vocabulary.designations import Designation, parse_designation

SAYS = {
    "dark_a": "a dark A", "eluvial": "an eluvial horizon", "bt": "a Bt", "weak_bt": "a weak Bt (Btj)", "bc": "a BC, part of the solum unless the survey says otherwise",
    "solonetzic_b": "a solonetzic B", "calcareous": "calcareous by its letters",
    "secondary_carbonates": "secondary carbonates by its letters", "salts": "salts by its letters",
    "gypsum": "gypsum or visible salts by its letters", "gleyed": "gleyed", "c": "a C", "hard_rock": "hard rock",
    "soft_rock": "soft rock", "forest_floor": "forest floor", "peat": "peat", "transitional_a": "an A passing into another horizon",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class BtAnswer:
    """Whether a designation is a Bt (None: it does not say), and why in one sentence."""

    designation: str
    is_bt: bool | None
    reason: str


def explain_bt(text: str, convention: str = "canadian") -> BtAnswer:
    """Whether a horizon so designated counts as Bt in ``depth_to_bt``, and why.

    Parameters
    ----------
    text : designation as written.
    convention : canadian, usda or wrb.
    """
    designation = parse_designation(text, convention)
    if not designation.parts:
        return BtAnswer(text, None, "the designation cannot be read")
    is_b = [part for part in designation.parts if part.master == "B"]
    weak = {suffix.letters for part in designation.parts for suffix in part.suffixes if suffix.weak}
    answer = answers(text, convention)["bt"]
    if not is_b:
        what = f"{designation.master} is not a B" if len(designation.master) == 1 else (
            f"{designation.master} passes from {designation.master[0]} to {designation.master[1:]} and is not a B of its own")  # fmt: skip
        t = ", though it carries t" if designation.has("t", weak=True) else ""
        return BtAnswer(text, False, what + t)
    if designation.buried and designation.has("t"):
        return BtAnswer(text, False, "b: it is buried, and nothing at or below the first buried horizon counts")
    if answer:
        return BtAnswer(text, True, _why_bt(designation, weak))
    if answer is None:
        return BtAnswer(text, None, "a bare B does not say whether it is a Bt: at least its top is known")
    if "t" in weak:
        return BtAnswer(text, False, "a j weakens the letter before it: here the t is weak (Btj), and a weak t is not a Bt")
    return BtAnswer(text, False, "a B without t")


def _why_bt(designation: Designation, weak: set[str]) -> str:
    reason = "a B with t"
    if weak:
        letters = " and ".join(sorted(weak))
        reason += f"; a j weakens the letter before it, so only the {letters} is weak"
    if designation.discontinuity > 1:
        reason += f"; the numeral says material {designation.discontinuity}, which changes nothing"
    if len(designation.parts) > 1:
        reason += "; one part of the horizon is a Bt"
    others = [
        suffix.letters for part in designation.parts for suffix in part.suffixes
        if suffix.letters != "t" and suffix.letters not in weak
    ]  # fmt: skip
    if others:
        reason += f"; {', '.join(dict.fromkeys(others))} beside it changes nothing"
    return reason


def explain_designation(text: str, convention: str = "canadian") -> str:
    """What the attributes take a designation for, in one line."""
    designation = parse_designation(text, convention)
    if not designation.parts:
        return "the designation cannot be read"
    kinds = answers(text, convention)
    says = [SAYS[name] for name, yes in kinds.items() if yes and name in SAYS]
    parts = ["Taken for " + "; ".join(says) if says else "No attribute looks for it by itself"]
    if designation.buried:
        parts.append("Buried: nothing at or below the first buried horizon counts in depths of the soil above")
    if designation.discontinuity > 1:
        parts.append(f"Material {designation.discontinuity}, below a discontinuity")
    if any(part.master == "B" for part in designation.parts) or designation.has("t", weak=True):
        bt = explain_bt(text, convention)
        parts.append(f"Bt: {'yes' if bt.is_bt else 'not said' if bt.is_bt is None else 'no'}, {bt.reason}")
    parts += designation.notes
    return ". ".join(parts) + "."


def silence(attributes: Attributes, name: str) -> pd.DataFrame:
    """How many pits say nothing of an attribute, by cause, most frequent first.

    Returns a table: cause, pits (a count), pit_ids (separated by semicolons). A
    pit that only says "from 0, no upper limit" says nothing either.
    """
    values = attributes.values[attributes.values["attribute"] == name]
    if values.empty:
        allowed = ", ".join(definition.name for definition in attributes.definitions)
        raise SettingsError("there is no such attribute among those derived", found=repr(name), allowed=allowed)
    nothing = values["status"].eq("unknown")
    from_zero = values["status"].eq("at_least") & values["low"].eq(0)
    quiet = values[nothing | from_zero]
    cause = quiet["evidence"].where(quiet["status"].eq("unknown"), "the pit ended above it").fillna("not stated")
    table = quiet.assign(cause=cause).groupby("cause", sort=True)["pit_id"].agg(["size", ";".join]).reset_index()
    table.columns = ["cause", "pits", "pit_ids"]
    return table.sort_values(["pits", "cause"], ascending=[False, True], kind="stable").reset_index(drop=True)
