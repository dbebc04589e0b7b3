"""Causes outside the machine: how often they are found where the installation was looked at, and what was done before."""

from __future__ import annotations

from typing import Any

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.measures.after_outside_causes import COLUMNS, DAYS, ENDS, MACHINE, after, looking
from pipeline.measures.groups import job_grouping
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.shares import UNIT, shares_of_kinds
from pipeline.measures.timed_checks import timed_checks
from pipeline.measures.window import Bounds, resolve
from pipeline.normalise.money import factor_sql
from pipeline.vocabulary.check_minutes import CheckEntry, CheckTable

DEFAULT_BY = ("unit_type",)
ALLOWED = ("unit_type", "make", "model", "fitting", "site_kind", "symptom", "age_band", "month", "source")
BEFORE = ("fixes_before", "hours_before", "unpaid_hours_before", "parts_before", "parts_cost_before")
EXTRAS = ("effective_n", "jobs", *BEFORE, "currency", *COLUMNS, "days", "from", "complete_to")


def outside_causes(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Share of jobs in which each cause outside the machine was found, of those in which somebody looked.

    Beside it, per job with the cause: fixes of the same symptom on the machine within the guarantee before, their hours and
    parts. They came before it; whether they were for nothing is not shown. And after it: the next fault job on the machine,
    and on other machines at the address, where it was put right and where it was left.

    Raises
    ------
    CannotAnswerError
        If the log never says whether the installation was looked at, or no cause outside the machine was ever found.
    """
    bounds = resolve(con, question, needs_closed_jobs=True)
    groups = job_grouping(
        question.by or DEFAULT_BY, dated="j.reported_on", people=question.people, allowed=ALLOWED
    )
    _refuse_what_cannot_be(con)
    looked = _looked_at(con, groups.select, bounds)
    found = _found(con, groups.select, groups.names, bounds)
    if not found.height:
        raise CannotAnswerError(
            f"No cause outside a machine was found in fault jobs reported {bounds.window.in_words()}."
        )
    table = timed_checks(con)
    later = after(con, groups.select, groups.names, bounds, question.level)
    names = (*groups.names, "finding")
    hits = _hits(con, groups.select, bounds)
    keys, shares = shares_of_kinds(hits, looked, groups.names, names, question.level)
    share_of = {tuple(key.values()): share for key, share in zip(keys, shares, strict=True)}
    keyed = [(tuple(row[name] for name in names), row) for row in found.to_dicts()]
    rows = [
        _row(row, share_of[key], later.get(key, {}), question, bounds, look=_look(table, row))
        for key, row in keyed
        if share_of[key]["denominator"]
    ]
    return sorted_rows(frame(rows, names, EXTRAS), names)


def _refuse_what_cannot_be(con: duckdb.DuckDBPyConnection) -> None:
    looked = con.execute("select count(*) from tables.visits where installation_looked_at").fetchall()[0][0]
    if not looked:
        raise CannotAnswerError(
            "The log never says that the installation was looked at (installation_looked_at), so how often its faults are found cannot be told."
        )


_LOOKED = "j.job_no in (select job_no from tables.visits where installation_looked_at)"
_INSIDE = (
    "j.is_fault and j.last_attended_no is not null and j.reported_at >= $from_utc and j.reported_at < $to_utc"
)


def _looked_at(con: duckdb.DuckDBPyConnection, select: str, bounds: Bounds) -> pl.DataFrame:
    """Jobs of each machine in which somebody looked."""
    sql = f"""
    select {select} {UNIT} as unit, count(*) as of from tables.jobs as j where {_INSIDE} and {_LOOKED}
    group by all order by all
    """
    return ask(con, sql, bounds.parameters)


def _hits(con: duckdb.DuckDBPyConnection, select: str, bounds: Bounds) -> pl.DataFrame:
    """Jobs of each machine with a cause, those among them in which somebody looked."""
    sql = f"""
    select {select} o.cause as finding, {UNIT} as unit, count(*) filter (where {_LOOKED}) as hits
    from facts.outside_causes as o join tables.jobs as j on j.job_no = o.job_no
    where {_INSIDE}
    group by all order by all
    """
    return ask(con, sql, bounds.parameters)


def _found(
    con: duckdb.DuckDBPyConnection, select: str, names: tuple[str, ...], bounds: Bounds
) -> pl.DataFrame:
    """One row per group and cause: jobs, those among them with a look, and what was done before."""
    groups = "".join(f"{name}, " for name in names)
    major = factor_sql("coalesce(currency, '')")
    sql = f"""
    with
    before as (
        select b.job_no, count(*) as fixes, sum(m.minutes) / 60.0 as hours,
            sum(case when m.is_unpaid then m.minutes else 0 end) / 60.0 as unpaid_hours,
            sum(coalesce(m.parts_cost_minor, 0)) as parts_cost_minor, min(m.currency) as currency,
            count(distinct m.currency) as count_currencies, sum(coalesce(p.parts, 0)) as parts
        from facts.before_outside_causes as b
        join facts.job_money as m on m.job_no = b.earlier_job_no
        left join (
            select job_no, count(*) as parts from facts.job_parts where action = 'replace' group by job_no
        ) as p on p.job_no = b.earlier_job_no
        group by b.job_no
    ),
    found as (
        select {select} o.cause as finding, j.job_no, {_LOOKED} as is_looked_at, b.* exclude (job_no)
        from facts.outside_causes as o
        join tables.jobs as j on j.job_no = o.job_no
        left join before as b on b.job_no = j.job_no
        where {_INSIDE}
    )
    select {groups} finding, count(*) as jobs, count(*) filter (where is_looked_at) as hits,
        sum(coalesce(fixes, 0)) / count(*) as fixes_before, sum(coalesce(hours, 0.0)) / count(*) as hours_before,
        sum(coalesce(unpaid_hours, 0.0)) / count(*) as unpaid_hours_before,
        sum(coalesce(parts, 0)) / count(*) as parts_before, min(currency) as currency,
        case when count(distinct currency) <= 1 and coalesce(max(count_currencies), 1) <= 1
            then sum(coalesce(parts_cost_minor, 0)) / count(*) / min({major}) end as parts_cost_before
    from found
    group by {groups} finding
    order by {groups} finding
    """
    return ask(con, sql, bounds.parameters)


def _row(
    row: dict[str, Any],
    share: dict[str, Any],
    later: dict[str, Any],
    question: Question,
    bounds: Bounds,
    *,
    look: CheckEntry,
) -> dict[str, Any]:
    unseen = int(row["jobs"]) - int(row["hits"])
    sides = {end: later.get(f"of_{MACHINE}_{end}", 0) for end in ENDS}
    return {
        **row,
        **later,
        **looking(later, int(row["hits"]), int(share["denominator"]), question.level, look=look),
        **sides,
        "days": DAYS,
        **share,
        "unit": "share of jobs in which the installation was looked at",
        "basis": "attended fault jobs in which somebody looked; an association, not what it costs for certain",
        "note": with_note(
            f"found in {unseen} more without a note that somebody looked" if unseen else "",
            _one_sided(sides),
        ),
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }


def _look(table: CheckTable, row: dict[str, Any]) -> CheckEntry:
    """The look at this kind of machine, or at all where kinds are together."""
    return table.look(row.get("unit_type") or "")


def _one_sided(sides: dict[str, int]) -> str:
    """Why nobody can say what putting right does."""
    put_right, left = (sides[end] for end in ENDS)
    if not put_right and not left:
        return ""
    if not left:
        return "always put right, so what follows otherwise is not known"
    return "" if put_right else "never put right, so what that would change is not known"
