"""Typed rows of the log: normalise.lines, one row per received row, each usable or with the reason why not."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

import duckdb

from pipeline.normalise import line_columns, mended, typed
from pipeline.normalise.amount_currency import NAMES_NONE, AmountCurrency, currency_of_amounts
from pipeline.normalise.areas import AREA_JOIN
from pipeline.normalise.column_forms import FileForms
from pipeline.normalise.files import LayoutReading
from pipeline.normalise.forms import TYPED, Form, default_form
from pipeline.normalise.job_numbers import job_id_sql
from pipeline.normalise.line_checks import line_checks
from pipeline.normalise.meanings import empty_cell_meanings, word_columns
from pipeline.normalise.problems import all_problems, first_problem, problem_columns
from pipeline.normalise.spellings import SPELLED_COLUMNS
from pipeline.normalise.works import QUANTITIES
from pipeline.settings import Settings
from pipeline.standard_log import LOG


@dataclass(frozen=True)
class Reading:
    """How a group of files is read; files read the same way are read in one pass."""

    layout: str
    time_zone: str
    has_job_id: bool
    forms: tuple[tuple[str, Form], ...]
    empty_cells: tuple[tuple[str, str], ...] = ()
    # Typed columns in which cells were mended: a mended cell is in the preferred form, whatever form the column has.
    mended: tuple[str, ...] = ()
    # Columns whose cells may hold several works: a list of quantities is read with the works it belongs to.
    split: tuple[str, ...] = ()
    # What the rows are matched by where they complete the visits of another file; empty where they are visits.
    completes_by: str = ""
    currencies: AmountCurrency = NAMES_NONE

    @property
    def job_id(self) -> str:
        """SQL for the job number; a row that completes a visit gets none made."""
        if self.completes_by and not self.has_job_id:
            return "cast(null as varchar)"
        return job_id_sql(has_job_id=self.has_job_id)


def read_lines(
    con: duckdb.DuckDBPyConnection,
    settings: Settings,
    layouts: Mapping[str, LayoutReading],
    forms: Mapping[int, FileForms],
) -> None:
    """Create normalise.lines."""
    nothing = Reading("", settings.time_zone, has_job_id=True, forms=_default_forms())
    groups = _groups(con, layouts, forms) or {nothing: ()}
    start = "create or replace table normalise.lines as"
    for reading, files in groups.items():
        con.execute(f"{start} {lines_sql(reading, files, settings.currency)}")
        start = "insert into normalise.lines"


def lines_sql(reading: Reading, files: tuple[int, ...], currency: str) -> str:
    """
    The query that reads the rows of some files; without files it gives the columns and no row.

    It goes in steps (cell, value as written, value in UTC and minor units, problem), so that no cell is read twice.
    """
    columns = {
        **line_columns.identity(),
        **line_columns.texts(dict(reading.empty_cells)),
        **line_columns.values(reading.time_zone),
        **line_columns.amounts(),
    }
    checks = line_checks(has_job_id=reading.has_job_id, completes_by=reading.completes_by)
    # A row that completes a visit belongs to no job yet: tables/completing_rows.sql finds it.
    job_no = "cast(null as bigint)" if reading.completes_by else "jobs.job_no"
    return f"""
