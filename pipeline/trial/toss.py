"""The next assignment of a trial, and what the jobs followed so far say."""

from __future__ import annotations

import math
import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple

import duckdb
import polars as pl

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.intake.scrub import scrub
from pipeline.measures import Question, evaluate
from pipeline.measures.comparable_jobs import CLEANING
from pipeline.measures.query import ask
from pipeline.normalise.part_keys import match_key
from pipeline.planning.payoff import Fix, break_even_per_job, per_job
from pipeline.planning.tossing import CLEAN, MOST, OPEN, REPLACE, Counts, Line, verdict
from pipeline.store.folder import Store
from pipeline.trial import record
from pipeline.trial.record import Trial
from pipeline.vocabulary.dangers import is_safety_part

EVEN = Line(0.0, 1.0)


@dataclass(frozen=True)
class Tossed:
    """What a toss gives: one row, and sentences for whoever stands before the machine."""

    row: dict[str, Any]
    said: tuple[str, ...]


def toss(folder: Path, part: str, job: str) -> Tossed:
    """
    Give the next assignment of a part's trial and note it; the same job gets the same again.

    Parameters
    ----------
    folder : Path
        The store.
    part : str
        Number of the part, or its name where it has none.
    job : str
        Number of the job, so that what becomes of it can be followed; empty for none.

    Raises
    ------
    WrongUseError
        If no such part is in the log or the parts list, or the number of the job looks like somebody's name or
        telephone number.
    CannotAnswerError
        If the part keeps people safe, or no return rate would make the other fix better.
    """
    if scrub(job, "job") != job:
        raise WrongUseError(
            "What --job names looks like somebody's name or telephone number, and it would be kept. Give the job's number."
        )
    store = Store(folder)
    with store.connect() as con, store.lock():
        known = _part(con, part)
        path = record.path_of(folder, known["part_key"])
        trial = record.read(path) or _begin(con, known)
        counts, waiting = _followed(con, trial)
        result = str(verdict(Counts(*counts), trial.line).item())
        if result == OPEN and counts.cleaned + counts.replaced >= MOST:
            result = "as good as each other"
        number = _number(trial, job)
        if result == OPEN and number > len(trial.jobs):
            trial = trial.with_toss(job)
            record.write(path, trial)
    fix = trial.tossed[number - 1] if number <= len(trial.jobs) else None
    row = _row(known, trial, counts, waiting, number=number if fix else None, fix=fix, job=job, result=result)
    return Tossed(row, tuple(_said(row, trial)))


def _part(con: duckdb.DuckDBPyConnection, part: str) -> dict[str, Any]:
    sql = """
    select part_key, part_no, part_name, is_safety_part from tables.parts
    where part_key in ($key, 'name: ' || $part) or part_no = $part order by part_key
    """
    rows: list[dict[str, Any]] = ask(con, sql, {"key": match_key(part) or "", "part": part}).to_dicts()
    if not rows:
        raise WrongUseError(
            f'No part "{part}" is in the log or the parts list; give its number as your files have it.'
        )
    known = rows[0]
    if known["is_safety_part"] or is_safety_part(pl.Series([known["part_name"]], dtype=pl.String)).item():
        raise CannotAnswerError(
            f"{_name(known)} keeps people safe: chance does not decide on it, nor money. Replace it."
        )
    return known


def _name(known: dict[str, Any]) -> str:
    return " ".join(filter(None, (known["part_name"], known["part_no"])))


def _begin(con: duckdb.DuckDBPyConnection, known: dict[str, Any]) -> Trial:
    line, rests_on = _line(con, known)
    # With cleaning worse even if it never came back, or better even if it always did, there is nothing to find out.
    if line.base + max(line.slope, 0.0) <= 0.0 or line.base + min(line.slope, 0.0) >= 1.0:
        better = REPLACE if line.base <= 0.0 else CLEAN
        raise CannotAnswerError(
            f"No return rate would change what pays for {_name(known)} at your prices: {better} it. ({rests_on})"
        )
    return Trial(known["part_key"], secrets.randbelow(2**31), line, rests_on)


def _line(con: duckdb.DuckDBPyConnection, known: dict[str, Any]) -> tuple[Line, str]:
    """Where cleaning turns, by what jobs on the part earned so far; the same return rate where nobody can say."""
    found = _fixes(con, known)
    if found is None:
        return (
            EVEN,
            "returns alone: what either earns a job is not known (hour_costs, charges, minutes, ten paid jobs of each)",
        )
    (cleaning, replacing), hour = found
    at = [
        float(break_even_per_job(cleaning, replacing._replace(return_probability=q), hour))
        for q in (0.0, 1.0)
    ]
    if not all(math.isfinite(value) for value in at):
        return EVEN, "returns alone: a return costs nothing as the log has it"
    return Line(round(at[0], 6), round(at[1] - at[0], 6)), (
        f"a job at {hour:.2f} an hour: cleaning leaves {float(per_job(cleaning._replace(return_probability=0.0), hour)):.2f} before "
        f"returns, replacing {float(per_job(replacing._replace(return_probability=0.0), hour)):.2f}"
    )


