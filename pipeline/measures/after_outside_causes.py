"""What follows when a cause outside the machine is put right, and when it is left: on that machine, and on others there."""

from __future__ import annotations

from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.estimators.competing import CENSORED, incidence_of_records
from pipeline.estimators.proportions import newcombe_difference, wilson
from pipeline.estimators.sample import COMPARISON_MIN_N, TOO_FEW, can_tell, proportion_sample
from pipeline.measures.followed import ended_by
from pipeline.measures.groups import positions
from pipeline.measures.query import ask
from pipeline.measures.window import Bounds, last_day
from pipeline.vocabulary.check_minutes import CheckEntry

# An installation that was left as it is goes on working on the machine all year.
DAYS = 365
# Told to the customer is not put right; nothing written down is not either.
PUT_RIGHT = (
    *("correct installation", "clear blockage", "clean", "free", "adjust", "repair", "replace", "reset"),
    *("reseat", "descale"),
)
MACHINE, OTHERS = "again", "others"
ENDS = ("put_right", "left")
COLUMNS = (
    *ENDS,
    *(
        f"{limit}{whose}_{end}"
        for whose in (MACHINE, OTHERS)
        for end in ENDS
        for limit in ("", "low_", "high_", "of_", "sample_")
    ),
    *(
        "minutes_a_look",
        "minutes_a_look_from",
        "avoided_per_minute",
        "low_avoided_per_minute",
        "high_avoided_per_minute",
    ),
)
REPORTED, LEFT = 0, 1


def after(
    con: duckdb.DuckDBPyConnection, select: str, names: tuple[str, ...], bounds: Bounds, level: float
) -> dict[tuple[Any, ...], dict[str, Any]]:
    """
    By group and cause: probability of another fault job within DAYS, put right and left; on the machine, on others there.

    Parameters
    ----------
    select, names
        Group columns of tables.jobs (alias j) as SQL, and their names.
    bounds : Bounds
    level : float

    Returns
    -------
    dict
        By (groups..., cause) the columns of COLUMNS but those of looking; `of_` are the finds that were followed, the
        value is None where they are too few. A side that nobody followed is missing.
    """
    found: dict[tuple[Any, ...], dict[str, Any]] = {}
    for whose, records in (
        (MACHINE, _on_machine(con, select, bounds)),
        (OTHERS, _on_others(con, select, bounds)),
    ):
        if records.height:
            _add(found, whose, records, names, level)
    return found


def _add(
    found: dict[tuple[Any, ...], dict[str, Any]],
    whose: str,
    records: pl.DataFrame,
    names: tuple[str, ...],
    level: float,
) -> None:
    keys, at = positions(records, (*names, "finding", "is_put_right"))
    time, came, gone = ended_by(records)
    cause = np.where(came, REPORTED, np.where(gone, LEFT, CENSORED))
    unit = records["unit"].rank("dense").to_numpy().astype(np.int64) - 1
    again = incidence_of_records(
        at, time, cause, unit, groups=len(keys), day=DAYS, n_causes=2, causes=(REPORTED,), level=level
    )
    counts = np.bincount(at, minlength=len(keys))
    samples = proportion_sample(again.n_eff, again.low, again.high, again.units)
    for place, key in enumerate(keys):
        end = ENDS[0] if key["is_put_right"] else ENDS[1]
        row = found.setdefault((*(key[name] for name in names), key["finding"]), {})
        row[f"of_{whose}_{end}"] = int(counts[place])
        row[f"sample_{whose}_{end}"] = str(samples[place])
        row[f"{whose}_{end}"] = None if samples[place] == TOO_FEW else float(again.value[place])
        row[f"low_{whose}_{end}"] = float(again.low[place])
        row[f"high_{whose}_{end}"] = float(again.high[place])
        row.setdefault("effective", {})[whose, end] = float(again.n_eff[place])


