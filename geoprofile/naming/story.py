"""The evidence for one pit's name as a stranger reads it: what it is, why, what was supposed, what is missing."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from ..errors import SettingsError
from ..products import SoilNames
from .naming import ADVICE, PASSED, POSSIBLE, TAKEN

HOW = {TAKEN: "Taken", PASSED: "Passed over", POSSIBLE: "Also possible"}


def story(names: SoilNames, pit_id: str) -> Iterator[str]:
    """Lines that tell how the name of a pit came about. Raises SettingsError for a pit that is not there."""
    rows = names.names[names.names["pit_id"] == pit_id]
    if not len(rows):
        raise SettingsError("there is no such pit", found=pit_id, allowed=f"{len(names.names)} pits", remedy="give an id of the survey")
    row = rows.iloc[0]
    yield f"{pit_id}: {row['subgroup'] or row['sure']}"
    if row["subgroup"]:
        yield f"  {row['sure']}"
        yield f"  order {row['soil_order']}; great group {row['great_group']}"
    for label, column in (("alternatives", "alternatives"), ("supposed", "supposes"), ("as designated, not measured", "as_designated"),
                          ("what would settle it", "missing")):  # fmt: skip
        if row[column]:
            yield f"  {label}: {row[column]}"
    if row["recorded_soil"]:
        why = f": {row['agreement_why']}" if row["agreement_why"] else ""
        yield f"  the surveyor's name, {row['recorded_soil']}: {row['agreement'] or 'not compared'}{why}"
    steps = names.steps[names.steps["pit_id"] == pit_id]
    if len(steps):
        yield ""
        yield "how it came about" if row["system"] != "features" else "what the record supports"
    for level, of_level in groupby(steps.to_dict("records"), key=lambda step: step["level"]):
        if level != "feature":
            yield f"  {level}"
        for (decision, soil_class), of_class in groupby(of_level, key=lambda step: (step["decision"], step["soil_class"])):
            yield from _class(decision, soil_class, list(of_class))
    yield ""
    yield ADVICE


def _class(decision: str, soil_class: str, steps: list[dict]) -> Iterator[str]:
    yield f"    {HOW[decision]}: {soil_class}" if decision in HOW else f"    {soil_class}"
    for step in steps:
        yield f"      asks {step['asks']}" if decision in HOW else f"      rests on {step['asks']}"
        yield f"      {step['answer']}: {step['evidence']}"
        if step["missing"]:
            yield f"      missing: {step['missing']}"
    yield f"      source: {steps[0]['source']}"
