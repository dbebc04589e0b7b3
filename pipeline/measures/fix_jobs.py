"""The jobs behind what a fix earns: paid fixes on known machines, with margin, hours and the unpaid chain each started."""

from __future__ import annotations

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.measures.groups import WORK, Grouping
from pipeline.measures.pricing import CREDITS, MAJOR, PAID, margin_sql, return_cost_sql
from pipeline.measures.query import ask
from pipeline.measures.result import with_note
from pipeline.measures.terms import Terms
from pipeline.measures.window import Bounds, last_day

# Payers pay by different rules and currencies cannot be added: both are always groups of a figure about money.
MONEY = ("payer", "currency")
# Follow-up of an index job as facts.repeats has it, cut at the end of the window.
FOLLOWED = """
    case when r.next_on < $to_on then r.days_to_next end as days_to_next, r.next_is_same_fault,
    case when r.removed_on <= $last_on then date_diff('day', r.finished_on, r.removed_on) end as days_to_leave,
    date_diff('day', r.finished_on, $last_on) as days_followed
"""


def fix_jobs(
    con: duckdb.DuckDBPyConnection, groups: Grouping, bounds: Bounds, terms: Terms
) -> tuple[pl.DataFrame, str]:
    """
    One row per paid index job and group; and what was left out, in words.

    Columns: the groups, `payer`, `currency`, `job_no`, `machine_no`, `margin` and `chain_cost` in major units, `hours`,
    `chain_hours`, `wasted_trips`, `wasted_hours`, `is_together`, and the follow-up that `followed.first_end` takes. Margin
    and hours are null where a charge, the cost of a part, or minutes are not recorded.

    Raises
    ------
    CannotAnswerError
        If the log records no charges, no minutes, no machines, or no paid fix in the window.
    """
    _refuse_what_cannot_be(con)
    sql = f"""
    with {WORK}, {CREDITS}
    select {groups.select} {_money(groups)} j.job_no, r.machine_no, ({margin_sql(terms)})::double / {MAJOR} as margin,
        case when m.has_all_minutes then m.minutes / 60.0 end::double as hours,
        coalesce(c.minutes, 0)::double / 60.0 as chain_hours, ({return_cost_sql(terms)})::double / {MAJOR} as chain_cost,
        m.count_wasted::double as wasted_trips, m.wasted_minutes::double / 60.0 as wasted_hours,
        coalesce(together.count_parts > 1, false)::double as is_together, {FOLLOWED}
    from facts.repeats as r
    join tables.jobs as j on j.job_no = r.job_no
    join facts.job_money as m on m.job_no = r.job_no and {PAID}
    {groups.work_join}
    left join facts.return_chains as c on c.job_no = r.job_no
    left join credits on credits.job_no = r.job_no
    left join (
        select job_no, max(count_other_parts) + 1 as count_parts from facts.job_parts group by job_no
    ) as together on together.job_no = r.job_no
    where r.finished_at >= $from_utc and r.finished_at < $to_utc
    order by all
    """
    values = {**bounds.parameters, "last_on": last_day(bounds)}
    records = ask(con, sql, values)
    if not records.height:
        raise CannotAnswerError(
            f"No fix that somebody paid for was finished on a known machine {bounds.window.in_words()}."
        )
    return records, _left_out(con, values)


def _money(groups: Grouping) -> str:
    return "".join(f"m.{name}, " for name in MONEY if name not in groups.names)


def _refuse_what_cannot_be(con: duckdb.DuckDBPyConnection) -> None:
    sql = """
    select count(*), count(m.charged_minor), count(*) filter (where m.minutes > 0), count(j.machine_no)
    from tables.jobs as j join facts.job_money as m on m.job_no = j.job_no where j.is_index
    """
    fixed, charged, timed, known = con.execute(sql).fetchall()[0]
    lacking = (
        (fixed, "has no job that ended fixed on a known day (outcome and finished_at)"),
        (charged, "records no charges (charge, or callout_charge, labour_charge and part_charge)"),
        (timed, "records no minutes of a fixed job (hands_on_min, travel_min)"),
        (known, "gives its machines no identity (unit_id, serial or site)"),
    )
    for count, says in lacking:
        if not count:
            raise CannotAnswerError(f"The log {says}, so what a fix earns cannot be worked out.")


def _left_out(con: duckdb.DuckDBPyConnection, values: dict[str, object]) -> str:
    sql = """
    select count(*) filter (where m.has_several_payers or m.count_currencies > 1),
        count(*) filter (where not m.is_paid and not m.is_unpaid), count(*) filter (where m.is_unpaid)
    from facts.repeats as r join facts.job_money as m on m.job_no = r.job_no
    where r.finished_at >= $from_utc and r.finished_at < $to_utc
    """
    several, unknown, unpaid = ask(con, sql, values).row(0)
    return with_note(
        f"left out in all: {unpaid} fixes that nobody paid for" if unpaid else "",
        f"{several} with several payers or currencies" if several else "",
        f"{unknown} of which nobody knows who paid" if unknown else "",
    )
