"""Munsell colours of soil: read from text, checked, and turned into a screen colour.

Chain (usual practice of colour science): chromaticity of the 1943 renotation
(Newhall, Nickerson & Judd 1943), luminance of ASTM D1535, Bradford adaptation from
illuminant C to D65, sRGB of IEC 61966-2-1. Half steps are linear between
neighbours; a screen colour is a picture of the chip, not a measurement.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files

import numpy as np

HUE_LETTERS = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
"""Around the circle, ten steps each: 10R is 10, 10YR 20, 10Y 30."""

NUMBER = r"\d{1,2}(?:[.,]\d{1,2})?"
COLOUR = re.compile(
    rf"(?:(?<![^\W_])|(?<=^[dm])|(?<=[^a-z][dm]))(?<!\d/)(?<!\.)(?:(?P<hue>{NUMBER})\s*(?P<letters>RP|YR|GY|BG|PB|R|Y|G|B|P)\s*[-,]?"
    rf"\s*(?P<value>{NUMBER})\s*/\s*(?P<chroma>{NUMBER})"
    rf"|N\s*[-,]?\s*(?P<neutral>{NUMBER})\s*(?:/\s*0?(?:\.0)?)?)(?![\d.])(?!(?:(?<=,\d)|(?<=,\d\d))(?:/|\s*(?:RP|YR|GY|BG|PB|[RYGBP])\s*\d))",
    re.IGNORECASE,
)
STATE = re.compile(r"(?<![^\W_])(?:(?P<moist>moist|wet|damp|m)|(?P<dry>dry|dried|d))(?![^\W_])", re.IGNORECASE)
CLOSE = re.compile(r"(?<=\d/\d)/(?=\d{1,2}(?:[.,]5)?\s*(?:RP|YR|GY|BG|PB|R|Y|G|B|P)\s*\d)", re.IGNORECASE)
"""Between two colours without a blank: ``10YR4/2/10YR5/2``."""
NAME_NEXT = re.compile(r"[.\s]+(?:(?:yellow|redd|brown|gray|grey|oliv|pink|blu|green)ish\s+)?(?:brown|gr[ae]y|red|yellow|olive|black|br|gr|rd)\b", re.IGNORECASE)
"""Behind a lone ``d``: then it may be dark as well as dry."""
BOTH = re.compile(r"\s*(?:and|or|&|\+|/|,)\s*", re.IGNORECASE)
PARTING = re.compile(r"[,;/|&+\n]|\band\b|\bto\b", re.IGNORECASE)
ILLUMINANT_C = (0.31006, 0.31616)
ILLUMINANT_D65 = (0.3127, 0.3290)
BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
XYZ_TO_SRGB = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])


@dataclass(frozen=True, slots=True)
class Colour:
    """Hue such as ``10YR`` (``N`` = neutral), value, chroma."""

    hue: str
    value: float
    chroma: float

    @property
    def text(self) -> str:
        """``10YR 4/3``, ``2.5Y 4.5/2``, ``N 4/``."""
        if self.hue == "N":
            return f"N {self.value:g}/"
        return f"{self.hue} {self.value:g}/{self.chroma:g}"

    @property
    def hue_step(self) -> float:
        """Place on the circle of 100 hues (10R = 10, 10YR = 20); NaN for neutral."""
        if self.hue == "N":
            return float("nan")
        number, letters = re.fullmatch(r"([\d.]+)([A-Z]+)", self.hue).groups()
        return 10.0 * HUE_LETTERS.index(letters) + float(number)


@lru_cache(maxsize=65536)
def parse_colour(text: str) -> Colour | None:
    """The one Munsell colour in ``text``; None where there is none, or more than one.

    Tolerates ``10yr4/3``, ``10 YR 4/3``, a colour name, and the state behind it
    (``10YR 4/3 m``). A chroma left out (``7.5YR 3/``) is not guessed.
    """
    found = parse_colours(text)
    return found[0][0] if len(found) == 1 else None


@lru_cache(maxsize=65536)
def parse_colours(text: str) -> tuple[tuple[Colour, str], ...]:
    """Every Munsell colour in ``text`` with its state: ``moist``, ``dry``, '' or, where it may be either, ``unclear``.

    A state stands behind its colour (``10YR 4/2 m / 10YR 5/2 d``) or before it (``dry: 10YR 5/2``).
    """
    clean = CLOSE.sub(" / ", str(text).replace("\u00a0", " "))
    matches = list(COLOUR.finditer(clean))
    if not matches:
        return ()
    edges = [0, *(edge for match in matches for edge in match.span()), len(clean)]
    between = [clean[start:end] for start, end in zip(edges[::2], edges[1::2])]
    before = [_state_before(between[0]), *([""] * (len(matches) - 1))]
    behind = [""] * len(matches)
    for place, words in enumerate(between[1:-1]):
        behind[place], before[place + 1] = _states_between(words, leading=bool(before[0]))
    behind[-1] = _state_behind(between[-1])
    return tuple((_colour(match), _one_state(*pair)) for match, pair in zip(matches, zip(before, behind)))


def without_notation(text: str) -> str:
    """What stands beside the notations: the name of ``brown (10YR 4/3)``."""
    return " ".join(COLOUR.sub(" ", str(text).replace("\u00a0", " ")).split())


def propose_colour(text: str) -> Colour | None:
    """A reading of text damaged by a scanner (``lOYR 4/3``, ``2.SY 5/2``): a proposal, never applied."""
    if parse_colour(text) is not None:
        return None
    mended = str(text).upper().translate(str.maketrans({"L": "1", "I": "1", "|": "1", "O": "0"}))
    mended = re.sub(r"(?<=[.\d])S(?=\s*(?:Y|R|G|B|P))", "5", mended)
    mended = re.sub(r"^\s*S(?=\s*(?:Y|R|G|B|P))", "5", mended)
    found = parse_colour(mended)
    return found if found is not None and chip_exists(found) else None


def chip_exists(colour: Colour) -> bool:
    """Whether such a colour can be: hue on the circle, value 0 to 10, chroma within the colours published in 1943.

    Between published colours the larger neighbour is the limit, so that half chips and pages between pass.
    """
    if not 0 < colour.value < 10:
        return False
    if colour.hue == "N":
        return colour.chroma == 0
    number = float(re.match(r"[\d.]+", colour.hue).group())
    if not 0 < number <= 10 or colour.chroma < 0:
        return False
    return colour.chroma <= _largest_chroma(colour.hue_step, colour.value)


@lru_cache(maxsize=4096)
def srgb(colour: Colour) -> str:
    """Screen colour as ``#rrggbb``. Raises ValueError for a colour that cannot be (see :func:`chip_exists`)."""
    if not chip_exists(colour):
        raise ValueError(f"there is no Munsell colour {colour.text}")
    x, y = _chromaticity(colour)
    luminance = luminance_of(colour.value) / 100.0
    xyz = np.array([x * luminance / y, luminance, (1.0 - x - y) * luminance / y])
    linear = XYZ_TO_SRGB @ (_adaptation() @ xyz)
    encoded = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-12) ** (1 / 2.4) - 0.055)
    red, green, blue = np.rint(np.clip(encoded, 0.0, 1.0) * 255).astype(int)
    return f"#{red:02x}{green:02x}{blue:02x}"


