"""Horizons that follow one another on a line: by sentences, or listed with commas, slashes or blanks (``Ah 0-12 L, Bm 12-40 CL``)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from .codes import code_clauses
from .depths import goes_on_from
from .entries import HEAD, Entry, entry_at, entry_within
from .phrases import find_phrases
from .single_depths import single_depth_at
from .unread_layers import is_below_a_layer

_DEPTHS_BEHIND = r"[\^\dIVX]{0,4}[A-Z][\w/'&-]{0,9}[\s:=,;(/|\u2010-\u2015-]{1,8}(?:from\s{1,4})?\d"
_DEPTHS_BEFORE = (
    r"\d{1,4}(?:\.\d)?\s?(?:cm|in|[\"'])?\s?(?:to|-|\u2013|\u2014)\s?\d{1,4}(?:\.\d)?\s?\+?\s?(?:cm|inches|in|[\"'])?[\s:=,;)/|\u2010-\u2015-]{1,4}[\^\dIVX]{0,4}[A-Z]"
)
_MARK = re.compile(
    r"(?P<sentence>[.;]\s+(?=[\w^]))"
    rf"|(?<=\S)(?P<listed>\s{{0,8}}[,/|+&\u2013\u2014](?:\s{{1,8}}|(?=[A-Z]))|\s{{1,8}}(?:->|-{{1,3}}|>{{1,3}})\s{{1,8}}|[ \t]{{1,8}})(?={_DEPTHS_BEHIND}|{_DEPTHS_BEFORE})"
)  # fmt: skip
_NO_DEPTHS = re.compile(r"\s{0,4}(?:%|percent|per cent|pct|mm\b|(?:cm|in|inches)?\s*(?:thick|wide|long|apart|in diameter|across)\b)", re.IGNORECASE)


def further_horizons(text: str, start: int, end: int, last: Entry, above: Entry | None = None) -> Iterator[tuple[int, Entry]]:
    """(where the one above ends, horizon) of each that begins in ``text[start:end]``, which goes on with the horizon ``last``.

    A horizon of a list must begin where the last ended; behind a comma, a slash and the
    like it may also leave a gap, which is a fault of the record and not a part of the
    horizon above. ``above`` is the last horizon that has depths, where ``last`` has none.
    """
    alone = last.depths is None
    last = above or last if alone else last
    for mark in _MARK.finditer(text, start, end):
        entry = entry_at(text, mark.end(), end)
        marked = mark["listed"] is None or bool(mark["listed"].strip())
        single = single_depth_at(text, mark.end(), end, last) if not entry and marked and text[mark.end() : mark.end() + 1].isupper() else None
        if single and len(single.designation) > 1 and text.count("(", start, mark.start()) <= text.count(")", start, mark.start()):
            entry = single  # Ap 0-15, Bm 25 cm, Ck 40-100
        elif mark["listed"] is None:
            if not (entry and (is_below_a_layer(text, start, mark.start(), entry, last) or _is_behind_one_depth(text, entry, last) or (alone and _is_listed(text, entry, last, True)))):
                if not (entry and entry.known and _follows(entry, last)):
                    entry = entry_within(text, mark.end(), end)
                if not (entry and entry.known and _follows(entry, last)) or _leads_with_the_last(text, entry):
                    continue
        elif text.count("(", start, mark.start()) > text.count(")", start, mark.start()):
            continue
        elif not (entry and _is_listed(text, entry, last, marked)):
            continue
        yield mark.start(), entry
        alone = entry.depths is None
        last = last if alone else entry


def _leads_with_the_last(text: str, entry: Entry) -> bool:
    """``clear smooth boundary, Bt 12-30``: what stands before the comma is of the horizon above, and the list goes on behind it."""
    lead = text[slice(*entry.lead)].rstrip() if entry.lead else ""
    words = lead.rstrip(" ,/|>-\u2013\u2014")
    return words != lead and bool(find_phrases(words)[0] or code_clauses(words))


def _follows(entry: Entry, last: Entry) -> bool:
    return entry.depths is not None and last.depths is not None and goes_on_from(entry.depths, last.depths)


def _is_listed(text: str, entry: Entry, last: Entry, marked: bool) -> bool:
    depths, above = entry.depths, last.depths
    if _is_behind_one_depth(text, entry, last):
        return marked
    if not entry.known or depths is None or above is None or above.lower is None or _NO_DEPTHS.match(text, depths.end):
        return False
    if above.start < last.designation_at[0] and entry.designation_at[0] < depths.start:
        return False  # 18-28 Bm, 10YR 4/4 C; 28-38 Ck: where depths stand first, C is a texture
    if depths.start < entry.designation_at[0] and above.start > last.designation_at[0] and entry_at(text, entry.designation_at[0], entry.designation_at[1] + HEAD) is not None:
        return False  # Ap 0-30 cm, gravel 30-45 cm, Bt 45-60
    if depths.lower is None and not depths.open_plainly:
        return False
    return goes_on_from(depths, above) or (marked and depths.lower is not None and depths.lower.low > depths.upper.high >= depths.upper.low >= above.lower.high)


def _is_behind_one_depth(text: str, entry: Entry, last: Entry) -> bool:
    """``Ap 20 cm, Bm 15-40``: a whole range behind a horizon with one depth or none, which it need not go on from."""
    above, depths = last.depths, entry.depths
    if not entry.known or depths is None or depths.lower is None or _NO_DEPTHS.match(text, depths.end):
        return False
    return above is None or (above.lower is None and not above.open_plainly and len(entry.designation) > 1)
