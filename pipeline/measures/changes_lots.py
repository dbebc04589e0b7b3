"""What is scanned for bad lots: first failures by week of making and block of serials, lives of parts by week of fitting."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.scan import FEWEST_FAILURES, Draw, Run, expected_by_block, expected_by_share, scan
from pipeline.measures.query import ask
from pipeline.measures.window import Bounds

MADE, INSTALLED, BLOCK = "made week", "week of installation", "serial block"
BOUGHT, FITTED = "week of purchase", "week of fitting"
# Where it is known of fewer machines, those that never failed are the ones it is not known of: a rate would be wrong.
_KNOWN_ENOUGH = 0.95
# A national network has more families than anybody could look into; their failures are looked at by part elsewhere.
MOST_FAMILIES = 1000
_MONDAY, _EPOCH = date(1970, 1, 5), date(1970, 1, 1)
OTHER_BLOCKS = "other blocks"  # as in tables/machines.sql
_ALARM = 0.05
_SEED = 14


@dataclass(frozen=True)
class Lot:
    """A run of weeks or blocks of one family that stands out, with the share of draws in which one does by chance."""

    key: dict[str, Any]
    first_on: date
    last_on: date
    run: Run
    # Of blocks of serials: jobs on which one of its machines failed, so that the firm can look the serials up.
    job_ids: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Family:
    """Items by week or block, these in the order of time."""

    key: dict[str, Any]
    spans: list[tuple[date, date]]
    observed: NDArray[np.float64]
    expected: NDArray[np.float64]
    items: NDArray[np.int64]
    draw: Draw | None = None
    job_ids: list[list[str]] | None = None


def lots(con: duckdb.DuckDBPyConnection, bounds: Bounds, basis: str) -> list[Lot]:
    """The run that stands out most in each family with enough failures; one row a family, whatever chance says."""
    families = [*_made(con, bounds, basis), *_fitted(con, bounds)]
    draws = int(20 * max(1, len(families)) / _ALARM)
    rng = np.random.default_rng(_SEED)
    found = []
    for family in families:
        run = scan(family.observed, family.expected, family.items, draws=draws, rng=rng, draw=family.draw)
        if run is not None:
            inside = slice(run.first, run.last + 1)
            first, last = zip(*family.spans[inside], strict=True)
            jobs = sorted(job for block in (family.job_ids or [])[inside] for job in block)
            found.append(Lot(family.key, min(first), max(last), run, tuple(jobs)))
    return found


def _spans(weeks: NDArray[np.int64]) -> list[tuple[date, date]]:
    mondays = [_MONDAY + timedelta(weeks=int(week)) for week in weeks]
    return [(monday, monday + timedelta(days=6)) for monday in mondays]


def _made(con: duckdb.DuckDBPyConnection, bounds: Bounds, basis: str) -> list[_Family]:
    """
    Within a model: the first failure of each part on each machine, by week of making and by block of serials.

    Made weeks or blocks known of nearly all machines: failures over the time at risk. Of nearly all that failed: the part's
    share of all failures. Made weeks of neither: week of installation. A block that few machines share is left out.
    """
    values = {**bounds.parameters, "basis": basis}
    machines = ask(con, _MACHINES, values)
    first = ask(con, _FIRST_FAILURES, values)
    by_model = machines.partition_by(("unit_type", "model"), as_dict=True, maintain_order=True)
    looked_at = _most_failures(first)
    found = []
    for (kind, model), failures in first.partition_by(
        ("unit_type", "model"), as_dict=True, maintain_order=True
    ).items():
        parts = {
            part: failed
            for (part,), failed in failures.partition_by(
                ("part_key",), as_dict=True, maintain_order=True
            ).items()
            if (kind, model, part) in looked_at
        }
        for watched, column in ((MADE, "made_week"), (BLOCK, "serial_block")):
            those = by_model[kind, model]
            found.extend(
                _of_model(watched, column, machines=those, failures=failures, parts=parts, basis=basis)
            )
    return found


def _of_model(
    watched: str,
    column: str,
    *,
    machines: pl.DataFrame,
    failures: pl.DataFrame,
    parts: dict[str, pl.DataFrame],
    basis: str,
) -> list[_Family]:
    """Families of one model, a part each, by its weeks or its blocks."""
    by_share = False
    if _share_known(machines, column) < _KNOWN_ENOUGH:
        by_share = _share_known(failures, column) >= _KNOWN_ENOUGH
        if not by_share and watched == BLOCK:
            return []
        watched, column = (watched, column) if by_share else (INSTALLED, "installed_week")
    known = _placed(machines, column).drop_nulls("enters")
    found = []
    for part, failed in parts.items():
        key = {
            "watched": watched,
            **failed.select("unit_type", "model", "part_no", "part_name").row(0, named=True),
            "action": None,
        }
        if by_share:
            found.extend(_shares(key, _placed(failures, column), part))
            continue
        ended = failed.filter(~pl.col("is_first_job")) if basis == "machines seen" else failed
        items = known.join(
            ended.select("machine_no", "failed_age", "job_id"),
            on="machine_no",
            how="left",
            maintain_order="left",
        )
        found.extend(_family(key, items))
    return found


def _placed(rows: pl.DataFrame, column: str) -> pl.DataFrame:
    """
    Machines or failures whose week or block is known, with its place in time as `week`.

    Makers number upwards (common practice, no source), but what a block's number was is not kept: blocks stand in the order
    of the middle of their machines' days of making or installation.
    """
    if column != "serial_block":
        return rows.with_columns(week=pl.col(column)).drop_nulls("week")
    named = rows.filter(pl.col(column) != OTHER_BLOCKS)
    middle = pl.col("made_day").median()
    order = (
        named.group_by(column).agg(middle=middle, least=pl.col("machine_no").min()).sort("middle", "least")
    )
    return named.join(order.with_row_index("week").select(column, pl.col("week").cast(pl.Int64)), on=column)


def _most_failures(first: pl.DataFrame) -> set[tuple[str, str, str]]:
    """Model and part of the families that are looked at: those with enough failures, and of those the MOST_FAMILIES largest."""
    key = ("unit_type", "model", "part_key")
    count = first.group_by(key).len().filter(pl.col("len") >= FEWEST_FAILURES)
    largest = count.sort("len", *key, descending=[True, False, False, False]).head(MOST_FAMILIES)
    return set(largest.select(key).iter_rows())


def _share_known(rows: pl.DataFrame, column: str) -> float:
    return 1.0 - rows[column].null_count() / rows.height if rows.height else 0.0


def _shares(key: dict[str, Any], failures: pl.DataFrame, part: str) -> list[_Family]:
    weeks, block = np.unique(failures["week"].to_numpy(), return_inverse=True)
    age, is_one = failures["failed_age"].to_numpy(), (failures["part_key"] == part).to_numpy()
    if len(weeks) < 2 or is_one.sum() < FEWEST_FAILURES:
        return []
    observed, expected, draw = expected_by_share(block, age, is_one, blocks=len(weeks))
    machines = failures.group_by("week").agg(pl.col("machine_no").n_unique()).sort("week")
    count = machines["machine_no"].to_numpy().astype(np.int64)
    failed = failures.filter(pl.col("part_key") == part)
    spans, jobs = _named(key, failures, weeks, failed)
    return [_Family(key, spans, observed, expected, count, draw, jobs)]


def _fitted(con: duckdb.DuckDBPyConnection, bounds: Bounds) -> list[_Family]:
    """
    Within a part: how long new ones lasted, by the week in which they were bought, else in which they were fitted.

    Bought: the last purchase of the part on the stock list on or before the day of fitting, where there are two or more.
    """
    lives = ask(con, _LIVES, bounds.parameters)
    found = []
    for (number, name), items in lives.partition_by(
        ("part_no", "part_name"), as_dict=True, maintain_order=True
    ).items():
        bought = items.drop_nulls("bought_week")
        is_bought = bought["bought_week"].n_unique() >= 2
        those = bought.with_columns(week=pl.col("bought_week")) if is_bought else items
        if those.height - those["failed_age"].null_count() < FEWEST_FAILURES:
            continue
        key = {"watched": BOUGHT if is_bought else FITTED, "unit_type": None, "model": None}
        key |= {"part_no": number, "part_name": name, "action": "replace"}
        found.extend(_family(key, those))
    return found


def _family(key: dict[str, Any], items: pl.DataFrame) -> list[_Family]:
    weeks, block = np.unique(items["week"].to_numpy(), return_inverse=True)
    if len(weeks) < 2:
        return []
    failed = items["failed_age"].is_not_null().to_numpy()
    leaves = items["failed_age"].fill_null(items["leaves"]).to_numpy().astype(np.int64)
    # A failure on the day of entry took its time on that day.
    enters = items["enters"].to_numpy().astype(np.int64)
    observed, expected, count = expected_by_block(
        block, enters, np.where(failed, np.maximum(leaves, enters + 1), leaves), failed, blocks=len(weeks)
    )
    if observed.sum() < FEWEST_FAILURES:
        return []
    failures = items.filter(pl.col("failed_age").is_not_null())
    spans, jobs = _named(key, items, weeks, failures)
    return [_Family(key, spans, observed, expected, count, job_ids=jobs)]


def _named(
    key: dict[str, Any], items: pl.DataFrame, weeks: NDArray[np.int64], failures: pl.DataFrame
) -> tuple[list[tuple[date, date]], list[list[str]] | None]:
    """When the items of each week or block were made, and of blocks the jobs on which they failed."""
    if key["watched"] != BLOCK:
        return _spans(weeks), None
    days = (
        items.group_by("week").agg(first=pl.col("made_day").min(), last=pl.col("made_day").max()).sort("week")
    )
    spans = [
        (_EPOCH + timedelta(days=first), _EPOCH + timedelta(days=last)) for _, first, last in days.rows()
    ]
    jobs = dict(failures.drop_nulls("job_id").group_by("week").agg(pl.col("job_id").unique()).rows())
    return spans, [jobs.get(int(week), []) for week in weeks]


_FOLLOWED = """
    followed as (
        select e.machine_no, e.unit_type, e.model, e.age_origin_on, coalesce(m.made_week, m.made_on) as made_on, m.installed_on,
            m.serial_block, date_diff('day', date '1970-01-01', coalesce(m.made_week, m.made_on, e.age_origin_on)) as made_day,
            e.first_job_no,
            greatest(e.enter_on, $from_on) as a, least(coalesce(e.exit_on, $to_on), $to_on) as b
        from facts.exposure as e join tables.machines as m on m.machine_no = e.machine_no
        where e.basis = $basis and e.model is not null and e.unit_type is not null and e.age_origin_on is not null
    )
