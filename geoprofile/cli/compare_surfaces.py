"""``geoprofile surfaces --compare``: the methods beside each other, so that nobody chooses in silence."""

from __future__ import annotations

import dataclasses

from .progress_display import make_progress
from .shared import ShowProgress, print_json, say

FILE = "surfaces/method_comparison.csv"


def compare(run, progress: ShowProgress, as_json: bool) -> int:
    """Score every installed method on every attribute; print the table and write it to FILE below the output folder."""
    from ..errors import InputError
    from ..outputs.placing import write_file
    from ..outputs.tables import csv_bytes
    from ..surfaces.comparison import compare_methods, comparison_lines

    if "surfaces" not in run.products:
        raise InputError(f"there are no surfaces to compare: {run.skipped['surfaces']}", where="survey.toml")
    watcher = make_progress(progress, as_json)
    context = dataclasses.replace(run.context, progress=watcher)
    try:
        table = compare_methods(
            run.products["pits"], run.products["attributes"], run.products.get("terrain"), run.settings.surfaces, context
        )
    finally:
        watcher.close()
    file = write_file(context, FILE, csv_bytes(table), "methods beside each other, by attribute")
    titles = {one.name: f"{one.title} ({one.unit})" if one.unit else one.title for one in run.products["attributes"].definitions}
    for line in comparison_lines(table, titles):
        say(line, as_json)
    say(f"written to {context.output / file.path}", as_json)
    if as_json:
        rows = table.astype(object).where(table.notna(), None).to_dict("records")
        print_json({"ok": True, "command": "surfaces", "file": file.path, "comparison": rows})
    return 0
