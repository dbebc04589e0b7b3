"""Coding drift: words that stand in the newest months' jobs much more or less often than in the year before."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from typing import Any

import duckdb
import numpy as np
import numpy.typing as npt

COLUMNS = ("symptom", "finding", "mechanism", "cause", "action", "outcome")
NEWEST, BEFORE = 3, 12  # months
FEWEST = 30  # jobs on each side that say anything in the column
POINTS = 0.05  # a share that changed by less changes no figure worth speaking of
FALSE_ALARMS = 0.05  # of all words of a column together
Floats = npt.NDArray[np.float64]
Counts = dict[tuple[date, str | None], int]


def coding_drift(con: duckdb.DuckDBPyConnection) -> list[dict[str, Any]]:
    """
    Words of all logs together whose share of jobs changed.

    Returns
    -------
    list of dict
        column, word, since (first of the newest months, as 2026-03), jobs and of (jobs with the word, of those that say
        anything in the column, since then), jobs_before and of_before (in the twelve months before); the greatest
        change of each column first. Told is a change of at least five points of a hundred whose range of differences
        (Newcombe, widened by Bonferroni's rule for the words of the column) leaves nought out.
    """
    months = [row[0] for row in con.execute(_MONTHS).fetchall()]
    if not months:
        return []
    newest = months[-1]
    since, start = _earlier(newest, NEWEST - 1), _earlier(newest, NEWEST - 1 + BEFORE)
    return [
        {"column": column, **told}
        for column in COLUMNS
        for told in changes(_counts(con, column, start), since)
    ]


def changes(counts: Counts, since: date) -> Iterator[dict[str, Any]]:
    """
    Words whose share changed, the greatest change first.

    Parameters
    ----------
    counts : dict
        Jobs by month and word; under None those that say anything.
    since : date
        First of the newest months.
    """
    new: Counter[str | None] = Counter()
    old: Counter[str | None] = Counter()
    for (month, word), jobs in counts.items():
        (new if month >= since else old)[word] += jobs
    of, of_before = new.pop(None, 0), old.pop(None, 0)
    words = sorted({word for word in (*new, *old) if word is not None})
    if min(of, of_before) < FEWEST or not words:
        return
    now, then = [new[word] for word in words], [old[word] for word in words]
    level = 1 - FALSE_ALARMS / len(words)
    # Not at the top: reading it takes half a second, and every load reads this module.
    from pipeline.estimators.proportions import newcombe_difference

    found = newcombe_difference(_share(now, of, level), _share(then, of_before, level))
    for n in sorted(range(len(words)), key=lambda n: -abs(found.value[n])):
        if abs(found.value[n]) >= POINTS and (found.low[n] > 0 or found.high[n] < 0):
            yield {
                "word": words[n],
                "since": f"{since:%Y-%m}",
                "jobs": now[n],
                "of": of,
                "jobs_before": then[n],
                "of_before": of_before,
            }


def _share(jobs: list[int], of: int, level: float) -> tuple[Floats, Floats, Floats]:
    counts = np.asarray(jobs, dtype=float)
    from pipeline.estimators.proportions import wilson

    interval = wilson(counts, np.full(counts.size, float(of)), level)
    return counts / of, interval.low, interval.high


def as_sentence(change: dict[str, Any]) -> str:
    """A change in words: what it was, what it is."""
    return (
        f'{change["column"]} "{change["word"]}": {change["jobs"]:,} of {change["of"]:,} jobs since {change["since"]}, '
        f"{change['jobs_before']:,} of {change['of_before']:,} in the year before"
    )


def _counts(con: duckdb.DuckDBPyConnection, column: str, start: date) -> Counts:
    word, join = ("sets.symptom", _SYMPTOMS) if column == "symptom" else (f"used.{column}", "")
    rows = con.execute(_WORDS.format(word=word, join=join), [start])
    return {(month, word): jobs for month, word, jobs in rows.fetchall()}


def _earlier(month: date, months: int) -> date:
    at = month.year * 12 + month.month - 1 - months
    return date(at // 12, at % 12 + 1, 1)


_MONTH = "cast(date_trunc('month', coalesce(used.finished_on, used.started_on, used.reported_on)) as date)"
_MONTHS = f"select distinct {_MONTH} as month_on from tables.used_lines as used where month_on is not null order by 1"
_SYMPTOMS = "join normalise.symptom_sets as sets on sets.symptoms = used.symptoms"
_WORDS = f"""
with said as (
    select distinct used.job_no, {{word}} as word, {_MONTH} as month_on
    from tables.used_lines as used
    {{join}}
    where {{word}} is not null and {_MONTH} >= $1
)
select month_on, word, count(*) from said group by all
union all
select month_on, null, count(distinct job_no) from said group by all
order by all
"""