"""
_WEEK = "(date_diff('day', date '1970-01-05', {day}) // 7)"
_MACHINES = f"""
with {_FOLLOWED}
select machine_no, unit_type, model, serial_block, made_day, {_WEEK.format(day="made_on")} as made_week, {_WEEK.format(day="installed_on")} as installed_week,
    date_diff('day', age_origin_on, a) as enters, date_diff('day', age_origin_on, b) as leaves
from followed where a < b order by all
"""
# The first failure in the whole log: later ones are of a part fitted since.
_FIRST_FAILURES = f"""
with {_FOLLOWED},
first as (
    select machine_no, part_key, min(reported_on) as reported_on, min_by(is_first_job, reported_on) as is_first_job,
        min_by(job_no, (reported_on, job_no)) as job_no
    from facts.part_works where reported_on is not null and machine_no is not null group by all
)
select e.unit_type, e.model, first.part_key, p.part_no, p.part_name, e.machine_no, first.is_first_job, j.job_id,
    e.serial_block, e.made_day, {_WEEK.format(day="e.made_on")} as made_week, date_diff('day', e.age_origin_on, first.reported_on) as failed_age
from first
join followed as e on e.machine_no = first.machine_no and first.reported_on >= e.a and first.reported_on < e.b
join tables.parts as p on p.part_key = first.part_key
left join tables.jobs as j on j.job_no = first.job_no
order by all
"""
_LIVES = f"""
select p.part_no, p.part_name, {_WEEK.format(day="l.finished_on")} as week, 0 as enters,
    {_WEEK.format(day="bought.bought_on")} as bought_week,
    greatest(date_diff('day', l.finished_on, least(coalesce(l.removed_on, $to_on), $to_on)), 0) as leaves,
    case when l.next_on < $to_on and l.next_on <= coalesce(l.removed_on, l.next_on)
        then date_diff('day', l.finished_on, l.next_on) end as failed_age
from facts.part_lives as l
join tables.parts as p on p.part_key = l.part_key
left join (
    select l.job_no, l.part_key, max(s.bought_on) as bought_on
    from facts.part_lives as l join tables.stock as s on s.part_key = l.part_key and s.bought_on <= l.finished_on
    group by all
) as bought on bought.job_no = l.job_no and bought.part_key = l.part_key
where l.action = 'replace' and l.finished_at >= $from_utc and l.finished_at < $to_utc
order by all
"""
