"""What usually fixes a symptom and holds: chances by part or outside cause and action (measure book, section 9)."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.back_off import Chances, something_else
from pipeline.measures.symptom_jobs import (
    OUTSIDE,
    TOGETHER,
    jobs_in,
    minutes_of_fixes,
    symptom_jobs,
    symptom_minutes,
)
from pipeline.measures.symptom_levels import Levels
from pipeline.measures.symptom_weights import LABEL, Weights, best_weights
from pipeline.measures.symptom_words import Understood
from pipeline.vocabulary.cautions import AFTER_STOP, for_work, stop_words
from pipeline.vocabulary.dangers import SEVERAL

SOMETHING_ELSE = "something else"
NOTHING_ASKED = Understood((), None, None, None, ())
_BY_NAME = "name: "  # how the tables key a part that is known by its name only


@dataclass(frozen=True)
class Fixes:
    """
    The fixes of a symptom, with what they rest on.

    Attributes
    ----------
    rows : list of dict
        As `symptom_fixes` gives them.
    keys : tuple of str
        Part, cause outside or set of each row but the last, as `symptom_jobs` keys them.
    weights : array, (rows,)
        Jobs behind each row's chance, those lent by coarser levels too; the last is everything not seen here.
    levels : Levels
    until : date
        First day that no longer counts.
    unlabelled : int
        Fixed jobs with the symptom that do not say what was done.
    understood : Understood
        What was asked.
    jobs : frame
        Jobs of every kind of machine, counted, as `symptom_jobs` gives them with their needs.
    minutes : frame
        Their minutes on the machine, as `symptom_minutes` gives them.
    lean : Weights
        How far each level leans on the one before it.
    """

    rows: list[dict[str, Any]]
    keys: tuple[str, ...]
    weights: NDArray[np.float64]
    levels: Levels
    until: date
    unlabelled: int
    understood: Understood = NOTHING_ASKED
    jobs: pl.DataFrame = field(default_factory=pl.DataFrame)
    minutes: pl.DataFrame = field(default_factory=pl.DataFrame)
    lean: Weights = field(default_factory=Weights)

    def cautions(self) -> list[str]:
        """Cautions of the kind of machine, of the parts that may be it and of what may be done; they stand above the answer."""
        rows = self.rows[:-1]
        parts = {name: None for row in rows for name in str(row["part_name"]).split(TOGETHER)}
        actions = {name: None for row in rows for name in str(row["action"]).split(TOGETHER)}
        return for_work(self.understood.unit_type or "", parts, actions)

    def counts_by_level(self, key: str) -> list[tuple[str, int, int]]:
        """Finest first: name of the level, fixes of this part or cause that have not come back, all that have not."""
        return [(name, counts.get(key, 0), of) for name, counts, of in self._held_by_level]

    @cached_property
    def _held_by_level(self) -> list[tuple[str, dict[str, int], int]]:
        """Counted once for all parts: a log with a thousand of them asks a thousand times."""
        found: list[tuple[str, dict[str, int], int]] = []
        for name, jobs in (
            (self.levels.names[-1], self.levels.finest),
            (self.levels.kind_name, self.levels.of_kind),
        ):
            holding = jobs.filter(~pl.col("came_back"))
            of = jobs_in(holding)
            if not found or found[0][2] != of:
                counts = holding.group_by("subject").agg(pl.col("jobs").sum())
                found.append((name, dict(counts.iter_rows()), of))
        return found


def symptom_fixes(
    con: duckdb.DuckDBPyConnection, understood: Understood, *, until: date | None = None
) -> list[dict[str, Any]]:
    """
    What fixed a symptom and held, most likely first.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    understood : Understood
        Symptoms, kind, model and code as the log has them.
    until : date or None
        First day that no longer counts; the end of the log's reports where None.

    Returns
    -------
    list of dict
        part_no, part_name, action, probability, low, high, count (such fixes that have not come back), of (fixed jobs of
        the kind with the symptom that have not come back), hands_on_median_min, hands_on_p80_min, not_yet_proven (of the
        count, those followed for less than 90 days). Ordered by the total of the part or cause, then by action; a
        set of works is one; the last entry has no part and is "something else". A danger gives one entry with `stop`.

    Raises
    ------
    CannotAnswerError
        If no such job ended fixed and says what was done.
    """
    if understood.dangers:
        return [{"stop": stop_text(understood)}]
    return find_fixes(con, understood, until=until).rows


def stop_text(understood: Understood) -> str:
    """In one piece, so that nothing can be read past it: every danger told, then that no part is named."""
    return " ".join([*stop_words(SEVERAL.join(understood.dangers)), AFTER_STOP])


def find_fixes(
    con: duckdb.DuckDBPyConnection,
    understood: Understood,
    *,
    until: date | None = None,
    lean: Weights | None = None,
) -> Fixes:
    """
    The fixes of a symptom with what they rest on; not for words that tell of a danger.

    `lean`: as `best_weights` gives it; it is the same for all symptoms, so whoever asks of many gives it.

    Raises
    ------
    CannotAnswerError
        If no such job ended fixed and says what was done.
    """
    end = until or end_of_reports(con)
    found = symptom_jobs(con, understood.symptoms, until=end, with_needs=True)
    if not found.jobs.height:
        raise CannotAnswerError(
            f"No job with {' and '.join(understood.symptoms)} ended fixed and says what was done, so nothing can be said of fixes."
        )
    levels = Levels.of(found.jobs, understood)
    weights = lean or best_weights(con, until=end)
    estimate = levels.estimate(weights)
    kind = understood.unit_type if levels.has_kind else None
    minutes = minutes_of_fixes(con, understood.symptoms, kind, until=end)
    rows, keys, places = _rows(con, levels, estimate, minutes)
    own = estimate.weight[places]
    behind = np.append(own, max(estimate.weight.sum() - own.sum(), 0.0) + 0.5)
    times = symptom_minutes(con, understood.symptoms, until=end)
    return Fixes(rows, keys, behind, levels, end, found.unlabelled, understood, found.jobs, times, weights)


def end_of_reports(con: duckdb.DuckDBPyConnection) -> date:
    """First day after the log's last report."""
    rows = con.execute("select reports_complete_to from facts.windows").fetchall()
    if not rows or rows[0][0] is None:
        raise CannotAnswerError("No job with a date has been loaded yet, so there is nothing to work out.")
    day: date = rows[0][0]
    return day


