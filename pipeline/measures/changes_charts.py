"""What the sums of observed less expected run on: failures of a part, and returns after a fix, day by day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.competing import CENSORED
from pipeline.measures.followed import SAME_FAULT, first_end
from pipeline.measures.groups import WORK, age_band, positions
from pipeline.measures.query import ask
from pipeline.measures.window import Bounds

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
FAILURES, RETURNS = "failures of a part", "returns after a fix"
DAYS = 90
FIX = ("unit_type", "part_no", "part_name", "action")
# What an age band with few failures borrows from the part's usual rate, in failures.
_BORROWED = 5.0


@dataclass(frozen=True)
class Watched:
    """
    One chart before its limit is known.

    Attributes
    ----------
    key : dict
        `watched`, `unit_type`, `part_no`, `part_name`, `action`.
    before : int
        Events in the baseline.
    expected : array, (days,)
        Events expected on each day watched, by the baseline.
    events : array of int, (events,)
        Day of each event, counted from the first day watched, ascending.
    """

    key: dict[str, Any]
    before: int
    expected: Floats
    events: Ints


def returns_after_fixes(con: duckdb.DuckDBPyConnection, bounds: Bounds, split_on: date) -> Iterator[Watched]:
    """One chart for each kind of machine, part and action: same-fault returns within 90 days, by the day of the return."""
    sql = f"""
    with {WORK}
    select j.unit_type, p.part_no, p.part_name, p.action, date_diff('day', $from_on, r.finished_on) as finished_day,
        case when r.next_on < $to_on then r.days_to_next end as days_to_next, r.next_is_same_fault,
        case when r.removed_on < $to_on then date_diff('day', r.finished_on, r.removed_on) end as days_to_leave,
        date_diff('day', r.finished_on, $to_on) - 1 as days_followed
    from facts.repeats as r
    join tables.jobs as j on j.job_no = r.job_no
    join work as p on p.job_no = j.job_no
    where r.finished_at >= $from_utc and r.finished_at < $to_utc and j.unit_type is not null
    order by all
    """
    records = ask(con, sql, bounds.parameters)
    if not records.height:
        return
    keys, at = positions(records, FIX)
    time, cause = first_end(records)
    finished = records["finished_day"].to_numpy().astype(np.int64)
    back = (cause != CENSORED) & (cause == SAME_FAULT) & (time <= DAYS)
    time = np.minimum(time, DAYS)
    days, split = (bounds.to_on - bounds.from_on).days, (split_on - bounds.from_on).days
    actions = np.array([key["action"] for key in keys])
    order = np.argsort(at, kind="stable")
    limits = np.searchsorted(at[order], np.arange(len(keys) + 1))
    for action in sorted(set(actions.tolist())):
        of_action = np.flatnonzero(actions == action)
        mine = np.isin(at, of_action)
        hazard = _hazard(finished[mine], time[mine], back[mine], split)
        for one in of_action.tolist():
            jobs = order[limits[one] : limits[one + 1]]
            by_day = _expected_by_day(finished[jobs], time[jobs], hazard, days)
            came = np.sort((finished[jobs] + time[jobs])[back[jobs]])
            before, usual = int((came < split).sum()), float(by_day[:split].sum())
            if usual > 0.0:
                yield Watched(
                    {"watched": RETURNS, **keys[one]},
                    before,
                    by_day[split:] * (before + 0.5) / usual,
                    came[came >= split] - split,
                )


def _hazard(finished: Ints, time: Ints, back: NDArray[np.bool_], split: int) -> Floats:
    """Chance of a return on each day after a fix, before the split, (DAYS + 1,)."""
    seen = finished < split
    end = np.minimum(time, split - 1 - finished)[seen]
    returned = back[seen] & (time[seen] <= end)
    left = np.bincount(end, minlength=DAYS + 1)[: DAYS + 1]
    at_risk = left[::-1].cumsum()[::-1]
    came = np.bincount(end[returned], minlength=DAYS + 1)[: DAYS + 1]
    return np.asarray(np.divide(came, at_risk, out=np.zeros(DAYS + 1), where=at_risk > 0))


def _expected_by_day(finished: Ints, time: Ints, hazard: Floats, days: int) -> Floats:
    """Returns expected on each day of the window with the hazard after a fix, (days,)."""
    width = DAYS + 1
    ends = np.bincount(finished * width + time, minlength=days * width).reshape(days, width)
    share = ends[:, ::-1].cumsum(axis=1)[:, ::-1] * hazard
    expected = np.zeros(days + DAYS)
    for after in range(width):
        expected[after : after + days] += share[:, after]
    return expected[:days]


def failures_of_parts(
    con: duckdb.DuckDBPyConnection, bounds: Bounds, split_on: date, basis: str
) -> Iterator[Watched]:
    """One chart for each kind of machine and part: failures (measure book, section 2), at the ages machines have."""
    values = {**bounds.parameters, "basis": basis}
    days, split = (bounds.to_on - bounds.from_on).days, (split_on - bounds.from_on).days
    at_risk = _steps(ask(con, _MACHINES, values), ("unit_type", "band"), days)
    off = _steps(ask(con, _OFF, values), ("unit_type", "part_key", "band"), days)
    events = ask(con, _EVENTS, values)
    bands: dict[str, list[str | None]] = {}
    for kind, band in at_risk:
        bands.setdefault(kind, []).append(band)
    key = ("unit_type", "part_key", "part_no", "part_name")
    for (kind, part, number, name), rows in events.partition_by(
        key, as_dict=True, maintain_order=True
    ).items():
        if kind not in bands:
            continue
        known = sorted(bands[kind], key=str)
        machines = np.array(
            [np.maximum(at_risk[kind, band] - off.get((kind, part, band), 0.0), 0.0) for band in known]
        )
        day = rows["day"].to_numpy().astype(np.int64)
        place = np.array([known.index(band) if band in known else -1 for band in rows["band"].to_list()])
        day, place = day[place >= 0], place[place >= 0]
        early = np.bincount(place[day < split], minlength=len(known)).astype(float)
        time = machines[:, :split].sum(axis=1)
        before = int(early.sum())
        if not before:
            continue
        usual = before / time.sum()
        rate = (early + _BORROWED) / (time + _BORROWED / usual)
        rate *= (before + 0.5) / float(rate @ time)
        yield Watched(
            {"watched": FAILURES, "unit_type": kind, "part_no": number, "part_name": name, "action": None},
            before,
            rate @ machines[:, split:],
            np.sort(day[day >= split]) - split,
        )


def _steps(rows: pl.DataFrame, key: tuple[str, ...], days: int) -> dict[Any, Floats]:
    """How many there are on each day, by key, from changes on days."""
    found = {}
    for group, change in rows.partition_by(key, as_dict=True, maintain_order=True).items():
        by_day = np.bincount(change["day"].to_numpy(), change["change"].to_numpy(), minlength=days + 1)
        found[group] = by_day.cumsum()[:days]
    return found


_ENTERED = """
    followed as (
        select machine_no, unit_type, age_origin_on, greatest(enter_on, $from_on) as a, least(coalesce(exit_on, $to_on), $to_on) as b
        from facts.exposure where basis = $basis and unit_type is not null
    )
