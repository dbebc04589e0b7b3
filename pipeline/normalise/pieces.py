"""normalise.pieces: the works of rows that hold several, where a layout says that its cells may."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import duckdb
import pyarrow as pa

from pipeline.normalise.files import RECORDS_A_FILE, LayoutReading
from pipeline.normalise.meanings import add_meanings, meaning_frame
from pipeline.normalise.part_keys import PartKeys
from pipeline.normalise.phrase_reader import PhraseReader
from pipeline.normalise.phrases import Meaning
from pipeline.normalise.tables import store_rows, text_columns
from pipeline.normalise.typed import quoted
from pipeline.normalise.works import Splitter, Work

COLUMNS = ("part_no", "part_name", "quantity", "action")
WORDS = ("part_name", "action")
_WORKS = pa.schema(
    [
        *((name, pa.string()) for name in ("layout", *(f"cell_{column}" for column in COLUMNS))),
        ("piece_no", pa.int32()),
        *((name, pa.string()) for name in ("part_no", "part_key", "part_name", "action")),
        ("quantity", pa.float64()),
    ]
)


def read_pieces(
    con: duckdb.DuckDBPyConnection,
    layouts: Mapping[str, LayoutReading],
    reader: PhraseReader,
    part_keys: PartKeys,
) -> None:
    """
    Create normalise.pieces: one row per row of the log that holds several works, and work.

    Each distinct set of cells is read once. The phrases that cells are taken apart into join normalise.meanings in
    the place of the cells.

    Parameters
    ----------
    con : connection
        With received.rows, normalise.files, normalise.meanings.
    layouts : mapping
        By layout name.
    reader : PhraseReader
        Reads the phrases.
    part_keys : PartKeys
        Which part a number is.
    """
    rows: list[dict[str, object]] = []
    for layout, known in sorted(layouts.items()):
        if known.split:
            rows += _works(con, layout, known.split, reader, part_keys)
    store_rows(con, "works", _WORKS, rows)
    same = " and ".join(
        f"works.cell_{column} is not distinct from nullif(trim(rows.{column}), '')" for column in COLUMNS
    )
    con.execute(
        f"""
        create or replace table normalise.pieces as
        select
            files.file_order * {RECORDS_A_FILE} + rows.record as row_no, works.piece_no,
            works.part_no, works.part_key, works.part_name, works.quantity, works.action
        from normalise.works as works
        join normalise.files as files on files.layout = works.layout and files.kind = 'log'
        join received.rows as rows on rows.file_no = files.file_no and {same}
        """
    )
    con.execute("drop table normalise.works")


def _works(
    con: duckdb.DuckDBPyConnection,
    layout: str,
    split: tuple[str, ...],
    reader: PhraseReader,
    part_keys: PartKeys,
) -> Iterator[dict[str, object]]:
    splitter = Splitter(lambda column, phrase: reader.known(layout, column, phrase), split)
    listed = ", ".join(f"nullif(trim({column}), '') as {column}" for column in COLUMNS)
    every = con.execute(
        f"""
        select distinct {listed} from received.rows as rows
        join normalise.files as files on files.file_no = rows.file_no and files.layout = {quoted(layout)}
        order by all
        """
    ).fetchall()
    meanings: dict[tuple[str, str], Meaning] = {}
    taken_apart: set[tuple[str, str]] = set()
    for values in every:
        cells: dict[str, str | None] = dict(zip(COLUMNS, values, strict=True))
        works = splitter.works(cells)
        for work in works:
            for column in WORDS:
                phrase = getattr(work, column)
                if phrase and (column, phrase) not in meanings:
                    meanings[column, phrase] = reader.read(layout, column, phrase)
        taken_apart |= {
            (column, cell)
            for column in WORDS
            if works and (cell := cells[column]) and splitter.phrases(column, cell) != [cell]
        }
        for number, work in enumerate(works, start=1):
            read = {column: _meaning(work, column, meanings) for column in WORDS}
            yield {"layout": layout, "piece_no": number, **_number(work, part_keys), **read} | {
                f"cell_{column}": cell for column, cell in cells.items()
            }
    _put_meanings(con, layout, taken_apart, meanings)


def _meaning(work: Work, column: str, meanings: Mapping[tuple[str, str], Meaning]) -> str | None:
    phrase = getattr(work, column)
    return meanings[column, phrase].meaning if phrase else None


def _number(work: Work, part_keys: PartKeys) -> dict[str, object]:
    key = part_keys.read(work.part_no)[0] if work.part_no else None
    return {"part_no": work.part_no if key else None, "part_key": key, "quantity": work.quantity}


def _put_meanings(
    con: duckdb.DuckDBPyConnection,
    layout: str,
    taken_apart: set[tuple[str, str]],
    meanings: Mapping[tuple[str, str], Meaning],
) -> None:
    """Phrases in the place of the cells they were found in."""
    store_rows(
        con,
        "whole_cells",
        text_columns("column_name", "phrase"),
        ({"column_name": c, "phrase": p} for c, p in taken_apart),
    )
    con.execute(
        f"""
        delete from normalise.meanings using normalise.whole_cells as whole
        where meanings.layout = {quoted(layout)} and meanings.column_name = whole.column_name and meanings.phrase = whole.phrase
        """
    )
    con.execute("drop table normalise.whole_cells")
    add_meanings(con, meaning_frame(meanings.values()))
