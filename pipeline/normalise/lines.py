"""Typed rows of the log: normalise.lines, one row per received row, each usable or with the reason why not."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

import duckdb

from pipeline.normalise import typed
from pipeline.normalise.files import RECORDS_A_FILE
from pipeline.normalise.forms import TYPED, Form
from pipeline.normalise.job_numbers import job_id_sql
from pipeline.normalise.meanings import word_columns
from pipeline.normalise.money import factor_sql
from pipeline.normalise.problems import Check, first_problem
from pipeline.normalise.spellings import SPELLED_COLUMNS
from pipeline.settings import Settings
from pipeline.standard_log import LOG, columns_of_kind

MOMENTS = columns_of_kind("log", "moment")
DAYS = columns_of_kind("log", "day")
MONEY = columns_of_kind("log", "money")
NUMBERS = columns_of_kind("log", "minutes", "number", "count")
MINUTES = columns_of_kind("log", "minutes")
YES_NO = columns_of_kind("log", "yes_no")
# Kept as written; everything else has a type or a meaning.
AS_WRITTEN = ("unit_id", "serial", "site_id", "technician", "reading", "part_no", "return_of", "note")
# Dates on which something had happened; a visit may be booked for later.
PAST = ("reported_at", "started_at", "finished_at")


@dataclass(frozen=True)
class Reading:
    """How a group of files is read; files read the same way are read in one pass."""

    layout: str
    time_zone: str
    has_job_id: bool
    forms: tuple[tuple[str, Form], ...]

    def form(self, column: str) -> Form:
        """Form of a column."""
        return dict(self.forms)[column]


def read_lines(con: duckdb.DuckDBPyConnection, settings: Settings, forms: dict[int, dict[str, Form]]) -> None:
    """Create normalise.lines."""
    groups = _groups(con, forms)
    empty = Reading("", settings.time_zone, has_job_id=True, forms=_default_forms())
    con.execute(f"create or replace table normalise.lines as {lines_sql(empty, (), settings.currency)}")
    for reading, files in groups.items():
        con.execute(f"insert into normalise.lines {lines_sql(reading, files, settings.currency)}")


def moment_names(column: str) -> tuple[str, str]:
    """Names of the moment in UTC and of the local day."""
    stem = column.removesuffix("_at")
    return f"{stem}_at", f"{stem}_on"


def lines_sql(reading: Reading, files: tuple[int, ...], currency: str) -> str:
    """The query that reads the rows of some files; without files it gives the columns and no row."""
    columns = {
        **_identity(reading),
        **_texts(),
        **_moments(reading),
        **_numbers(reading),
        **_amounts(reading, currency),
    }
    meanings = "".join(_meaning_join(column, _quoted(reading.layout)) for column in word_columns())
    spelled = "".join(_meaning_join(column, "''") for column in SPELLED_COLUMNS)
    listed = ", ".join(str(file) for file in files) or "null"
    selected = ",\n    ".join(f'{sql} as "{name}"' for name, sql in columns.items())
    return f"""
with read as (
    select {selected},
    {first_problem(_checks(reading))} as problem
    from received.rows as rows
    join normalise.files as files on files.file_no = rows.file_no
    left join normalise.symptom_cells as symptoms
        on symptoms.column_name = 'symptom' and symptoms.layout = {_quoted(reading.layout)} and symptoms.cell = rows.symptom
    left join normalise.symptom_cells as notes
        on notes.column_name = 'note' and notes.layout = {_quoted(reading.layout)} and notes.cell = rows.note
    left join normalise.part_numbers as part_numbers on part_numbers.part_no = rows.part_no
    {meanings}{spelled}
    where rows.file_no in ({listed})
)
select read.* exclude (problem), jobs.job_no,
    problem.column_name as problem_column, problem.reason as problem_reason, problem.shape as problem_shape
