"""Words of the log that no vocabulary gives a meaning, most frequent first, with how much each would bring in."""

from __future__ import annotations

from dataclasses import dataclass

import duckdb

from pipeline.intake.scrub_patterns import REMOVED

# Columns whose words are settled; the order in which they are listed where they are equally frequent.
COLUMNS = ("symptom", "finding", "mechanism", "cause", "action", "outcome", "unit_type")
# More than anybody goes through at a sitting; what comes after them stands in single rows.
MOST = 3000
_NOBODY = "('unsettled', 'own words')"


@dataclass(frozen=True)
class Word:
    """One word or phrase of a column, in normal form, with the lines and jobs that hold it."""

    column: str
    words: str
    lines: int
    jobs: int


@dataclass(frozen=True)
class Unsettled:
    """The most frequent words that wait, how many wait in all, and how many lines hold one."""

    words: tuple[Word, ...]
    total: int
    lines: int


def unsettled(con: duckdb.DuckDBPyConnection, most: int = MOST) -> Unsettled:
    """
    Words that wait to be settled.

    A text of which something was removed is left out: behind the mark stands now this, now that.

    Parameters
    ----------
    con : connection
        A build.
    most : int
        How many words at most, of all columns together.
    """
    words: list[Word] = []
    total = lines = 0
    for column in COLUMNS:
        found, many, held = _of_column(con, column, most)
        words += found
        total += many
        lines += held
    order = {column: at for at, column in enumerate(COLUMNS)}
    words.sort(key=lambda word: (-word.jobs, -word.lines, order[word.column], word.words))
    return Unsettled(tuple(words[:most]), total, lines)


def _of_column(con: duckdb.DuckDBPyConnection, column: str, most: int) -> tuple[list[Word], int, int]:
    values = {"column": column, "removed": REMOVED.strip("[]")}
    if not con.execute(f"{_OPEN} select * from open_words limit 1", values).fetchall():
        return [], 0, 0
    rows = con.execute(_FIRST.format(**_source(column)), {**values, "most": most}).fetchall()
    words = [Word(column, word, lines, jobs) for word, lines, jobs, _total, _held in rows]
    return (words, *rows[0][3:]) if rows else ([], 0, 0)


def _source(column: str) -> dict[str, str]:
    """Where the meaning of a column stands: in a list of symptoms, in the works of a line, or in the line."""
    if column == "symptom":
        table = (
            "(select used.job_no, sets.symptom as word from tables.used_lines as used "
            "join normalise.symptom_sets as sets on sets.symptoms = used.symptoms)"
        )
        return {"table": table, "word": "word"}
    table = "tables.lines" if column == "action" else "tables.used_lines"
    if column == "unit_type":
        # The machine list may say it where the lines do not.
        table = (
            "(select used.job_no, jobs.unit_type from tables.used_lines as used "
            "join tables.jobs as jobs on jobs.job_no = used.job_no)"
        )
    return {"table": table, "word": f'"{column}"'}


_OPEN = f"""
with open_words as (
    select distinct meaning from normalise.meanings
    where
        column_name in ($column, 'machines.' || $column)
        and rule in {_NOBODY}
        and meaning is not null
        and not contains(meaning, $removed)
)
"""
# Jobs are counted for the most frequent only.
_FIRST = (
    _OPEN
    + """
, counted as (
    select source.{word} as word, count(*) as lines
    from {table} as source
    where source.{word} in (select meaning from open_words)
    group by 1
),
first_ones as (
    select word, lines, count(*) over () as total, cast(sum(lines) over () as bigint) as held
    from counted
    order by lines desc, word
    limit $most
)
select first_ones.word, any_value(lines), count(distinct source.job_no), any_value(total), any_value(held)
from first_ones join {table} as source on source.{word} = first_ones.word
group by 1
"""
)