def _rows(
    con: duckdb.DuckDBPyConnection, levels: Levels, estimate: Chances, minutes: pl.DataFrame
) -> tuple[list[dict[str, Any]], tuple[str, ...], list[int]]:
    """Rows in order; and of each but the last its key and its place in the estimate."""
    holding = levels.of_kind.filter(~pl.col("came_back"))
    by_label = _by_label(holding)
    counts = levels.labels.join(by_label, on="at", how="left", maintain_order="left")
    table = counts.join(minutes, on=LABEL, how="left", maintain_order="left").to_dicts()
    held = jobs_in(holding)
    other = something_else(float((by_label["count"] == 1).sum()), float(held))
    names = part_names(con, levels.labels["subject"].to_list())
    # Fixes never seen on this kind of machine are what is left for it: they go under something else.
    own = [row for row in table if row["count"]]
    chance = {row["at"]: float(estimate.value[row["at"]]) * (1.0 - other) for row in table}
    totals: dict[str, float] = {}
    for row in own:
        totals[row["subject"]] = totals.get(row["subject"], 0.0) + chance[row["at"]]
    own.sort(key=lambda row: (-totals[row["subject"]], row["subject"], -chance[row["at"]], row["action"]))
    rows = [_row(row, names[row["subject"]], estimate, 1.0 - other, held) for row in own]
    rest = other + sum(chance[row["at"]] for row in table if not row["count"])
    return (
        [*rows, _last(rest, held)],
        tuple(row["subject"] for row in own),
        [row["at"] for row in own],
    )


def _by_label(holding: pl.DataFrame) -> pl.DataFrame:
    return holding.group_by("at").agg(
        pl.col("jobs").sum().alias("count"),
        pl.col("jobs").filter(~pl.col("is_proven")).sum().alias("not_yet_proven"),
    )


def _row(
    row: dict[str, Any], name: tuple[str | None, str], estimate: Chances, seen: float, of: int
) -> dict[str, Any]:
    at = row["at"]
    return {
        "part_no": name[0],
        "part_name": name[1],
        "action": row["action"],
        "probability": float(estimate.value[at]) * seen,
        "low": float(estimate.low[at]) * seen,
        "high": float(estimate.high[at]) * seen,
        "count": row["count"],
        "of": of,
        "hands_on_median_min": row["median"],
        "hands_on_p80_min": row["p80"],
        "not_yet_proven": row["not_yet_proven"],
    }


def _last(probability: float, of: int) -> dict[str, Any]:
    return {
        "part_no": None,
        "part_name": SOMETHING_ELSE,
        "action": None,
        "probability": probability,
        "low": None,
        "high": None,
        "count": 0,
        "of": of,
        "hands_on_median_min": None,
        "hands_on_p80_min": None,
        "not_yet_proven": 0,
    }


def part_names(con: duckdb.DuckDBPyConnection, subjects: list[str]) -> dict[str, tuple[str | None, str]]:
    """Number and name of each subject; a cause outside has no number, a set has those of its parts joined."""
    keys = sorted({key for subject in subjects for key in subject.split(TOGETHER)})
    known = {
        key: (number, name or number)
        for key, number, name in con.execute(
            "select part_key, part_no, part_name from tables.parts where list_contains($1, part_key)", [keys]
        ).fetchall()
    }
    found = {}
    for subject in subjects:
        named = [known.get(key, (None, _bare(key))) for key in subject.split(TOGETHER)]
        written = [str(number) for number, _ in named if number]
        found[subject] = (TOGETHER.join(written) or None, TOGETHER.join(str(name) for _, name in named))
    return found


def _bare(key: str) -> str:
    return key.removeprefix(OUTSIDE).removeprefix(_BY_NAME)
