"""What the report says of topsoil to be salvaged: lifts with their volumes, and what a cut would mix or leave."""

from __future__ import annotations

from collections.abc import Sequence

import pandas as pd

from .bundle import Bundle
from .report_facts import table_of

CAUTION = "caution: "


def salvage_rows(bundle: Bundle) -> dict | None:
    """One row a lift, the cut that the survey sets, and the notes; None where nothing is to be salvaged."""
    if bundle.salvage is None or bundle.salvage.lifts.empty:
        return None
    lifts = pd.DataFrame(bundle.salvage.lifts.drop(columns=bundle.salvage.lifts.geometry.name))
    lifts["lift"] = lifts["lift"].str.replace(" ", "\u00a0")  # a lift of two words stays on one line
    wanted = {
        "polygon_id": "Area", "lift": "", "area_ha": "Hectares", "mean_cm": "Mean (cm)", "low90_cm": "Low (cm)", "high90_cm": "High (cm)",
        "bank_volume_m3": "Bank volume (m³)", "low90_m3": "Low (m³)", "high90_m3": "High (m³)", "covered_percent": "Covered (%)",
        "pits_inside": "Pits",
    }  # fmt: skip
    return {"rule": bundle.salvage.rule_title or bundle.salvage.rule, **table_of(lifts, wanted, 30), "cut": _cut(lifts),
            "notes": _notes(bundle.salvage.notes)}  # fmt: skip


def _notes(notes: Sequence[str], most: int = 4) -> list[str]:
    """Every caution, then the first of the others."""
    cautions = [note for note in notes if note.startswith(CAUTION)]
    return cautions + [note for note in notes if note not in cautions][:most]


def _cut(lifts: pd.DataFrame) -> dict | None:
    """The depths to strip and what a flat cut mixes in or leaves; None where the survey sets no cut."""
    set_by = [name for name in ("strip_depth_cm", "flat_strip_cm") if name in lifts]
    rows = lifts[lifts[set_by].notna().any(axis=1)] if set_by else lifts.head(0)
    wanted = {
        "polygon_id": "Area", "lift": "", "strip_depth_cm": "Planned cut (cm)", "planned_subsoil_m3": "Subsoil in it (m³)",
        "planned_left_behind_m3": "Left below it (m³)", "flat_strip_cm": "Flat cut (cm)", "thinner_ha": "Thinner (ha)",
        "subsoil_m3": "Subsoil in it (m³)", "subsoil_low90_m3": "Low (m³)", "subsoil_high90_m3": "High (m³)", "left_behind_m3": "Left below it (m³)",
    }  # fmt: skip
    return table_of(rows, {name: title for name, title in wanted.items() if name in rows}, 30) if len(rows) else None
