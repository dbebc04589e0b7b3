"""How near answers come to those of somebody who knows the truth: learnt before a day, scored on fixes after it that held."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

import duckdb
import numpy as np
import polars as pl

from pipeline.measures.check_order import check_order
from pipeline.measures.symptom_back_test import (
    COUNTS,
    DECILES,
    LEANING,
    Guess,
    Score,
    guessed,
    overall_guesses,
    symptoms_of_fixes,
)
from pipeline.measures.symptom_fixes import Fixes, find_fixes
from pipeline.measures.symptom_jobs import symptom_jobs
from pipeline.measures.symptom_levels import Levels
from pipeline.measures.symptom_weights import best_weights
from pipeline.measures.symptom_words import Understood
from pipeline.planning.check_order import Check, minutes_of
from pipeline.vocabulary.check_minutes import CheckTable, check_table
from tests.studies.symptom_firms import FAULTS, OUTSIDE, Firm

ORACLE = "knows the truth"


@dataclass
class Scores:
    """By way of guessing; and of this answer each chance with what happened, job by job."""

    by: dict[str, Score] = field(
        default_factory=lambda: {name: Score() for name in (LEANING, COUNTS, ORACLE)}
    )
    given: list[list[float]] = field(default_factory=list)
    happened: list[int] = field(default_factory=list)


def score(con: duckdb.DuckDBPyConnection, firm: Firm, split: date, until: date, scores: Scores) -> None:
    """Add one firm's later jobs."""
    names = dict(con.execute("select part_key, part_name from tables.parts").fetchall())
    overall, weights = overall_guesses(con, split), best_weights(con, until=split)
    for symptom in symptoms_of_fixes(con, split):
        earlier = symptom_jobs(con, (symptom,), until=split)
        later = symptom_jobs(con, (symptom,), until=until, since=split).jobs.filter(~pl.col("came_back"))
        for key, guesses, fixes in guessed(symptom, earlier, later, overall, weights):
            truth = firm.held(key[0], key[1], symptom)
            for subject, action in fixes:
                fix = (names.get(subject, subject), action)
                for name, guess in {**guesses, ORACLE: Guess(truth, 1e-6)}.items():
                    if name in scores.by:
                        scores.by[name].add(_named(guess, names), [fix])
                _remember(scores, _named(guesses[LEANING], names), fix)


def _named(guess: Guess, names: dict[str, str]) -> Guess:
    return Guess(
        {(names.get(subject, subject), action): p for (subject, action), p in guess.chances.items()},
        guess.other,
    )


def _remember(scores: Scores, guess: Guess, fix: tuple[str, str]) -> None:
    order = list(guess.chances)
    scores.given.append([*(guess.chances[each] for each in order), guess.other])
    scores.happened.append(order.index(fix) if fix in guess.chances else len(order))


def miscalibration(given: list[list[float]], happened: list[int]) -> float:
    """Mean distance, over all chances given, between their mean and how often it happened, by tenths of the chance."""
    p = np.concatenate([np.array(row) for row in given])
    it = np.concatenate([np.arange(len(row)) == at for row, at in zip(given, happened, strict=True)])
    tenth = np.minimum((p * DECILES).astype(int), DECILES - 1)
    apart = np.bincount(tenth, p - it, DECILES)
    return float(np.abs(apart).sum() / len(p))


def perfect(given: list[list[float]], draws: int, rng: np.random.Generator, quantile: float = 0.95) -> float:
    """A high quantile of the miscalibration of a forecaster whose chances are all true, on as many jobs."""
    found = []
    for _ in range(draws):
        happened = [int(rng.choice(len(row), p=np.array(row) / sum(row))) for row in given]
        found.append(miscalibration(given, happened))
    return float(np.quantile(found, quantile))


def minutes_over_oracle(con: duckdb.DuckDBPyConnection, firm: Firm, until: date) -> list[float]:
    """For each kind and symptom: minutes that our order takes in truth, over those of the order that knows the truth."""
    table, found = check_table(), []
    for kind, symptoms in FAULTS.items():
        for symptom, faults in symptoms.items():
            understood = Understood((symptom,), kind, None, None, ())
            truth = dict(zip(faults, firm.chance[kind, None, symptom], strict=True))
            ours = check_order(find_fixes(con, understood, until=until), table, kind)
            best = check_order(_as_fixes(truth, understood), table, kind)
            found.append(_minutes(ours, truth, table, kind) / _minutes(best, truth, table, kind))
    return found


def _as_fixes(truth: dict[str, float], understood: Understood) -> Fixes:
    rows = [{"part_no": None, "part_name": fault.removeprefix(OUTSIDE)} for fault in truth]
    weights = np.array([*(1e6 * p for p in truth.values()), 0.0])
    empty = pl.DataFrame(
        schema=dict.fromkeys(("unit_type", "model", "fault_code", "subject", "action"), pl.String)
        | {"weight": pl.Float64, "came_back": pl.Boolean}
    )
    return Fixes([*rows, {}], tuple(truth), weights, Levels.of(empty, understood), date.max, 0)


def _minutes(order: object, truth: dict[str, float], table: CheckTable, kind: str) -> float:
    """Expected minutes of an order under the true chances; the pinned steps are made in any case."""
    names = list(table.panels)
    outside = sum(p for fault, p in truth.items() if fault.startswith(OUTSIDE))
    checks = [Check(0.0, 1.0, 3.0), Check(outside, table.installation.finds, table.installation.minutes)]
    for step in order.steps[2:]:
        entry = table.of_part(step.part_name, kind)
        way = tuple(names.index(panel) for panel in table.way_to(entry.behind))
        checks.append(Check(truth.get(step.part_name, 0.0), entry.finds, entry.minutes, way))
    return minutes_of(range(len(checks)), checks, [panel.minutes for panel in table.panels.values()])
