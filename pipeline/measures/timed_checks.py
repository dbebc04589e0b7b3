"""The table of checks as every answer goes by it: minutes from the log where it records enough of them, else as assumed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

import duckdb
import polars as pl

from pipeline.measures.symptom_fixes import part_names
from pipeline.vocabulary import normal_form, terms_in_text
from pipeline.vocabulary.check_minutes import CheckTable, check_table
from pipeline.vocabulary.in_text import WordFinder
from pipeline.vocabulary.recorded_minutes import Recorded

_SUBJECTS = """
with subjects as (select unnest($parts) as part_key, unnest($checks) as words, unnest($subjects) as subject),
timed as (
    select checks.job_no, checks.unit_type, subjects.subject, checks.check_min
    from facts.timed_checks as checks
    join subjects on subjects.part_key is not distinct from checks.part_key
        and subjects.words is not distinct from checks."check"
    where $until is null or checks.finished_on < $until
)
"""


def timed_checks(
    con: duckdb.DuckDBPyConnection, vocabulary: Path | None = None, until: date | None = None
) -> CheckTable:
    """
    The table of checks, with the minutes that the log records laid over it.

    Recorded minutes win over the built-in table and over the shop's own, since both are somebody's guess; a check whose
    entry says `from_log = false` keeps the table's.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build.
    vocabulary : Path or None
        The shop's vocabulary folder.
    until : date or None
        First day of which nothing is known yet: only jobs finished before it count.

    Raises
    ------
    UnreadableError
        If the shop's own table cannot be read.
    """
    table = check_table(vocabulary)
    rows = con.execute('select distinct part_key, "check" from facts.timed_checks order by all').fetchall()
    subjects = _subjects(con, table, rows)
    known = [(*row, subject) for row, subject in zip(rows, subjects, strict=True) if subject]
    if not known:
        return table
    parts, checks, named = (list(column) for column in zip(*known, strict=True))
    given = {"parts": parts, "checks": checks, "subjects": named, "until": until}
    return replace(table, recorded=_recorded(con, given))


def _subjects(
    con: duckdb.DuckDBPyConnection, table: CheckTable, rows: list[tuple[str | None, str | None]]
) -> list[str | None]:
    """
    What each pair of part and words is a check of, as the table calls it; None where nobody can tell.

    The words say it where the table has them or they name one part; else it is the part that the line names.
    """
    names = part_names(con, sorted({part for part, _ in rows if part}))
    said = _said(table, sorted({words for _, words in rows if words}))
    return [
        said.get(words or "") or (table.known_name(names[part][1]) if part else None) for part, words in rows
    ]


def _said(table: CheckTable, checks: list[str]) -> dict[str, str | None]:
    """What the words of a check are about: as the table writes it, else the only part that they name."""
    finder = WordFinder(sorted(terms_in_text(table.part_words)))
    found = finder.each_known(pl.Series("check", checks, dtype=pl.String), negated=False)
    said: dict[str, str | None] = {}
    written = table.written
    for words, terms in zip(checks, found.to_list(), strict=True):
        parts = {part for term in terms or () if (part := table.part_words.meaning(term))}
        said[words] = written.get(normal_form(words)) or (parts.pop() if len(parts) == 1 else None)
    return said


def _recorded(con: duckdb.DuckDBPyConnection, given: Mapping[str, object]) -> dict[tuple[str, str], Recorded]:
    """Recorded minutes by kind of machine ("" for all kinds) and what was checked."""
    minutes: dict[tuple[str, str], dict[float, int]] = defaultdict(lambda: defaultdict(int))
    cells = f"{_SUBJECTS} select unit_type, subject, check_min, count(*) from timed group by all order by all"
    for kind, subject, took, checks in con.execute(cells, given).fetchall():
        for where in {normal_form(kind or ""), ""}:
            minutes[where, subject][float(took)] += checks
    jobs: dict[tuple[str, str], int] = defaultdict(int)
    counts = f"{_SUBJECTS} select unit_type, subject, count(distinct job_no) from timed group by all"
    for kind, subject, count in con.execute(counts, given).fetchall():
        # A job is on one kind of machine, so that all kinds are their sum.
        for where in {normal_form(kind or ""), ""}:
            jobs[where, subject] += count
    return {
        key: Recorded(tuple(sorted(some)), tuple(some[took] for took in sorted(some)), jobs[key])
        for key, some in minutes.items()
    }
