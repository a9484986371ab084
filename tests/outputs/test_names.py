"""G13, G6, D5: names that every program accepts."""

import re
import sqlite3

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geoprofile.outputs.names import RENAMED, SQL_WORDS, safe_name, safe_names, unit_suffix
from geoprofile.products import HORIZON_COLUMNS, PIT_COLUMNS, READING_COLUMNS, VALUE_COLUMNS


@settings(max_examples=60, deadline=None)
@given(st.lists(st.text(max_size=20), unique=True, max_size=12))
def test_any_names_become_safe_unique_names_that_sqlite_takes_unquoted(names):
    chosen = safe_names(names)
    new = list(chosen.values())
    assert list(chosen) == names and len(set(new)) == len(new)
    assert all(re.fullmatch(r"[a-z][a-z0-9_]*", name) and name not in SQL_WORDS for name in new)
    if new:
        sqlite3.connect(":memory:").execute(f"CREATE TABLE t ({', '.join(name + ' TEXT' for name in new)})")


def test_sqlites_own_keywords_are_all_known():
    """Each word of the list of sqlite.org that cannot stand unquoted as a column is in our list."""
    words = "add all alter and as autoincrement between case check collate commit constraint create default deferrable delete " \
        "distinct drop else escape except exists foreign from group having in index insert intersect into is isnull join limit " \
        "not notnull null on or order primary references select set table then to transaction union unique update using values " \
        "when where returning nothing".split()  # fmt: skip
    assert set(words) <= SQL_WORDS
    refused = []
    for word in words:
        try:
            sqlite3.connect(":memory:").execute(f"CREATE TABLE t ({word} TEXT)")
        except sqlite3.OperationalError:
            refused.append(word)
    assert len(refused) > 40  # the list does hold words that break a table


def test_a_source_fid_and_columns_differing_only_in_case_survive_under_other_names():
    """G6, G7, G13."""
    assert safe_names(["fid", "Order", "order", "Größe (cm)", "", "1st"]) == {
        "fid": "source_fid", "Order": "horizon_order", "order": "horizon_order_2", "Größe (cm)": "groe_cm", "": "entry",
        "1st": "entry_1st",
    }  # fmt: skip


def test_our_own_columns_need_no_emergency_name():
    for columns in (PIT_COLUMNS, HORIZON_COLUMNS, READING_COLUMNS, VALUE_COLUMNS):
        for old, new in safe_names(columns).items():
            assert new == RENAMED.get(old, old)
    assert safe_name("found") == "as_found"


def test_units_end_column_names():
    assert [unit_suffix(unit) for unit in ("cm", "%", "dS/m", "Mg/m3", "")] == ["cm", "percent", "ds_m", "mg_m3", ""]


@pytest.mark.parametrize(("name", "plain"), [("between", "between_limits"), ("unknown", "not_known"), ("interval", "interval_basis")])
def test_our_own_columns_that_are_sql_words_have_plain_names(name, plain):
    """D5: a reader of the tables never meets a name that was made safe by rote."""
    assert safe_name(name) == plain
