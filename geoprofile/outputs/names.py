"""Names that every program accepts: ``[a-z][a-z0-9_]*``, no SQL words, no ``fid``, unique ignoring case."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

RENAMED = {
    "between": "between_limits",
    "bulk_density": "bulk_density_mg_m3",
    "check": "check_name",
    "date": "described_on",
    "fid": "source_fid",
    "field": "source_field",
    "file": "source_file",
    "found": "as_found",
    "from": "drawn_from",
    "geom": "source_geometry",
    "interval": "interval_basis",
    "order": "horizon_order",
    "row": "source_row",
    "sheet": "source_sheet",
    "text": "as_written",
    "unknown": "not_known",
    "value": "amount",
    "zone": "zone_name",
}
"""Our own columns that need another name in a database, or one that says the unit."""

# Reserved words of SQL-92 (ISO/IEC 9075:1992, 5.2) and the keywords of SQLite (sqlite.org/lang_keywords.html).
SQL_WORDS = frozenset(
    """
    abort absolute action add after all allocate alter always analyze and any are as asc assertion at attach
    authorization autoincrement avg before begin between bit bit_length both by cascade cascaded case cast catalog char
    char_length character character_length check close coalesce collate collation column commit conflict connect
    connection constraint constraints continue convert corresponding count create cross current current_date
    current_time current_timestamp current_user cursor database date day deallocate dec decimal declare default
    deferrable deferred delete desc describe descriptor detach diagnostics disconnect distinct do domain double drop
    each else end escape except exception exclude exclusive exec execute exists explain external extract fail false
    fetch filter first float following for foreign found from full generated get glob global go goto grant group groups
    having hour identity if ignore immediate in index indexed indicator initially inner input insensitive insert
    instead int integer intersect interval into is isnull isolation join key language last leading left level like
    limit local lower match materialized max min minute module month names national natural nchar next no not nothing
    notnull null nullif nulls numeric octet_length of offset on only open option or order others outer output over
    overlaps pad partial partition plan position pragma preceding precision prepare preserve primary prior privileges
    procedure public query raise range read real recursive references regexp reindex relative release rename replace
    restrict returning revoke right rollback row rows savepoint schema scroll second section select session
    session_user set size smallint some space sql sqlcode sqlerror sqlstate substring sum system_user table temp
    temporary text then ties time timestamp timezone_hour timezone_minute to trailing transaction translate translation
    trigger trim true unbounded union unique unknown update upper usage user using vacuum value values varchar varying
    view virtual when whenever where window with without work write year zone
    """.split()
)


def safe_name(name: str) -> str:
    """``name`` in lower case ASCII letters, digits and underscores, starting with a letter, no SQL word."""
    plain = unicodedata.normalize("NFKD", str(name)).encode("ascii", "ignore").decode().lower()
    plain = re.sub(r"[^a-z0-9]+", "_", plain).strip("_")
    plain = RENAMED.get(plain, plain)
    if not plain or not plain[0].isalpha():
        plain = f"entry_{plain}".rstrip("_")
    return f"{plain}_column" if plain in SQL_WORDS else plain


def safe_names(names: Iterable[str]) -> dict[str, str]:
    """Each name with a safe one of its own; a name met twice is numbered."""
    chosen: dict[str, str] = {}
    taken: set[str] = {"fid", "geom"}
    for name in names:
        base = new = safe_name(name)
        number = 2
        while new in taken:
            new = f"{base}_{number}"
            number += 1
        taken.add(new)
        chosen[name] = new
    return chosen


def unit_suffix(unit: str) -> str:
    """The end of a column name that says its unit: ``cm``, ``percent``, ``ds_m``; empty where there is none."""
    return {"": "", "%": "percent", "Mg/m3": "mg_m3"}.get(unit, re.sub(r"[^a-z0-9]+", "_", unit.lower()).strip("_"))
