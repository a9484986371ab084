"""Real tables with a mapping each: as many rows come out as went in, used or listed with a reason.

Brazil: semicolons, decimal commas, NA and NULL as names, orphans (CC BY 4.0, github.com/Laboratorio-de-Pedometria/febr-data).
Laboratory: rows out of order, split samples, remarks (National Ecological Observatory Network, DP1.00096.001 and
DP1.10047.001, CC0 1.0). Laboratory carbonate is held against what the same pits were named and how they effervesced.
"""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from geoprofile.context import Context
from geoprofile.pits.readers.delimited import READER
from geoprofile.pits.stage import read_pits
from geoprofile.record import Record
from geoprofile.settings import load_survey
from geoprofile.vocabulary.designations import parse_designation

pytestmark = pytest.mark.shared
HERE = Path(__file__).resolve()
SURVEYS = HERE.parents[1] / "pits" / "surveys"
DATA = HERE.parents[3] / "shared" / "data"
READ = {}


def read(name: str, folder: str, out: Path):
    """(product, settings) of a survey file of tests/pits/surveys over the data beside the project; read once."""
    if not (DATA / folder).is_dir():
        pytest.skip("the open data folder ../shared is not beside the project")
    if name not in READ:
        survey = load_survey(SURVEYS / f"{name}.toml")
        READ[name] = read_pits(survey.pits, Context(survey.survey, survey.grid, DATA / folder, out), Record("pits", {}))
    return READ[name]


def rows_named(problems: pd.DataFrame, file: str) -> set[int]:
    """Every source row that a problem of a file names, in its row or among the rows set aside."""
    here = problems[(problems["file"] == file) & problems["row"].notna()]
    named = set(here["row"].astype(int))
    for found in here.loc[here["check"] == "set aside", "found"]:
        for part in found.removeprefix("rows ").removeprefix("row ").split(", "):
            first, *last = map(int, part.split(" to "))
            named |= set(range(first, (last or [first])[-1] + 1))
    return named


@pytest.mark.parametrize(
    ("survey", "folder", "file", "table", "rows"),
    [
        ("brazil", "brazil", "camada.csv", "horizons", 21125),
        ("brazil", "brazil", "observacao.csv", "pits", 7300),
        ("pits_lab", "pits-lab", "laboratory.csv", "horizons", 3645),
        ("pits_us", "pits-us", "horizons.csv", "horizons", 4636),
    ],
)
def test_every_row_is_used_or_listed_with_its_reason(survey, folder, file, table, rows, tmp_path, capsys):
    pits = read(survey, folder, tmp_path)
    source = set(READER.read(DATA / folder / file).rows.tolist())
    used = set(getattr(pits, table)["row"])
    named = rows_named(pits.problems, file)
    assert len(source) == rows and len(getattr(pits, table)) == len(used) and used <= source
    assert source - used <= named, sorted(source - used - named)[:20]
    reasons = pits.problems[(pits.problems["file"] == file) & pits.problems["row"].isin(source - used)]
    assert (reasons["what"] != "").all()
    with capsys.disabled():
        print(f"\n{file}: {rows} rows = {len(used)} used + {len(source - used)} listed")


def test_a_pit_that_is_set_aside_says_which_rows_went_with_it(tmp_path):
    pits = read("pits_lab", "pits-lab", tmp_path)
    aside = pits.problems[pits.problems["check"] == "set aside"].set_index("pit_id")
    twice = aside.loc["S2018WY029001"]
    assert "repeated id" in twice["what"] and twice["found"] == "rows 2300 to 2303, 3639 to 3646"


def test_rows_without_an_id_are_no_pit_called_NA_where_the_mapping_says_so(tmp_path):
    """R7: NA is a word of the file for 'not recorded'; in an id it counts as that only where missing_for names pit_id."""
    pits = read("pits_lab", "pits-lab", tmp_path)
    nameless = pits.problems[pits.problems["what"].str.contains("no pit id")]
    assert sorted(nameless["row"]) == [3503, 3504, 3505, 3506] and "NA" not in set(pits.pits["pit_id"])


def test_rows_out_of_order_are_put_in_order_and_split_samples_are_listed(tmp_path):
    """SOURCE.md of the data: 683 pits out of depth order, 29 overlaps of split samples."""
    pits = read("pits_lab", "pits-lab", tmp_path)
    in_order = pits.horizons.groupby("pit_id")["upper_cm"].apply(lambda upper: upper.is_monotonic_increasing)
    assert in_order.all()
    told = pits.problems.groupby("check")["pit_id"].nunique()
    assert told["order"] >= 680 and told["repeated"] >= 7
    for word in ("Sample depths adjusted", "5% cemented", "3 cores (4; 3.5; and 3.5 cm long)"):  # one of each of its three columns
        assert pits.horizons["remarks"].fillna("").str.contains(word, regex=False).any()


