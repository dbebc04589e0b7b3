"""What usually fixes a symptom and holds: chances by part or outside cause and action (measure book, section 9)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.errors import CannotAnswerError
from pipeline.estimators.back_off import Chances, chances, leaning, root, something_else
from pipeline.measures.symptom_jobs import OUTSIDE, TOGETHER, SymptomJobs, symptom_jobs
from pipeline.normalise.phrases import pieces, read_phrase
from pipeline.vocabulary import normal_form, vocabulary
from pipeline.vocabulary.cautions import AFTER_STOP, stop_words
from pipeline.vocabulary.dangers import SEVERAL, dangers_of

SOMETHING_ELSE = "something else"
KAPPAS = (1.0, 2.0, 4.0, 8.0, 16.0, 32.0)
USUAL_KAPPA = 8.0
# Jobs in the later part of the log that a weight can be chosen by.
ENOUGH_TO_CHOOSE = 30
EARLIER = 0.7
LABEL = ["subject", "action"]


@dataclass(frozen=True)
class Case:
    """
    What is known before the machine is opened.

    Attributes
    ----------
    words : str
        What the customer says.
    unit_type, model, code : str
        Empty where not known.
    """

    words: str
    unit_type: str = ""
    model: str = ""
    code: str = ""


@dataclass(frozen=True)
class Understood:
    """The words as the log's own: symptoms, kind of machine, model, code; and the dangers they tell of."""

    symptoms: tuple[str, ...]
    unit_type: str | None
    model: str | None
    code: str | None
    dangers: tuple[str, ...]


def understand(
    con: duckdb.DuckDBPyConnection, case: Case, vocabulary_folder: Path | None = None
) -> Understood:
    """
    Read the customer's words as the log was read.

    Raises
    ------
    CannotAnswerError
        If nothing of them is in the log, saying which symptoms are nearest or commonest.
    """
    danger = dangers_of(pl.Series([case.words])).item() or ""
    words = vocabulary(vocabulary_folder)
    read = {read_phrase(words["symptom"], {}, piece)[0] for piece in pieces(case.words.replace(",", ";"))}
    known = _known(con, "select symptom, count(*) from tables.job_symptoms group by symptom")
    symptoms = tuple(sorted(symptom for symptom in read if symptom in known))
    if not symptoms:
        symptoms = tuple(sorted(_in_the_text(case.words, known)))
    dangers = tuple(piece for piece in danger.split(SEVERAL) if piece)
    if not symptoms and not dangers:
        commonest = ", ".join(sorted(known, key=lambda name: (-known[name], name))[:12])
        raise CannotAnswerError(
            f"No job in the log shows “{normal_form(case.words)}”. The log's commonest symptoms are: {commonest}."
        )
    kinds = _known(con, "select unit_type, count(*) from tables.jobs group by unit_type")
    kind = _one_of(
        kinds, read_phrase(words["unit_type"], {}, case.unit_type)[0], "kind of machine", case.unit_type
    )
    models = _known(con, "select model, count(*) from tables.jobs where model is not null group by model")
    codes = _known(
        con, "select fault_code, count(*) from tables.jobs where fault_code is not null group by fault_code"
    )
    return Understood(symptoms, kind, _spelled(models, case.model), _spelled(codes, case.code), dangers)


def _known(con: duckdb.DuckDBPyConnection, sql: str) -> dict[str, int]:
    return {name: count for name, count in con.execute(sql).fetchall() if name}


def _in_the_text(text: str, known: dict[str, int]) -> set[str]:
    """Symptoms of the log whose words all stand in the text, the longest first, each word used once."""
    left = normal_form(text)
    found = set()
    for symptom in sorted(known, key=lambda name: (-len(name), name)):
        if f" {symptom} " in f" {left} ":
            found.add(symptom)
            left = left.replace(symptom, " ")
    return found


def _one_of(known: dict[str, int], meaning: str | None, what: str, said: str) -> str | None:
    if not said:
        return None
    if meaning in known:
        return meaning
    there = ", ".join(sorted(known))
    raise CannotAnswerError(f"The log has no {what} “{normal_form(said)}”; it has {there}.")


