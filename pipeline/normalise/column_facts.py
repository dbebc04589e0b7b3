"""Counts over the distinct cells of a column, from which its written form is decided. All in SQL, nothing by the row."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

import duckdb

from pipeline.normalise import amount_forms, date_forms, duration_forms
from pipeline.normalise.forms import Typed, default_form, form_named

Facts = Mapping[str, Any]
# The column's cells as a table of distinct ones: temporary, one column at a time.
CELLS = "column_cells"


class Order(NamedTuple):
    """Steps from one job number to the next on another day, and how many of them go back in either reading."""

    steps: int
    back_day_first: int
    back_month_first: int


NO_ORDER = Order(0, 0, 0)


def gather_cells(con: duckdb.DuckDBPyConnection, table: str, file_no: int, column: str) -> None:
    """Put the distinct cells of a column of a file, with their counts, into the temporary table of cells."""
    con.execute(
        f'create or replace temp table {CELLS} as select trim("{column}") as cell, count(*) as rows_counted '
        f"from received.{table} where file_no = $1 and trim(\"{column}\") <> '' group by all",
        [file_no],
    )


def facts_of(con: duckdb.DuckDBPyConnection, kind: Typed) -> Facts:
    """Counts over the gathered cells."""
    return _one_row(con, _QUERIES[kind])


def order_along_jobs(con: duckdb.DuckDBPyConnection, file_no: int, column: str) -> Order:
    """How often the days of a column go back along the job numbers of a log."""
    cell = f'trim("{column}")'
    day_first, month_first = (
        f"cast({read.replace('{c}', cell)} as date)"
        for read in (date_forms.DAY_FIRST, date_forms.MONTH_FIRST)
    )
    sql = f"""
    with read as (
        select try_cast(regexp_extract(job_id, '(\\d+)\\D*$', 1) as bigint) as job, {day_first} as d, {month_first} as m
        from received.rows_unmended where file_no = $1
    ),
    jobs as (select job, min(d) as d, min(m) as m from read where job is not null and d <> m group by job),
    steps as (
        select d - lag(d) over (order by job) as step_d, m - lag(m) over (order by job) as step_m from jobs
    )
    select count(step_d), count(*) filter (where step_d < 0), count(*) filter (where step_m < 0) from steps
    where step_d <> 0 or step_m <> 0
    """
    return Order(*con.execute(sql, [file_no]).fetchall()[0])


def example(
    con: duckdb.DuckDBPyConnection, kind: Typed, names: tuple[str, ...]
) -> tuple[str, list[Any]] | None:
    """A gathered cell that the named forms read differently, and what each reads; None where there is none."""
    reads = [form.sql("cell") for name in names if (form := form_named(kind, name)) is not None]
    listed = ", ".join(f"({read}) as v{n}" for n, read in enumerate(reads))
    differ = " or ".join(f"v0 is distinct from v{n}" for n in range(1, len(reads)))
    there = " and ".join(f"v{n} is not null" for n in range(len(reads)))
    sql = f"select * from (select cell, {listed} from {CELLS}) where {differ} order by {there} desc, cell limit 1"
    found = con.execute(sql).fetchall()
    return (found[0][0], list(found[0][1:])) if found else None


def _one_row(con: duckdb.DuckDBPyConnection, sql: str) -> Facts:
    cursor = con.execute(sql)
    names = [name for name, *_ in cursor.description or ()]
    return dict(zip(names, cursor.fetchall()[0], strict=True))


def _read(text: str) -> str:
    return text.replace("{c}", "cell")


def _dates(kind: Typed) -> str:
    # A small number is no day of a log, whatever a spreadsheet makes of it.
    serial = f"case when try_cast(cell as double) >= 10000 then {_read(date_forms.SERIAL)} end"
    default = default_form(kind)
    return f"""
    with read as (
        select cell, {default.sql("cell")} as plain, {_read(date_forms.NAMED)} as named, {_read(date_forms.COMPACT)} as compact,
            {serial} as serial, {_read(date_forms.DAY_FIRST)} as d, {_read(date_forms.MONTH_FIRST)} as m,
            {_read(date_forms.YEAR_FIRST)} as y, {_read(date_forms.TURNED)} as t, {_read(date_forms.WEEKDAY)} as weekday
        from {CELLS}
    ),
    judged as (
        select *, d is not null or m is not null or y is not null as is_numbered,
            d is not null and m is not null and d <> m as both_ways
        from read
    ),
    voted as (
        select *,
            d is not null and (m is null or (both_ways and weekday = isodow(d) and weekday <> isodow(m))) as only_d,
            m is not null and (d is null or (both_ways and weekday = isodow(m) and weekday <> isodow(d))) as only_m
        from judged
    )
    select count(*) as cells, count(plain) as "{default.name}",
        count(*) filter (where plain is not null or named is not null) as "month names",
        count(*) filter (where plain is not null or named is not null or compact is not null) as "compact",
        count(*) filter (where plain is not null or named is not null or compact is not null or serial is not null)
            as "spreadsheet days",
        count(*) filter (where is_numbered) as numbered,
        count(y) as year_first,
        count(*) filter (where not is_numbered and t is not null) as turnable,
        count(*) filter (where not is_numbered and plain is not null and t is null) as not_turnable,
        count(distinct regexp_extract(cell, '(\\d{{1,2}})[/.-]', 1)) filter (where y is not null) as firsts,
        count(distinct regexp_extract(cell, '[/.-]\\s?\\d{{1,2}}[/.-]\\s?(\\d{{2}})', 1)) filter (where y is not null) as lasts,
        count(*) filter (where only_d) as day_only,
        count(*) filter (where only_m) as month_only,
        count(*) filter (where both_ways and not coalesce(only_d or only_m, false)) as differ
    from voted
    """


_MINUTES = f"""
with read as (
    select cell, rows_counted, {_read(duration_forms.BARE)} as bare, {_read(duration_forms.HOURS)} as hours,
        rtrim({_read(duration_forms.DIGITS)}, '0') as kept, {_read(duration_forms.DIGITS)} as digits
    from {CELLS}
),
judged as (
    select *, bare <> floor(bare) as is_fraction,
        kept <> '' and (length(digits) > 2 or rpad(kept, 2, '0') >= '60') as is_decimal,
        kept <> '' and length(digits) <= 2 and rpad(kept, 2, '0') < '60' and digits <> '5' as is_doubtful
    from read
),
ordered as (
    select abs(bare) as size, sum(rows_counted) over (order by abs(bare)) as below, sum(rows_counted) over () as every
    from judged where bare <> 0
)
select count(*) as cells, count(bare) as bare,
    count(*) filter (where is_fraction) as fractions,
    count(*) filter (where is_fraction and abs(bare) < 5) as small_fractions,
    count(*) filter (where bare is not null and digits <> '') as marked,
    count(*) filter (where length(kept) > 2) as long_fractions,
    count(*) filter (where is_decimal) as decimal_only,
    count(*) filter (where is_doubtful) as doubtful,
    count(*) filter (where is_doubtful and bare is null) as doubtful_hours,
    (select min(size) from ordered where 2 * below >= every) as median
from judged
"""

_MONEY = f"""
with read as (
    select cell, {default_form("money").sql("cell")} as plain, {_read(amount_forms.POINT)} as p, {_read(amount_forms.COMMA)} as c,
        {_read(amount_forms.CURRENCY)} as currency, {_read(amount_forms.TAX_BASIS)} as tax
    from {CELLS}
)
select count(*) as cells, count(plain) as "default",
    count(*) filter (where p is not null and c is null) as point_only,
    count(*) filter (where c is not null and p is null) as comma_only,
    count(*) filter (where p <> c) as differ,
    list_sort(list(distinct currency)) as currencies,
    list_sort(list(distinct tax)) as taxes
from read
"""

_NUMBERS = "select count(*) as cells, " + ", ".join(
    f'count({form.sql("cell")}) as "{form.name}"'
    for name in ("decimal point", "numbers with units")
    if (form := form_named("number", name)) is not None
)

_QUERIES: dict[Typed, str] = {
    "moment": _dates("moment"),
    "day": _dates("day"),
    "minutes": _MINUTES,
    "money": _MONEY,
    "number": f"{_NUMBERS} from {CELLS}",
}