from read left join normalise.job_numbers as jobs on jobs.source = read.source and jobs.job_id = read.job_id
"""


def _groups(
    con: duckdb.DuckDBPyConnection, forms: dict[int, dict[str, Form]]
) -> dict[Reading, tuple[int, ...]]:
    sql = "select file_no, layout, time_zone, has_job_id from normalise.files where kind = 'log' order by file_order"
    groups: dict[Reading, list[int]] = defaultdict(list)
    for file_no, layout, zone, has_job_id in con.execute(sql).fetchall():
        groups[Reading(layout, zone, has_job_id, tuple(forms[file_no].items()))].append(file_no)
    return {reading: tuple(files) for reading, files in groups.items()}


def _default_forms() -> tuple[tuple[str, Form], ...]:
    from pipeline.normalise.forms import forms_of

    return tuple((column.name, forms_of(TYPED[column.kind])[0]) for column in LOG if column.kind in TYPED)


def _identity(reading: Reading) -> dict[str, str]:
    visit = typed.cell("visit_no")
    return {
        "row_no": f"files.file_order * {RECORDS_A_FILE} + rows.record",
        "file_no": "rows.file_no",
        "load_no": "rows.load_no",
        "record": "rows.record",
        "line": "rows.line",
        "row_digest": "rows.row_digest",
        # A narrow stand-in for the digest, compared again in full wherever it decides.
        "row_key": "cast(hash(rows.row_digest) >> 1 as bigint)",
        "source": "coalesce(rows.source, '')",
        "job_id": job_id_sql(has_job_id=reading.has_job_id),
        "visit_no": f"try_cast({visit} as integer)",
        # "01" and "1" are the same visit.
        "visit_ref": f"coalesce(cast(try_cast({visit} as integer) as varchar), lower({visit}))",
        "area": typed.cell("postcode"),
    }


def _texts() -> dict[str, str]:
    kept = {name: typed.cell(name) for name in AS_WRITTEN}
    words = {
        name: f'"m_{name}".meaning' for name in (*word_columns(), *SPELLED_COLUMNS) if name not in YES_NO
    }
    answers = {
        name: f"case \"m_{name}\".meaning when 'yes' then true when 'no' then false end" for name in YES_NO
    }
    symptoms = {
        "symptom": "coalesce(symptoms.symptom, notes.symptom)",
        "symptoms": "case when symptoms.symptom is null then notes.symptoms else symptoms.symptoms end",
    }
    return {**kept, **words, **answers, **symptoms, "part_key": "part_numbers.part_key"}


def _moments(reading: Reading) -> dict[str, str]:
    columns = {}
    for column in MOMENTS:
        at, on = moment_names(column)
        columns[at] = typed.utc(column, reading.form(column), reading.time_zone)
        columns[on] = typed.local_day(column, reading.form(column), reading.time_zone)
    return {**columns, **{column: typed.local(column, reading.form(column)) for column in DAYS}}


def _numbers(reading: Reading) -> dict[str, str]:
    return {column: typed.local(column, reading.form(column)) for column in NUMBERS}


def _amounts(reading: Reading, currency: str) -> dict[str, str]:
    named = f"coalesce(upper({typed.cell('currency')}), {_quoted(currency)})"
    amounts = {
        f"{column}_minor": f"cast(round({typed.local(column, reading.form(column))} * {factor_sql(named)}) as bigint)"
        for column in MONEY
    }
    return {**amounts, "currency": named}


def _checks(reading: Reading) -> list[Check]:
    """What sets a row aside, in the order in which it is looked for."""
    zone = reading.time_zone
    no_job = (
        [Check("job_id", "no job number", f"{typed.cell('job_id')} is null")] if reading.has_job_id else []
    )
    unreadable = [_unreadable(column.name, column.kind, reading) for column in LOG if column.kind in TYPED]
    dates = " and ".join(f"{typed.cell(column)} is null" for column in MOMENTS)
    later = [
        Check(
            column,
            "dated after the file was received",
            f"{typed.local_day(column, reading.form(column), zone)} > files.received_on",
        )
        for column in PAST
    ]
    return [
        Check("", "", "rows.row_problem is not null", reason_sql="rows.row_problem"),
        *no_job,
        *unreadable,
        Check("unit_type", "no kind of machine", "m_unit_type.meaning is null"),
        Check("reported_at", "no date", dates),
        *(
            Check(column, "negative minutes", f"{typed.local(column, reading.form(column))} < 0")
            for column in MINUTES
        ),
        _finished_first(reading),
        *later,
    ]


def _unreadable(column: str, kind: str, reading: Reading) -> Check:
    what = {"moment": "a date or time", "day": "a date", "money": "an amount"}.get(kind, "a number")
    failed = f"{typed.cell(column)} is not null and {typed.local(column, reading.form(column))} is null"
    return Check(column, f"cannot be read as {what}", failed, shape_sql=typed.shape(typed.cell(column)))


def _finished_first(reading: Reading) -> Check:
    """Where one of the two has no time of day only the days can be compared."""
    read = {column: reading.form(column) for column in ("reported_at", "finished_at")}
    days = {column: typed.local_day(column, form, reading.time_zone) for column, form in read.items()}
    moments = {column: typed.utc(column, form, reading.time_zone) for column, form in read.items()}
    timed = " and ".join(
        f"cast({typed.local(column, form)} as time) > time '00:00'" for column, form in read.items()
    )
    failed = f"({days['finished_at']} < {days['reported_at']} or ({moments['finished_at']} < {moments['reported_at']} and {timed}))"
    return Check("finished_at", "finished before reported", failed)


def _meaning_join(column: str, layout: str) -> str:
    return f"""
    left join (select phrase, meaning from normalise.meanings where column_name = '{column}' and layout = {layout}) as "m_{column}"
        on "m_{column}".phrase = rows."{column}" """


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
