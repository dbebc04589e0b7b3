"""Written forms of dates, numbers and amounts: which one a column uses is decided once per file and column.

A form is one SQL expression that gives the typed value or null. To read another way of writing, add a form.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import duckdb
import pyarrow as pa

from pipeline.normalise.tables import store_rows
from pipeline.standard_log import LISTS, Kind

Typed = Literal["moment", "day", "number", "money"]
TYPED: dict[Kind, Typed] = {
    "moment": "moment",
    "day": "day",
    "minutes": "number",
    "count": "number",
    "number": "number",
    "money": "money",
}
ZONE = r"(Z|[+-]\d{2}(:?\d{2})?)"
_ISO_DAY = r"\d{4}-\d{2}-\d{2}"
_ISO_MOMENT = _ISO_DAY + r"([T ]\d{2}:\d{2}(:\d{2}(\.\d{1,9})?)?" + ZONE + "?)?"
_NUMBER = r"[+-]?(\d+(\.\d*)?|\.\d+)"


@dataclass(frozen=True)
class Form:
    """
    One way of writing.

    Attributes
    ----------
    name : str
        As it stands in normalise.forms.
    kind : str
        What is written: moment, day, number, money.
    read : str
        SQL with `{c}` for the trimmed cell. A moment gives the local, naive TIMESTAMP as written; a day a DATE;
        a number DOUBLE; money DECIMAL in major units. Null when it cannot be read.
    """

    name: str
    kind: Typed
    read: str

    def sql(self, cell: str) -> str:
        """SQL that reads a cell."""
        # Not str.format: the patterns have braces of their own.
        return self.read.replace("{c}", cell)


# In order of preference: the first one that reads every cell of the column is the column's form.
FORMS: tuple[Form, ...] = (
    Form(
        "ISO 8601",
        "moment",
        f"case when regexp_full_match({{c}}, '{_ISO_MOMENT}') then try_cast({{c}} as timestamp) end",
    ),
    Form(
        "ISO 8601, or a month or year",
        "day",
        # A month or a year stands for its first day, as a date stands for its first moment.
        f"case when regexp_full_match({{c}}, '{_ISO_MOMENT}') then try_cast(substr({{c}}, 1, 10) as date) "
        r"when regexp_full_match({c}, '\d{4}-\d{2}') then try_cast({c} || '-01' as date) "
        r"when regexp_full_match({c}, '\d{4}') then try_cast({c} || '-01-01' as date) end",
    ),
    Form(
        "decimal point",
        "number",
        f"case when regexp_full_match({{c}}, '{_NUMBER}') then try_cast({{c}} as double) end",
    ),
    Form(
        "decimal point",
        "money",
        f"case when regexp_full_match({{c}}, '{_NUMBER}') then try_cast({{c}} as decimal(18, 4)) end",
    ),
)


def forms_of(kind: Typed) -> tuple[Form, ...]:
    """Forms in which a kind of value may be written, in order of preference."""
    return tuple(form for form in FORMS if form.kind == kind)


def choose_forms(con: duckdb.DuckDBPyConnection) -> dict[int, dict[str, Form]]:
    """
    Decide the form of each typed column of each file, and write it to normalise.forms.

    Where no form reads every cell, the one that reads the most is taken; what it cannot read sets the row aside.

    Returns
    -------
    dict
        Form by file number and column name.
    """
    chosen: dict[int, dict[str, Form]] = {}
    for file_no, kind in con.execute("select file_no, kind from normalise.files order by file_no").fetchall():
        columns = [(column.name, TYPED[column.kind]) for column in LISTS[kind] if column.kind in TYPED]
        # What was mended says nothing about how the others wrote.
        table = "rows_unmended" if kind == "log" else kind
        chosen[file_no] = {name: _form_of(con, table, file_no, name, typed) for name, typed in columns}
    rows = (
        {"file_no": f, "column_name": c, "form": form.name}
        for f, forms in chosen.items()
        for c, form in forms.items()
    )
    schema = pa.schema({"file_no": pa.int32(), "column_name": pa.string(), "form": pa.string()})
    store_rows(con, "forms", schema, rows)
    return chosen


def _form_of(con: duckdb.DuckDBPyConnection, table: str, file_no: int, column: str, typed: Typed) -> Form:
    candidates = forms_of(typed)
    if len(candidates) == 1:
        return candidates[0]
    cell = f'trim("{column}")'
    reads = ", ".join(f"count({form.sql(cell)})" for form in candidates)
    counts = con.execute(f"select {reads} from received.{table} where file_no = $1", [file_no]).fetchall()[0]
    return max(zip(candidates, counts, strict=True), key=lambda pair: pair[1])[0]
