"""Take a drawn log through the public way in, and compare answers cell by cell."""

from __future__ import annotations

import math
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime, time
from pathlib import Path
from typing import Any

import duckdb

from pipeline.load import load
from pipeline.measures import evaluate
from pipeline.measures.question import Question
from pipeline.store.folder import Store
from tests.twins.strategies import StandardLog

TOLERANCE = 1e-9


@contextmanager
def loaded(log: StandardLog) -> Iterator[duckdb.DuckDBPyConnection]:
    """A connection to the build of a log, in a folder of its own that is gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        files = log.write(Path(folder))
        store = Path(folder) / "store"
        load(
            store,
            [files["log"]],
            machines=files.get("machines"),
            parts=files.get("parts"),
            key_path=Path(folder) / "key",
        )
        con = Store(store).connect()
        try:
            yield con
        finally:
            con.close()


def asked(
    con: duckdb.DuckDBPyConnection, log: StandardLog, name: str, **choices: Any
) -> list[dict[str, Any]]:
    """The measure's rows for the log's window."""
    first = {"from_at": log.start, "complete_to": log.end}
    window = {key: datetime.combine(value, time.min) for key, value in first.items() if value}
    return evaluate(con, name, Question(**window, **choices)).to_dicts()


def differences(
    expected: Mapping[tuple[str, ...], Mapping[str, Any]], got: Mapping[tuple[str, ...], Mapping[str, Any]]
) -> list[str]:
    """Every cell in which the answers differ: counts and words exactly, numbers to nine digits."""
    found = [f"only the twin has {key}: {expected[key]}" for key in expected if key not in got]
    found += [f"only the product has {key}: {dict(got[key])}" for key in got if key not in expected]
    for key in expected.keys() & got.keys():
        for name, value in expected[key].items():
            if not same(value, got[key][name]):
                found.append(f"{key} {name}: the twin says {value}, the product {got[key][name]}")
    return found


def same(one: Any, other: Any) -> bool:
    """Whether two cells hold the same."""
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        return math.isclose(one, other, rel_tol=TOLERANCE, abs_tol=TOLERANCE)
    return (one or None) == (other or None)
