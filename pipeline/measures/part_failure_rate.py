"""Part failure rate on three bases: machine list, machines seen, shares (measure book, section 2)."""

from __future__ import annotations

from typing import Any

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.estimators.rates import UnitSums, unit_rate
from pipeline.estimators.sample import rate_sample
from pipeline.measures.counted_parts import OF_A_PART, PART_COLUMNS, counted_parts, without_group
from pipeline.measures.failure_cells import failure_cells
from pipeline.measures.failure_shrinkage import shrink_toward_type
from pipeline.measures.groups import FUNCTION_GROUP, MACHINE_COLUMNS, check_group
from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.result import frame, more_noted, sorted_rows, with_note
from pipeline.measures.shares import UNIT, share_rows
from pipeline.measures.window import Bounds, resolve

DAYS_A_YEAR = 365.25
GROUPS = (*OF_A_PART, *MACHINE_COLUMNS, "age_band")
EXTRAS = (
    "jobs",
    "confirmed",
    "done_together",
    "machines",
    "open_jobs",
    "shrunk",
    "shrunk_low",
    "shrunk_high",
    "value_24_months",
    "low_24_months",
    "high_24_months",
    "from",
    "complete_to",
)
BASIS_WORDS = {"machine-list": "machine list", "machines-seen": "machines seen", "shares": "shares"}


def part_failure_rate(con: duckdb.DuckDBPyConnection, question: Question) -> pl.DataFrame:
    """
    Failures per machine-year by part, one row a group, on the best basis the store allows.

    Raises
    ------
    CannotAnswerError
        If no part was ever worked on, or the basis asked for is not to be had.
    """
    names = _groups(question)
    bounds = resolve(con, question, needs_closed_jobs=True)
    if not con.execute("select count(*) from facts.part_works").fetchall()[0][0]:
        raise CannotAnswerError(
            "The log names no part that was worked on, so no part failure rate can be worked out."
        )
    basis = question.basis or _best_basis(con)
    if basis == "shares":
        found = _shares(con, question, bounds, names)
    else:
        found = _rates(con, question, bounds, names, BASIS_WORDS[basis])
    return more_noted(found, without_group(con, names))


def _groups(question: Question) -> tuple[str, ...]:
    for name in question.by:
        check_group(name, GROUPS, people=question.people)
    asked = tuple(name for name in question.by if name not in PART_COLUMNS)
    # By function group alone its numbers are counted as one part; beside a number it only stands there.
    if FUNCTION_GROUP in asked and not set(question.by) & set(PART_COLUMNS):
        return asked
    return (*PART_COLUMNS, *asked)


def _best_basis(con: duckdb.DuckDBPyConnection) -> str:
    found = {row[0] for row in con.execute("select distinct basis from facts.exposure").fetchall()}
    return (
        "machine-list"
        if "machine list" in found
        else "machines-seen"
        if "machines seen" in found
        else "shares"
    )


def _rates(
    con: duckdb.DuckDBPyConnection, question: Question, bounds: Bounds, names: tuple[str, ...], basis: str
) -> pl.DataFrame:
    # Two exits beside each other for machines seen: followed to the end, or given up 24 months after the last contact.
    cells = failure_cells(con, bounds, names, basis, exit_months=None)
    if not cells.height:
        raise CannotAnswerError(_no_basis(con, basis, bounds))
    rows = _rate_rows(cells, question, bounds, names, basis)
    if not rows:
        raise CannotAnswerError(
            f"No machine was followed for a single day {bounds.window.in_words()}: machines seen count from their second job on, "
            "and the days of a repair and the 30 after it do not count."
            if basis == "machines seen"
            else f"No listed machine was followed for a single day {bounds.window.in_words()}."
        )
    if "model" in names:
        shrink_toward_type(rows, names, question.level)
    if basis == "machines seen":
        second = _rate_rows(
            failure_cells(con, bounds, names, basis, exit_months=24), question, bounds, names, basis
        )
        _beside(rows, second, names)
    return sorted_rows(frame(rows, names, EXTRAS), names)


def _no_basis(con: duckdb.DuckDBPyConnection, basis: str, bounds: Bounds) -> str:
    known = con.execute("select count(*) from facts.exposure where basis = $1", [basis]).fetchall()[0][0]
    if known:
        return f"No machine was followed {bounds.window.in_words()}; give another --from or --complete-to."
    if basis == "machine list":
        return "No machine list has been loaded, so there is no machine-list basis: load one with --machines, or ask --basis machines-seen."
    return "No machine can be followed: the log gives machines no identity (unit_id, serial or site), so only --basis shares can be had."