with cells as (
    select rows.file_no, rows.load_no, rows.record, rows.line, rows.row_digest, rows.row_problem,
    coalesce(rows.source, '') as source, {reading.job_id} as job_id,
    {_listed({name: _cell(name, reading) for name in _cell_columns()})}{", mended.columns_mended" if reading.mended else ""}
    from received.rows as rows
    {mended.JOIN if reading.mended else ""}
    where rows.file_no in ({", ".join(str(file) for file in files) or "null"})
),
written as (
    select cells.*, {_listed(_written(reading))},
    {reading.currencies.used_sql(currency)} as currency_used, {reading.currencies.several_sql()} as has_several_currencies
    from cells
),
read as (
    select written.row_problem, {_listed({f"c_{name}": f'written."{name}"' for name in _typed_columns()})},
    {_listed({f"w_{name}": f'written."w_{name}"' for name in _typed_columns()})},
    {_listed(line_columns.odd_hours(reading.time_zone))}, written.has_several_currencies,
    files.received_on, {_listed(columns)}
    from written
    join normalise.files as files on files.file_no = written.file_no
    {AREA_JOIN}
    left join normalise.part_numbers as part_numbers on part_numbers.part_no = written.part_no
    {_joins(reading.layout)}
),
checked as (
    select judged.*, {all_problems(checks)} as problems
    from (select read.*, {first_problem(checks)} as problem from read) as judged
)
select {", ".join(f'checked."{name}"' for name in columns)}, {job_no} as job_no,
    {line_columns.first_odd_hour("column")} as odd_hour_column, {line_columns.first_odd_hour("hour")} as odd_hour,
    {line_columns.mark("job", "machine")} as job_mark, {line_columns.mark("visit")} as visit_mark,
    {line_columns.mark("job", "machine", "visit", "line", leaving_out=("return_of",))} as content_mark,
    {problem_columns()}, checked.problems
from checked left join normalise.job_numbers as jobs on jobs.source = checked.source and jobs.job_id = checked.job_id
"""


def _groups(
    con: duckdb.DuckDBPyConnection, layouts: Mapping[str, LayoutReading], forms: Mapping[int, FileForms]
) -> dict[Reading, tuple[int, ...]]:
    sql = (
        "select file_no, layout, time_zone, has_job_id, coalesce(completes_by, '') from normalise.files "
        "where kind = 'log' order by file_order"
    )
    by_file = _mended_columns(con)
    groups: dict[Reading, list[int]] = defaultdict(list)
    for file_no, layout, zone, has_job_id, completes_by in con.execute(sql).fetchall():
        empty = empty_cell_meanings(layouts.get(layout))
        columns = forms[file_no]
        read = tuple((name, column.form) for name, column in columns.items())
        split = layouts[layout].split if layout in layouts else ()
        reading = Reading(
            layout,
            zone,
            has_job_id,
            read,
            empty,
            mended=by_file.get(file_no, ()),
            split=split,
            completes_by=completes_by,
            currencies=currency_of_amounts(columns),
        )
        groups[reading].append(file_no)
    return {reading: tuple(files) for reading, files in groups.items()}


def _mended_columns(con: duckdb.DuckDBPyConnection) -> dict[int, tuple[str, ...]]:
    """Typed columns in which cells of a file were mended, by file."""
    sql = "select distinct file_no, column_name from received.corrections order by all"
    found: dict[int, tuple[str, ...]] = {}
    for file_no, column in con.execute(sql).fetchall():
        if column in _typed_columns():
            found[file_no] = (*found.get(file_no, ()), column)
    return found


def _default_forms() -> tuple[tuple[str, Form], ...]:
    return tuple((column.name, default_form(TYPED[column.kind])) for column in LOG if column.kind in TYPED)


def _listed(columns: Mapping[str, str]) -> str:
    return ",\n    ".join(f'{sql} as "{name}"' for name, sql in columns.items())


def _cell_columns() -> tuple[str, ...]:
    return tuple(column.name for column in LOG if column.name != "job_id")


def _typed_columns() -> tuple[str, ...]:
    return tuple(column.name for column in LOG if column.kind in TYPED)


def _cell(name: str, reading: Reading) -> str:
    if name != "quantity" or name not in reading.split:
        return typed.cell(name)
    return f"case when not regexp_full_match({typed.cell(name)}, '{QUANTITIES}') then {typed.cell(name)} end"


def _written(reading: Reading) -> dict[str, str]:
    """Values as written (w_), and for moments with an offset of their own the moment (z_)."""
    values = {f"w_{name}": _value(name, form, reading) for name, form in reading.forms}
    return {**values, **{f"z_{name}": typed.with_offset(f'cells."{name}"') for name in line_columns.MOMENTS}}


def _value(name: str, form: Form, reading: Reading) -> str:
    cell = f'cells."{name}"'
    if name not in reading.mended:
        return form.sql(cell)
    return mended.value_sql(cell, name, form, "cells.columns_mended")


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
