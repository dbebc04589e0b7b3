"""Tables drawn as text: into DuckDB, and back out for comparison by eye.

    job_no:int | reported_on:date | symptom
    1          | 2026-01-05       | noisy
    2          | 2026-01-09       |

The first line names the columns, with a type unless it is text; an empty cell is null; lines of dashes are ignored.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date, datetime

import duckdb

# A stroke inside a cell has no space around it.
_BETWEEN = re.compile(r"(?:^|\s)\|(?=\s|$)")
Cells = list[list[str | None]]


def parse(text: str) -> tuple[dict[str, str], Cells]:
    """Column types by name, and the rows as text."""
    lines = [line for line in text.strip().splitlines() if line.strip() and set(line.strip()) - set("-|+ ")]
    header, *body = [[cell.strip() for cell in _BETWEEN.split(line)] for line in lines]
    types = {name: kind or "varchar" for name, _, kind in (cell.partition(":") for cell in header)}
    for cells in body:
        assert len(cells) == len(header), f"{len(cells)} cells where the header has {len(header)}: {cells}"
    return types, [[cell or None for cell in cells] for cells in body]


def create_table(
    con: duckdb.DuckDBPyConnection, name: str, text: str = "", also: Mapping[str, str] | None = None
) -> None:
    """Create a table from a drawing; `also` are further columns, with their types, that stay null."""
    types, rows = parse(text) if text.strip() else ({}, [])
    columns = {**types, **{column: kind for column, kind in (also or {}).items() if column not in types}}
    schema = name.split(".", maxsplit=1)[0]
    con.execute(f"create schema if not exists {schema}")
    listed = ", ".join(f'"{column}" {kind}' for column, kind in columns.items())
    con.execute(f"create or replace table {name} ({listed})")
    if rows:
        names = ", ".join(f'"{column}"' for column in types)
        con.executemany(f"insert into {name} ({names}) values ({', '.join('?' for _ in types)})", rows)


def shown(value: object) -> str | None:
    """A value as it is drawn."""
    if value is None:
        return None
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, datetime):
        return value.isoformat(" ", "minutes")
    return value.isoformat() if isinstance(value, date) else str(value)


def rows_as_text(con: duckdb.DuckDBPyConnection, table: str, columns: Sequence[str]) -> Cells:
    """Rows of a table as they would be drawn, in order of their columns."""
    names = ", ".join(f'"{column}"' for column in columns)
    return [
        [shown(value) for value in row]
        for row in con.execute(f"select {names} from {table} order by all").fetchall()
    ]


def assert_table(con: duckdb.DuckDBPyConnection, table: str, expected: str) -> None:
    """The named columns of a table hold exactly the drawn rows, in any order."""
    types, rows = parse(expected)
    found = rows_as_text(con, table, list(types))
    key = lambda cells: [(cell is None, cell or "") for cell in cells]  # noqa: E731
    assert sorted(found, key=key) == sorted(rows, key=key)
