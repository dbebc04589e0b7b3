"""
Life curves, Weibull fits and mean cumulative functions of 1,000 parts in one pass. Run by hand, in the environment of `oracle`:

    python -m tests.benchmarks.life_figures [LINES [LOOPED]]

Each is set against its floor (the barest query that gives the same numbers, measured in the same run) and against lifelines, one
part at a time over LOOPED parts (20), times 1,000 / LOOPED, its reading not counted; a difference of the numbers ends the run.
Curves and fits are measured twice: from lines counted as they are read, and from single records as the figures have them, a
frame of group, day and cause.
Seconds are medians of three runs after one that does not count, our reading of the lines from Parquet among them; behind them, in
brackets, seconds of processor time over all cores, which tell more where the machine is busy with other work.
"""

from __future__ import annotations

import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import duckdb
import numpy as np
from numpy.testing import assert_allclose
from numpy.typing import NDArray

from pipeline.estimators.competing import Curves, curves_from_cells, curves_from_records, probability_by
from pipeline.estimators.mcf import Happenings, Windows, mean_cumulative
from pipeline.estimators.restricted import band
from pipeline.estimators.weibull import fit_weibull

PARTS, DAY, RUNS, LOOPED = 1000, 365, 3, 20

LIVES = """
copy (
    select i % {parts} as part, least(life, seen)::int as day, (life <= seen)::int as failed
    from (
        select i, floor(300 * pow(-ln(1 - random()), 1 / 1.1)) as life, floor(random() * 1000) as seen
        from range({lines}) as t(i)
    )
) to '{folder}/lives.parquet'
"""
MACHINES = """
copy (
    select i as unit, i % {parts} as model, floor(random() * 1500)::int as entry, 0 as zero
    from range({lines} // 5) as t(i)
) to '{folder}/machines.parquet';
copy (
    select unit, model, entry, entry + 1096 as leave from '{folder}/machines.parquet'
) to '{folder}/windows.parquet';
copy (
    select unit, model, entry + 1 + floor(random() * 1096)::int as age
    from (select (random() * ({lines} // 5 - 1))::int as unit from range({lines}) as t(i)) as drawn
    join '{folder}/windows.parquet' as w using (unit)
) to '{folder}/events.parquet'
"""
DAYS = "select max(day) + 1 as days from '{folder}/lives.parquet'"
# A line as one whole number, so that a table of counts takes it in one pass.
LINES = "select ((part * {days} + day) * 2 + failed)::int as cell from '{{folder}}/lives.parquet'"
# The same, as the figures ask for it: one record a life, -1 for one that still runs.
RECORDS = "select part, day, failed - 1 as cause from '{folder}/lives.parquet'"
CELLS = "select part, day, sum(failed)::int8 as d, sum(1 - failed)::int8 as c from '{folder}/lives.parquet' group by part, day"
KAPLAN_MEIER = f"""
with cells as (select part, day, sum(failed)::int8 as d, count(*) as n from '{{folder}}/lives.parquet' group by part, day),
risk as (select part, day, d, sum(n) over (partition by part order by day desc) as r from cells)
select part, exp(sum(case when d < r then ln(1 - d / r) else -700 end)) as s,
    sum(case when d < r then d / (r * (r - d)) else 0 end) as greenwood
from risk where day <= {DAY} group by part order by part
"""
# The barest mean: events over machines at risk, summed up; variance as if machines were alike.
MEAN_COUNT = """
with change as (
    select model, entry + 1 as age, 1 as one from '{folder}/windows.parquet'
    union all select model, leave + 1, -1 from '{folder}/windows.parquet'
),
steps as (select model, age, sum(one) as one, 0 as d from change group by model, age),
events as (select model, age, 0 as one, count(*) as d from '{folder}/events.parquet' group by model, age),
joined as (select model, age, sum(one) as one, sum(d) as d from (select * from steps union all select * from events) group by all),
risk as (select model, age, d, sum(one) over (partition by model order by age) as r from joined)
select model, sum(d / r) as m, sum(d / (r * r)) as v from risk where d > 0 and age <= 1000 group by model order by model
"""


class Taken(NamedTuple):
    """Seconds by the clock, and of processor time."""

    clock: float
    processor: float

    def over(self, other: Taken) -> str:
        """How many times as long as the other."""
        return f"{self.clock / other.clock:.2f} ({self.processor / other.processor:.2f}) times"

    def __str__(self) -> str:
        return f"{self.clock:.3f} ({self.processor:.3f}) s"


def now() -> NDArray[np.float64]:
    """Both clocks."""
    return np.array([time.perf_counter(), time.process_time()])


def seconds(work: Callable[[], Any]) -> tuple[Taken, Any]:
    """Median of the runs, and what the last gave."""
    work()
    taken, result = [], None
    for _ in range(RUNS):
        start = now()
        result = work()
        taken.append(now() - start)
    return Taken(*np.median(taken, axis=0)), result


def bare_weibull(part: Any, day: Any, d: Any, n: Any) -> Any:
    """Newton's method on the shape of each part, nothing checked and no limits."""
    log_time, events = np.log(day + 0.5), np.bincount(part, d, PARTS)
    mean_log, shape = np.bincount(part, d * log_time, PARTS) / events, np.ones(PARTS)
    for _ in range(8):
        power = n * np.exp(shape[part] * (log_time - 6.0))
        a, b, c = (np.bincount(part, power * log_time**k, PARTS) for k in range(3))
        shape += (1 / shape + mean_log - b / a) / (1 / shape**2 + (a * c - b * b) / (a * a))
    scale = (np.bincount(part, n * (day + 0.5) ** shape[part], PARTS) / events) ** (1 / shape)
    return shape, scale


