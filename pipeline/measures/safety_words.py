"""What stands first, in words: reports of a danger, and notices that concern machines in the log."""

from __future__ import annotations

from datetime import date
from typing import Any

import duckdb

from pipeline.measures.query import ask
from pipeline.measures.question import Question
from pipeline.measures.safety_reports import safety_reports

SHOWN = 5
NO_LIST = "No list of notices loaded, so nothing can be said about recalls."
KIND_UNKNOWN = "machine"


def report_words(row: dict[str, Any]) -> str:
    """One report: `2025-03-02: dryer, burning smell, 7 days after our own visit (J25-00012)`."""
    kind = row["unit_type"] if row["unit_type"] not in (None, "kind unknown") else KIND_UNKNOWN
    when = row["reported_on"].isoformat() if row["reported_on"] else "day not known"
    told = [f"{kind}, {row['danger'].replace('; ', ' and ')}", after_visit_words(row["days_since_own_visit"])]
    number = f" ({row['job_id']})" if row["job_id"] else ""
    return f"{when}: {', '.join(filter(None, told))}{number}"


def after_visit_words(days: int | None) -> str:
    """`7 days after our own visit`; nothing where that is not known."""
    if days is None:
        return ""
    if days == 0:
        return "on the day of our own visit"
    return f"{days:,} {'day' if days == 1 else 'days'} after our own visit"


def notice_words(row: dict[str, Any]) -> str:
    """
    One notice in a sentence or two, with what to check.

    Parameters
    ----------
    row : dict
        A row of facts.notices.
    """
    source = ", ".join(filter(None, [row["reference"], _iso(row["dated_on"])]))
    said = f"{notice_text(row).rstrip('.')}{f' ({source})' if source else ''}."
    if not row["count_machines"] and not row["count_jobs_unknown"]:
        return f"{said} No machine in the log is of that make and model. {plate_words(row)}"
    last = f", last reported {_iso(row['last_reported_on'])}" if row["last_reported_on"] else ""
    return f"{said} May concern {concerned_words(row)}{last}. {plate_words(row)}"


def notice_text(row: dict[str, Any]) -> str:
    """Which machines a notice is about, and what it says."""
    model = row["model"] or ("(every model)" if row["make"] else "No make and model named")
    machine = " ".join(filter(None, [row["make"], model]))
    return f"{machine}: {row['text'].rstrip('.')}."


def concerned_words(row: dict[str, Any]) -> str:
    """How many machines a notice may concern: `130 machines and 2 jobs on machines without identity`."""
    counts = []
    if row["count_machines"]:
        counts.append(_counted(row["count_machines"], "machine"))
    if row["count_jobs_unknown"]:
        counts.append(f"{_counted(row['count_jobs_unknown'], 'job')} on machines without identity")
    return " and ".join(counts)


def plate_words(row: dict[str, Any]) -> str:
    """What to look for on the plate: serials are replaced while a file is read, so only a person can compare them."""
    first, last = row["serial_from"], row["serial_to"]
    if first and last:
        return f"Check the plate: serial from {first} to {last}."
    if first or last:
        return f"Check the plate: serial {'from' if first else 'up to'} {first or last}."
    return "No serials are named: take it that every one is meant."


def notices(con: duckdb.DuckDBPyConnection) -> list[dict[str, Any]] | None:
    """
    Rows of facts.notices, those that concern machines in the log first; None where no list was loaded.

    A list that was loaded and holds no readable notice is an empty list, which is not the same.
    """
    loaded = con.execute("select count(*) from received.files where kind = 'notices'").fetchall()[0][0]
    if not loaded:
        return None
    sql = "select * from facts.notices order by count_machines + count_jobs_unknown = 0, dated_on desc nulls last, row_no"
    return ask(con, sql, {}).to_dicts()


def unread_notices(con: duckdb.DuckDBPyConnection) -> int:
    """Rows of the list of notices that are set aside: what they say is not known here."""
    sql = "select count(*) from normalise.notice_list where problem_reason is not null"
    return int(con.execute(sql).fetchall()[0][0])


def first_of_all(con: duckdb.DuckDBPyConnection) -> str:
    """Safety reports, notices and unexplained cut-outs as lines of text; empty where there are none of them."""
    parts = [*_reports(con), *_notices(con), *_cut_outs(con)]
    return "\n".join(parts)


def _reports(con: duckdb.DuckDBPyConnection) -> list[str]:
    rows = safety_reports(con, Question()).to_dicts()
    if not rows:
        return []
    soon = sum(row["is_soon_after_own_visit"] for row in rows)
    after = f", {soon} of them soon after our own visit" if soon else ""
    more = len(rows) - SHOWN
    tail = [f"  and {more:,} more: mendstat measure safety-reports"] if more > 0 else []
    return [
        f"Safety reports: {len(rows):,}{after}.",
        *(f"  {report_words(row)}" for row in rows[:SHOWN]),
        *tail,
    ]


def _notices(con: duckdb.DuckDBPyConnection) -> list[str]:
    rows = [row for row in notices(con) or [] if row["count_machines"] or row["count_jobs_unknown"]]
    unread = unread_notices(con)
    head = [f"Notices that concern machines in the log: {len(rows):,}."] if rows else []
    tail = [f"{_counted(unread, 'notice')} could not be read: see log-check."] if unread else []
    return [*head, *(f"  {notice_words(row)}" for row in rows), *tail]


def _cut_outs(con: duckdb.DuckDBPyConnection) -> list[str]:
    count = int(con.execute("select count(*) from facts.cutouts_without_cause").fetchall()[0][0])
    if not count:
        return []
    return [f"For the trainer: {_counted(count, 'job')} replaced a thermal cut-out without a cause found."]


def _counted(number: int, what: str) -> str:
    return f"{number:,} {what if number == 1 else what + 's'}"


def _iso(day: date | None) -> str:
    return day.isoformat() if day else ""
