"""One way to put a query to a build: values are bound by name, never pasted in, and whoever listens hears each one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

import duckdb
import polars as pl


@dataclass(frozen=True)
class Asked:
    """A query as it was put, and the values bound to it."""

    sql: str
    values: Mapping[str, object]

    def text(self) -> str:
        """Lines for people."""
        lines = [line.strip() for line in self.sql.strip().splitlines()]
        bound = ", ".join(f"${name} = {value}" for name, value in self.values.items())
        return "\n".join([*(f"  {line}" for line in lines), *([f"  with {bound}"] if bound else [])])


_heard: ContextVar[list[Asked] | None] = ContextVar("heard", default=None)


@contextmanager
def listening() -> Iterator[list[Asked]]:
    """Collect every query put in the meantime, in this thread alone."""
    heard: list[Asked] = []
    token = _heard.set(heard)
    try:
        yield heard
    finally:
        _heard.reset(token)


def ask(con: duckdb.DuckDBPyConnection, sql: str, values: Mapping[str, object]) -> pl.DataFrame:
    """
    Rows of a query as a frame.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    sql : str
        One SELECT from our own registry.
    values : mapping
        Values by name; those the query does not name are left out, since DuckDB refuses what is not used.
    """
    bound = {name: value for name, value in values.items() if f"${name}" in sql}
    heard = _heard.get()
    if heard is not None:
        heard.append(Asked(sql, bound))
    result: pl.DataFrame = con.sql(sql, params=bound).pl()
    return result
