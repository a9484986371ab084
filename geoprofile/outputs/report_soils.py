"""What the report says of the soils named from the record: how many of each, and where surveyor and record differ."""

from __future__ import annotations

from .bundle import Bundle
from .report_facts import cell_text

HEADINGS = ("Great group", "Pits", "Decided", "Decided if the unseen is as usual", "Open", "Agrees with the surveyor", "Surveyor's is possible", "Differs", "Not compared")
DIFFERS, POSSIBLE, SUPPOSED = "differs", "among the alternatives", "decided if"
MOST_GROUPS, MOST_PITS = 15, 12


def soil_rows(bundle: Bundle) -> dict | None:
    """Great groups with their pits, and the pits whose written name the record does not support; None where no pit is named."""
    if bundle.soil_names is None:
        return None
    names = bundle.soil_names.names
    named = names[names["subgroup"] != ""]
    if named.empty:
        return None
    sure, agreement = named["sure"], named["agreement"]
    supposed, decided = sure.str.startswith(SUPPOSED), sure.str.startswith("decided")
    agrees, possible, differs = agreement.str.startswith("agrees"), agreement == POSSIBLE, agreement == DIFFERS
    counted = {
        "decided": decided & ~supposed, "supposed": supposed, "open": ~decided, "agrees": agrees, "possible": possible, "differs": differs,
        "not_compared": ~(agrees | possible | differs),
    }  # fmt: skip
    told = named.assign(**counted)
    groups = told.groupby("great_group", sort=False)[list(counted)].sum()
    groups.insert(0, "pits", told["great_group"].value_counts())
    groups = groups.reset_index().sort_values(["pits", "great_group"], ascending=[False, True], kind="stable")
    differing = told[told["differs"]]
    wanted = ["pit_id", "recorded_soil", "subgroup", "agreement_why"]
    return {
        "headings": list(HEADINGS),
        "groups": [[cell_text(value) for value in row] for row in groups.head(MOST_GROUPS).itertuples(index=False)],
        "more": max(len(groups) - MOST_GROUPS, 0),
        "unnamed": len(names) - len(named),
        "differing": [list(map(str, row)) for row in differing[wanted].head(MOST_PITS).itertuples(index=False)],
        "more_differing": max(len(differing) - MOST_PITS, 0),
    }
