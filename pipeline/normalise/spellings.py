"""Makes, models, codes: texts that are shown as written, one way of writing for each."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping

import duckdb

from pipeline.normalise.fault_codes import code_key
from pipeline.normalise.phrases import Meaning
from pipeline.vocabulary import normal_form

SPELLED_COLUMNS = ("make", "model", "fault_code")
_KEYS: Mapping[str, Callable[[str], str | None]] = {"fault_code": code_key}
_ALSO_IN = {"make": ("machines", "notices"), "model": ("machines", "notices"), "fault_code": ()}


def read_spellings(con: duckdb.DuckDBPyConnection) -> Iterator[Meaning]:
    """Texts that differ in case or spacing only, and codes of one key, are one: shown as most often written, ties by the smallest."""
    for column in SPELLED_COLUMNS:
        counts = _counts(con, column)
        key = _KEYS.get(column, normal_form)
        shown = _most_often(counts, key)
        for text in counts:
            yield Meaning("", column, text, shown.get(key(text)), "as most often written")


def _counts(con: duckdb.DuckDBPyConnection, column: str) -> dict[str, int]:
    tables = ("rows", *_ALSO_IN[column])
    every = " union all ".join(
        f"select {column} as text from received.{table} where {column} is not null" for table in tables
    )
    return dict(con.execute(f"select text, count(*) from ({every}) group by text order by text").fetchall())


def _most_often(counts: dict[str, int], key: Callable[[str], str | None]) -> dict[str | None, str]:
    ways: dict[str | None, Counter[str]] = defaultdict(Counter)
    for text, count in counts.items():
        if form := key(text):
            ways[form][" ".join(text.split())] += count
    return {form: min(found, key=lambda way: (-found[way], way)) for form, found in ways.items()}
