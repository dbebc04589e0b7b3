"""The tables that may be shared: which counts, by which two columns, and every total they add up to."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import product

import duckdb
import numpy as np

from pipeline.sharing.protection import Counts, Sum

ALL = "all"
NOT_KNOWN = "not known"
OWN_WORDS = "other words"

# What is counted, and where it is read. Months, never days; no technician, no machine, no address.
_UNIVERSES = {
    "jobs": """
        select
            strftime(jobs.reported_on, '%Y-%m') as month,
            coalesce(kinds.meaning, $own_words) as unit_type,
            coalesce(jobs.area, $not_known) as area,
            coalesce(symptoms.meaning, case when jobs.symptom is null then $not_known else $own_words end) as symptom,
            coalesce(outcomes.meaning, case when jobs.outcome is null then $not_known else $own_words end) as outcome
        from tables.jobs as jobs
        left join known as kinds on kinds.column_name = 'unit_type' and kinds.meaning = jobs.unit_type
        left join known as symptoms on symptoms.column_name = 'symptom' and symptoms.meaning = jobs.symptom
        left join known as outcomes on outcomes.column_name = 'outcome' and outcomes.meaning = jobs.outcome
        where jobs.is_fault and jobs.reported_on is not null""",
    "works on parts": """
        select
            coalesce(kinds.meaning, $own_words) as unit_type,
            case when parts.is_listed or parts.part_no is not null then parts.part_no else $own_words end as part_no,
            works.action as action
        from facts.job_parts as works
        join tables.parts as parts on parts.part_key = works.part_key
        left join known as kinds on kinds.column_name = 'unit_type' and kinds.meaning = works.unit_type
        where works.is_fault""",
    "fixes followed 30 days": """
        select
            coalesce(kinds.meaning, $own_words) as unit_type,
            coalesce(symptoms.meaning, case when jobs.symptom is null then $not_known else $own_words end) as symptom,
            case when repeats.days_to_next <= 30 then 'yes' else 'no' end as called_out_again
        from facts.repeats as repeats
        join tables.jobs as jobs on jobs.job_no = repeats.job_no
        cross join facts.windows as windows
        left join known as kinds on kinds.column_name = 'unit_type' and kinds.meaning = jobs.unit_type
        left join known as symptoms on symptoms.column_name = 'symptom' and symptoms.meaning = jobs.symptom
        where date_diff('day', repeats.finished_on, windows.reports_complete_to) > 30""",
}
# A word that nothing has settled may be anything, a name too: it is counted as "other words".
_KNOWN_WORDS = """
    select distinct column_name, meaning from normalise.meanings
    where rule in ('standard value', 'layout', 'shop''s vocabulary', 'vocabulary', 'words of a sentence') and meaning is not null"""
_KNOWN = f"create or replace temp table known as {_KNOWN_WORDS}"


@dataclass(frozen=True)
class Shared:
    """One table: what is counted, and the two columns it is counted by."""

    counted: str
    by: tuple[str, str]


TABLES = (
    Shared("jobs", ("unit_type", "month")),
    Shared("jobs", ("unit_type", "area")),
    Shared("jobs", ("unit_type", "symptom")),
    Shared("jobs", ("unit_type", "outcome")),
    Shared("works on parts", ("unit_type", "part_no")),
    Shared("works on parts", ("part_no", "action")),
    Shared("fixes followed 30 days", ("unit_type", "called_out_again")),
    Shared("fixes followed 30 days", ("symptom", "called_out_again")),
)
Cell = tuple[
    str, tuple[tuple[str, str], ...]
]  # what is counted, and (column, value) pairs; none is the grand total


@dataclass(frozen=True)
class Counted:
    """
    Every cell of every table once, with its true count, and which add up to which.

    A total that stands in two tables is one cell, so that what one table shows counts against the other.
    """

    cells: tuple[Cell, ...]
    counts: Counts
    sums: tuple[Sum, ...]


def count_cells(con: duckdb.DuckDBPyConnection, tables: tuple[Shared, ...] = TABLES) -> Counted:
    """
    Count all cells.

    Parameters
    ----------
    con : DuckDBPyConnection
        An open build, read-only is enough.
    tables : tuple of Shared
        Which tables.
    """
    con.execute(_KNOWN)
    sums: dict[tuple[int, tuple[int, ...]], Sum] = {}
    found = [(table, _pairs(con, table)) for table in tables]
    counts = {cell: count for table, pairs in found for cell, count in _with_totals(table, pairs).items()}
    place = {cell: number for number, cell in enumerate(counts)}
    for table, pairs in found:
        for each in _sums(table, pairs, place):
            sums[(each.total, each.parts)] = each
    return Counted(tuple(counts), np.array(list(counts.values()), dtype=np.int64), tuple(sums.values()))


def known_words(con: duckdb.DuckDBPyConnection) -> defaultdict[str, set[str]]:
    """Meanings by column that somebody settled: the standard, a layout, the vocabulary."""
    words: defaultdict[str, set[str]] = defaultdict(set)
    for column, meaning in con.execute(_KNOWN_WORDS).fetchall():
        words[column].add(meaning)
    return words


def _pairs(con: duckdb.DuckDBPyConnection, table: Shared) -> dict[tuple[str, str], int]:
    first, second = table.by
    universe = _UNIVERSES[table.counted]
    names = {"own_words": OWN_WORDS, "not_known": NOT_KNOWN}
    values = {name: value for name, value in names.items() if f"${name}" in universe}
    rows = con.execute(
        f'select "{first}", "{second}", count(*) from ({universe}) group by all order by all', values
    ).fetchall()
    return {(a, b): count for a, b, count in rows}


def _with_totals(table: Shared, pairs: dict[tuple[str, str], int]) -> dict[Cell, int]:
    totals: dict[Cell, int] = {(table.counted, ()): 0}
    for (a, b), count in pairs.items():
        for cell in (
            (table.counted, ()),
            _cell(table, a, None),
            _cell(table, None, b),
            _cell(table, a, b),
        ):
            totals[cell] = totals.get(cell, 0) + count
    return totals


def _cell(table: Shared, a: str | None, b: str | None) -> Cell:
    chosen = zip(table.by, (a, b), strict=True)
    return table.counted, tuple((column, value) for column, value in chosen if value is not None)


def _sums(table: Shared, pairs: dict[tuple[str, str], int], place: dict[Cell, int]) -> list[Sum]:
    firsts, seconds = sorted({a for a, _ in pairs}), sorted({b for _, b in pairs})
    there = {(a, b): place[_cell(table, a, b)] for a, b in product(firsts, seconds) if (a, b) in pairs}
    every = place[(table.counted, ())]
    return [
        *(
            Sum(place[_cell(table, a, None)], tuple(there[a, b] for b in seconds if (a, b) in there))
            for a in firsts
        ),
        *(
            Sum(place[_cell(table, None, b)], tuple(there[a, b] for a in firsts if (a, b) in there))
            for b in seconds
        ),
        Sum(every, tuple(place[_cell(table, a, None)] for a in firsts)),
        Sum(every, tuple(place[_cell(table, None, b)] for b in seconds)),
    ]