"""
_BANDS = "(0, 2), (2, 5), (5, 10), (10, 15), (15, 200)"
# Machines enter and leave their age bands (Lexis); those of unknown age stand in a band of their own.
_MACHINES = f"""
with bands(low, high) as (values {_BANDS}), {_ENTERED},
cut as (
    select unit_type, {age_band("low")} as band, greatest(a, (age_origin_on + to_years(low))::date) as a,
        least(b, (age_origin_on + to_years(high))::date) as b
    from followed cross join bands where age_origin_on is not null
    union all
    select unit_type, null, a, b from followed where age_origin_on is null
),
changes as (
    select unit_type, band, a as changed_on, 1 as change from cut where a < b
    union all
    select unit_type, band, b, -1 from cut where a < b
)
select unit_type, band, date_diff('day', $from_on, changed_on) as day, sum(change)::double as change
from changes group by all order by all
"""
_OFF = f"""
with {_ENTERED},
cut as (
    select e.unit_type, o.part_key,
        {age_band("date_diff('day', e.age_origin_on, greatest(o.off_from, e.a)) / 365.25")} as band,
        greatest(o.off_from, e.a) as a, least(coalesce(o.off_to, e.b), e.b) as b
    from facts.part_off_risk as o
    join followed as e on e.machine_no = o.machine_no and o.off_from < e.b and coalesce(o.off_to, e.b) > e.a
),
changes as (
    select unit_type, part_key, band, a as changed_on, 1 as change from cut where a < b
    union all
    select unit_type, part_key, band, b, -1 from cut where a < b
)
select unit_type, part_key, band, date_diff('day', $from_on, changed_on) as day, sum(change)::double as change
from changes group by all order by all
"""
_EVENTS = f"""
with {_ENTERED}
select e.unit_type, w.part_key, p.part_no, p.part_name,
    {age_band("date_diff('day', e.age_origin_on, w.reported_on) / 365.25")} as band,
    date_diff('day', $from_on, w.reported_on) as day
from facts.part_works as w
join followed as e on e.machine_no = w.machine_no and w.reported_on >= e.a and w.reported_on < e.b
join tables.parts as p on p.part_key = w.part_key
where not w.is_repeat and not w.is_overlapping and not ($basis = 'machines seen' and w.is_first_job)
order by all
"""
