"""Typed rows of the log: normalise.lines, one row per received row, each usable or with the reason why not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import duckdb

from pipeline.normalise import typed
from pipeline.normalise.files import RECORDS_A_FILE, LayoutReading
from pipeline.normalise.forms import TYPED, Form, forms_of
from pipeline.normalise.job_numbers import job_id_sql
from pipeline.normalise.line_checks import line_checks
from pipeline.normalise.meanings import empty_cell_meanings, word_columns
from pipeline.normalise.money import factor_sql
from pipeline.normalise.odd_hours import odd_hour
from pipeline.normalise.problems import first_problem, problem_columns
from pipeline.normalise.spellings import SPELLED_COLUMNS
from pipeline.settings import Settings
from pipeline.standard_log import LOG, Column, columns_of_kind

MOMENTS = columns_of_kind("log", "moment")
DAYS = columns_of_kind("log", "day")
MONEY = columns_of_kind("log", "money")
NUMBERS = columns_of_kind("log", "minutes", "number", "count")
YES_NO = columns_of_kind("log", "yes_no")
# Kept as written; everything else has a type or a meaning.
AS_WRITTEN = ("unit_id", "serial", "site_id", "technician", "reading", "return_of")


@dataclass(frozen=True)
class Reading:
    """How a group of files is read; files read the same way are read in one pass."""

    layout: str
    time_zone: str
    has_job_id: bool
    forms: tuple[tuple[str, Form], ...]
    empty_cells: tuple[tuple[str, str], ...] = ()


def read_lines(
    con: duckdb.DuckDBPyConnection,
    settings: Settings,
    layouts: Mapping[str, LayoutReading],
    forms: dict[int, dict[str, Form]],
) -> None:
    """Create normalise.lines."""
    nothing = Reading("", settings.time_zone, has_job_id=True, forms=_default_forms())
    groups = _groups(con, layouts, forms) or {nothing: ()}
    start = "create or replace table normalise.lines as"
    for reading, files in groups.items():
        con.execute(f"{start} {lines_sql(reading, files, settings.currency)}")
        start = "insert into normalise.lines"


def moment_names(column: str) -> tuple[str, str]:
    """Names of the moment in UTC and of the local day."""
    stem = column.removesuffix("_at")
    return f"{stem}_at", f"{stem}_on"


def lines_sql(reading: Reading, files: tuple[int, ...], currency: str) -> str:
    """
    The query that reads the rows of some files; without files it gives the columns and no row.

    It goes in steps (cell, value as written, value in UTC and minor units, problem), so that no cell is read twice.
    """
    columns = {**_identity(), **_texts(reading), **_moments(reading), **_amounts()}
    return f"""
with cells as (
    select rows.file_no, rows.load_no, rows.record, rows.line, rows.row_digest, rows.row_problem,
    coalesce(rows.source, '') as source, {job_id_sql(has_job_id=reading.has_job_id)} as job_id,
    {_listed({name: typed.cell(name) for name in _cell_columns()})}
    from received.rows as rows
    where rows.file_no in ({", ".join(str(file) for file in files) or "null"})
),
written as (
    select cells.*, {_listed(_written(reading))},
    coalesce(upper(cells.currency), nullif({typed.quoted(currency)}, '')) as currency_used
    from cells
),
read as (
    select written.row_problem, {_listed({f"c_{name}": f'written."{name}"' for name in _typed_columns()})},
    {_listed({f"w_{name}": f'written."w_{name}"' for name in _typed_columns()})},
    {_listed(_odd_hours(reading.time_zone))},
    files.received_on, {_listed(columns)}
    from written
    join normalise.files as files on files.file_no = written.file_no
    left join normalise.part_numbers as part_numbers on part_numbers.part_no = written.part_no
    {_joins(reading.layout)}
),
checked as (
    select read.*, {first_problem(line_checks(has_job_id=reading.has_job_id))} as problem
    from read
)
select {", ".join(f'checked."{name}"' for name in columns)}, jobs.job_no,
    {_first_of("column")} as odd_hour_column, {_first_of("hour")} as odd_hour,
    {_mark("job", "machine")} as job_mark, {_mark("visit")} as visit_mark,
    {problem_columns()}
