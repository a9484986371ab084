"""``geoprofile surfaces --explain X Y --attribute NAME``: why this value."""

from __future__ import annotations

import dataclasses

from .shared import print_json, say


def explain_place(run, attribute: str | None, place: tuple[float, float], as_json: bool) -> int:
    """Print why a surface, or without ``attribute`` each of them, has its value at ``place`` (x, y)."""
    from ..errors import InputError
    from ..surfaces.explaining import explain

    if "surfaces" not in run.products:
        raise InputError(f"there are no surfaces to explain: {run.skipped['surfaces']}", where="survey.toml")
    surfaces = run.products["surfaces"]
    names = [attribute] if attribute else [one.attribute for one in surfaces.surfaces]
    found = [explain(surfaces, name, *place, run.context) for name in names]
    for number, one in enumerate(found):
        for line in ([""] if number else []) + explanation_lines(one):
            say(line, as_json)
    if as_json:
        print_json({"ok": True, "command": "surfaces", "explanations": [_plain(dataclasses.asdict(one)) for one in found]})
    return 0


def explanation_lines(one) -> list[str]:
    """An explanation for people."""
    unit = f" {one.unit}" if one.unit else ""
    lines = [f"{one.title} at {one.x:.0f} E {one.y:.0f} N"]
    if one.value == one.value:
        lines.append(f"  value: {one.value:.1f}{unit}, 90 % interval {one.low90:.1f} to {one.high90:.1f}{unit}")
    else:
        hidden = f"; the model alone would say {one.hidden_value:.1f}{unit}" if one.hidden_value == one.hidden_value else ""
        lines.append(f"  value: none is shown here{hidden}")
    if one.presence_percent == one.presence_percent:
        lines.append(f"  probability that it is present: {one.presence_percent:.0f} %")
    lines += [f"  reliability: {one.reliability}"] if one.reliability else []
    lines += [f"  stratum: {one.stratum}"] if one.stratum else []
    lines += [f"  method: {one.method}", f"  model: {one.model}", "", "  pit           says      counts as   weight   distance"]
    for pit in one.pits:
        counts = "" if pit.counts_as != pit.counts_as else f"{pit.counts_as:.1f}"
        weight = "" if pit.weight != pit.weight else f"{pit.weight:.3f}"
        lines.append(f"  {pit.pit_id:<12}  {pit.says:<8}  {counts:>9}  {weight:>7}  {pit.distance_m:>7.0f} m")
    if one.rest_count:
        weight = "" if one.rest_weight != one.rest_weight else f"{one.rest_weight:.3f}"
        lines.append(f"  {f'{one.rest_count} others':<12}  {'':<8}  {'':>9}  {weight:>7}")
    return lines + [f"  {note}" for note in one.notes]


def _plain(value):
    """JSON has no NaN."""
    if isinstance(value, dict):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(part) for part in value]
    return None if isinstance(value, float) and value != value else value
