"""What the letters of a Canadian designation say to the key: each question YES, NO or, where a letter is missing, OPEN.

Strong letters count; a letter with j (Btj) is weak and counts only where a question asks for the weak form.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from ..vocabulary.designations import Part, parse_designation
from .logic import NO, OPEN, YES


@dataclass(frozen=True, slots=True)
class Symbol:
    """Answers for one designation. ``bare_a`` and ``bare_b``: the convention asks for a letter that was not written."""

    text: str
    master: str
    strong: frozenset[str]
    weak: frozenset[str]
    organic: bool
    buried: bool
    discontinuity: int
    known: bool
    bare_a: bool
    bare_b: bool
    a: bool
    b: bool
    gf: bool
    """g written before f: Bgf, which is no Bfg."""

    def letter(self, letter: str, weak: bool = False) -> bool:
        return letter in self.strong or (weak and letter in self.weak)

    @property
    def is_c(self) -> bool:
        return self.master[:1] == "C"

    @property
    def is_parent(self) -> bool:
        """C or rock: what lies below the soil proper."""
        return self.master in ("C", "R", "W", "CB", "CA")

    @property
    def calcareous(self) -> bool:
        return bool(self.strong & {"k", "ca"})

    @property
    def salty(self) -> bool:
        return bool(self.strong & {"s", "sa"})

    @property
    def gleyed(self) -> bool:
        return "g" in self.strong

    @property
    def weakly_gleyed(self) -> bool:
        return "g" in self.strong or "g" in self.weak

    @property
    def dark_a(self) -> int:
        if self.a and not self.buried and (self.letter("h", weak=True) or "p" in self.strong):
            return YES
        return OPEN if self.bare_a else NO

    @property
    def ploughed(self) -> bool:
        return self.a and "p" in self.strong

    @property
    def eluvial(self) -> int:
        if self.a and self.letter("e", weak=True) and not self.letter("h", weak=True) and "p" not in self.strong:
            return YES
        return OPEN if self.bare_a else NO

    @property
    def bt(self) -> int:
        return YES if self.b and "t" in self.strong else OPEN if self.bare_b else NO

    @property
    def solonetzic(self) -> int:
        return YES if self.b and "n" in self.strong else OPEN if self.bare_b else NO

    @property
    def podzolic(self) -> int:
        """Bh, Bhf or Bf, but not Bgf, nor where clay or sodium stands first."""
        if self.b and self.strong & {"h", "f"} and not self.gf and not self.strong & {"t", "n"}:
            return YES
        return OPEN if self.bare_b else NO

    @property
    def changed_b(self) -> int:
        """A B that is none of the above: Bm, Bg, Btj, Bfj, Bv."""
        if not self.b or YES in (self.bt, self.solonetzic):
            return NO
        return OPEN if self.bare_b else YES


@lru_cache(maxsize=65536)
def symbol(text: str) -> Symbol:
    """The Symbol of a designation in the Canadian convention; an unreadable one answers no letter."""
    parsed = parse_designation(text, "canadian")
    first = parsed.parts[0] if parsed.parts else Part("")
    parts = [part for part in parsed.parts if part.master[:1] == first.master[:1]] or [first]
    strong = frozenset(suffix.letters for part in parts for suffix in part.suffixes if not suffix.weak)
    weak = frozenset(suffix.letters for part in parts for suffix in part.suffixes if suffix.weak)
    written = [suffix.letters for suffix in first.suffixes]
    plain = len(parsed.parts) == 1 and not (strong | weak) - {"k", "ca", "s", "sa", "g", "b"}
    return Symbol(
        text=parsed.text,
        master=first.master,
        strong=strong,
        weak=weak,
        organic=parsed.organic,
        buried=parsed.buried,
        discontinuity=parsed.discontinuity,
        known=parsed.known,
        bare_a=first.master == "A" and plain,
        bare_b=first.master == "B" and plain and "g" not in strong,
        a=first.master == "A",
        b=first.master == "B",
        gf="g" in written and "f" in written and written.index("g") < written.index("f"),
    )
