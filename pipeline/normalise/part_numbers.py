"""What makes two part numbers the same: spacing, hyphens, dots, strokes and case do not count, leading zeros do."""

from __future__ import annotations

from collections.abc import Iterator

import duckdb

from pipeline.normalise.part_keys import DAMAGED, NO_PART, PartKeys, match_key
from pipeline.normalise.phrases import read_phrase
from pipeline.normalise.tables import store_rows, text_columns
from pipeline.vocabulary import Words, normal_form
from pipeline.vocabulary.no_parts import NoParts

# A part known only by its name is kept apart from every number.
NAME_MARK = "name: "
Listed = tuple[str, str | None, str | None]
_IN_COLUMNS = (("rows", "part_no"), ("parts", "part_no"), ("parts", "replaced_by"), ("stock", "part_no"))


def part_keys(con: duckdb.DuckDBPyConnection, no_parts: NoParts) -> PartKeys:
    """Keys of part numbers by the parts list that was loaded."""
    listed = con.execute("select distinct part_no from received.parts where part_no is not null").fetchall()
    return PartKeys((row[0] for row in listed), no_parts)


def read_part_numbers(con: duckdb.DuckDBPyConnection, kinds: Words, part_keys: PartKeys) -> None:
    """
    Create normalise.part_numbers (part_no as written → part_key, and by which rule), .damaged_numbers, .no_parts,
    .part_fits and .named_parts.

    A line whose number or name says labour, call-out, tax or their like is no part and has no key; how many lines say
    what stands in normalise.no_parts.

    A line that names a part without its number gets the number when the parts list has exactly one part of that name.

    Parameters
    ----------
    con : connection
        With received.* and normalise.meanings.
    kinds : Words
        Vocabulary of the kinds of machine, for those that only the parts list names.
    part_keys : PartKeys
        Which part a number is.
    """
    every = " union ".join(
        f"select {column} as part_no from received.{table} where {column} is not null"
        for table, column in _IN_COLUMNS
    )
    numbers = [row[0] for row in con.execute(f"select part_no from ({every}) order by part_no").fetchall()]
    read = {number: part_keys.read(number) for number in numbers}
    keys = ({"part_no": number, "part_key": key, "rule": rule} for number, (key, rule) in read.items())
    store_rows(con, "part_numbers", text_columns("part_no", "part_key", "rule"), keys)
    _count_no_parts(con, [number for number, (_, rule) in read.items() if rule == NO_PART])
    _count_damaged(con)
    listed = con.execute(
        "select part_no, part_name, fits from received.parts where part_no is not null"
    ).fetchall()
    store_rows(con, "part_fits", text_columns("part_key", "unit_type"), _fits(con, kinds, listed))
    store_rows(con, "named_parts", text_columns("part_name", "part_key"), _names(con, listed))


def _count_no_parts(con: duckdb.DuckDBPyConnection, numbers: list[str]) -> None:
    """Create normalise.no_parts: column, phrase, and how many rows of the log say it."""
    store_rows(con, "no_part_numbers", text_columns("part_no"), ({"part_no": number} for number in numbers))
    con.execute(
        """
        create or replace table normalise.no_parts as
        select 'part_no' as column_name, rows.part_no as phrase, count(*) as count_rows
        from received.rows as rows
        join normalise.no_part_numbers as numbers on numbers.part_no = rows.part_no
        group by rows.part_no
        union all
        select 'part_name', rows.part_name, count(*)
        from received.rows as rows
        join normalise.files as files on files.file_no = rows.file_no
        join normalise.meanings as meanings
            on meanings.column_name = 'part_name' and meanings.layout = files.layout and meanings.phrase = rows.part_name
        where meanings.rule = 'no part'
        group by rows.part_name
        """
    )
    con.execute("drop table normalise.no_part_numbers")


def _count_damaged(con: duckdb.DuckDBPyConnection) -> None:
    """Create normalise.damaged_numbers: file, rule, number as written, and how many rows of the log have it."""
    rules = ", ".join(f"'{rule}'" for rule in DAMAGED)
    con.execute(
        f"""
        create or replace table normalise.damaged_numbers as
        select rows.file_no, numbers.rule, rows.part_no, count(*) as count_rows
        from received.rows as rows
        join normalise.part_numbers as numbers on numbers.part_no = rows.part_no
        where numbers.rule in ({rules})
        group by all
        """
    )


def _fits(con: duckdb.DuckDBPyConnection, kinds: Words, listed: list[Listed]) -> Iterator[dict[str, object]]:
    """Kinds of machine that a part fits, as the log's own meanings."""
    sql = "select phrase, meaning from normalise.meanings where column_name in ('unit_type', 'machines.unit_type')"
    known = {normal_form(phrase): meaning for phrase, meaning in con.execute(sql).fetchall()}
    pairs = {
        (match_key(part_no), known.get(normal_form(kind)) or read_phrase(kinds, {}, kind)[0])
        for part_no, _, fits in listed
        for kind in (fits or "").split("|")
    }
    for key, kind in sorted((key, kind) for key, kind in pairs if key and kind):
        yield {"part_key": key, "unit_type": kind}


def _names(
    con: duckdb.DuckDBPyConnection, listed: list[tuple[str, str | None, str | None]]
) -> Iterator[dict[str, object]]:
    sql = (
        "select phrase, meaning from normalise.meanings where column_name in ('part_name', 'parts.part_name')"
    )
    meanings = dict(con.execute(sql).fetchall())
    by_name: dict[str, set[str]] = {}
    for part_no, name, _ in listed:
        key, meaning = match_key(part_no), meanings.get(name)
        if key and meaning:
            by_name.setdefault(meaning, set()).add(key)
    for name, keys in sorted(by_name.items()):
        if len(keys) == 1:
            yield {"part_name": name, "part_key": next(iter(keys))}
