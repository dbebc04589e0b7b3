"""Lives of parts as records: when each began, what ended it, how far it was followed (measure book, section 4)."""

from __future__ import annotations

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.competing import CENSORED
from pipeline.measures.counted_parts import OF_A_PART, counted_parts
from pipeline.measures.followed import ended_by
from pipeline.measures.groups import Grouping, job_grouping
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.window import Bounds, last_day

WORKED_AGAIN, LEFT = 0, 1
FIRST_LIFE = "first life"
ALLOWED = (
    *(*OF_A_PART, "action", "part_source", "unit_type", "make", "model", "fitting", "site_kind"),
    *("symptom", "age_band", "month"),
)
OF_A_NEW_MACHINE = {*OF_A_PART, "action", "unit_type", "make", "model"}


def grouping(question: Question) -> Grouping:
    """Columns that lives can be grouped by."""
    return job_grouping(question.by, dated="p.finished_on", people=question.people, allowed=ALLOWED)


def followed(con: duckdb.DuckDBPyConnection, groups: Grouping, bounds: Bounds) -> pl.DataFrame:
    """One row per life and group; refuses where there is none."""
    records = _records(con, groups, bounds)
    if "action" in groups.names and set(groups.names) <= OF_A_NEW_MACHINE:
        records = pl.concat([records, _first_lives(con, groups, bounds)], how="vertical_relaxed")
    if not records.height:
        raise CannotAnswerError(
            "No part was fixed on a known machine on a known day (part, action, outcome, finished_at and the machine), "
            f"{bounds.window.in_words()}, so part life cannot be told."
        )
    return records


def _records(con: duckdb.DuckDBPyConnection, groups: Grouping, bounds: Bounds) -> pl.DataFrame:
    counted = counted_parts(groups.names)
    sql = f"""
    with {counted.before} p as (
        select lives.*, parts.part_no, parts.part_name, parts.function_group
        from {counted.lives} as lives join {counted.names} as parts on parts.part_key = lives.part_key
    )
    select {groups.select} p.machine_no,
        case when p.next_on < $to_on then date_diff('day', p.finished_on, p.next_on) end as days_to_next,
        case when p.removed_on <= $last_on then date_diff('day', p.finished_on, p.removed_on) end as days_to_leave,
        date_diff('day', p.finished_on, $last_on) as days_followed
    from p
    join tables.jobs as j on j.job_no = p.job_no
    where p.finished_at >= $from_utc and p.finished_at < $to_utc
    order by all
    """
    return ask(con, sql, {**bounds.parameters, "last_on": last_day(bounds)})


def _first_lives(con: duckdb.DuckDBPyConnection, groups: Grouping, bounds: Bounds) -> pl.DataFrame:
    """Parts of listed machines installed within the window: on older ones a part's age is unknown."""
    counted = counted_parts(groups.names)
    sql = f"""
    with {counted.before}
    first_works as (
        select machine_no, part_key, min(reported_on) as reported_on
        from {counted.job_parts} where is_fault and reported_on is not null group by machine_no, part_key
    ),
    j as (
        select machine_no, unit_type, make, model, installed_on, ended_on
        from tables.machines
        where is_listed and installed_on >= $from_on and installed_on < $to_on
    ),
    p as (
        select fits.unit_type, fits.part_key, parts.part_no, parts.part_name, parts.function_group, '{FIRST_LIFE}' as action
        from {counted.fits} as fits join {counted.names} as parts on parts.part_key = fits.part_key
    )
    select {groups.select} j.machine_no,
        case when w.reported_on < $to_on then date_diff('day', j.installed_on, w.reported_on) end as days_to_next,
        case when j.ended_on <= $last_on then date_diff('day', j.installed_on, j.ended_on) end as days_to_leave,
        date_diff('day', j.installed_on, $last_on) as days_followed
    from j join p on p.unit_type = j.unit_type
    left join first_works as w
        on w.machine_no = j.machine_no and w.part_key = p.part_key and w.reported_on >= j.installed_on
    order by all
    """
    return ask(con, sql, {**bounds.parameters, "last_on": last_day(bounds)})


def ends(records: pl.DataFrame) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Give the day and the cause of what ended each life first; work on the day of leaving comes before the leaving."""
    time, came, left = ended_by(records)
    return time, np.where(came, WORKED_AGAIN, np.where(left, LEFT, CENSORED)).astype(np.int64)
