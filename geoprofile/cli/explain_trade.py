"""What `geoprofile explain` says of the trade's own words: terms and codes, letters and designations, columns of tables."""

from __future__ import annotations

from collections.abc import Iterator


def glossary_entries() -> Iterator[tuple[str, dict]]:
    """(key, entry) of every word of the glossary, once under each of its names."""
    from ..vocabulary.tables import table

    for name, entry in table("glossary").items():
        told = {"name": entry.get("name", name.replace("_", " ")), "kind": "word", **{key: text for key, text in entry.items() if key not in ("also", "terms", "units")}}
        if entry.get("also"):
            told["also"] = ", ".join(entry["also"])
        for key in (name, *(word.replace(" ", "_") for word in entry.get("also", ()))):
            yield key, {**told, "terms": entry.get("terms", ())}


def terrain_entries() -> Iterator[tuple[str, dict]]:
    """(key, entry) of every terrain raster, under its name and under those of its classes."""
    from ..vocabulary.tables import table

    for name, entry in table("terrain_rasters").items():
        told = {"name": name, "kind": "terrain raster", **{key: text for key, text in entry.items() if key != "also"}}
        for key in (name, *(word.replace(" ", "_") for word in entry.get("also", ()))):
            yield key, told


def words_of(kinds: tuple[str, ...], convention: str) -> str:
    """The words of some kinds of term with their codes: ``mottle abundance: none (N), few (F) ...``."""
    from ..vocabulary.terms import terms

    return "; ".join(
        f"{kind.replace('_', ' ')}: " + ", ".join(f"{term.name} ({term.code})" if term.code else term.name for term in terms(kind, convention))
        for kind in kinds
    )  # fmt: skip


def trade_entries(word: str, convention: str) -> Iterator[dict]:
    """All that a word means in a convention: terms, letters, designations."""
    yield from term_entries(word, convention)
    yield from letter_entries(word, convention)
    yield from designation_entries(word, convention)
    yield from soil_class_entries(word)


def soil_class_entries(word: str) -> Iterator[dict]:
    """Orders, great groups and subgroups of the Canadian key by name or published code (O.GL)."""
    from ..naming.key import key_of
    from ..naming.naming import ADVICE
    from ..naming.recorded import read_recorded

    found = read_recorded(word, "canadian")
    if found is None or found.rest:
        return
    one = found.classes[-1]
    yield {
        "name": one.name,
        "kind": f"{one.level}, {key_of('canadian').title}",
        "means": "The key asks: " + ". ".join(f"{above.name}: {above.asks}" for above in found.classes) + ".",
        "limits": f"The first class of the key that holds is the name. {ADVICE}",
        "source": one.source,
    }


def term_entries(word: str, convention: str) -> Iterator[dict]:
    """Every kind of term that ``word`` names, by name, code or usual spelling, in a convention."""
    from ..vocabulary.tables import table
    from ..vocabulary.terms import TABLE_OF, find_term, terms

    about = {kind: entry for entry in table("glossary").values() for kind in entry.get("terms", ())}
    for kind in TABLE_OF:
        if len(word) == 1 and word.isupper():
            continue  # a letter is asked for as a horizon
        term = find_term(kind, word, convention)
        if term is None or not term.name:
            continue
        all_of = terms(kind, convention)
        limits = _limits(term, about.get(kind, {}).get("units", {}).get(kind, ""))
        yield {
            "name": f"{term.name} ({term.code})" if term.code else term.name,
            "kind": f"{kind.replace('_', ' ')}, {convention} convention",
            "means": f"One of {len(all_of)} words for {kind.replace('_', ' ')}" + (f": {limits}" if limits else "") + ".",
            "limits": about.get(kind, {}).get("limits", ""),
            "words": words_of((kind,), convention).partition(": ")[2],
            "source": about.get(kind, {}).get("source", "") or "our own words; see the table of the vocabulary",
        }


def _limits(term, unit: str) -> str:
    if term.low is None and term.high is None:
        return ""
    if term.high is None:
        return f"from {term.low:g} {unit} on"
    if term.low == term.high:
        return f"{term.high:g} {unit}"
    return f"{term.low or 0:g} to {term.high:g} {unit}"