def luminance_of(value: float) -> float:
    """Luminance, % of the perfect diffuser, of a Munsell value (ASTM D1535 polynomial)."""
    return 1.1914 * value - 0.22533 * value**2 + 0.23352 * value**3 - 0.020484 * value**4 + 0.00081939 * value**5


def _colour(match: re.Match) -> Colour:
    def number(text: str) -> float:
        return float(text.replace(",", "."))

    if match["neutral"] is not None:
        return Colour("N", number(match["neutral"]), 0.0)
    value, chroma = number(match["value"]), number(match["chroma"])
    return Colour(f"{number(match['hue']):g}{match['letters'].upper()}", value, chroma)


def _state_behind(words: str) -> str:
    """The first state in the words behind a colour."""
    found = list(STATE.finditer(words))
    if not found:
        return ""
    first = found[0]
    if first.group().lower() == "d" and NAME_NEXT.match(words, first.end()):
        return "unclear"
    if len(found) > 1 and found[1].lastgroup != first.lastgroup and BOTH.fullmatch(words[first.end() : found[1].start()]):
        return "unclear"
    return first.lastgroup


def _state_before(words: str) -> str:
    """The last state in the words before a colour; a letter only directly before it (``d. brown`` is dark brown)."""
    found = list(STATE.finditer(words))
    if not found or (len(found[-1].group()) == 1 and re.search(r"\w", words[found[-1].end() :])):
        return ""
    return found[-1].lastgroup


