"""
How long each figure of a store takes to be worked out, and how that compares with the least that it has to read.

    python -m tests.benchmarks.figures STORE

Each is asked once after its floor, in one process with a warm file cache; seconds of the clock (of the processors). The floor
is the barest query over the same tables: read the columns, group, count; for returns the next job of each machine; for times
the median; for lives a product-limit estimate by part.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import duckdb

from pipeline.errors import CannotAnswerError
from pipeline.measures import MEASURES, Question, evaluate
from pipeline.store.folder import Store

JOBS = """select unit_type, outcome, is_closed, count(*), count(distinct machine_no), sum(hands_on_min), min(reported_on),
    max(finished_on) from tables.jobs where is_fault group by all"""
WORKS = """select w.unit_type, w.part_key, w.action, count(*), count(distinct w.machine_no), min(j.reported_on), count(j.outcome)
    from facts.part_works as w join tables.jobs as j on j.job_no = w.job_no group by all"""
RETURNS = """select unit_type, count(*), count(*) filter (where next_on - finished_on <= 30) from (
    select unit_type, finished_on, lead(reported_on) over (partition by machine_no order by finished_on, job_no) as next_on
    from tables.jobs where is_index and machine_no is not null) group by all"""
TIMES = "select unit_type, quantile_cont(hands_on_min, [0.5, 0.8]), count(*) from tables.jobs where is_index group by all"
LIVES = """select part_key, sum(ln(1 - least(d / n, 0.999999))) from (
    select part_key, days, d, sum(ended) over (partition by part_key order by days desc) as n from (
        select part_key, coalesce(next_on, removed_on, date '2026-01-01') - finished_on as days, count(next_on) as d,
            count(*) as ended from facts.part_lives group by all)) where d > 0 group by all"""
MONEY = """select j.unit_type, m.currency, count(*), sum(m.charged_minor), sum(m.parts_cost_minor), sum(m.minutes)
    from facts.job_money as m join tables.jobs as j on j.job_no = m.job_no group by all"""
FLOORS = {
    **dict.fromkeys(("repeat-visits", "second-visits"), RETURNS),
    **dict.fromkeys(
        ("part-failure-rate", "repairs-by-age", "procedures", "technicians", "changes", "wrong-part"), WORKS
    ),
    **dict.fromkeys(("part-life", "clean-or-replace"), LIVES),
    **dict.fromkeys(("unpaid-hours", "fix-payoff"), MONEY),
    "time-to-fix": TIMES,
}


def seconds(work: Callable[[], Any]) -> tuple[float, float]:
    """Of the clock and of the processors."""
    began, used = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - began, time.process_time() - used


def measure(con: duckdb.DuckDBPyConnection, name: str) -> None:
    """Print one line for a figure, or why there is none."""
    floor = seconds(lambda: con.execute(FLOORS.get(name, JOBS)).fetchall())
    try:
        took = seconds(lambda: evaluate(con, name, Question(people=name == "technicians")))
    except CannotAnswerError as error:
        print(f"{name:20} {error}", flush=True)
        return
    print(
        f"{name:20}{took[0]:8.2f} ({took[1]:.2f}){floor[0]:10.2f} ({floor[1]:.2f}){took[0] / floor[0]:8.1f}",
        flush=True,
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("store", type=Path)
    options = parser.parse_args()
    print(f"{'figure':20}{'seconds':>15}{'floor':>17}{'ratio':>8}")
    with Store(options.store).connect() as con:
        con.execute(JOBS).fetchall()
        for name in MEASURES:
            measure(con, name)


if __name__ == "__main__":
    main()