def _fixes(con: duckdb.DuckDBPyConnection, known: dict[str, Any]) -> tuple[tuple[Fix, Fix], float] | None:
    hour = con.execute('select hour_costs from settings."values"').fetchall()[0][0]
    if hour is None:
        return None
    try:
        rows = evaluate(con, "fix-payoff", Question(by=("part_no", "action"))).to_dicts()
    except CannotAnswerError:
        return None
    mine = [
        row for row in rows if row["part_no"] == known["part_no"] and row["part_name"] == known["part_name"]
    ]
    sides = []
    for actions in (CLEANING, ("replace",)):
        of_side = [
            row
            for row in mine
            if row["action"] in actions and row["value"] is not None and row["payer"] in (None, "customer")
        ]
        if not of_side:
            return None
        row = max(of_side, key=lambda row: row["jobs"])
        sides.append(Fix(row["margin"], row["hours"], 0.0, row["return_cost"], row["return_hours"]))
    return (sides[0], sides[1]), float(hour)


class Seen(NamedTuple):
    """Whole numbers of a trial: followed to the end and back, of either fix."""

    cleaned: int
    cleaned_back: int
    replaced: int
    replaced_back: int


def _followed(con: duckdb.DuckDBPyConnection, trial: Trial) -> tuple[Seen, int]:
    """Tossed jobs whose whole guarantee has passed, and returns among them; how many are still waited for."""
    jobs = {job: fix for fix, job in zip(trial.tossed, trial.jobs, strict=True) if job}
    sql = """
    select j.job_id, coalesce(r.next_is_same_fault and r.days_to_next <= s.guarantee_days, false) as is_back
    from facts.repeats as r
    join tables.jobs as j on j.job_no = r.job_no
    cross join settings."values" as s
    cross join facts.windows as w
    where list_contains($jobs, j.job_id)
        and date_diff('day', r.finished_on, w.reports_complete_to - 1) >= s.guarantee_days
    """
    seen = con.execute(sql, {"jobs": list(jobs)}).fetchall()
    n = dict.fromkeys((CLEAN, REPLACE), 0)
    back = dict.fromkeys((CLEAN, REPLACE), 0)
    for job, is_back in seen:
        n[jobs[job]] += 1
        back[jobs[job]] += is_back
    counts = Seen(n[CLEAN], back[CLEAN], n[REPLACE], back[REPLACE])
    return counts, len(trial.jobs) - len(seen)


def _number(trial: Trial, job: str) -> int:
    """Number of the toss of a job: its own, where it was tossed for before."""
    return trial.jobs.index(job) + 1 if job and job in trial.jobs else len(trial.jobs) + 1


def _row(
    known: dict[str, Any],
    trial: Trial,
    counts: Seen,
    waiting: int,
    *,
    number: int | None,
    fix: str | None,
    job: str,
    result: str,
) -> dict[str, Any]:
    return {
        "part_no": known["part_no"],
        "part_name": known["part_name"],
        "number": number,
        "fix": fix,
        "job_id": job or None,
        "verdict": result,
        **counts._asdict(),
        "not_yet_followed": waiting,
        "line_base": trial.line.base,
        "line_slope": trial.line.slope,
        "rests_on": trial.rests_on,
    }


def _said(row: dict[str, Any], trial: Trial) -> list[str]:
    name = " ".join(filter(None, (row["part_name"], row["part_no"])))
    followed = (
        f"Followed to the end of the guarantee: {row['cleaned_back']} of {row['cleaned']} cleaned and {row['replaced_back']} of "
        f"{row['replaced']} replaced are back; {row['not_yet_followed']} not yet."
    )
    ends = {
        CLEAN: "Decided: cleaning is the better one. No more tosses are needed.",
        REPLACE: "Decided: replacing is the better one. No more tosses are needed.",
        "as good as each other": f"Still level after {MOST} jobs: one is as good as the other.",
    }
    said = [f"Toss {row['number']} for {name}: {row['fix']} it."] if row["fix"] else []
    said += (
        [
            "Isolate it and prove it dead first. If the part tests bad or may hurt somebody, replace it whatever the toss says."
        ]
        if row["fix"]
        else []
    )
    said.append(followed)
    said.append(ends.get(row["verdict"], f"Not decided yet. It rests on {trial.rests_on}."))
    if row["fix"] and not row["job_id"]:
        said.append("No job was named (--job NUMBER), so what becomes of this one cannot be followed.")
    return said
