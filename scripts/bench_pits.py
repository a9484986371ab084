"""Reading, checking and deriving: 994 real pits with 4,636 horizons, beside the project in ../shared."""

from __future__ import annotations

import shutil
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
DATA = ROOT.parent / "shared" / "data" / "pits-us"
SURVEY = ROOT / "tests" / "pits" / "surveys" / "pits_us.toml"


def main() -> None:
    if not DATA.is_dir():
        print("skipped: the open data folder ../shared is not beside the project")
        return
    from geoprofile.pipeline import run_survey

    with tempfile.TemporaryDirectory() as folder:
        survey = Path(folder) / "survey.toml"
        shutil.copy(SURVEY, survey)
        for turn in ("first run, libraries being loaded", "second run"):
            start = time.perf_counter()
            run = run_survey(survey, until="attributes", folder=DATA, output=Path(folder) / "out", again=True)
            seconds = time.perf_counter() - start
            pits = run.products["pits"]
            print(
                f"{turn}: {seconds:.2f} s for {len(pits.pits)} pits, {len(pits.horizons)} horizons, "
                f"{len(run.products['attributes'].definitions)} attributes, {len(run.problems)} problems"
            )


if __name__ == "__main__":
    sys.exit(main())
