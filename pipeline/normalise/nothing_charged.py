"""Cells that say in a word that nothing was charged ("FOC"): read as 0, and kept with the word that was the reason."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import duckdb
import pyarrow as pa

from pipeline.normalise.amount_forms import NOTHING, PLAIN_AMOUNTS
from pipeline.normalise.column_forms import FileForms
from pipeline.normalise.tables import store_rows

_SCHEMA = pa.schema(
    [
        ("file_no", pa.int32()),
        ("column_name", pa.string()),
        ("word", pa.string()),
        ("count_rows", pa.int64()),
    ]
)


def count_nothing_charged(con: duckdb.DuckDBPyConnection, forms: Mapping[int, FileForms]) -> None:
    """
    Create normalise.nothing_charged: file, column, word in small letters, and how many rows of the log say it.

    Parameters
    ----------
    con : connection
        With received.rows.
    forms : mapping
        By file number and column; a column of plain numbers holds no word.
    """
    store_rows(con, "nothing_charged", _SCHEMA, _counted(con, forms))


def _counted(con: duckdb.DuckDBPyConnection, forms: Mapping[int, FileForms]) -> Iterator[dict[str, object]]:
    logs = [
        row[0] for row in con.execute("select file_no from normalise.files where kind = 'log'").fetchall()
    ]
    for file_no in sorted(logs):
        for name, column in forms.get(file_no, {}).items():
            if column.kind != "money" or column.form.name == PLAIN_AMOUNTS:
                continue
            sql = f"""
            select lower(trim("{name}")) as word, count(*) from received.rows
            where file_no = $1 and regexp_full_match(lower(trim("{name}")), '{NOTHING}') group by 1 order by 1
            """
            for word, rows in con.execute(sql, [file_no]).fetchall():
                yield {"file_no": file_no, "column_name": name, "word": word, "count_rows": rows}
