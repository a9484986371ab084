"""Depths by horizon names against what the describers recorded apart from the horizons.

Source: United States national soil survey point records for research plots, queried 2023-01-06 (public domain); see
SOURCE.md beside the data. The counts are those that a plain first rule on names reaches; what does not agree is printed.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from geoprofile.attributes.stage import derive_attributes
from geoprofile.context import Context
from geoprofile.pits.stage import read_pits
from geoprofile.record import Record
from geoprofile.settings import load_survey

pytestmark = pytest.mark.shared
TOLERANCE_CM = 2
ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def survey(tmp_path_factory):
    """The survey file of the real pits, and its context."""
    data = ROOT.parent / "shared" / "data" / "pits-us"
    if not data.is_dir():
        pytest.skip("the open data folder ../shared is not beside the project")
    settings = load_survey(ROOT / "tests" / "pits" / "surveys" / "pits_us.toml")
    return settings, Context(settings.survey, settings.grid, data, tmp_path_factory.mktemp("us"))


@pytest.fixture(scope="module")
def pits_us(survey):
    settings, context = survey
    return read_pits(settings.pits, context, Record("pits", {}))


@pytest.fixture(scope="module")
def derived(pits_us, survey):
    """Values by attribute and pit, with depths as the describers count them: from the top of the organic layers."""
    settings, context = survey
    values = derive_attributes(pits_us, settings.attributes, context, Record("attributes", {})).values
    shift = pits_us.pits.set_index("pit_id")["datum_shift_cm"]
    moved = values["pit_id"].map(shift).fillna(0)
    return values.assign(low=values["low"] - moved, high=values["high"] - moved)


def held_against(derived, attribute: str, truth: pd.Series) -> pd.DataFrame:
    """Pits that have both, with ``agrees``: the interval meets the recorded depth within the tolerance."""
    both = derived[derived["attribute"] == attribute].set_index("pit_id").join(truth.rename("truth"), how="inner")
    both = both[both["truth"].notna()]
    agrees = (both["low"] - TOLERANCE_CM <= both["truth"]) & (both["truth"] <= both["high"] + TOLERANCE_CM)
    return both.assign(agrees=agrees & both["presence"].eq("present"))


def exactly(both: pd.DataFrame) -> pd.DataFrame:
    """Of these, the ones that agree with a single depth and not with a range."""
    return both[both["agrees"] & both["status"].isin(["measured", "at_surface"])]


def why(both: pd.DataFrame, horizons: pd.DataFrame, shift: pd.Series, letters: str) -> list[str]:
    """One line a pit that does not agree: why, what is recorded, what is derived, and the horizons."""
    lines = []
    for pit_id, row in both[~both["agrees"]].sort_values("truth").iterrows():
        own = horizons[horizons["pit_id"] == pit_id]
        tops = own["upper_cm"] - shift[pit_id]
        names = own["designation"].fillna("-")
        at = names[(tops - row["truth"]).abs() <= TOLERANCE_CM]
        told = names.str.contains(letters)
        if at.empty:
            reason = "recorded inside a horizon"
        elif not told[at.index].any():
            reason = f"recorded for {' or '.join(at)}, a name that does not say so"
        elif row["low"] + TOLERANCE_CM < row["truth"] and told[tops < row["truth"] - TOLERANCE_CM].any():
            reason = f"recorded for {' or '.join(at)} only, though {names[told].iloc[0]} lies above it"
        else:
            reason = f"{' or '.join(at)} is such a horizon in part, or buried"
        said = row["status"] if pd.isna(row["low"]) else f"{row['status']} {row['low']:g}"
        written = " ".join(f"{name}@{top:g}" for name, top in zip(names, tops))
        lines.append(f"{pit_id}: {reason}; recorded {row['truth']:g} cm, derived {said}: {written}")
    return lines


def with_the_letters(horizons: pd.DataFrame, pattern: str) -> set[str]:
    """Pits that have a designation like this anywhere, buried or not."""
    return set(horizons[horizons["designation"].fillna("").str.contains(pattern)]["pit_id"])


def first_of(folder, name: str, column: str, pattern: str) -> pd.Series:
    table = pd.read_csv(folder / name, dtype={"pit_id": "str"})
    return table[table[column].fillna("").str.contains(pattern)].groupby("pit_id")["upper_depth_cm"].min()


@pytest.mark.parametrize(
    ("attribute", "file", "column", "pattern", "letters", "least", "of"),
    [
        ("depth_to_bt", "diagnostic_features.csv", "feature", "^argillic horizon$", "B[a-z]*t", 252, 266),
        ("depth_to_secondary_carbonates", "diagnostic_features.csv", "feature", "^secondary carbonates$", "k", 42, 43),
        ("depth_to_rock", "restrictions.csv", "kind", "^bedrock", r"^\d?(?:R|Cr)", 88, 94),
    ],
)
def test_names_of_horizons_meet_what_was_recorded_beside_them(
    derived, pits_us, shared, capsys, attribute, file, column, pattern, letters, least, of
):
    """Of the pits that have both: a feature recorded apart, and its letters in a designation.

    Counted twice: where the letters stand in the soil at the surface, which our depth is about, and anywhere.
    """
    both = held_against(derived, attribute, first_of(shared / "data" / "pits-us", file, column, pattern))
    present = both[both["presence"] == "present"]
    exact = exactly(present)
    anywhere = with_the_letters(pits_us.horizons, letters) & set(both.index)
    shift = pits_us.pits.set_index("pit_id")["datum_shift_cm"]
    with capsys.disabled():
        print(f"\n{attribute}: {len(exact)} of {len(present)} agree within {TOLERANCE_CM} cm ({len(exact)} of {len(anywhere)} that have "
              f"its letters at all, {int(present['agrees'].sum())} with ranges); the rest and those named otherwise:")  # fmt: skip
        print("\n".join("  " + line for line in why(both, pits_us.horizons, shift, letters)))
    assert len(exact) >= least
    assert len(present) <= len(anywhere) <= of + 2
    assert len(exact) / len(anywhere) >= least / of


def test_a_pit_that_says_at_least_is_not_contradicted_by_what_was_recorded(derived, shared):
    """An "at least" from names may be overtaken only where the describer used a name without t."""
    truth = first_of(shared / "data" / "pits-us", "diagnostic_features.csv", "feature", "^argillic horizon$")
    both = held_against(derived, "depth_to_bt", truth)
    bounded = both[both["status"] == "at_least"]
    overtaken = bounded[bounded["truth"] + TOLERANCE_CM < bounded["low"]]
    assert len(overtaken) <= 4  # argillic horizons recorded on Bw, EBt and E/B


def test_four_of_five_depths_to_rock_say_at_least_and_none_says_less(derived):
    rock = derived[derived["attribute"] == "depth_to_rock"]
    assert rock["status"].isin(["at_least", "measured", "at_surface", "between", "unknown"]).all()
    assert (rock["status"] == "at_least").mean() > 0.75


def test_effervescence_that_was_not_recorded_stays_unknown(derived, pits_us):
    """2,936 of 4,636 rows have no effervescence: not recorded is not none (R7)."""
    recorded = pits_us.horizons.groupby("pit_id")["effervescence"].count()
    nothing = set(recorded[recorded == 0].index)
    fizz = derived[derived["attribute"] == "depth_to_effervescence"].set_index("pit_id")
    assert (fizz.loc[sorted(nothing), "status"] == "unknown").all()
    assert len(nothing) > 300


def test_letters_against_carbonate_measured_in_the_laboratory(pits_us, derived, shared, capsys):
    """Names and laboratory of the same pits (NEON data products DP1.00096.001 and DP1.10047.001, January 2023).

    Secondary carbonates by k: the sample at or below that depth should hold carbonate.
    """
    lab = pd.read_csv(shared / "data" / "pits-lab" / "laboratory.csv", low_memory=False)
    lab = lab.dropna(subset=["caco3Conc", "horizonTopDepth"])
    k = derived[(derived["attribute"] == "depth_to_secondary_carbonates") & (derived["presence"] == "present")]
    joined = lab.merge(k[["pit_id", "low"]], left_on="nrcsDescriptionID", right_on="pit_id")
    below = joined[joined["horizonTopDepth"] >= joined["low"] - TOLERANCE_CM]
    most = below.groupby("pit_id")["caco3Conc"].max()
    with capsys.disabled():
        print(f"\nk by name: {int((most > 0).sum())} of {len(most)} pits hold CaCO3 at or below it in the laboratory")
    assert len(most) > 80
    assert (most > 0).mean() > 0.95
