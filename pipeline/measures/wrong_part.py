"""Wrong part: fixes after which another part cured the same symptom within 30 days (measure book, section 8)."""

from __future__ import annotations

from typing import Any

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.estimators.competing import Probability, incidence_of_records
from pipeline.estimators.sample import TOO_FEW, proportion_sample
from pipeline.measures.followed import SAME_FAULT, first_end
from pipeline.measures.groups import Grouping, fullest, job_grouping, positions
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, sorted_rows, with_note
from pipeline.measures.window import Bounds, last_day, resolve

# By symptom and procedure: machine type, part, action.
DEFAULT_BY = ("symptom", "unit_type", "part_no", "action")
EXTRAS = ("at_risk", "effective_n", "days", "from", "complete_to")
# A fix is a part worked on in an index job; it can be judged where the machine and a symptom are known.
FIXES = """
    facts.part_works as w
    join tables.jobs as j on j.job_no = w.job_no and j.is_index
"""
CAN_BE_JUDGED = "j.machine_no is not null and j.job_no in (select job_no from tables.job_symptoms)"


def wrong_part(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Probability that another part cured the same symptom within `repeat_days`, by symptom and procedure.

    Raises
    ------
    CannotAnswerError
        If the log names no part in a fix, no machine or no symptom.
    """
    bounds = resolve(con, question, needs_closed_jobs=True)
    by = question.by or DEFAULT_BY
    groups = job_grouping(by, dated="j.finished_on", people=question.people)
    _refuse_what_cannot_be(con)
    records = fullest(_records(con, groups, bounds), groups.names, question.most)
    if not records.height:
        raise CannotAnswerError(
            f"No fix of a part on a known machine with a known symptom was finished {bounds.window.in_words()}."
        )
    days = int(con.execute('select repeat_days from settings."values"').fetchall()[0][0])
    keys, at = positions(records, groups.names)
    time, cause = first_end(records)
    estimate = incidence_of_records(
        at,
        time,
        cause,
        records["machine_no"].to_numpy(),
        groups=len(keys),
        day=days,
        n_causes=3,
        causes=(SAME_FAULT,),
        level=question.level,
    )
    left_out = _not_to_be_judged(con, bounds)
    rows = [
        _row(key, estimate, place, days=days, left_out=left_out, question=question, bounds=bounds)
        for place, key in enumerate(keys)
    ]
    return sorted_rows(frame(rows, groups.names, EXTRAS), groups.names)


def _refuse_what_cannot_be(con: duckdb.DuckDBPyConnection) -> None:
    sql = f"""
    select count(*), count(j.machine_no),
        count(*) filter (where j.job_no in (select job_no from tables.job_symptoms))
    from {FIXES}
    """
    fixes, on_machines, with_symptom = con.execute(sql).fetchall()[0]
    if not fixes:
        raise CannotAnswerError(
            "The log names no part in a job that ended fixed (part_no or part_name, action, finished_at), so a wrong part cannot be told."
        )
    if not on_machines:
        raise CannotAnswerError(
            "The log gives its machines no identity (unit_id, serial or site), so nobody can say what cured a machine later."
        )
    if not with_symptom:
        raise CannotAnswerError(
            "The log records no symptom, so nobody can say whether the same one was cured later."
        )


def _records(con: duckdb.DuckDBPyConnection, groups: Grouping, bounds: Bounds) -> pl.DataFrame:
    """One row per fix: the first report that another part cured, the machine's end, how far it was followed."""
    sql = f"""
    with cured as (
        select w.job_no, w.part_key, min(later.reported_on) as next_on
        from facts.part_works as w
        join facts.same_symptom_cures as cures on cures.job_no = w.job_no
        join tables.jobs as later on later.job_no = cures.later_job_no and later.reported_on < $to_on
        left join facts.job_parts as again
            on again.job_no = cures.later_job_no and again.part_key = w.part_key
        where again.job_no is null
        group by all
    )
    select {groups.select} j.machine_no, date_diff('day', j.finished_on, cured.next_on) as days_to_next,
        true as next_is_same_fault,
        case when m.ended_on between j.finished_on and $last_on
            then date_diff('day', j.finished_on, m.ended_on) end as days_to_leave,
        date_diff('day', j.finished_on, $last_on) as days_followed
    from {FIXES}
    join (
        select works.job_no, works.part_key, works.action, works.part_source, parts.part_no, parts.part_name,
            part_groups.function_group, failed.mechanism
        from facts.part_works as works left join tables.parts as parts on parts.part_key = works.part_key
        left join tables.part_groups as part_groups on part_groups.part_key = works.part_key
        left join facts.part_mechanisms as failed
            on failed.job_no = works.job_no and failed.part_key = works.part_key
    ) as p on p.job_no = w.job_no and p.part_key = w.part_key
    join tables.machines as m on m.machine_no = j.machine_no
    left join cured on cured.job_no = w.job_no and cured.part_key = w.part_key
    {groups.visit_join}
    where {CAN_BE_JUDGED} and j.finished_at >= $from_utc and j.finished_at < $to_utc
    order by all
    """
    return ask(con, sql, {**bounds.parameters, "last_on": last_day(bounds)})


def _not_to_be_judged(con: duckdb.DuckDBPyConnection, bounds: Bounds) -> int:
    sql = f"""
    select count(*) from {FIXES}
    where not ({CAN_BE_JUDGED}) and j.finished_at >= $from_utc and j.finished_at < $to_utc
    """
    return int(ask(con, sql, bounds.parameters).item())


def _row(
    key: dict[str, Any],
    estimate: Probability,
    at: int,
    *,
    days: int,
    left_out: int,
    question: Question,
    bounds: Bounds,
) -> dict[str, Any]:
    value, n_eff = float(estimate.value[at]), float(estimate.n_eff[at])
    low, high = float(estimate.low[at]), float(estimate.high[at])
    short = int(estimate.followed_to[at]) < days and value < 1.0
    return {
        **key,
        "value": value,
        "low": low,
        "high": high,
        "numerator": int(estimate.events[at]),
        "denominator": int(estimate.n[at]),
        "unit": f"probability that another part cured the same symptom within {days} days",
        "level": question.level,
        "sample": TOO_FEW if short else str(proportion_sample(n_eff, low, high, int(estimate.units[at]))),
        "basis": "parts worked on in fixed jobs, machine and symptom known",
        "note": with_note(
            f"left out in all, without a known machine or symptom: {left_out}" if left_out else "",
            "followed for fewer days than asked: a floor" if short else "",
        ),
        "at_risk": int(estimate.at_risk[at]),
        "effective_n": n_eff,
        "days": days,
        "from": bounds.window.from_at,
        "complete_to": bounds.window.complete_to,
    }
