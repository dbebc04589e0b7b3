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
    total, lines = con.execute(f"{_COUNTED.format(**_source(column))} {_TOTAL}", values).fetchall()[0]
    if not total:
        return [], 0, 0
    sql = f"{_COUNTED.format(**_source(column))} {_FIRST.format(**_source(column))}"
    rows = con.execute(sql, {**values, "most": most}).fetchall()
    return [Word(column, *row) for row in rows], total, lines


def _source(column: str) -> dict[str, str]:
    """Where the meaning of a column stands: in a list of symptoms, in the works of a line, or in the line."""
    if column == "symptom":
        table = (
            "(select used.row_no, used.job_no, sets.symptom as word from tables.used_lines as used "
            "join normalise.symptom_sets as sets on sets.symptoms = used.symptoms)"
        )
        return {"table": table, "word": "word", "nobody": _NOBODY}
    table = "tables.lines" if column == "action" else "tables.used_lines"
    if column == "unit_type":
        # The machine list may say it where the lines do not.
        table = (
            "(select used.row_no, used.job_no, jobs.unit_type from tables.used_lines as used "
            "join tables.jobs as jobs on jobs.job_no = used.job_no)"
        )
    return {"table": table, "word": f'"{column}"', "nobody": _NOBODY}


_COUNTED = """
with open_words as (
    select distinct meaning from normalise.meanings
    where column_name in ($column, 'machines.' || $column) and rule in {nobody} and meaning is not null and not contains(meaning, $removed)
),
counted as (
    select source.{word} as word, count(distinct source.row_no) as lines
    from {table} as source
    where source.{word} in (select meaning from open_words)
    group by 1
)
"""
_TOTAL = "select count(*), coalesce(sum(lines), 0)::bigint from counted"
# Jobs are counted for the most frequent only.
_FIRST = """
, first_ones as (select * from counted order by lines desc, word limit $most)
select first_ones.word, any_value(first_ones.lines), count(distinct source.job_no)
from first_ones join {table} as source on source.{word} = first_ones.word
group by 1
"""
