"""Jobs in which one part alone was cleaned, freed or replaced, with what makes them alike and what came after."""

from __future__ import annotations

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.measures.fix_jobs import FOLLOWED
from pipeline.measures.groups import age_band
from pipeline.measures.pricing import MAJOR, PAID, margin_sql, price_sql
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.terms import Terms
from pipeline.measures.window import Bounds, last_day
from pipeline.vocabulary.dangers import is_safety_part

CLEANING = ("clean", "free")
CLEANED, REPLACED = 0, 1
ALLOWED = ("part_no", "part_name", "unit_type", "mechanism", "symptom")
# What is held alike on both sides.
ALIKE = ("unit_type", "age_band", "symptom", "mechanism")
_JOBS = """
    from facts.part_lives as l
    join facts.repeats as r on r.job_no = l.job_no
    join tables.jobs as j on j.job_no = l.job_no
    join facts.job_parts as w on w.job_no = l.job_no and w.part_key = l.part_key
    join tables.parts as p on p.part_key = l.part_key
    left join facts.part_mechanisms as f on f.job_no = l.job_no and f.part_key = l.part_key
"""
_INSIDE = f"""
    w.action in ('clean', 'free', 'replace') and w.count_other_parts = 0
    and l.part_key in (select part_key from facts.job_parts where action in {CLEANING!r} and is_index)
    and r.finished_at >= $from_utc and r.finished_at < $to_utc
"""


def group_names(question: Question) -> tuple[str, ...]:
    """
    The groups asked for; a part always stands for itself.

    Raises
    ------
    WrongUseError
        If a group is none of ALLOWED.
    """
    for name in question.by:
        if name not in ALLOWED:
            raise WrongUseError(f'--by cannot be "{name}" here; it can be {", ".join(ALLOWED)}.')
    more = tuple(name for name in question.by if name not in ("part_no", "part_name"))
    return ("part_no", "part_name", *more, "payer", "currency", "cleaning")


def comparable_jobs(con: duckdb.DuckDBPyConnection, bounds: Bounds, terms: Terms) -> pl.DataFrame:
    """
    One row per paid index job that worked on one part alone, of parts that were ever cleaned or freed.

    Columns: `part_no`, `part_name`, `is_safety_part`, `cleaning` (`first`: the part had not been cleaned since it was new
    to us; `again`), `side` (CLEANED, REPLACED), ALIKE, `payer`, `currency`, `machine_no`, `price`, `margin`, `hours`, the
    follow-up, and of the return `chain_cost`, `chain_hours`, `asked` (what it costs the customer) and `days_without`.

    Raises
    ------
    CannotAnswerError
        If there is none.
    """
    sql = f"""
    select l.part_key, p.part_no, p.part_name, p.is_safety_part, m.payer, m.currency, j.job_no, l.machine_no,
        case when l.is_cleaned_before then 'again' else 'first' end as cleaning,
        case when w.action = 'replace' then {REPLACED} else {CLEANED} end as side,
        j.unit_type, {age_band("j.age_years")} as age_band, j.symptom, f.mechanism,
        ({price_sql(terms)})::double / {MAJOR} as price, ({margin_sql(terms)})::double / {MAJOR} as margin,
        case when m.has_all_minutes then m.minutes / 60.0 end::double as hours,
        coalesce(c.cost_minor, 0)::double / {MAJOR} as chain_cost, coalesce(c.minutes, 0)::double / 60.0 as chain_hours,
        coalesce(c.asked_minor, 0)::double / {MAJOR} as asked,
        coalesce(c.days_without_machine, 0)::double as days_without,
        coalesce(c.is_payer_unknown, false) as is_payer_unknown, {FOLLOWED}
    {_JOBS}
    join facts.job_money as m on m.job_no = l.job_no and {PAID}
    left join facts.return_chains as c on c.job_no = l.job_no
    where {_INSIDE}
    order by p.part_no, m.payer, m.currency, j.job_no
    """
    records = ask(con, sql, {**bounds.parameters, "last_on": last_day(bounds)})
    if not records.height:
        raise CannotAnswerError(
            "No part was cleaned or freed by itself in a job that ended fixed and was paid for, so cleaning and replacing cannot be compared."
        )
    return records.with_columns(
        is_safety_part=pl.col("is_safety_part") | is_safety_part(records["part_name"])
    )