class Bench:
    """The made-up lines in a folder, and every way to work them out."""

    def __init__(self, folder: Path, lines: int) -> None:
        self.folder, self.con = folder, duckdb.connect(config={"threads": 2})
        for sql in (LIVES + ";" + MACHINES).split(";"):
            self.con.execute(sql.format(parts=PARTS, lines=lines, folder=folder))

    def ask(self, sql: str) -> dict[str, Any]:
        """Columns of a query."""
        return self.con.execute(sql.format(folder=self.folder)).fetchnumpy()

    def curves(self) -> Curves:
        """Lines read and counted."""
        days = int(self.ask(DAYS)["days"][0])
        lines = self.ask(LINES.format(days=days))["cell"]
        counts = np.bincount(lines, minlength=PARTS * days * 2).reshape(-1, 2)
        at = np.arange(PARTS * days)
        return curves_from_cells(at // days, at % days, counts[:, 1], counts[:, 0], groups=PARTS)

    def curves_of_records(self) -> Curves:
        """Single records read into a frame, and counted there."""
        records = self.con.sql(RECORDS.format(folder=self.folder)).pl()
        return curves_from_records(records["part"], records["day"], records["cause"], groups=PARTS)

    def our_curves(self, made: Callable[[], Curves]) -> Any:
        """Curves, their bands, and the probability by a year with its range: what lifelines' fit gives, and that."""
        curves = made()
        return probability_by(curves, DAY), band(curves)

    def our_weibull(self, made: Callable[[], Curves]) -> Any:
        """Fits with limits, from what the curves counted."""
        curves = made()
        return fit_weibull(
            curves.group, curves.time + 0.5, curves.events[:, 0], curves.censored, groups=PARTS
        )

    def floor_weibull(self) -> Any:
        """The barest fit."""
        cells = self.ask(CELLS)
        return bare_weibull(cells["part"], cells["day"], cells["d"], cells["d"] + cells["c"])

    def our_means(self) -> Any:
        """Mean cumulative functions with by-machine variance and limits at every age."""
        machines = self.ask("select * from '{folder}/windows.parquet' order by unit")
        events = self.ask("select unit, age from '{folder}/events.parquet'")
        windows = Windows(machines["model"], machines["entry"], machines["leave"])
        return mean_cumulative(windows, Happenings(events["unit"], events["age"]), groups=PARTS)

    def looped(self, work: Callable[[Any, Any], Any], parts: int) -> tuple[Taken, list[Any]]:
        """Seconds for 1,000 parts one by one, and what the first said; reading is not counted."""
        rows = self.ask(f"select part, day, failed from '{{folder}}/lives.parquet' where part <= {parts}")
        each = [(rows["day"][rows["part"] == p], rows["failed"][rows["part"] == p]) for p in range(parts + 1)]
        work(*each[-1])  # does not count
        start = now()
        found = [work(*records) for records in each[:-1]]
        return Taken(*((now() - start) / parts * PARTS)), found


def main(lines: int = 1_000_000, looped: int = LOOPED) -> None:
    """Measure, compare and print."""
    warnings.simplefilter("ignore")
    import lifelines

    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder), lines)
        ways = {"counted": bench.curves, "single records": bench.curves_of_records}
        floor, rows = seconds(lambda: bench.ask(KAPLAN_MEIER))
        loop, found = bench.looped(lambda t, e: lifelines.KaplanMeierFitter().fit(t, e).predict(DAY), looped)
        for way, made in ways.items():
            ours, (asked, _) = seconds(partial(bench.our_curves, made))
            assert_allclose(1 - asked.value, rows["s"], rtol=1e-9)
            assert_allclose(asked.variance, rows["s"] ** 2 * rows["greenwood"], rtol=1e-6)
            assert_allclose(1 - asked.value[:looped], found, rtol=1e-9)
            report(f"life curves, {way}", floor, ours, loop)
        floor, (shape, scale) = seconds(bench.floor_weibull)
        loop, found = bench.looped(weibull_of(lifelines), looped)
        for way, made in ways.items():
            ours, fit = seconds(partial(bench.our_weibull, made))
            assert_allclose((fit.shape, fit.scale), (shape, scale), rtol=1e-8)
            assert_allclose(np.stack([fit.shape, fit.scale], axis=1)[:looped], found, rtol=1e-4)
            report(f"Weibull fits, {way}", floor, ours, loop)
        floor, rows = seconds(lambda: bench.ask(MEAN_COUNT))
        ours, means = seconds(bench.our_means)
        inside = means.time <= 1000
        added = np.bincount(means.group[inside], (means.amount / means.at_risk)[inside], PARTS)
        assert_allclose(added, rows["m"], rtol=1e-9)
        report("mean cumulative functions", floor, ours, None)


def weibull_of(lifelines: Any) -> Callable[[Any, Any], tuple[float, float]]:
    """A fit of one part."""

    def fitted(day: Any, failed: Any) -> tuple[float, float]:
        one = lifelines.WeibullFitter().fit(day + 0.5, failed)
        return one.rho_, one.lambda_

    return fitted


def report(what: str, floor: Taken, ours: Taken, loop: Taken | None) -> None:
    """One line."""
    beside = f"; one by one {loop}, {loop.over(ours)} as long" if loop else ""
    print(f"{what}: {ours}, {ours.over(floor)} the floor of {floor}{beside}", flush=True)


if __name__ == "__main__":
    main(*(int(argument) for argument in sys.argv[1:]))