def _spelled(known: dict[str, int], said: str) -> str | None:
    """As the log writes it; a model or code that the log does not know is left out, for the answer works without."""
    form = normal_form(said).replace(" ", "")
    return (
        next((name for name in sorted(known) if normal_form(name).replace(" ", "") == form), None)
        if form
        else None
    )


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
        # One entry, so that nothing can be read past it: every danger told, then that no part is named.
        return [{"stop": " ".join([*stop_words(SEVERAL.join(understood.dangers)), AFTER_STOP])}]
    end = until or _end_of_reports(con)
    found = symptom_jobs(con, understood.symptoms, until=end)
    if not found.jobs.height:
        raise CannotAnswerError(
            f"No job with {' and '.join(understood.symptoms)} ended fixed and says what was done, so nothing can be said of fixes."
        )
    levels = _Levels.of(found.jobs, understood)
    return _rows(con, levels, best_kappa(found, understood))


def _end_of_reports(con: duckdb.DuckDBPyConnection) -> date:
    rows = con.execute("select reports_complete_to from facts.windows").fetchall()
    if not rows or rows[0][0] is None:
        raise CannotAnswerError("No job with a date has been loaded yet, so there is nothing to work out.")
    day: date = rows[0][0]
    return day


@dataclass(frozen=True)
class _Levels:
    """Jobs by fix at each level, coarsest first; levels without a job are left out."""

    labels: pl.DataFrame
    counts: tuple[NDArray[np.float64], ...]
    of_kind: pl.DataFrame  # the jobs of the kind asked for, or all where it has none
    is_of_kind: bool

    @classmethod
    def of(cls, jobs: pl.DataFrame, understood: Understood) -> _Levels:
        labels = jobs.select(LABEL).unique().sort(LABEL).with_row_index("at")
        placed = jobs.join(labels, on=LABEL, how="left", maintain_order="left")
        counts, level = [_counted(placed, labels.height)], placed
        of_kind, is_of_kind = placed, True
        for column, value in (
            ("unit_type", understood.unit_type),
            ("fault_code", understood.code),
            ("model", understood.model),
        ):
            if value is None:
                continue
            finer = level.filter(pl.col(column) == value)
            if column == "unit_type":
                is_of_kind = bool(finer.height)
            # A code that was never seen with this symptom says nothing, and so does a model.
            if finer.height:
                level = finer
                counts.append(_counted(level, labels.height))
                of_kind = level if column == "unit_type" else of_kind
        return cls(labels, tuple(counts), of_kind, is_of_kind)


def _counted(placed: pl.DataFrame, size: int) -> NDArray[np.float64]:
    counted = np.bincount(placed["at"].to_numpy(), placed["weight"].to_numpy(), minlength=size)
    return np.asarray(counted, dtype=np.float64)


def _rows(con: duckdb.DuckDBPyConnection, levels: _Levels, kappa: float) -> list[dict[str, Any]]:
    estimate = chances(levels.counts, kappa)
    holding = levels.of_kind.filter(~pl.col("came_back"))
    by_label = holding.group_by("at").agg(
        pl.len().alias("count"),
        (pl.col("held_days") < 90).sum().alias("not_yet_proven"),
        pl.col("hands_on_min").median().alias("median"),
        pl.col("hands_on_min").quantile(0.8, "linear").alias("p80"),
    )
    table = levels.labels.join(by_label, on="at", how="left", maintain_order="left")
    other = something_else(float((by_label["count"] == 1).sum()), float(holding.height))
    numbers = _part_numbers(con, table)
    rows = [
        _row(row, numbers, estimate, at, seen=1.0 - other, of=holding.height)
        for at, row in enumerate(table.to_dicts())
    ]
    # Fixes never seen on this kind of machine are what is left for it: they go under something else.
    own = [row for row in rows if row["count"]]
    rest = sum(row["probability"] for row in rows if not row["count"])
    totals: dict[Any, float] = {}
    for row in own:
        subject = (row["part_no"], row["part_name"])
        totals[subject] = totals.get(subject, 0.0) + row["probability"]
    own.sort(
        key=lambda row: (
            -totals[row["part_no"], row["part_name"]],
            str(row["part_no"]),
            str(row["part_name"]),
            -row["probability"],
            row["action"],
        )
    )
    last = {
        **dict.fromkeys(("part_no", "action", "low", "high", "hands_on_median_min", "hands_on_p80_min")),
        "part_name": SOMETHING_ELSE,
        "probability": other + rest,
        "count": 0,
        "of": holding.height,
        "not_yet_proven": 0,
    }
    order = ("part_no", "part_name", "action", "probability", "low", "high", "count", "of")
    return [*own, {**{name: last[name] for name in order}, **last}]


