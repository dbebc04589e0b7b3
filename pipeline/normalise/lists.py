"""Typed rows of the lists that a firm keeps beside its log: machines, parts, stock, notices."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

import duckdb

from pipeline.normalise import mended, typed
from pipeline.normalise.column_forms import FileForms
from pipeline.normalise.files import RECORDS_A_FILE
from pipeline.normalise.forms import TYPED, Form, default_form
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


def read_lists(con: duckdb.DuckDBPyConnection, settings: Settings, forms: Mapping[int, FileForms]) -> None:
    """Create normalise.machine_list, .parts_list, .stock_list and .notice_list, one row per received row."""
    for kind, table in TABLES.items():
        start = f"create or replace table normalise.{table} as"
        for read, files in _groups(con, kind, forms).items():
            con.execute(f"{start} {list_sql(kind, settings.currency, dict(read), files)}")
            start = f"insert into normalise.{table}"


def _groups(
    con: duckdb.DuckDBPyConnection, kind: str, forms: Mapping[int, FileForms]
) -> dict[tuple[tuple[str, Form], ...], tuple[int, ...]]:
    """Files of a kind by the forms they are read in; without a file the columns are made by the default forms."""
    groups: dict[tuple[tuple[str, Form], ...], list[int]] = defaultdict(list)
    sql = "select file_no from normalise.files where kind = $1 order by file_order"
    for (file_no,) in con.execute(sql, [kind]).fetchall():
        groups[tuple((name, column.form) for name, column in forms[file_no].items())].append(file_no)
    default = tuple((c.name, default_form(TYPED[c.kind])) for c in LISTS[kind] if c.kind in TYPED)
    return {read: tuple(files) for read, files in groups.items()} or {default: ()}


def list_sql(kind: str, currency: str, forms: Mapping[str, Form], files: tuple[int, ...]) -> str:
    """The query that reads the rows of some files of a list; without files it gives the columns and no row."""
    columns = LISTS[kind]
    selected = ",\n    ".join(_column(kind, column, currency, forms) for column in columns)
    joins = "".join(_join(kind, column) for column in columns)
    return f"""
with read as (
    select files.file_order * {RECORDS_A_FILE} + rows.record as row_no, rows.file_no, rows.record, rows.row_digest,
    {selected},
    {first_problem(_checks(kind, forms))} as problem, {all_problems(_checks(kind, forms))} as problems
    from received.{kind} as rows
    join normalise.files as files on files.file_no = rows.file_no
    {mended.JOIN}
    {joins}
    where rows.file_no in ({", ".join(str(file) for file in files) or "null"})
)
select read.* exclude (problem),
    {problem_columns()}
from read
"""


def _column(kind: str, column: Column, currency: str, forms: Mapping[str, Form]) -> str:
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
        return (
            f"cast(round({_value(name, forms)} * {10 ** minor_digits(currency)}) as bigint) as {name}_minor"
        )
    if column.kind in TYPED:
        return f"{_value(name, forms)} as {name}"
    return f'{typed.cell(name)} as "{name}"'


def _value(name: str, forms: Mapping[str, Form]) -> str:
    return mended.value_sql(typed.cell(name), name, forms[name], "mended.columns_mended")


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


def _checks(kind: str, forms: Mapping[str, Form]) -> list[Check]:
    needed = [Check(name, f"no {name}", f"{typed.cell(name)} is null") for name in NEEDED[kind]]
    negative = [
        Check(
            column.name,
            "negative",
            f"{_value(column.name, forms)} < 0",
            cell=typed.cell(column.name),
        )
        for column in LISTS[kind]
        if (kind, column.name) in NEVER_NEGATIVE
    ]
    read = [
        unreadable(column, typed.cell(column.name), _value(column.name, forms))
        for column in LISTS[kind]
        if column.kind in TYPED
    ]
    structural = Check("", "", "rows.row_problem is not null", reason_sql="rows.row_problem")
    return [structural, *read, *negative, *needed]
