"""Typed rows of the lists that a firm keeps beside its log: machines, parts, stock, notices."""

from __future__ import annotations

import duckdb

from pipeline.normalise import typed
from pipeline.normalise.files import RECORDS_A_FILE
from pipeline.normalise.forms import TYPED, Form, forms_of
from pipeline.normalise.money import minor_digits
from pipeline.normalise.problems import Check, all_problems, first_problem, problem_columns, unreadable
from pipeline.settings import Settings
from pipeline.standard_log import LISTS, Column

# Table that each list becomes.
TABLES = {"machines": "machine_list", "parts": "parts_list", "stock": "stock_list", "notices": "notice_list"}
# What a row of a list cannot do without.
NEEDED = {
    "machines": ("unit_type",),
    "parts": ("part_no",),
    "stock": ("part_no", "quantity"),
    "notices": ("text",),
}
# Nobody has less than nothing of a part; what it means there, only a person can say.
NEVER_NEGATIVE = {("stock", "quantity")}


def read_lists(con: duckdb.DuckDBPyConnection, settings: Settings) -> None:
    """Create normalise.machine_list, .parts_list, .stock_list and .notice_list, one row per received row."""
    for kind, table in TABLES.items():
        con.execute(f"create or replace table normalise.{table} as {list_sql(kind, settings.currency)}")


def list_sql(kind: str, currency: str) -> str:
    """The query that reads a list. A list is read by the preferred form of each kind of value."""
    columns = LISTS[kind]
    selected = ",\n    ".join(_column(kind, column, currency) for column in columns)
    joins = "".join(_join(kind, column) for column in columns)
    return f"""
with read as (
    select files.file_order * {RECORDS_A_FILE} + rows.record as row_no, rows.file_no, rows.record, rows.row_digest,
    {selected},
    {first_problem(_checks(kind))} as problem, {all_problems(_checks(kind))} as problems
    from received.{kind} as rows
    join normalise.files as files on files.file_no = rows.file_no
    {joins}
)
select read.* exclude (problem),
    {problem_columns()}
from read
"""


def _form(column: Column) -> Form:
    return forms_of(TYPED[column.kind])[0]


def _column(kind: str, column: Column, currency: str) -> str:
    name = column.name
    if name == "part_no":
        return f"{typed.cell(name)} as part_no, numbers.part_key"
    if _is_read(kind, name):
        answer = (
            f"case m_{name}.meaning when 'yes' then true when 'no' then false end"
            if column.kind == "yes_no"
            else f"m_{name}.meaning"
        )
        return f"{answer} as {name}"
    if column.kind == "money":
        return f"cast(round({_form(column).sql(typed.cell(name))} * {10 ** minor_digits(currency)}) as bigint) as {name}_minor"
    if column.kind in TYPED:
        return f"{_form(column).sql(typed.cell(name))} as {name}"
    return f'{typed.cell(name)} as "{name}"'


def _is_read(kind: str, column: str) -> bool:
    return (kind, column) in {
        ("machines", "unit_type"),
        ("machines", "make"),
        ("machines", "model"),
        ("notices", "make"),
        ("notices", "model"),
        ("parts", "part_name"),
        ("parts", "safety_part"),
    }


def _join(kind: str, column: Column) -> str:
    name = column.name
    if name == "part_no":
        return "\n    left join normalise.part_numbers as numbers on numbers.part_no = rows.part_no"
    if not _is_read(kind, name):
        return ""
    spelled = name in ("make", "model")
    key, layout = (name, "''") if spelled else (f"{kind}.{name}", "files.layout")
    return (
        f"\n    left join normalise.meanings as m_{name} on m_{name}.column_name = '{key}'"
        f" and m_{name}.layout = {layout} and m_{name}.phrase = rows.{name}"
    )


def _checks(kind: str) -> list[Check]:
    needed = [Check(name, f"no {name}", f"{typed.cell(name)} is null") for name in NEEDED[kind]]
    negative = [
        Check(
            column.name,
            "negative",
            f"{_form(column).sql(typed.cell(column.name))} < 0",
            cell=typed.cell(column.name),
        )
        for column in LISTS[kind]
        if (kind, column.name) in NEVER_NEGATIVE
    ]
    read = [
        unreadable(column, typed.cell(column.name), _form(column).sql(typed.cell(column.name)))
        for column in LISTS[kind]
        if column.kind in TYPED
    ]
    structural = Check("", "", "rows.row_problem is not null", reason_sql="rows.row_problem")
    return [structural, *read, *negative, *needed]