from checked left join normalise.job_numbers as jobs on jobs.source = checked.source and jobs.job_id = checked.job_id
"""


def _groups(
    con: duckdb.DuckDBPyConnection, layouts: Mapping[str, LayoutReading], forms: dict[int, dict[str, Form]]
) -> dict[Reading, tuple[int, ...]]:
    sql = "select file_no, layout, time_zone, has_job_id from normalise.files where kind = 'log' order by file_order"
    groups: dict[Reading, list[int]] = defaultdict(list)
    for file_no, layout, zone, has_job_id in con.execute(sql).fetchall():
        empty = empty_cell_meanings(layouts.get(layout))
        groups[Reading(layout, zone, has_job_id, tuple(forms[file_no].items()), empty)].append(file_no)
    return {reading: tuple(files) for reading, files in groups.items()}


def _default_forms() -> tuple[tuple[str, Form], ...]:
    return tuple((column.name, forms_of(TYPED[column.kind])[0]) for column in LOG if column.kind in TYPED)


def _listed(columns: Mapping[str, str]) -> str:
    return ",\n    ".join(f'{sql} as "{name}"' for name, sql in columns.items())


def _cell_columns() -> tuple[str, ...]:
    return tuple(column.name for column in LOG if column.name != "job_id")


def _typed_columns() -> tuple[str, ...]:
    return tuple(column.name for column in LOG if column.kind in TYPED)


def _written(reading: Reading) -> dict[str, str]:
    """Values as written (w_), and for moments with an offset of their own the moment (z_)."""
    values = {f"w_{name}": form.sql(f'cells."{name}"') for name, form in reading.forms}
    return {**values, **{f"z_{name}": typed.with_offset(f'cells."{name}"') for name in MOMENTS}}


def _mark(*levels: str) -> str:
    """
    SQL for one number that stands for all that a line says about its job or its visit.

    Lines with the same mark agree, so that only the others have to be compared column by column.
    """
    said = [
        name
        for column in LOG
        if column.level in levels and column.name not in ("job_id", "visit_no")
        for name in _names(column)
    ]
    return f"cast(hash({', '.join(f'checked.{name}' for name in said)}) >> 1 as bigint)"


def _names(column: Column) -> tuple[str, ...]:
    """Names that a column of the standard log has in normalise.lines."""
    if column.kind == "moment":
        return moment_names(column.name)
    if column.kind == "money":
        return (f"{column.name}_minor",)
    return {"postcode": ("area",), "note": ()}.get(column.name, (column.name,))


def _identity() -> dict[str, str]:
    number = "try_cast(written.visit_no as integer)"
    kept = ("file_no", "load_no", "record", "line", "row_digest", "source", "job_id", *AS_WRITTEN)
    return {
        "row_no": f"files.file_order * {RECORDS_A_FILE} + written.record",
        # A narrow stand-in for the digest, compared again in full wherever it decides.
        "row_key": "cast(hash(written.row_digest) >> 1 as bigint)",
        **{name: f"written.{name}" for name in kept},
        "visit_no": number,
        # "01" and "1" are the same visit.
        "visit_ref": f"coalesce(cast({number} as varchar), lower(written.visit_no))",
        "area": "written.postcode",
        "note": "written.note",
        "part_no": "written.part_no",
        "part_key": "part_numbers.part_key",
    }


def _texts(reading: Reading) -> dict[str, str]:
    empty = dict(reading.empty_cells)
    meanings = {name: _meaning(name, empty) for name in (*word_columns(), *SPELLED_COLUMNS)}
    words = {name: sql for name, sql in meanings.items() if name not in YES_NO}
    answers = {
        name: f"case {meanings[name]} when 'yes' then true when 'no' then false end" for name in YES_NO
    }
    symptoms = {
        "symptom": "coalesce(symptoms.symptom, notes.symptom)",
        "symptoms": "case when symptoms.symptom is null then notes.symptoms else symptoms.symptoms end",
    }
    return {**words, **answers, **symptoms}


def _meaning(column: str, empty: Mapping[str, str]) -> str:
    """A layout may say what an empty cell means."""
    if column not in empty:
        return f'"m_{column}".meaning'
    return f'case when written."{column}" is null then {typed.quoted(empty[column])} else "m_{column}".meaning end'


def _moments(reading: Reading) -> dict[str, str]:
    columns = {}
    for column in MOMENTS:
        at, on = moment_names(column)
        value, zoned = f'written."w_{column}"', f'written."z_{column}"'
        columns[at] = typed.utc(value, zoned, reading.time_zone)
        columns[on] = typed.local_day(value, zoned, reading.time_zone)
    return {**columns, **{column: f'written."w_{column}"' for column in (*DAYS, *NUMBERS)}}


def _odd_hours(zone: str) -> dict[str, str]:
    """Whether the clock skipped or doubled the hour of a moment (o_)."""
    return {f"o_{name}": odd_hour(f'written."w_{name}"', f'written."z_{name}"', zone) for name in MOMENTS}


def _first_of(what: str) -> str:
    """SQL for the first moment of a line that falls into an odd hour: its column, or what is odd."""
    whens = (f"when checked.o_{name} is not null then {_odd(name, what)}" for name in MOMENTS)
    return f"case {' '.join(whens)} end"


def _odd(name: str, what: str) -> str:
    return typed.quoted(name) if what == "column" else f"checked.o_{name}"


def _amounts() -> dict[str, str]:
    factor = factor_sql("written.currency_used")
    amounts = {
        f"{column}_minor": f'cast(round(written."w_{column}" * {factor}) as bigint)' for column in MONEY
    }
    return {**amounts, "currency": "written.currency_used"}


def _joins(layout: str) -> str:
    words = "".join(_meaning_join(column, layout) for column in word_columns())
    spelled = "".join(_meaning_join(column, "") for column in SPELLED_COLUMNS)
    cells = "".join(
        f"""
    left join (select cell, symptom, symptoms from normalise.symptom_cells
        where column_name = '{column}' and layout = {typed.quoted(layout)}) as {name} on {name}.cell = written.{column}"""
        for name, column in (("symptoms", "symptom"), ("notes", "note"))
    )
    return words + spelled + cells


def _meaning_join(column: str, layout: str) -> str:
    return f"""
    left join (select phrase, meaning from normalise.meanings
        where column_name = '{column}' and layout = {typed.quoted(layout)}) as "m_{column}"
        on "m_{column}".phrase = written."{column}" """
