"""The colours of the soil itself that a phrase names, each with the state it is said for."""

from __future__ import annotations

from dataclasses import dataclass, replace

from .lexicon import Item


@dataclass(frozen=True, slots=True)
class MatrixColour:
    """A colour of the soil itself. ``share`` in percent or None; ``state`` is moist, dry or '' (the default of the notes)."""

    text: str
    state: str = ""
    share: float | None = None
    other_face: str = ""
    name: str = ""


def matrix_colours(items: tuple[Item, ...]) -> tuple[MatrixColour, ...]:
    """The colours of a phrase in their order, each with its state, share, name and face."""
    together = any("and" in item.values for item in items)
    done: list[MatrixColour] = []
    group: list[tuple[str, float | None, str]] = []
    share: float | None = None
    name = before = ""

    def close(state: str = "") -> None:
        done.extend(MatrixColour(text, state, part, name=named) for text, part, named in group)
        group.clear()

    for number, item in enumerate(items):
        if "percent_of" in item.values:
            low, high = item.values["percent_of"]
            share = low if low == high else None
        elif "colour" in item.values:
            if before:
                close()
                done.append(MatrixColour(str(item.values["colour"]), before, share, name=name))
            else:
                group.append((item.values["colour"], share, name))
            share, name, before = None, "", ""
        elif "correction" in item.values:
            group.clear()
            done.clear()
        elif "name" in item.values:
            name = str(item.values["name"])
        elif "other_face" in item.values:
            close()
            done[-1:] = [replace(one, other_face=one.other_face or str(item.values["other_face"])) for one in done[-1:]]
        elif "state" in item.values and _stands_before(items, number):
            before = state_of(item)
        elif "state" in item.values:
            said = state_of(item)
            if len(group) > 1 and str(item.values["state"]).startswith(("when", "once", "if")):  # 10YR 6/2 and 10YR 7/2 when dry
                *others, last = group
                group[:] = others
                close()
                group.append(last)
            late = not group and done and done[-1].other_face and not done[-1].state  # 10YR 5/2 crushed, dry
            close(said)
            if late:
                done[-1] = replace(done[-1], state=said)
        elif "comma" in item.values and not together:
            following = items[number + 1].values if number + 1 < len(items) else {}
            if not {"state", "other_face"} & set(following) and group:
                close()
    close()
    return tuple(done)


def _stands_before(items: tuple[Item, ...], at: int) -> bool:
    """``dry 10YR 5/2``: the state is that of the colour behind it, unless one stands right before (``10YR 3/2 m 10YR 5/2 d``)."""
    first = next((item for item in items if {"state", "colour"} & set(item.values)), items[at])
    if at and {"colour", "close"} & set(items[at - 1].values) and "colour" in first.values:
        return False
    behind = [set(item.values) for item in items[at + 1 : at + 5] if "colon" not in item.values]
    named = bool(behind) and "name" in behind[0]
    bracketed = named or not at or "name" in items[at - 1].values  # white when dry (10YR 8/1)
    return next(("colour" in kinds for kinds in behind[named:] if not (bracketed and "open" in kinds)), False)


def state_of(item: Item) -> str:
    """moist or dry."""
    word = str(item.values["state"])
    return "dry" if word == "d" or "dry" in word else "moist"
