"""How well the fixes of symptoms are foretold: learnt from jobs before a day, scored on those after it, against simpler guesses."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.estimators.back_off import something_else
from pipeline.estimators.bootstrap import bootstrap_t_mean
from pipeline.estimators.proportions import wilson
from pipeline.estimators.sample import proportion_sample
from pipeline.measures.minutes_to_find import MinutesToFind
from pipeline.measures.symptom_fixes import end_of_reports
from pipeline.measures.symptom_jobs import SymptomJobs, symptom_jobs
from pipeline.measures.symptom_levels import Levels
from pipeline.measures.symptom_weights import LABEL, Weights, best_weights
from pipeline.measures.symptom_words import Understood
from pipeline.measures.timed_checks import timed_checks

EARLIER = 0.7  # share of the fixed jobs that is learnt from, where no day is given
FEWEST = 30  # jobs to score
TOP = 3
COMMON = 300  # symptoms that are scored, and that the commonest fixes are taken from
DECILES = 10
LEANING = "this answer"
COUNTS = "plain counts of symptom and kind"
OVERALL = "commonest fixes of the kind, whatever the symptom"

Fix = tuple[str, str]  # part or cause (or set), action


@dataclass(frozen=True)
class Guess:
    """Chance of each fix, and of one that is not among them."""

    chances: dict[Fix, float]
    other: float

    def of(self, fix: Fix) -> float:
        """Chance given to what was done."""
        return self.chances.get(fix, self.other)

    def by_part(self) -> dict[str, float]:
        """Chance of each part or cause, all actions together."""
        totals: dict[str, float] = {}
        for (subject, _), p in self.chances.items():
            totals[subject] = totals.get(subject, 0.0) + p
        return totals

    def first_part(self) -> str | None:
        """The part or cause with the greatest chance, all actions together; equal ones by name."""
        totals = self.by_part()
        return min(totals, key=lambda subject: (-totals[subject], subject)) if totals else None

    def first_fixes(self) -> list[Fix]:
        """The fixes with the greatest chances, each apart."""
        return sorted(self.chances, key=lambda fix: (-self.chances[fix], fix))[:TOP]


@dataclass
class Score:
    """What a way of guessing reached so far."""

    jobs: int = 0
    part_hits: int = 0
    fix_hits: int = 0
    log: float = 0.0
    minutes: list[float] = field(default_factory=list)
    # Each chance given, to how many jobs, and in how many of them it was the fix.
    cells: list[tuple[float, int, int]] = field(default_factory=list)

    def add(self, guess: Guess, fixes: Sequence[Fix]) -> None:
        """Score later jobs to which one guess is given."""
        first, some, done = guess.first_part(), guess.first_fixes(), Counter(fixes)
        self.jobs += len(fixes)
        self.part_hits += sum(jobs for (part, _), jobs in done.items() if part == first)
        self.fix_hits += sum(done[fix] for fix in some)
        # A chance of nought would say that it cannot be; no way of guessing may be punished without end.
        self.log += sum(jobs * float(np.log(max(guess.of(fix), 1e-6))) for fix, jobs in done.items())
        self.cells += [(p, len(fixes), done[each]) for each, p in guess.chances.items()]
        foretold = sum(done[each] for each in guess.chances)
        self.cells.append((guess.other, len(fixes), len(fixes) - foretold))


@dataclass(frozen=True)
class BackTest:
    """
    Scores of jobs finished from `split` on, learnt from what was known before it.

    Attributes
    ----------
    split, until : date
    rows : list of dict
        method, jobs, part_hits, part_share, part_low, part_high, fix_hits, fix_share, fix_low, fix_high, log_score,
        minutes, minutes_low, minutes_high (until the check that finds it, see `minutes_to_find`), sample (of part_share).
    calibration : list of dict
        chance_from, chance_to, guesses, mean_chance, happened, share: of this answer's chances, by tenths.
    """

    split: date
    until: date
    rows: list[dict[str, Any]]
    calibration: list[dict[str, Any]]


def back_test(
    con: duckdb.DuckDBPyConnection,
    symptoms: tuple[str, ...] = (),
    split: date | None = None,
    vocabulary: Path | None = None,
) -> BackTest:
    """
    Learn before a day, score after it.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    symptoms : tuple of str
        Only these; the 300 commonest of the log where empty, each job once for each symptom it shows.
    split : date or None
        First day that is foretold; by default the day before which 70 % of the fixed jobs were finished.
    vocabulary : Path or None
        The shop's vocabulary folder, for its own minutes of checks. Those of the log count as known before the day.

    Raises
    ------
    CannotAnswerError
        If fewer than 30 fixes that held came after the day.
    """
    until = end_of_reports(con)
    day = split or _day_of_split(con)
    scores = {method: Score() for method in (LEANING, COUNTS, OVERALL)}
    overall, weights = overall_guesses(con, day), best_weights(con, until=day)
    checks, names = timed_checks(con, vocabulary, until=day), _part_names(con)
    for symptom in symptoms or symptoms_of_fixes(con, day):
        earlier = symptom_jobs(con, (symptom,), until=day)
        later = symptom_jobs(con, (symptom,), until=until, since=day).jobs.filter(~pl.col("came_back"))
        for (kind, *_), guesses, fixes in guessed(symptom, earlier, later, overall, weights):
            for method, guess in guesses.items():
                # The others are looked for in the order in which they were most often the fix.
                finding = MinutesToFind(
                    guess.by_part(),
                    guess.other,
                    names,
                    checks,
                    str(kind or ""),
                    most_often_first=method != LEANING,
                )
                scores[method].add(guess, fixes)
                minutes = {part: finding.of(part) for part, _ in set(fixes)}
                scores[method].minutes += [minutes[part] for part, _ in fixes]
    jobs = scores[LEANING].jobs
    if jobs < FEWEST:
        raise CannotAnswerError(
            f"Only {jobs} fixes that held came after {day}; a back-test needs {FEWEST}. Choose an earlier day with --before."
        )
    return BackTest(
        day,
        until,
        [_row(method, score) for method, score in scores.items()],
        _calibration(scores[LEANING].cells),
    )


def guessed(
    symptom: str, earlier: SymptomJobs, later: pl.DataFrame, overall: dict[str, Guess], weights: Weights
) -> Iterator[tuple[tuple[Any, ...], dict[str, Guess], list[Fix]]]:
    """For each kind, model and code among the later jobs: these, the guesses of each method, and what was done."""
    keys = ["unit_type", "model", "fault_code"]
    for (kind, model, code), some in later.group_by(keys, maintain_order=True):
        understood = Understood((symptom,), kind, model, code, ())
        guesses = {
            LEANING: _leaning(earlier, understood, weights),
            COUNTS: _plain(earlier.jobs.filter(pl.col("unit_type") == kind)),
            OVERALL: overall.get(str(kind), Guess({}, 1.0)),
        }
        fixes = some.select(*LABEL, "jobs").iter_rows()
        yield (kind, model, code), guesses, [(part, act) for part, act, n in fixes for _ in range(n)]


def _leaning(earlier: SymptomJobs, understood: Understood, weights: Weights) -> Guess:
    """As the answer is given: fixes seen on the kind of machine, everything else together."""
    if not earlier.jobs.height:
        return Guess({}, 1.0)
    levels = Levels.of(earlier.jobs, understood)
    value = levels.estimate(weights).value
    counts = _counts(levels.of_kind.filter(~pl.col("came_back")))
    seen = 1.0 - something_else(float(sum(n == 1 for n in counts.values())), float(sum(counts.values())))
    fixes = levels.labels.select(LABEL).iter_rows()
    given = {fix: float(p) * seen for fix, p in zip(fixes, value, strict=True) if fix in counts}
    return Guess(given, 1.0 - sum(given.values()))


def _plain(jobs: pl.DataFrame) -> Guess:
    """Shares of what was done, held or not."""
    counts = _counts(jobs)
    total = sum(counts.values())
    other = something_else(float(sum(n == 1 for n in counts.values())), float(total))
    return Guess({fix: n / total * (1.0 - other) for fix, n in counts.items()}, other if total else 1.0)


def _counts(jobs: pl.DataFrame) -> dict[Fix, int]:
    return {
        (subject, action): n
        for subject, action, n in jobs.group_by(LABEL).agg(pl.col("jobs").sum()).iter_rows()
    }


def overall_guesses(con: duckdb.DuckDBPyConnection, day: date) -> dict[str, Guess]:
    """By kind of machine: shares of what was done before a day, whatever the symptom."""
    every = symptom_jobs(con, tuple(symptoms_of_fixes(con, None)), until=day).jobs
    return {str(kind): _plain(some) for (kind,), some in every.group_by("unit_type")}


def symptoms_of_fixes(con: duckdb.DuckDBPyConnection, day: date | None) -> list[str]:
    """Symptoms with most fixed jobs, or only of those finished from a day on: texts that nothing settles are symptoms too."""
    rows = con.execute(
        "select s.symptom from tables.job_symptoms as s join tables.jobs as j on j.job_no = s.job_no "
        "where j.is_index and ($1 is null or j.finished_on >= $1) group by s.symptom order by count(*) desc, s.symptom limit $2",
        [day, COMMON],
    ).fetchall()
    return sorted(symptom for (symptom,) in rows)


def _day_of_split(con: duckdb.DuckDBPyConnection) -> date:
    rows = con.execute("select finished_on from tables.jobs where is_index order by finished_on").fetchall()
    if not rows:
        raise CannotAnswerError("No job ended fixed at a known time, so there is nothing to learn from.")
    day: date = rows[int(len(rows) * EARLIER)][0]
    return day


def _part_names(con: duckdb.DuckDBPyConnection) -> dict[str, str]:
    rows = con.execute("select part_key, coalesce(part_name, part_no) from tables.parts").fetchall()
    return {key: name for key, name in rows if name}


def _row(method: str, score: Score) -> dict[str, Any]:
    row: dict[str, Any] = {"method": method, "jobs": score.jobs}
    for name, hits in (("part", score.part_hits), ("fix", score.fix_hits)):
        interval = wilson(hits, score.jobs)
        low, high = float(interval.low), float(interval.high)
        row |= {
            f"{name}_hits": hits,
            f"{name}_share": hits / score.jobs,
            f"{name}_low": low,
            f"{name}_high": high,
        }
    mean = bootstrap_t_mean(
        np.zeros(score.jobs, np.int64), score.minutes, np.ones(score.jobs, np.int64), groups=1
    )
    minutes = {
        name: float(limit[0])
        for name, limit in zip(("minutes", "minutes_low", "minutes_high"), mean, strict=True)
    }
    sample = str(proportion_sample(score.jobs, row["part_low"], row["part_high"]))
    return {**row, "log_score": score.log / score.jobs, **minutes, "sample": sample}


def _calibration(cells: list[tuple[float, int, int]]) -> list[dict[str, Any]]:
    """Chances given, by tenths: how many, their mean, how often it happened."""
    given, guesses, happened = (np.array(column, dtype=float) for column in zip(*cells, strict=True))
    tenth = np.minimum((given * DECILES).astype(int), DECILES - 1)
    rows = []
    for at in range(DECILES):
        chosen = tenth == at
        if chosen.any():
            count = guesses[chosen].sum()
            rows.append(
                {
                    "chance_from": at / DECILES,
                    "chance_to": (at + 1) / DECILES,
                    "guesses": int(count),
                    "mean_chance": float(given[chosen] @ guesses[chosen] / count),
                    "happened": int(happened[chosen].sum()),
                    "share": float(happened[chosen].sum() / count),
                }
            )
    return rows
