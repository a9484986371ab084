"""A horizon of the notes as it is filled: its cells, the place of every phrase, and what was left for the remarks."""

from __future__ import annotations

from dataclasses import dataclass, field

from .entries import Entry


@dataclass(frozen=True, slots=True)
class Found:
    """A phrase that was understood: what it is, what was read, where it stands in the whole text."""

    what: str
    read: str
    start: int
    end: int


@dataclass
class Horizon:
    """``cells``: heading -> text, as in a table; ``left``: places of what no phrase took; ``notes``: what was read otherwise."""

    entry: Entry
    end: int
    cells: dict[str, str] = field(default_factory=dict)
    found: list[Found] = field(default_factory=list)
    left: list[tuple[int, int]] = field(default_factory=list)
    kept: list[tuple[int, int]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    misnamed: list[tuple[str, str, str]] = field(default_factory=list)
    """(name, notation, chips that bear the name) of colours whose name and notation do not go together."""
    named: dict[tuple[int, int], str] = field(default_factory=dict)
    """Place -> the label that it stands at, of what would say nothing in the remarks without it."""
    settled: list[tuple[int, int]] = field(default_factory=list)
    """Places of words of correction that took something back."""
    guessed_state: bool = False
    """Whether a colour says neither moist nor dry, and the head of the pit does not either."""

    def remarks(self, text: str) -> str:
        """What has no cell of its own, in the words of the notes and in their order."""
        places = sorted({*self.left, *self.kept})
        said: dict[str, list[str]] = {}
        for start, end in places:
            words = " ".join(text[start:end].split())
            label = self.named.get((start, end), "")
            said.setdefault(label or f"{start}", []).append(words)
        return "; ".join(words[0] if key.isdigit() else f"{key}: {'; '.join(words)}" for key, words in said.items())
