"""Mended cells are in the default form of their kind, whatever form their column has."""

from __future__ import annotations

import duckdb

from pipeline.normalise.forms import Form, default_form
from pipeline.standard_log import LISTS

# For the rows of a file (alias rows): which of their columns were mended, null where none was.
JOIN = """left join (
        select file_no, record, list(column_name) as columns_mended from received.corrections group by file_no, record
    ) as mended on mended.file_no = rows.file_no and mended.record = rows.record"""


def value_sql(cell: str, name: str, form: Form, columns_mended: str) -> str:
    """
    SQL that reads a cell of a column in which some cells may be mended.

    Parameters
    ----------
    cell, columns_mended : str
        SQL for the cell, and for the list of columns mended in its row.
    name : str
        Of the column.
    form : Form
        The form of the column.
    """
    default = default_form(form.kind)
    if form == default:
        return form.sql(cell)
    return f"case when list_contains({columns_mended}, '{name}') then {default.sql(cell)} else {form.sql(cell)} end"


def complete(con: duckdb.DuckDBPyConnection) -> None:
    """Where nothing was mended, there are no corrections and the rows are as they were received."""
    con.execute(
        "create table if not exists received.corrections "
        "(file_no integer, record bigint, column_name varchar, value varchar)"
    )
    for kind in LISTS:
        table = "rows" if kind == "log" else kind
        con.execute(f"create view if not exists received.{table}_unmended as select * from received.{table}")