def _rate_rows(
    cells: pl.DataFrame, question: Question, bounds: Bounds, names: tuple[str, ...], basis: str
) -> list[dict[str, Any]]:
    if not cells.height:
        return []
    years = cells["days"].to_numpy() / DAYS_A_YEAR
    events = cells["d"].to_numpy()
    sums = UnitSums(
        events,
        years,
        cells["d2"].to_numpy(),
        cells["dt"].to_numpy() / DAYS_A_YEAR,
        cells["days2"].to_numpy() / DAYS_A_YEAR**2,
        cells["machines"].to_numpy(),
    )
    estimate = unit_rate(sums, question.level)
    samples = rate_sample(events)
    return [
        {
            **{name: row[name] for name in names},
            "value": float(estimate.value[at]),
            "low": float(estimate.low[at]),
            "high": float(estimate.high[at]),
            "numerator": row["d"],
            "denominator": float(years[at]),
            "unit": "failures per machine-year",
            "level": question.level,
            "sample": str(samples[at]),
            "basis": basis,
            "note": _note(float(estimate.variance_ratio[at]), is_robust=bool(estimate.is_robust[at])),
            "jobs": row["jobs"],
            "confirmed": row["confirmed"],
            "done_together": row["done_together"],
            "machines": row["machines"],
            "open_jobs": row["open_jobs"],
            "from": bounds.window.from_at,
            "complete_to": bounds.window.complete_to,
        }
        for at, row in enumerate(cells.to_dicts())
        if years[at] > 0
    ]


def _note(variance_ratio: float, *, is_robust: bool) -> str:
    if not is_robust:
        return "exact Poisson interval"
    return f"by-unit interval, variance {variance_ratio:.2f} times Poisson's"


def _beside(rows: list[dict[str, Any]], second: list[dict[str, Any]], names: tuple[str, ...]) -> None:
    found = {tuple(row[name] for name in names): row for row in second}
    for row in rows:
        other = found.get(tuple(row[name] for name in names))
        if other is not None:
            given = other["sample"] != "too few"
            row |= {
                "value_24_months": other["value"] if given else None,
                "low_24_months": other["low"],
                "high_24_months": other["high"],
            }


def _shares(
    con: duckdb.DuckDBPyConnection, question: Question, bounds: Bounds, names: tuple[str, ...]
) -> pl.DataFrame:
    """Share of fault jobs in which the part was worked on; the word rate is not used."""
    counted = counted_parts(names)
    groups = [name for name in names if name not in OF_A_PART]
    if "age_band" in groups:
        raise WrongUseError(
            '--by cannot be "age_band" on the shares basis: without machines that are followed there is no age to split.'
        )
    listed = "".join(f"j.{name}, " for name in groups)
    same = "".join(f" and {{a}}.{name} is not distinct from {{b}}.{name}" for name in groups)
    sql = f"""
    with {counted.before} j as (
        select * from tables.jobs where is_fault and reported_at >= $from_utc and reported_at < $to_utc
    ),
    machines as (select {listed} j.unit_type as type_of_machine, {UNIT} as unit, count(*) as n from j group by all),
    jobs as (
        select {"".join(f"{name}, " for name in groups)} type_of_machine, sum(n) as n, sum(n * n) as nn, count(*) as units
        from machines group by all
    ),
    works as (
        select w.part_key, {listed} j.unit_type as type_of_machine, {UNIT} as unit, count(distinct j.job_no) as x,
            count(distinct j.job_no) filter (where w.is_done_together) as done_together
        from {counted.works} as w join j on j.job_no = w.job_no group by all
    ),
    hits as (
        select w.part_key, {"".join(f"m.{name}, " for name in groups)} m.type_of_machine, sum(x) as x, sum(x * x) as xx,
            sum(x * n) as xn, sum(done_together) as done_together
        from works as w join machines as m
            on m.unit = w.unit and m.type_of_machine is not distinct from w.type_of_machine{same.format(a="m", b="w")}
        group by all
    )
    select {"".join(f"p.{name}, " for name in names if name in OF_A_PART)} {"".join(f"jobs.{name}, " for name in groups)}
        {", ".join(f"sum(coalesce(hits.{name}, 0))::bigint as {name}" for name in ("x", "xx", "xn", "done_together"))},
        {", ".join(f"sum(jobs.{name})::bigint as {name}" for name in ("n", "nn", "units"))}
    from {counted.fits} as f
    join {counted.names} as p on p.part_key = f.part_key
    join jobs on jobs.type_of_machine = f.unit_type
    left join hits on hits.part_key = f.part_key and hits.type_of_machine = jobs.type_of_machine{same.format(a="hits", b="jobs")}
    group by all
    """
    counts = ask(con, sql, bounds.parameters)
    sums = UnitSums(*(counts[name].to_numpy() for name in ("x", "n", "xx", "xn", "nn", "units")))
    rows = [
        {
            **{name: row[name] for name in names},
            **share,
            "unit": "share of fault jobs",
            "basis": "shares",
            "note": with_note("without machines that are followed this is a share of jobs, nothing more"),
            "jobs": row["x"],
            "done_together": row["done_together"],
            "from": bounds.window.from_at,
            "complete_to": bounds.window.complete_to,
        }
        for row, share in zip(counts.to_dicts(), share_rows(sums, question.level), strict=True)
    ]
    return sorted_rows(frame(rows, names, EXTRAS), names)