def test_NA_and_NULL_are_not_names_of_horizons_in_brazil_and_their_rows_are_kept(tmp_path):
    pits = read("brazil", "brazil", tmp_path)
    cells = READER.read(DATA / "brazil" / "camada.csv")
    null = {row for row, name in zip(cells.rows.tolist(), cells.cells["camada_nome"], strict=True) if name == "NULL"}
    assert len(null) == 192
    kept = pits.horizons[pits.horizons["row"].isin(null)]
    assert len(kept) > 0 and kept["designation_as_written"].fillna("").eq("").all()
    assert null - set(kept["row"]) <= rows_named(pits.problems, "camada.csv")


def test_orphans_of_brazil_are_listed_with_all_their_rows(tmp_path):
    pits = read("brazil", "brazil", tmp_path)
    orphans = pits.problems[(pits.problems["check"] == "set aside") & pits.problems["what"].str.contains("no pit")]
    assert list(orphans["found"]) == ["rows 14847 to 14853", "rows 14854 to 14860"]


@pytest.fixture
def both(tmp_path):
    """Samples with carbonate measured beside the horizon described at their depth, for pits that both tables have."""
    lab, field = read("pits_lab", "pits-lab", tmp_path), read("pits_us", "pits-us", tmp_path)
    shared = set(lab.pits["pit_id"]) & set(field.pits["pit_id"])
    frames = []
    for pits in (lab, field):
        shift = pits.horizons["pit_id"].map(pits.pits.set_index("pit_id")["datum_shift_cm"]).fillna(0)
        frames.append(pits.horizons.assign(upper=pits.horizons["upper_cm"] - shift, lower=pits.horizons["lower_cm"] - shift))
    samples = frames[0][frames[0]["caco3_percent"].notna() & frames[0]["pit_id"].isin(shared)][["pit_id", "row", "upper", "lower", "caco3_percent"]]
    named = frames[1][["pit_id", "designation", "upper", "lower", "effervescence"]]
    pairs = samples.merge(named, on="pit_id", suffixes=("", "_named"))
    pairs["together"] = pairs[["lower", "lower_named"]].min(axis=1) - pairs[["upper", "upper_named"]].max(axis=1)
    pairs = pairs[pairs["together"] > 0].sort_values(["together", "row"], ascending=[False, True], kind="stable").drop_duplicates("row")
    letters = {text: parse_designation(text, "usda") for text in pairs["designation"].dropna().unique()}
    pairs["k"] = [text in letters and (letters[text].has("k") or letters[text].has("kk")) for text in pairs["designation"]]
    return shared, pairs


def test_laboratory_carbonate_against_the_names_and_the_acid_of_the_same_pits(both, capsys):
    """740 pits stand in both tables; one is refused in the laboratory's, as its id stands at two places."""
    shared, pairs = both
    lime = pairs["caco3_percent"] > 0
    fizz, tested = pairs["effervescence"].isin(["very slight", "slight", "strong", "violent"]), pairs["effervescence"].notna()
    pit = pairs.assign(lime=lime).groupby("pit_id").agg(k=("k", "any"), lime=("lime", "any"))
    none = pairs[tested & ~fizz]["caco3_percent"]
    means = pairs.groupby("effervescence")["caco3_percent"].mean()
    with capsys.disabled():
        print(f"\nlaboratory carbonate against the field: {len(shared)} pits in both tables, {len(pairs)} samples with CaCO3 measured in {len(pit)} of them")
        print(f"  named with k:        {int((pairs['k'] & lime).sum())} of {int(pairs['k'].sum())} horizons hold CaCO3 ({(pairs['k'] & lime).sum() / pairs['k'].sum():.0%})")
        print(f"  named without k:     {int((~pairs['k'] & ~lime).sum())} of {int((~pairs['k']).sum())} hold none: k says secondary carbonate, the laboratory any")
        print(f"  effervescing:        {int((fizz & lime).sum())} of {int(fizz.sum())} hold CaCO3 ({(fizz & lime).sum() / fizz.sum():.0%})")
        print(f"  tested, no reaction: {int((none == 0).sum())} of {len(none)} hold none, {int((none < 2).sum())} less than 2 % ({(none < 2).mean():.0%})")
        print(f"  pits:                {int((pit['k'] & pit['lime']).sum())} of {int(pit['k'].sum())} with a k hold CaCO3 somewhere")
        print("  mean CaCO3, %:       " + ", ".join(f"{name} {means[name]:.1f}" for name in ("none", "very slight", "slight", "strong", "violent")))
    assert len(shared) == 739 and len(pairs) >= 930
    assert (pairs["k"] & lime).sum() / pairs["k"].sum() >= 0.93
    assert (fizz & lime).sum() / fizz.sum() >= 0.94
    assert (none < 2).mean() >= 0.75
    assert means["none"] < means["very slight"] < means["slight"] < means["strong"] < means["violent"]
