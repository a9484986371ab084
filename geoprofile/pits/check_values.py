"""Values of single horizons that cannot be: colours, fractions, percentages; texture against the laboratory."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pandas as pd

from ..problems import Problem
from ..vocabulary.munsell import chip_exists, parse_colour, propose_colour
from ..vocabulary.texture import SUM_TOLERANCE, texture_class
from .profiles import Profiles

FRACTIONS = ("sand_percent", "silt_percent", "clay_percent")
PERCENTAGES = (*FRACTIONS, "coarse_fragments_percent", "caco3_percent", "organic_carbon_percent")
PH = (2.0, 10.5)
"""pH outside of this is not soil (published Canadian limits 2 to 10; half a unit more for alkali soils, ours)."""


def check_values(all_: Profiles) -> Iterator[Problem]:
    """Colours, fractions, percentages, pH, texture."""
    yield from _colours(all_)
    yield from _limits(all_)
    yield from _fractions(all_)


def _colours(all_: Profiles) -> Iterator[Problem]:
    for field in ("colour_moist", "colour_dry"):
        if field not in all_.frame:
            continue
        codes, uniques = pd.factorize(all_.frame[field].fillna("").astype("str"))
        for code, text in enumerate(uniques):
            text = str(text).strip()
            colour = parse_colour(text) if text else None
            if not text or (colour is not None and chip_exists(colour)):
                continue
            near = propose_colour(text)
            what = f"{text} is a colour that cannot be" if colour is not None else f"{text} is not a Munsell colour"
            for row in np.flatnonzero(codes == code):
                yield all_.problem(
                    row,
                    "warning",
                    "colour",
                    f"{what} ({all_.name_of(row)})",
                    field=field,
                    found=text,
                    allowed="hue value/chroma, as 10YR 4/3 or N 4/",
                    remedy=f"did you mean {near.text}?" if near else "correct it; the colour is not used",
                )


def _limits(all_: Profiles) -> Iterator[Problem]:
    for field, low, high in [
        *((name, 0.0, 100.0) for name in PERCENTAGES),
        ("ph", *PH),
        ("ec_ds_m", 0.0, np.inf),
        ("sar", 0.0, np.inf),
    ]:
        values = all_.column(field)
        with np.errstate(invalid="ignore"):
            off = (values < low) | (values > high)
        for row in np.flatnonzero(off):
            yield all_.problem(
                row,
                "warning",
                "impossible value",
                f"{field.replace('_', ' ')} of {all_.name_of(row)} cannot be",
                field=field,
                found=f"{values[row]:g}",
                allowed=f"{low:g} or more" if np.isinf(high) else f"{low:g} to {high:g}",
                remedy="correct it",
            )


def _fractions(all_: Profiles) -> Iterator[Problem]:
    sand, silt, clay = parts = [all_.column(name) for name in FRACTIONS]
    total = np.sum(parts, axis=0)
    known = np.isfinite(total)
    with np.errstate(invalid="ignore"):
        off = known & (np.abs(total - 100.0) > SUM_TOLERANCE + 1e-9)
        some = np.nansum(parts, axis=0)
        too_much = ~known & (some > 100.0 + SUM_TOLERANCE + 1e-9)
    for row in np.flatnonzero(off | too_much):
        found = total[row] if known[row] else some[row]
        yield all_.problem(
            row,
            "warning",
            "fractions",
            f"sand, silt and clay of {all_.name_of(row)} sum to {found:g} %",
            field="clay_percent",
            found=" + ".join(f"{part[row]:g}" for part in parts if np.isfinite(part[row])),
            allowed=f"100 within {SUM_TOLERANCE:g}",
            remedy="correct the fractions; no texture is derived from them",
        )
    if "texture" not in all_.frame:
        return
    derived = texture_class(sand, silt, clay, all_.convention)
    written = all_.frame["texture"].fillna("").astype("str").to_numpy(dtype=object)
    plain = np.array([_plain(text, all_.convention) for text in pd.unique(written)], dtype=object)
    plain_of = dict(zip(pd.unique(written), plain))
    named = np.array([plain_of[text] for text in written], dtype=object)
    differs = known & (derived != "") & (named != "") & (derived != named)
    for row in np.flatnonzero(differs):
        yield all_.problem(
            row,
            "note",
            "texture",
            f"texture of {all_.name_of(row)} is {written[row]} by hand, {derived[row]} by its fractions",
            field="texture",
            found=f"{sand[row]:g}/{silt[row]:g}/{clay[row]:g}",
            remedy="both are kept; look if one is misplaced",
        )


def _plain(text: str, convention: str) -> str:
    """Code of the texture class without the size of its sand; '' where it is none."""
    from ..vocabulary.terms import find_term

    term = find_term("texture", text, convention) if text else None
    if term is None:
        return ""
    name = term.name
    for size in ("very fine ", "fine ", "coarse "):
        name = name.replace(size, "")
    bare = find_term("texture", name, convention)
    return bare.code if bare else ""