def _row(
    row: dict[str, Any],
    numbers: dict[str, tuple[str | None, str]],
    estimate: Chances,
    at: int,
    *,
    seen: float,
    of: int,
) -> dict[str, Any]:
    part_no, part_name = numbers[row["subject"]]
    return {
        "part_no": part_no,
        "part_name": part_name,
        "action": row["action"],
        "probability": float(estimate.value[at]) * seen,
        "low": float(estimate.low[at]) * seen,
        "high": float(estimate.high[at]) * seen,
        "count": row["count"] or 0,
        "of": of,
        "hands_on_median_min": row["median"],
        "hands_on_p80_min": row["p80"],
        "not_yet_proven": row["not_yet_proven"] or 0,
    }


def _part_numbers(con: duckdb.DuckDBPyConnection, labels: pl.DataFrame) -> dict[str, tuple[str | None, str]]:
    """Number and name of each subject; a cause outside has no number, a set has those of its parts joined."""
    keys = sorted({key for subject in labels["subject"].to_list() for key in subject.split(TOGETHER)})
    known = {
        key: (number, name or number)
        for key, number, name in con.execute(
            "select part_key, part_no, part_name from tables.parts where list_contains($1, part_key)", [keys]
        ).fetchall()
    }
    found = {}
    for subject in labels["subject"].to_list():
        named = [
            (None, key.removeprefix(OUTSIDE)) if key.startswith(OUTSIDE) else known.get(key, (None, key))
            for key in subject.split(TOGETHER)
        ]
        written = [number for number, _ in named if number]
        found[subject] = (TOGETHER.join(written) or None, TOGETHER.join(str(name) for _, name in named))
    return found


def best_kappa(found: SymptomJobs, understood: Understood) -> float:
    """The weight of a coarser level that foretells the later jobs best, by the log score of what was done in them."""
    jobs = found.jobs
    split = int(jobs.height * EARLIER)
    later = jobs.slice(split).filter(~pl.col("came_back"))
    if later.height < ENOUGH_TO_CHOOSE or understood.unit_type is None:
        return USUAL_KAPPA
    earlier = jobs.slice(0, split)
    scores = {kappa: _log_score(earlier, later, kappa) for kappa in KAPPAS}
    return max(scores, key=lambda kappa: (scores[kappa], -kappa))


def _log_score(earlier: pl.DataFrame, later: pl.DataFrame, kappa: float) -> float:
    """Mean log chance that earlier jobs gave to what was done in later ones, each within its kind of machine and model."""
    labels = pl.concat([earlier.select(LABEL), later.select(LABEL)]).unique().sort(LABEL).with_row_index("at")
    past = earlier.join(labels, on=LABEL, how="left", maintain_order="left")
    coming = later.join(labels, on=LABEL, how="left", maintain_order="left")
    everything = root(_counted(past, labels.height))
    total = 0.0
    for (kind, model), some in coming.group_by("unit_type", "model", maintain_order=True):
        of_kind = past.filter(pl.col("unit_type") == kind)
        chance = leaning(_counted(of_kind, labels.height), everything, kappa)
        if model is not None:
            chance = leaning(_counted(of_kind.filter(pl.col("model") == model), labels.height), chance, kappa)
        total += float(np.log(chance[some["at"].to_numpy()]).sum())
    return total / coming.height