def looking(row: dict[str, Any], hits: int, of: int, level: float, *, look: CheckEntry) -> dict[str, Any]:
    """
    Jobs on the machine avoided per minute of looking: share found, times how much rarer the next job is once put right.

    Only where both were followed on COMPARISON_MIN_N finds; minutes are those of `look`, which says where they come from. The limits
    multiply those of both factors at half the error each, so that they hold together.
    """
    minutes = look.minutes
    told_by = {"minutes_a_look": minutes, "minutes_a_look_from": look.source}
    effective = row.get("effective", {})
    n_right, n_left = (effective.get((MACHINE, end), 0.0) for end in ENDS)
    if min(n_right, n_left) < COMPARISON_MIN_N or not of:
        return told_by
    sides = [tuple(row[f"{limit}{MACHINE}_{end}"] for limit in ("", "low_", "high_")) for end in ENDS]
    fewer = newcombe_difference(sides[1], sides[0])
    low, high = wilson(hits, of, level)
    ends = [float(share) * float(gain) / minutes for share in (low, high) for gain in (fewer.low, fewer.high)]
    value = hits / of * float(fewer.value) / minutes
    told = bool(can_tell(n_right, n_left, fewer.low, fewer.high))
    return {
        **told_by,
        "avoided_per_minute": value if told else None,
        "low_avoided_per_minute": min(ends),
        "high_avoided_per_minute": max(ends),
    }


_FOUND = """
found as (
    select {select} o.cause as finding, j.job_no, j.machine_no, j.site_id, j.finished_at, j.finished_on,
        list_contains($put_right, coalesce(o.action, '')) as is_put_right
    from facts.outside_causes as o join tables.jobs as j on j.job_no = o.job_no
    where j.is_fault and j.finished_at is not null and j.machine_no is not null
        and j.finished_at >= $from_utc and j.finished_at < $to_utc
)
"""


def _on_machine(con: duckdb.DuckDBPyConnection, select: str, bounds: Bounds) -> pl.DataFrame:
    """One row per find on a known machine: days to its next fault job, to its end, and followed."""
    sql = f"""
    with {_FOUND.format(select=select)},
    later as (
        select f.job_no, min(n.reported_on) as next_on
        from (select distinct job_no, machine_no, finished_at from found) as f
        join tables.jobs as n on n.machine_no = f.machine_no and n.is_fault and n.reported_at > f.finished_at
        where n.reported_on < $to_on
        group by f.job_no
    )
    select f.* exclude (machine_no, site_id, finished_at, finished_on), f.machine_no as unit,
        date_diff('day', f.finished_on, later.next_on) as days_to_next,
        case when m.ended_on >= f.finished_on and m.ended_on <= $last_on
            then date_diff('day', f.finished_on, m.ended_on) end as days_to_leave,
        date_diff('day', f.finished_on, $last_on) as days_followed
    from found as f
    join tables.machines as m on m.machine_no = f.machine_no
    left join later on later.job_no = f.job_no
    order by all
    """
    return ask(con, sql, _values(bounds))


def _on_others(con: duckdb.DuckDBPyConnection, select: str, bounds: Bounds) -> pl.DataFrame:
    """One row per find at an address where another machine is known: days to the next fault job of any of those."""
    sql = f"""
    with {_FOUND.format(select=select)},
    there as (
        select site_id, machine_no from tables.machines where site_id is not null
        union
        select site_id, machine_no from tables.jobs where site_id is not null and machine_no is not null
    ),
    others as (
        select distinct f.job_no, t.machine_no, f.finished_at
        from found as f join there as t on t.site_id = f.site_id and t.machine_no <> f.machine_no
    ),
    later as (
        select o.job_no, min(n.reported_on) as next_on
        from others as o
        join tables.jobs as n on n.machine_no = o.machine_no and n.is_fault and n.reported_at > o.finished_at
        where n.reported_on < $to_on
        group by o.job_no
    )
    select f.* exclude (machine_no, site_id, finished_at, finished_on), f.site_id as unit,
        date_diff('day', f.finished_on, later.next_on) as days_to_next, cast(null as bigint) as days_to_leave,
        date_diff('day', f.finished_on, $last_on) as days_followed
    from found as f
    left join later on later.job_no = f.job_no
    where f.job_no in (select job_no from others)
    order by all
    """
    return ask(con, sql, _values(bounds))


def _values(bounds: Bounds) -> dict[str, object]:
    return {**bounds.parameters, "last_on": last_day(bounds), "put_right": list(PUT_RIGHT)}
