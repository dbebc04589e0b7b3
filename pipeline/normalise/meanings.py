"""Reads each distinct phrase once: normalise.meanings, and the symptoms of cells that hold several."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial

import duckdb
import polars as pl

from pipeline.normalise.files import LayoutReading
from pipeline.normalise.phrase_reader import PhraseReader
from pipeline.normalise.phrases import CONFIDENCE, SEVERAL, Meaning, read_phrases
from pipeline.normalise.running_text import SymptomFinder
from pipeline.normalise.spellings import read_spellings
from pipeline.normalise.tables import add_frame, store_frame
from pipeline.standard_log import columns_of_kind

LIST_WORDS = {"machines": ("unit_type",), "parts": ("part_name", "safety_part")}
MEANING_COLUMNS = ("layout", "column_name", "phrase", "meaning", "rule")
_MEANING_SCHEMA = dict.fromkeys(MEANING_COLUMNS, pl.String)
_CELL = ("layout", "column_name", "cell", "symptom", "symptoms")
_NO_SETS = pl.DataFrame(schema={"symptoms": pl.String, "symptom": pl.List(pl.String)})

# Cells that are read at a time: what reading takes of memory goes with them, not with the log.
CELLS_A_PIECE = 250_000
Read = tuple[pl.DataFrame, pl.DataFrame]  # meanings of the phrases, and symptoms of the cells
Cells = Callable[[PhraseReader, pl.DataFrame], Read]

# Of a machine whose kind nobody wrote down, as a person said.
KIND_UNKNOWN = "kind unknown"


def word_columns() -> tuple[str, ...]:
    """Columns of the log whose cells hold one phrase each, read for its meaning."""
    return tuple(name for name in columns_of_kind("log", "word", "yes_no") if name != "symptom")


def empty_cell_meanings(layout: LayoutReading | None) -> tuple[tuple[str, str], ...]:
    """What a layout says that an empty cell means, by column."""
    if layout is None:
        return ()
    said = {column: words[""] for column, words in layout.values.items() if words.get("")}
    if "unit_type" in layout.not_recorded:
        said.setdefault("unit_type", KIND_UNKNOWN)
    return tuple(sorted(said.items()))


def read_meanings(con: duckdb.DuckDBPyConnection, reader: PhraseReader) -> None:
    """
    Create normalise.meanings, normalise.symptom_cells and normalise.symptom_sets.

    Parameters
    ----------
    con : connection
        With received.* and normalise.files.
    reader : PhraseReader
        Reads the phrases.
    """
    found = [_read(con, reader, "rows", column, column) for column in word_columns()]
    for kind, columns in LIST_WORDS.items():
        # A kind of machine or a part is the same word in the log and in a list.
        found += [_read(con, reader, kind, column, f"{kind}.{column}") for column in columns]
    store_frame(con, "meanings", _with_confidence(pl.concat([*found, _spelled(con)])))
    con.execute(
        f"create or replace table normalise.symptom_cells ({', '.join(f'{n} varchar' for n in _CELL)})"
    )
    _read_cells(con, reader, {"symptom": _symptom_cells, "note": _note_cells})


def _read_cells(con: duckdb.DuckDBPyConnection, reader: PhraseReader, readers: Mapping[str, Cells]) -> None:
    """Fill normalise.symptom_cells and create normalise.symptom_sets from columns whose cells hold several phrases."""
    sets = [_NO_SETS]
    for column, read_cells in readers.items():
        for read, every in _read_ahead(
            partial(read_cells, reader), _distinct(con, "rows", column).iter_slices(CELLS_A_PIECE)
        ):
            add_meanings(con, read)
            add_frame(con, "symptom_cells", every.select(*_CELL[:3], _first(), _together()))
            sets.append(_sets(every))
    every_set = pl.concat(sets).unique("symptoms").sort("symptoms")
    # Taken apart again, so that SQL can join it.
    store_frame(con, "symptom_sets", every_set.explode("symptom"))


def _read_ahead(read: Callable[[pl.DataFrame], Read], pieces: Iterator[pl.DataFrame]) -> Iterator[Read]:
    """Pieces in their order; while one is stored the next is read already, and no more than that, for memory's sake."""
    with ThreadPoolExecutor(1) as reading:
        coming: Future[Read] | None = None
        for piece in pieces:
            submitted = reading.submit(read, piece)
            if coming is not None:
                yield coming.result()
            coming = submitted
        if coming is not None:
            yield coming.result()


def add_meanings(con: duckdb.DuckDBPyConnection, found: pl.DataFrame) -> None:
    """Add phrases, each once, that normalise.meanings does not have yet."""
    add_frame(con, "meanings", _with_confidence(found), unless_known=MEANING_COLUMNS[:3])


def _with_confidence(found: pl.DataFrame) -> pl.DataFrame:
    """Beside each meaning how sure its rule is."""
    sure = pl.col("rule").replace_strict(CONFIDENCE, return_dtype=pl.Float64).alias("confidence")
    return found.select(*MEANING_COLUMNS, sure)


def meaning_frame(found: Iterable[Meaning]) -> pl.DataFrame:
    """Meanings as rows: layout, column_name, phrase, meaning, rule."""
    return pl.DataFrame([vars(meaning) for meaning in found], schema=_MEANING_SCHEMA)


