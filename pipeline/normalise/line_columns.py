"""SQL for each column of normalise.lines, from the steps that lines.py goes in."""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.normalise import typed
from pipeline.normalise.areas import AREA
from pipeline.normalise.files import RECORDS_A_FILE
from pipeline.normalise.meanings import word_columns
from pipeline.normalise.money import factor_sql
from pipeline.normalise.odd_hours import odd_hour
from pipeline.normalise.spellings import SPELLED_COLUMNS
from pipeline.standard_log import LOG, Column, columns_of_kind

MOMENTS = columns_of_kind("log", "moment")
DAYS = columns_of_kind("log", "day")
MONEY = columns_of_kind("log", "money")
NUMBERS = columns_of_kind("log", "minutes", "number", "count")
YES_NO = columns_of_kind("log", "yes_no")
# Kept as written; everything else has a type or a meaning.
AS_WRITTEN = ("unit_id", "serial", "site_id", "technician", "reading", "return_of")


def moment_names(column: str) -> tuple[str, str]:
    """Names of the moment in UTC and of the local day."""
    stem = column.removesuffix("_at")
    return f"{stem}_at", f"{stem}_on"


def mark(*levels: str, leaving_out: tuple[str, ...] = ()) -> str:
    """
    SQL for one number that stands for all that a line says about its job, its visit or itself, but for their numbers.

    Lines with the same mark agree, so that only the others have to be compared column by column.
    """
    said = [
        name
        for column in LOG
        if column.level in levels and column.name not in ("job_id", "visit_no", *leaving_out)
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


def identity() -> dict[str, str]:
    """Which row it is, and whose: numbers and pseudonyms."""
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
        "area": AREA,
        "note": "written.note",
        "part_no": "case when part_numbers.part_key is not null then written.part_no end",
        "part_key": "part_numbers.part_key",
    }


def texts(empty: Mapping[str, str]) -> dict[str, str]:
    """Words by their meaning; `empty` is what the layout says that an empty cell means, by column."""
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


def values(zone: str) -> dict[str, str]:
    """Moments in UTC with their local days, days, and numbers."""
    columns = {}
    for column in MOMENTS:
        at, on = moment_names(column)
        value, zoned = f'written."w_{column}"', f'written."z_{column}"'
        columns[at] = typed.utc(value, zoned, zone)
        columns[on] = typed.local_day(value, zoned, zone)
    return {**columns, **{column: f'written."w_{column}"' for column in (*DAYS, *NUMBERS)}}


def odd_hours(zone: str) -> dict[str, str]:
    """Whether the clock skipped or doubled the hour of a moment (o_)."""
    return {f"o_{name}": odd_hour(f'written."w_{name}"', f'written."z_{name}"', zone) for name in MOMENTS}


def first_odd_hour(what: str) -> str:
    """SQL for the first moment of a line that falls into an odd hour: its column, or what is odd."""
    whens = (f"when checked.o_{name} is not null then {_odd(name, what)}" for name in MOMENTS)
    return f"case {' '.join(whens)} end"


def _odd(name: str, what: str) -> str:
    return typed.quoted(name) if what == "column" else f"checked.o_{name}"


def amounts() -> dict[str, str]:
    """Money in minor units, and the currency it is in."""
    factor = factor_sql("written.currency_used")
    minor = {f"{column}_minor": f'cast(round(written."w_{column}" * {factor}) as bigint)' for column in MONEY}
    return {**minor, "currency": "written.currency_used"}
