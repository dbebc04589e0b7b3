"""Everything that a summary says, worked out once: pages and the page to print tell the same."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, time
from typing import Any

import duckdb

from pipeline.errors import MendstatError
from pipeline.measures.first_visit import first_visit
from pipeline.measures.fix_payoff import fix_payoff
from pipeline.measures.procedures import procedures
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.safety_words import notices
from pipeline.measures.unpaid_hours import unpaid_hours
from pipeline.normalise.money import factor_sql
from pipeline.plain_words import tell_parts_apart
from pipeline.summary.counts import Count, comebacks, trips_in_vain
from pipeline.summary.listing import comebacks_by_bill, reports_of_danger, waiting_for_parts
from pipeline.summary.period import Period


@dataclass(frozen=True)
class Work:
    """What was reported and done in the period."""

    reported: int
    fixed: int
    visits: int
    open_jobs: int  # at its end
    charged: tuple[tuple[str, float], ...]  # by currency, major units
    kinds: tuple[tuple[str, int], ...]  # of machine, by fault jobs reported


@dataclass(frozen=True)
class Summary:
    """The period and what is to be said of it; a figure that the log cannot give is None or empty."""

    period: Period
    work: Work
    new_jobs: int  # that no load before the last one held
    danger: tuple[dict[str, Any], ...]
    notices: int
    comebacks: Count
    back: tuple[dict[str, Any], ...]
    in_vain: Count
    waiting: tuple[dict[str, Any], ...]
    first_visits: dict[str, Any] | None
    unpaid: dict[str, Any] | None
    worse: tuple[dict[str, Any], ...]  # procedures that do not hold, most returns too many first
    hour_costs: float | None
    earning: tuple[
        dict[str, Any], ...
    ] = ()  # fixes paid by the commonest payer, surest first; see with_earning


def summary_of(con: duckdb.DuckDBPyConnection, period: Period) -> Summary:
    """
    Sum up a period of a build.

    What needs a longer stretch (procedures that do not hold) looks at the whole log up to the period's end.

    Raises
    ------
    CannotAnswerError
        If the log holds no job with a date.
    """
    start, end = (datetime.combine(on, time.min) for on in (period.first_on, period.to_on))
    inside, so_far = Question(from_at=start, complete_to=end), Question(complete_to=end)
    worse = [row for row in _rows(procedures, con, so_far) if row["band"] == "worse"]
    return Summary(
        period=period,
        work=_work(con, period),
        new_jobs=_new_jobs(con),
        danger=tuple(reports_of_danger(con, period)),
        notices=sum(bool(row["count_machines"] or row["count_jobs_unknown"]) for row in notices(con) or []),
        comebacks=comebacks(con, period),
        back=tuple(comebacks_by_bill(con, period)),
        in_vain=trips_in_vain(con, period),
        waiting=tuple(waiting_for_parts(con, period)),
        first_visits=next(iter(_rows(first_visit, con, inside)), None),
        unpaid=next(iter(_rows(unpaid_hours, con, inside)), None),
        worse=tuple(sorted(worse, key=lambda row: row["expected"] - row["observed"])),
        hour_costs=con.execute('select hour_costs from settings."values"').fetchall()[0][0],
    )


def with_earning(con: duckdb.DuckDBPyConnection, found: Summary) -> Summary:
    """The same with what fixes leave of an hour, by the whole log up to the period's end: a matter of seconds."""
    so_far = Question(complete_to=datetime.combine(found.period.to_on, time.min))
    return replace(found, earning=tuple(_surest_first(_rows(fix_payoff, con, so_far))))


def _rows(measure: Any, con: duckdb.DuckDBPyConnection, question: Question) -> list[dict[str, Any]]:
    """Rows of a measure; none where the log cannot answer it."""
    try:
        rows: list[dict[str, Any]] = measure(con, question).to_dicts()
    except MendstatError:
        return []
    return rows


def _surest_first(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    jobs: dict[tuple[Any, Any], int] = {}
    for row in rows:
        purse = row["payer"], row["currency"]
        jobs[purse] = jobs.get(purse, 0) + row["jobs"]
    commonest = max(jobs, key=lambda purse: jobs[purse], default=None)
    known = [
        row
        for row in tell_parts_apart(rows)
        if (row["payer"], row["currency"]) == commonest and row["value"] is not None and row["part_no"]
    ]
    return sorted(known, key=lambda row: -row["low"])


def _new_jobs(con: duckdb.DuckDBPyConnection) -> int:
    sql = "select count(*) from facts.first_loads where first_load_no = (select max(load_no) from normalise.files where kind = 'log')"
    return int(con.execute(sql).fetchall()[0][0])


def _work(con: duckdb.DuckDBPyConnection, period: Period) -> Work:
    values = {"from_on": period.first_on, "to_on": period.to_on}
    sql = """
    select count(*) filter (where is_fault and reported_on >= $from_on and reported_on < $to_on) as reported,
        count(*) filter (where is_index and finished_on >= $from_on and finished_on < $to_on) as fixed,
        count(*) filter (where is_fault and reported_on < $to_on and coalesce(outcome, '') not in ('cancelled', 'no access')
            and (not is_closed or finished_on >= $to_on)) as open_jobs
    from tables.jobs
    """
    reported, fixed, still_open = ask(con, sql, values).row(0)
    sql = f"""
    select coalesce(v.currency, '') as currency, sum(c.charged_minor) / {factor_sql("coalesce(v.currency, '')")} as charged,
        count(*) as visits
    from tables.visits as v join facts.visit_charges as c on c.visit_key = v.visit_key
    where v.is_attended and coalesce(v.started_on, v.finished_on) >= $from_on and coalesce(v.started_on, v.finished_on) < $to_on
    group by 1 order by 1
    """
    rows = ask(con, sql, values).rows()
    sql = """
    select coalesce(unit_type, 'kind unknown'), count(*) as n from tables.jobs
    where is_fault and reported_on >= $from_on and reported_on < $to_on group by 1 order by n desc, 1
    """
    kinds = ask(con, sql, values).rows()
    charged = tuple((currency, float(amount)) for currency, amount, _ in rows if amount)
    return Work(reported, fixed, sum(row[2] for row in rows), still_open, charged, tuple(kinds))