def _states_between(words: str, leading: bool) -> tuple[str, str]:
    """States of the colour on the left and on the right; ``leading``: the text gives them before their colours."""
    found = list(STATE.finditer(words))
    if len(found) > 1 and not NAME_NEXT.match(words, found[0].end()):
        return found[0].lastgroup, _state_before(words)
    if not found:
        return "", ""
    left, right = words[: found[0].start()], words[found[0].end() :]
    opened = left.count("(") > left.count(")") and ")" not in right
    if opened or re.match(r"\s*[:=]", right):
        return "", _state_before(words)
    parted = bool(PARTING.search(left)), bool(PARTING.search(right))
    before = leading if parted[0] == parted[1] else parted[0]
    return ("", _state_before(words)) if before else (_state_behind(words), "")


def _one_state(before: str, behind: str) -> str:
    return "unclear" if before and behind and before != behind else before or behind


@cache
def _chips() -> dict[float, dict[float, dict[float, tuple[float, float]]]]:
    """Hue step -> value -> chroma -> (x, y). The circle closes: 10RP stands at both of its ends."""
    chips: dict = {}
    lines = (files(__package__) / "tables" / "munsell.csv").read_text(encoding="utf-8").splitlines()
    for line in lines:
        if line and not line.startswith(("#", "hue")):
            hue, value, chroma, x, y = line.split(",")
            step = Colour(hue, 0, 0).hue_step
            page = chips.setdefault(step, {}).setdefault(float(value), {0.0: ILLUMINANT_C})
            page[float(chroma)] = (float(x), float(y))
    chips[0.0] = chips[100.0]
    return chips


def _around(step: float) -> tuple[float, float, float]:
    """Published hues on both sides of ``step``, every 2.5, and how far along it lies."""
    low = 2.5 * np.floor(step / 2.5)
    return float(low), float(min(low + 2.5, 100.0)) if step > low else float(low), float((step - low) / 2.5)


def _chromaticity(colour: Colour) -> tuple[float, float]:
    if colour.hue == "N" or colour.chroma == 0:
        return ILLUMINANT_C
    low, high, along = _around(colour.hue_step)
    first, second = (np.array(_on_hue(step, colour.value, colour.chroma)) for step in (low, high))
    x, y = first + (second - first) * along
    return float(x), float(y)


def _on_hue(step: float, value: float, chroma: float) -> tuple[float, float]:
    """Linear in value between published pages, linear in chroma within a page; beyond its last chroma, straight on."""
    pages = _chips()[step]
    value = min(max(value, min(pages)), max(pages))
    low, high = np.floor(value), np.ceil(value)
    first, second = (np.array(_on_page(pages[page], chroma)) for page in (low, high))
    x, y = first + (second - first) * (value - low)
    return float(x), float(y)


def _on_page(page: dict[float, tuple[float, float]], chroma: float) -> tuple[float, float]:
    known = sorted(page)
    high = min(range(1, len(known)), key=lambda index: (known[index] < chroma, abs(known[index] - chroma)))
    below, above = known[high - 1], known[high]
    along = (chroma - below) / (above - below)
    (x_low, y_low), (x_high, y_high) = page[below], page[above]
    return x_low + (x_high - x_low) * along, y_low + (y_high - y_low) * along


@lru_cache(maxsize=65536)
def _largest_chroma(step: float, value: float) -> float:
    low, high, _ = _around(step)
    pages = [_chips()[hue] for hue in {low, high}]
    return max(max(page[min(max(near, min(page)), max(page))]) for page in pages for near in (np.floor(value), np.ceil(value)))


@cache
def _adaptation() -> np.ndarray:
    def cone(white: tuple[float, float]) -> np.ndarray:
        x, y = white
        return BRADFORD @ np.array([x / y, 1.0, (1.0 - x - y) / y])

    return np.linalg.inv(BRADFORD) @ np.diag(cone(ILLUMINANT_D65) / cone(ILLUMINANT_C)) @ BRADFORD