def _spelled(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    return meaning_frame(read_spellings(con))


def _read(
    con: duckdb.DuckDBPyConnection, reader: PhraseReader, table: str, column: str, name: str
) -> pl.DataFrame:
    """Meanings of the phrases of a column."""
    return _by_layout(reader, _distinct(con, table, column).rename({"cell": "phrase"}), column, name)


def _by_layout(reader: PhraseReader, phrases: pl.DataFrame, column: str, name: str) -> pl.DataFrame:
    """Meanings of layout, phrase, each once, as a column of that layout's files reads them."""
    read = [
        reader.read_all(str(layout), column, part.get_column("phrase")).select(
            pl.lit(layout).alias("layout"), pl.lit(name).alias("column_name"), pl.all()
        )
        for (layout,), part in phrases.group_by("layout", maintain_order=True)
    ]
    return pl.concat(read) if read else meaning_frame(())


def _symptom_cells(reader: PhraseReader, cells: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Each phrase by the vocabulary, a sentence that nothing settles by the known words in it; then each cell."""
    phrases = _taken_apart(cells)
    read = _by_layout(
        reader, phrases.select("layout", "phrase").unique(maintain_order=True), "symptom", "symptom"
    )
    is_open = pl.col("rule") == "own words"
    open_ones = read.filter(is_open).get_column("phrase").unique(maintain_order=True)
    told = SymptomFinder(reader.words("symptom"), reader.words("part_name")).symptoms_of(open_ones)
    read = read.join(told, on="phrase", how="left", maintain_order="left")
    in_sentence = is_open & pl.col("told").is_not_null()
    read = read.with_columns(
        pl.when(in_sentence).then(pl.col("told").list.first()).otherwise(pl.col("meaning")).alias("meaning"),
        pl.when(in_sentence).then(pl.lit("words of a sentence")).otherwise(pl.col("rule")).alias("rule"),
        pl.when(in_sentence).then(pl.col("told")).otherwise(pl.concat_list("meaning")).alias("symptoms"),
    )
    return read.select(MEANING_COLUMNS), _cells_of(cells, phrases, read, "symptom")


def _note_cells(reader: PhraseReader, cells: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Known symptoms among the words kept of a note; any other word of it is no symptom."""
    phrases = _taken_apart(cells)
    once = phrases.select("layout", "phrase").unique(maintain_order=True)
    known = read_phrases(reader.words("symptom"), {}, once.get_column("phrase"))
    settled = known.get_column("rule").is_in(["own words", "unsettled"]).not_()
    read = once.with_columns(
        pl.lit("note").alias("column_name"), known.get_column("meaning"), pl.lit("from note").alias("rule")
    ).filter(settled)
    read = read.with_columns(pl.concat_list("meaning").alias("symptoms"))
    return read.select(MEANING_COLUMNS), _cells_of(cells, phrases, read, "note")


def _taken_apart(cells: pl.DataFrame) -> pl.DataFrame:
    """One row per layout, cell and phrase in it, in the order written."""
    apart = cells.with_columns(pl.col("cell").str.split(SEVERAL).alias("phrase")).explode("phrase")
    # What Python's strip() takes off, as in `pieces`.
    stripped = pl.col("phrase").str.replace_all(r"^[\s\x1c-\x1f]+|[\s\x1c-\x1f]+$", "")
    return apart.with_columns(stripped).filter(pl.col("phrase") != "")


def _cells_of(cells: pl.DataFrame, phrases: pl.DataFrame, read: pl.DataFrame, column: str) -> pl.DataFrame:
    """layout, column_name, cell, symptoms: each symptom of a cell once, the main one first."""
    told = (
        phrases.join(
            read.select("layout", "phrase", "symptoms"), on=("layout", "phrase"), maintain_order="left"
        )
        .explode("symptoms")
        .drop_nulls("symptoms")
        .group_by("layout", "cell", maintain_order=True)
        .agg(pl.col("symptoms").unique(maintain_order=True))
    )
    found = cells.join(told, on=("layout", "cell"), how="left", maintain_order="left")
    return found.select("layout", pl.lit(column).alias("column_name"), "cell", "symptoms")


def _first() -> pl.Expr:
    return pl.col("symptoms").list.first().alias("symptom")


def _together() -> pl.Expr:
    return pl.col("symptoms").list.join(f"{SEVERAL} ").alias("symptoms")


def _sets(cells: pl.DataFrame) -> pl.DataFrame:
    """Each list of symptoms once, as text and as a list."""
    lists = cells.drop_nulls("symptoms").select(_together(), pl.col("symptoms").alias("symptom"))
    return lists.unique("symptoms")


def _distinct(con: duckdb.DuckDBPyConnection, table: str, column: str) -> pl.DataFrame:
    """layout, cell: every cell of a column that is filled, once."""
    sql = f"""
    select distinct files.layout as layout, rows."{column}" as cell from received.{table} as rows
    join normalise.files as files on files.file_no = rows.file_no
    where rows."{column}" is not null order by all
    """
    found: pl.DataFrame = con.sql(sql).pl()
    return found.cast({"layout": pl.String, "cell": pl.String})
