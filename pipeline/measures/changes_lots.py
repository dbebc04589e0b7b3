"""What is scanned for bad lots: first failures by the week a machine was made, and lives of parts by the week of fitting."""

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

MADE, INSTALLED = "made week", "week of installation"
BOUGHT, FITTED = "week of purchase", "week of fitting"
# Where it is known of fewer machines, those that never failed are the ones it is not known of: a rate would be wrong.
_KNOWN_ENOUGH = 0.95
# A national network has more families than anybody could look into; their failures are looked at by part elsewhere.
MOST_FAMILIES = 1000
_MONDAY = date(1970, 1, 5)
_ALARM = 0.05
_SEED = 14


@dataclass(frozen=True)
class Lot:
    """A run of weeks of one family that stands out, with the share of draws in which one does by chance."""

    key: dict[str, Any]
    first_on: date
    last_on: date
    run: Run


@dataclass(frozen=True)
class _Family:
    """Items in order of their weeks."""

    key: dict[str, Any]
    weeks: NDArray[np.int64]
    observed: NDArray[np.float64]
    expected: NDArray[np.float64]
    items: NDArray[np.int64]
    draw: Draw | None = None


def lots(con: duckdb.DuckDBPyConnection, bounds: Bounds, basis: str) -> list[Lot]:
    """The run of weeks that stands out most in each family with enough failures; one row a family, whatever chance says."""
    families = [*_made(con, bounds, basis), *_fitted(con, bounds)]
    draws = int(20 * max(1, len(families)) / _ALARM)
    rng = np.random.default_rng(_SEED)
    found = []
    for family in families:
        run = scan(family.observed, family.expected, family.items, draws=draws, rng=rng, draw=family.draw)
        if run is not None:
            first, last = (int(family.weeks[at]) for at in (run.first, run.last))
            sunday = _MONDAY + timedelta(weeks=last, days=6)
            found.append(Lot(family.key, _MONDAY + timedelta(weeks=first), sunday, run))
    return found


def _made(con: duckdb.DuckDBPyConnection, bounds: Bounds, basis: str) -> list[_Family]:
    """
    Within a model: the first failure of each part on each machine, by week of making.

    Made weeks known of nearly all machines: failures over the time at risk. Of nearly all that failed: the part's share of
    all failures. Of neither: week of installation.
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
        those = by_model[kind, model]
        by_share = False
        column = "made_week"
        if _share_known(those) < _KNOWN_ENOUGH:
            by_share = _share_known(failures) >= _KNOWN_ENOUGH
            column = "made_week" if by_share else "installed_week"
        known = those.rename({column: "week"}).drop_nulls(["week", "enters"])
        for (part,), failed in failures.partition_by(
            ("part_key",), as_dict=True, maintain_order=True
        ).items():
            if (kind, model, part) not in looked_at:
                continue
            key = {
                "watched": MADE if column == "made_week" else INSTALLED,
                "unit_type": kind,
                "model": model,
                **failed.select("part_no", "part_name").row(0, named=True),
                "action": None,
            }
            if by_share:
                found.extend(_shares(key, failures.drop_nulls("made_week"), part))
            else:
                ended = failed.filter(~pl.col("is_first_job")) if basis == "machines seen" else failed
                items = known.join(
                    ended.select("machine_no", "failed_age"),
                    on="machine_no",
                    how="left",
                    maintain_order="left",
                )
                found.extend(_family(key, items))
    return found


def _most_failures(first: pl.DataFrame) -> set[tuple[str, str, str]]:
    """Model and part of the families that are looked at: those with enough failures, and of those the MOST_FAMILIES largest."""
    key = ("unit_type", "model", "part_key")
    count = first.group_by(key).len().filter(pl.col("len") >= FEWEST_FAILURES)
    largest = count.sort("len", *key, descending=[True, False, False, False]).head(MOST_FAMILIES)
    return set(largest.select(key).iter_rows())


def _share_known(rows: pl.DataFrame) -> float:
    return 1.0 - rows["made_week"].null_count() / rows.height if rows.height else 0.0


def _shares(key: dict[str, Any], failures: pl.DataFrame, part: str) -> list[_Family]:
    weeks, block = np.unique(failures["made_week"].to_numpy(), return_inverse=True)
    age, is_one = failures["failed_age"].to_numpy(), (failures["part_key"] == part).to_numpy()
    if len(weeks) < 2 or is_one.sum() < FEWEST_FAILURES:
        return []
    observed, expected, draw = expected_by_share(block, age, is_one, blocks=len(weeks))
    machines = failures.group_by("made_week").agg(pl.col("machine_no").n_unique()).sort("made_week")
    count = machines["machine_no"].to_numpy().astype(np.int64)
    return [_Family(key, weeks.astype(np.int64), observed, expected, count, draw)]


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
    return [_Family(key, weeks.astype(np.int64), observed, expected, count)]


_FOLLOWED = """
    followed as (
        select e.machine_no, e.unit_type, e.model, e.age_origin_on, m.made_on, m.installed_on, e.first_job_no,
            greatest(e.enter_on, $from_on) as a, least(coalesce(e.exit_on, $to_on), $to_on) as b
        from facts.exposure as e join tables.machines as m on m.machine_no = e.machine_no
        where e.basis = $basis and e.model is not null and e.unit_type is not null and e.age_origin_on is not null
    )
"""
_WEEK = "(date_diff('day', date '1970-01-05', {day}) // 7)"
_MACHINES = f"""
with {_FOLLOWED}
select machine_no, unit_type, model, {_WEEK.format(day="made_on")} as made_week, {_WEEK.format(day="installed_on")} as installed_week,
    date_diff('day', age_origin_on, a) as enters, date_diff('day', age_origin_on, b) as leaves
from followed where a < b order by all
"""
# The first failure in the whole log: later ones are of a part fitted since.
_FIRST_FAILURES = f"""
with {_FOLLOWED},
first as (
    select machine_no, part_key, min(reported_on) as reported_on, min_by(is_first_job, reported_on) as is_first_job
    from facts.part_works where reported_on is not null and machine_no is not null group by all
)
select e.unit_type, e.model, first.part_key, p.part_no, p.part_name, e.machine_no, first.is_first_job,
    {_WEEK.format(day="e.made_on")} as made_week, date_diff('day', e.age_origin_on, first.reported_on) as failed_age
from first
join followed as e on e.machine_no = first.machine_no and first.reported_on >= e.a and first.reported_on < e.b
join tables.parts as p on p.part_key = first.part_key
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
