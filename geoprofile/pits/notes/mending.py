"""The text that is read for the text that is there: same length, so that every place stands.

What a web page, a scanner or another country's keyboard left in the text is replaced
by what it stands for and filled up with blanks: marks of a page and its entities,
soft hyphens, words broken over two lines, decimal commas, curly quotes and primes;
a slash that parts fields is read as a semicolon (``slashes``), a dotted line of a form
as a colon, and of boxes only what is ticked (``form_marks``).
The text itself stays as it is: remarks and the shown reading quote it.
"""

from __future__ import annotations

import html
import re

from ...vocabulary.tables import table
from .form_marks import without_form_marks
from .slashes import fields_apart
from .tokens import key_of

_TAG = re.compile(r"</?(?:br|p|b|i|u|em|strong|span|div|td|tr|th|table|tbody|font|a|hr|pre|ul|ol|li|h[1-6]|html|body|sub|sup)\b[^<>\n]{0,200}>", re.IGNORECASE)
_ENTITY = re.compile(r"&(?:[A-Za-z]{2,8}|#\d{2,5}|#[xX][0-9A-Fa-f]{2,4});")
_NEW_LINE = re.compile(r"</?(?:br|p|div|tr|li|hr|h[1-6])\b", re.IGNORECASE)
_BROKEN = re.compile(r"(?<![^\W\d_]-)\b(?P<first>[^\W\d_]{2,})(?P<break>[-\u00ad\u2010][ \t]*\r?\n[ \t]*)(?P<rest>[a-z]{2,})")
_HUE = r"\s?(?:YR|GY|BG|PB|RP|Y|R|G|B|P)(?![a-z])"
_COMMA = re.compile(
    rf"(?<![\d,./])(?P<hue>[27]),(?=5{_HUE})|(?<![\d,.])(?P<whole>\d{{1,3}}),(?=\d(?![\d,.])(?!{_HUE}))|(?<=\b[Ll]at )(?P<lat>\d{{1,2}}),(?=\d{{3,7}}\b)|(?<=\b[Ll]on )(?P<lon>\d{{1,3}}),(?=\d{{3,7}}\b)|(?<=\b[Ll]ong )(?P<long>\d{{1,3}}),(?=\d{{3,7}}\b)|(?<=[pP][hH] )(?P<ph>\d{{1,2}}),(?=\d{{2}}(?![\d,]))"
)
_SINGLE = str.maketrans(
    {"\u00a0": " ", "\u2007": " ", "\u2009": " ", "\u202f": " ", "\u200b": " ", "\ufeff": " ", "\u00ad": " ", "\u201c": '"', "\u201d": '"', "\u2033": '"', "\u02dd": '"',
     "\u02c4": "^", "\u02c6": "^", "\u2038": "^", "\uff1b": ";", "\uff1a": ":", "\uff0c": ",", "\u2264": "<", "\u2265": ">", "\u00b4": "'", "`": "'", "\u2018": "'", "\u02b9": "'"}
)  # fmt: skip


def without_markup(text: str) -> str:
    """``text`` without the leftovers of pages and line breaks; as long as the text. Remarks are quoted from it."""
    if "<" in text:
        text = _TAG.sub(lambda tag: ("\n" if _NEW_LINE.match(tag.group()) else " ").ljust(len(tag.group())), text)
    if "&" in text:
        text = _ENTITY.sub(lambda entity: _fit(html.unescape(entity.group()), len(entity.group())), text)
    return _BROKEN.sub(_join, text) if "\n" in text else text


def mend(text: str) -> str:
    """``text`` (without markup) as it is read; as long as the text."""
    text = without_form_marks(text)
    return fields_apart(_COMMA.sub(lambda found: f"{found.group()[:-1]}.", text.translate(_SINGLE)))


def _fit(better: str, length: int) -> str:
    return better.ljust(length) if len(better) <= length else " " * length


def _join(found: re.Match) -> str:
    """``yellow-`` and ``ish`` are one word, ``yellowish-`` and ``brown`` stay two."""
    first, rest = found["first"], found["rest"]
    two = key_of(first) in _alone() and key_of(rest) in _alone()
    gap = len(found["break"])
    return f"{first} {rest}".ljust(len(first) + gap + len(rest)) if two else f"{first}{rest}".ljust(len(first) + gap + len(rest))


def _alone() -> frozenset[str]:
    names = table("notes")["colour_names"]
    return frozenset((*names["before"], *names["base"], "sub", "fine", "medium", "coarse", "thin", "thick", "weak", "moderate", "strong", "to", "and", "sand", "silt", "clay", "loam"))
