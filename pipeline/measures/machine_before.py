"""What is known of one machine from before: what was reported and done, an open guarantee, a cause outside it, dangers and notices."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import duckdb

from pipeline.measures.calls import Call
from pipeline.measures.query import ask
from pipeline.measures.safety_words import notice_words, report_words

_EARLIER = """
select job_no, job_id, reported_on, finished_on, symptom, fault_code, outcome, is_index
from tables.jobs
where machine_no = $machine and job_no <> $job and (reported_at is null or $at is null or reported_at <= $at)
order by reported_at desc nulls last, job_no desc
"""
_WORKS = """
select works.job_no, coalesce(parts.part_name, parts.part_no) as what, works.action
from facts.job_parts as works
join tables.parts as parts on parts.part_key = works.part_key
where list_contains($jobs, works.job_no)
order by all
"""
_OUTSIDE = (
    "select job_no, cause, action from facts.outside_causes where list_contains($jobs, job_no) order by all"
)
_DANGERS = "select * from facts.safety_reports where machine_no = $machine order by reported_on desc nulls last, job_id"
_NOTICES = """
select * from facts.notices
where (make_key is not null or model_key is not null)
    and (make_key is null or make_key = replace(replace(replace(replace(lower($make), ' ', ''), '-', ''), '.', ''), '/', ''))
    and (model_key is null or model_key = replace(replace(replace(replace(lower($model), ' ', ''), '-', ''), '.', ''), '/', ''))
order by dated_on desc nulls last, row_no
"""


@dataclass(frozen=True)
class Visit:
    """One earlier job: when, what was reported, what was done, how it ended."""

    job_id: str | None
    reported_on: date | None
    symptom: str
    done: tuple[str, ...]
    outcome: str
    guarantee_to: date | None

    def text(self) -> str:
        """For people: `2025-03-02: not draining; drain pump, replace; fixed`."""
        when = self.reported_on.isoformat() if self.reported_on else "day not known"
        told = [self.symptom or "complaint not recorded", " and ".join(self.done), self.outcome]
        return f"{when}: {'; '.join(filter(None, told))}"


@dataclass(frozen=True)
class Before:
    """
    What is known of a machine before a call.

    Attributes
    ----------
    notices : tuple of str
        Notices for its make and model, in words.
    visits : tuple of Visit
        Earlier jobs, latest first.
    guarantee : Visit or None
        The latest fix whose guarantee was still open when this was reported.
    outside : tuple of str
        Causes outside the machine found before, latest first, with their day.
    dangers : tuple of str
        Reported on it before, in words.
    is_known : bool
        Whether the log knows which machine it is.
    """

    notices: tuple[str, ...] = ()
    visits: tuple[Visit, ...] = ()
    guarantee: Visit | None = None
    outside: tuple[str, ...] = ()
    dangers: tuple[str, ...] = ()
    is_known: bool = False


def before(con: duckdb.DuckDBPyConnection, call: Call) -> Before:
    """What the log knows of the machine of a call."""
    notices = _notices(con, call)
    if call.machine_no is None:
        return Before(notices=notices)
    values = {"machine": call.machine_no, "job": call.job_no, "at": call.reported_at}
    jobs = ask(con, _EARLIER, values).to_dicts()
    numbers = {"jobs": [job["job_no"] for job in jobs]}
    works = _by_job(ask(con, _WORKS, numbers).rows())
    outside = _by_job(ask(con, _OUTSIDE, numbers).rows())
    days = int(con.execute('select guarantee_days from settings."values"').fetchall()[0][0])
    visits = tuple(_visit(job, works, outside, days) for job in jobs)
    dangers = ask(con, _DANGERS, values).to_dicts()
    return Before(
        notices,
        visits,
        next((visit for visit in visits if _is_open(visit, call)), None),
        tuple(
            f"{job['reported_on'] or 'day not known'}: {cause}"
            for job in jobs
            for cause, _ in outside.get(job["job_no"], [])
        ),
        tuple(report_words(row) for row in dangers),
        is_known=True,
    )


def before_text(found: Before) -> str:
    """Lines: dangers and notices first, then the guarantee and causes outside, then every earlier job."""
    if not found.is_known:
        return "\n".join(
            [*found.notices, "Which machine it is, the log does not know: nothing can be said of it before."]
        )
    lines = [f"Danger reported before: {text}" for text in found.dangers]
    lines += [f"Notice: {text}" for text in found.notices]
    lines += [line for line in (guarantee_words(found), outside_words(found)) if line]
    lines += [f"This machine before: {count_words(found)}.", *(f"  {visit.text()}" for visit in found.visits)]
    return "\n".join(lines)


def count_words(found: Before) -> str:
    """`3 earlier jobs`."""
    many = len(found.visits)
    return f"{many} earlier {'job' if many == 1 else 'jobs'}" if many else "no earlier job in the log"


def guarantee_words(found: Before) -> str:
    """A sentence on an open guarantee; empty where there is none."""
    if found.guarantee is None:
        return ""
    return f"Guarantee open to {found.guarantee.guarantee_to}: {found.guarantee.text()}."


def outside_words(found: Before) -> str:
    """A sentence on causes outside the machine found before; empty where there are none."""
    return (
        f"Cause outside the machine before: {'; '.join(found.outside)}. Look there first."
        if found.outside
        else ""
    )


def _is_open(visit: Visit, call: Call) -> bool:
    return (
        visit.guarantee_to is not None
        and call.reported_on is not None
        and visit.guarantee_to >= call.reported_on
    )


def _visit(
    job: dict[str, Any],
    works: dict[int, list[tuple[str, str]]],
    outside: dict[int, list[tuple[str, str]]],
    days: int,
) -> Visit:
    done = [f"{what}: {action}" for what, action in works.get(job["job_no"], [])]
    done += [f"outside the machine: {cause}, {action}" for cause, action in outside.get(job["job_no"], [])]
    to = job["finished_on"] + timedelta(days=days) if job["is_index"] and job["finished_on"] else None
    return Visit(
        job["job_id"], job["reported_on"], job["symptom"] or "", tuple(done), job["outcome"] or "", to
    )


def _notices(con: duckdb.DuckDBPyConnection, call: Call) -> tuple[str, ...]:
    if not call.make and not call.model:
        return ()
    rows = ask(con, _NOTICES, {"make": call.make or "", "model": call.model or ""}).to_dicts()
    return tuple(notice_words(row) for row in rows)


def _by_job(rows: list[tuple[Any, ...]]) -> dict[int, list[tuple[str, str]]]:
    found: dict[int, list[tuple[str, str]]] = {}
    for job, what, action in rows:
        found.setdefault(job, []).append((what, action))
    return found
