"""The groups of pits that need no polygon: the whole survey, and the soils that surveyors recorded."""

from __future__ import annotations

import pandas as pd
import shapely

from ..products import Pits
from .places import CountedPits
from .tables import Grouping, hectares


def whole_survey(pits: CountedPits, area: shapely.Geometry | None) -> Grouping:
    """All pits as one group: a wellsite of five pits has nothing else."""
    name, own, left = "whole survey", pits.counted, pits.left_out
    groups = pd.DataFrame({"survey": pd.Series([name], dtype="str")})
    if area is not None:
        groups["area_ha"] = hectares([area.area])
    groups["pits_without_place"] = int((own.geometry.isna() | own.geometry.is_empty).sum())
    members = pd.Series(name, index=pd.Index(own["pit_id"], dtype="str"), dtype="str")
    left_out = pd.DataFrame({"pit_id": left["pit_id"], "group": name, "why": left["why"]}).astype("str")
    return Grouping("survey", "survey", "whole_survey", groups, members, left_out)


def recorded_soils(pits: Pits, own: CountedPits) -> Grouping:
    """Pits by the soil their surveyor gave them; needs no place."""
    soil = pits.pits.set_index("pit_id")["recorded_soil"].fillna("").str.strip()
    recorded = soil.reindex(own.counted["pit_id"])
    names = sorted(set(recorded) - {""})
    groups = pd.DataFrame({"recorded_soil": pd.Series(names, dtype="str")})
    left = own.left_out
    left_out = pd.DataFrame({"pit_id": left["pit_id"], "group": soil.reindex(left["pit_id"]).to_numpy(), "why": left["why"]})
    return Grouping("recorded_soil", "recorded_soil", "recorded_soils", groups, recorded.astype("str"), left_out.astype("str"))
