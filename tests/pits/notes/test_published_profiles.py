"""Twenty published Canadian profiles (canada.md 5.2, facts only), each as field notes in three styles: one record, and its faults (5.3)."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from geoprofile.context import Context
from geoprofile.pits.stage import read_pits
from geoprofile.record import Record
from geoprofile.settings.pits import PitsSettings
from geoprofile.settings.survey import GridSettings, SurveySettings

FOLDER = Path(__file__).parent / "profiles"
STYLES = ("national", "report", "dictated")

RECORDS = """
P1  L-F -6 0 10YR 3/1 | Ahe 0 3 10YR 3/2 SiL | Ae 3 19 10YR 4.5/2 L | AB 19 25 10YR 4/3 CL | Bt 25 45 10YR 4/2 CL | BC 45 78 10YR 3.5/1 CL | Ck 78 110 10YR 3.5/1 CL
P2  L-H -4 0 10YR 2/2 | Ae 0 3 10YR 7/1 SiL | Bt 3 19 10YR 5/6 CL | C 19 54 10YR 6/2 SiL
P3  L-H -3 0 10YR 3/2 | Ae 0 10 10YR 3/2 SiL
P4  Ah 0 15 - FSL | Bm 15 38 10YR 4/3 FSL | BC 38 61 - - | Ck 66 91 10YR 6/2 -
P5  Ah 0 30 10YR 2.5/1 SiL | Bt1 30 87 10YR 4/3 L | Bt2 87 113 10YR 4/2 L
P6  L-F -1 0 - - | Ahe 0 28 - - | Bt1 28 91 - C | Bt2 91 112 - C | C 112 + - CL
P7  Ap 0 10 - - | Ae 10 20 - - | Bnt1 20 33 - - | Bnt2 33 43 - - | Bntk 43 66 - CL | Ck 66 102 - -
P8  Ahe 13 26 10YR 4/3 SiL | Ae 26 36 10YR 3/2 SiL | Bnt 37 50 10YR 4/2 CL | BC 50 61 - SiL | Ck 61 78 - L
P9  Ah 0 25 10YR 2/2 L | Ae 25 28 10YR 5/2 L | Bnt1 28 50 10YR 4/3 CL | Bnt2 50 65 - CL | Csk 65 125 - - | C 125 + - -
P10 Ah 0 18 - SiL | Ae 18 25 - SiL | AB 25 32 - SiC | Bnt1 32 48 - C | Bnt2 48 62 - C | BC 62 71 10YR 5/6 SiCL | Cskg 71 + 10YR 3/4 C
P11 Ah 0 9 10YR 2/1 L | Bm1 9 22 - - | Bm2 22 34 10YR 3/3 - | Ck 34 41 10YR 5/4 -
P12 L-H -10 0 - - | Ae 0 10 7.5YR 7/2 S | Bf 10 20 7.5YR 5/8 S | Btj 20 32 10YR 5/8 S | BC 32 70 10YR 6/8 - | C1 70 110 10YR 5/4 -
P13 Omsca -15 0 5YR 3/2 - | Ahscag1 0 25 10YR 2/1 SiCL | Ahscag2 25 37 10YR 3.5/1 SiC | Csg 37 41 2.5Y 6/1 CL | Cskg 41 80 2.5Y 6/1 SiCL
P14 Aheg 0 10 10YR 3/1 L | Btgf 18 38 5Y 3/1 CL | BCg 38 64 5Y 3.5/1 L | Cg 64 100 5Y 4/1 L
P15 H -6 0 10R 2/1 - | C1 0 3 10YR 3/2 SiC | C2 3 18 10YR 3/2 CL | C3 18 36 10YR 3/2 C
P16 LFH -2 0 10YR 3/1 - | Ah 0 5 10YR 2/2 L | Ae 5 10 10YR 8/2 SL | Bfg 10 40 10YR 5/8 L | C 40 + 10YR 7/1 L
P17 Ah 0 3 10YR 4/2 C | Bm1 3 28 7.5YR 4/2 C | Bm2 28 48 10YR 4/3 C | Ck 48 + 10YR 4/4 C
P18 Om1 0 40 - - | Om2 40 75 - - | IIC 75 + - -
P19 L-H -5 0 10YR 3/3 - | Bmg 0 15 10YR 6/3 SiC | Cg 15 84 5Y 5/1 SiCL | Cz 84 + - C
P20 Ae 0 20 - SL | Bfc 20 32.5 - S | C 32.5 + - S
"""


@pytest.fixture(scope="module")
def read():
    ready = {}
    for style in STYLES:
        context = Context(SurveySettings(crs="EPSG:3158", convention="canadian"), GridSettings(), FOLDER, FOLDER / "out")
        ready[style] = read_pits(PitsSettings.model_validate({"notes": {"file": f"{style}.txt"}}), context, Record("pits", {}))
    return ready


def _of(pits, pit_id):
    return pits.horizons[pits.horizons["pit_id"] == pit_id].reset_index(drop=True)


@pytest.mark.parametrize("style", STYLES)
@pytest.mark.parametrize("line", [line for line in RECORDS.splitlines() if line.strip()], ids=lambda line: line.split()[0])
def test_a_published_profile_reads_to_its_record(read, line, style):
    pit_id, _, rest = line.partition(" ")
    found = _of(read[style], pit_id)
    wanted = [horizon.split() for horizon in rest.split("|")]
    assert [name for name in found["designation"]] == [words[0] for words in wanted]
    for words, (_, row) in zip(wanted, found.iterrows()):
        assert row["upper_cm"] == float(words[1])
        assert row["lower_cm"] == float(words[2]) if words[2] != "+" else row["lower_cm"] != row["lower_cm"]
        colour = " ".join(words[3:5]) if "/" in " ".join(words[4:5]) else ""
        texture = words[5 if colour else 4] if len(words) > (5 if colour else 4) else "-"
        assert (row["colour_moist"] if isinstance(row["colour_moist"], str) else "") == colour, words
        assert (row["texture"] if isinstance(row["texture"], str) else "-") == texture, words


@pytest.mark.parametrize("pit_id", [line.split()[0] for line in RECORDS.splitlines() if line.strip()])
def test_the_three_styles_give_the_same_record_in_every_field(read, pit_id):
    """Every column but the place in the file and the remarks, whose words differ from style to style."""
    skip = ["file", "sheet", "row", "remarks"]
    first, *others = (_of(read[style], pit_id).drop(columns=skip) for style in STYLES)
    for other in others:
        pd.testing.assert_frame_equal(first, other)
    heads = [read[style].pits.set_index("pit_id").loc[pit_id, ["recorded_soil", "drainage", "slope_percent", "parent_material"]] for style in STYLES]
    for head in heads[1:]:
        pd.testing.assert_series_equal(heads[0], head)


@pytest.mark.parametrize(
    ("pit_id", "said"),
    [
        ("P7", "sum to 90 %"), ("P10", "sum to 96 %"), ("P11", "sum to 110 %"),  # 5.3: fractions
        ("P4", "nothing is described between"), ("P8", "nothing is described between"), ("P14", "nothing is described between"),  # 5.3: gaps 61-66, 36-37, 10-18
        ("P8", "by its fractions"), ("P6", "by its fractions"),  # 5.3: field against laboratory
        ("P3", "do not go together"),  # 5.3: colour name against notation
        ("P2", "neither k nor ca"),  # 5.3: C written, very strongly calcareous
        ("P4", "CK read as Ck"),  # 5.3: symbol in capitals
    ],
)  # fmt: skip
@pytest.mark.parametrize("style", STYLES)
def test_the_faults_of_published_profiles_are_reported(read, pit_id, said, style):
    problems = read[style].problems
    of_pit = problems[(problems["pit_id"] == pit_id) | problems["found"].str.contains(pit_id, regex=False)]
    assert of_pit["what"].str.contains(said, regex=False).any(), "\n".join(of_pit["what"])


@pytest.mark.parametrize("style", STYLES)
def test_a_first_horizon_that_is_not_at_the_surface_is_asked_about(read, style):
    """P8 starts at 13 cm: its Ah is missing in the source."""
    problems = read[style].problems
    assert (problems[problems["pit_id"] == "P8"]["check"].isin(("surface", "gap", "top"))).any()


@pytest.mark.parametrize("style", STYLES)
def test_the_surveyors_class_drainage_and_doubts_are_kept(read, style):
    pits = read[style].pits.set_index("pit_id")
    assert pits.loc["P13", "recorded_soil"] == "Rego Humic Gleysol"
    assert pits.loc["P18", "drainage"] == "very poorly" and pits.loc["P16", "drainage"] == "imperfectly"
    assert pits.loc["P20", "slope_percent"] == 3
    for uncertain in ("P18", "P20"):
        assert "depths are uncertain" in pits.loc[uncertain, "remarks"]
    assert _of(read[style], "P20").loc[1, ["lower_low_cm", "lower_high_cm"]].tolist() == [30.0, 35.0]