def letter_entries(word: str, convention: str) -> Iterator[dict]:
    """Small letters of designations, as ``ca`` or ``gj``."""
    from ..vocabulary.tables import table

    data = table(convention)
    weak = data["convention"].get("weak_mark", "")
    for entry in data["suffixes"]:
        is_weak = bool(weak) and word == entry["letters"] + weak and entry.get("weak", False)
        if word == entry["letters"] or is_weak:
            stands = f" It goes with {', '.join(entry['with'])}." if entry.get("with") else ""
            yield {
                "name": word, "kind": f"letter of horizon designations, {convention} convention",
                "means": ("Weakly: " if is_weak else "") + entry["meaning"][0].upper() * (not is_weak) + entry["meaning"][(not is_weak):] + "." + stands,
                "limits": "The same letter can mean another thing in another convention: see --convention.",
                "source": data["convention"]["source"],
            }  # fmt: skip


def colour_entries(text: str) -> Iterator[dict]:
    """A Munsell notation, as ``10YR 4/3``: its parts, its name on the charts and on a screen."""
    from ..vocabulary.munsell import parse_colour

    colour = parse_colour(text)
    if colour is None:
        return
    from ..vocabulary.colour_names import nearest_names
    from ..vocabulary.munsell import chip_exists, srgb

    names = " or ".join(nearest_names(colour))
    yield {
        "name": colour.text, "kind": "Munsell colour",
        "means": f"Hue {colour.hue}, value {colour.value:g} (0 black, 10 white), chroma {colour.chroma:g} (0 gray)"
        + (f". Named {names}" if names else "") + f". On a screen {srgb(colour)}.",
        "limits": "Say whether the soil was moist or dry: the dry colour is lighter by one to three units of value."
        + ("" if chip_exists(colour) else " The renotation has no such colour: look at the chart again."),
        "source": "Munsell renotation 1943 and soil colour names; see colour",
    }  # fmt: skip


def designation_entries(text: str, convention: str) -> Iterator[dict]:
    """A whole designation, as ``IIBtgj``: each letter, and what the attributes take it for."""
    from ..vocabulary.designations import parse_designation

    if not text[:1].isupper() and not text[:1].isdigit():
        return
    parsed = parse_designation(text, convention)
    if not parsed.known:
        return
    from ..attributes.explain import explain_designation
    from ..vocabulary.tables import table

    yield {
        "name": parsed.text, "kind": f"horizon designation, {convention} convention",
        "letters": _letters(parsed, convention), "means": explain_designation(text, convention),
        "limits": "A designation is the describer's judgement of what formed a horizon. geoprofile check holds it against what else was recorded.",
        "source": table(convention)["convention"]["source"],
    }  # fmt: skip


def _letters(parsed, convention: str) -> str:
    from ..vocabulary.tables import table

    data = table(convention)
    masters = {**data["masters"], **data["layers"]}
    suffixes = {entry["letters"]: entry["meaning"] for entry in data["suffixes"]}
    told: dict[str, str] = {}
    for part in parsed.parts:
        whole = [part.master] if part.master in masters else list(part.master)
        if len(whole) > 1:
            told[part.master] = f"passes from {whole[0]} to {whole[-1]}"
        for letter in whole:
            if letter in masters:
                told[letter] = masters[letter]
        for suffix in part.suffixes:
            meaning = suffixes.get(suffix.letters, "")
            told[suffix.letters + ("j" if suffix.weak else "")] = f"weakly: {meaning}" if suffix.weak else meaning
    return "; ".join(f"{letter} = {meaning}" for letter, meaning in told.items() if meaning)


def column_entries() -> Iterator[tuple[str, dict]]:
    """Columns of pits and horizons, under our names: what they hold and the headings they are read from."""
    from ..products import HORIZON_COLUMNS, PIT_COLUMNS
    from ..vocabulary.tables import table

    said = {**PIT_COLUMNS, **HORIZON_COLUMNS}
    for name, entry in table("headings")["fields"].items():
        column = entry.get("column", name)
        means = said[column][1] if column in said else ("a direct reading of that attribute, without horizons" if entry["kind"] == "reading" else "")
        if means:
            told = {"name": name, "kind": f"column of {' and '.join(entry['tables'])}", "means": means[0].upper() + means[1:] + ".",
                    "headings": ", ".join(entry["names"])}  # fmt: skip
            yield name, told
            if column != name:
                yield column, told
