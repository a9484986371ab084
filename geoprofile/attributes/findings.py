"""What pits show that a map must not pass over, gathered to a few lines for the list of problems.

Each is flagged pit by pit beside the value; here it is said once, so that erosion,
knoll wash and unusable salt measurements are seen by who reads only the list.
"""

from __future__ import annotations

from collections.abc import Iterator, Sized

import pandas as pd

from ..intervals import Interval
from ..problems import Problem
from .carbonates import LIME_OVER_LIME_FREE
from .salts import OTHER_EXTRACT
from .thickness import PLOUGHED_UP

MANY = 12
"""Beyond so many pits of one kind they share a line."""


class Findings:
    """Flags as they come, pit by pit; ``problems`` at the end."""

    def __init__(self) -> None:
        self._lime: dict[str, tuple[str, str]] = {}
        self._ploughed_up: dict[str, None] = {}
        self._extracts: dict[str, list[str]] = {}

    def take(self, pit_id: str, interval: Interval) -> None:
        """Note what the flags of one derived interval say; also where a direct reading outranks it."""
        for number, flag in enumerate(interval.flags):
            if flag == LIME_OVER_LIME_FREE:
                first, continuous = interval.flags[number + 1 : number + 3]
                self._lime.setdefault(pit_id, (first, continuous))
            elif flag == PLOUGHED_UP:
                self._ploughed_up[pit_id] = None
            elif flag.startswith(OTHER_EXTRACT):
                for extract in flag.removeprefix(OTHER_EXTRACT).split(", "):
                    self._extracts.setdefault(extract, []).append(pit_id)

    def problems(self, pits: pd.DataFrame, extract: str) -> Iterator[Problem]:
        """A line a finding (a pit each for lime over lime-free, unless there are many).

        ``pits`` has pit_id, file, sheet, row; ``extract`` is the one asked for in depth_to_salts.
        """
        yield from self._of_lime(pits.drop_duplicates("pit_id").set_index("pit_id"))
        if self._ploughed_up:
            washed = [pit_id for pit_id in self._ploughed_up if pit_id in self._lime]
            instead = f"; over a lime-free layer ({', '.join(washed)}) the lime may be wash or spread instead" if washed else ""
            yield Problem(
                "note", "ploughed-up subsoil",
                f"{_pits_have(self._ploughed_up)} an Ap that looks like ploughed-up B or C: topsoil was lost there, and the thickness of A does not show it",
                field="designation", found=", ".join(self._ploughed_up),
                allowed="an Ap of moist value below 4 and chroma below 3 that does not effervesce (common practice)",
                remedy=f"look at these pits before their A is taken for topsoil{instead}",
            )  # fmt: skip
        if self._extracts:
            pit_ids = {pit_id for ids in self._extracts.values() for pit_id in ids}
            yield Problem(
                "note", "other extract",
                f"{_pits_have(pit_ids)} EC by another extract than the one asked for; it was not used, since extracts are not interchangeable",
                field="ec_ds_m", found="; ".join(f"{name}: {', '.join(ids)}" for name, ids in sorted(self._extracts.items())),
                allowed=extract, remedy="[attributes.for.depth_to_salts] extract and limit choose another; write the extract where it is not stated",
            )  # fmt: skip

    def _of_lime(self, pits: pd.DataFrame) -> Iterator[Problem]:
        common = {
            "field": "effervescence", "allowed": "lime-free above, calcareous below",
            "remedy": "find out whether it is wash from a knoll, road dust or lime that was spread; the depth to carbonates given is the first of the two",
        }  # fmt: skip
        if len(self._lime) > MANY:
            short = [f"{pit_id}: {' and '.join(depth.split('calcareous ')[1] for depth in both)}" for pit_id, both in self._lime.items()]
            yield Problem("warning", "lime over lime-free", f"{len(self._lime)} pits are calcareous over a lime-free layer: first, and continuously calcareous",
                          found="; ".join(short), **common)  # fmt: skip
            return
        for pit_id, both in self._lime.items():
            row = pits.loc[pit_id] if pit_id in pits.index else {}
            at = {name: "" if pd.isna(row.get(name)) else str(row.get(name)) for name in ("file", "sheet")}
            number = row.get("row")
            yield Problem("warning", "lime over lime-free", "the soil is calcareous over a lime-free layer, so there are two depths",
                          pit_id=pit_id, row=None if pd.isna(number) else int(number), found=", ".join(both), **at, **common)  # fmt: skip


def _pits_have(pits: Sized) -> str:
    return "1 pit has" if len(pits) == 1 else f"{len(pits)} pits have"
