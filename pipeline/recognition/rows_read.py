"""The rows of a sample as a load would read them by a layout: in memory, identity replaced by a key that is thrown away."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import duckdb
import polars as pl

from pipeline import normalise
from pipeline.draft_layout import Question
from pipeline.intake.block import Table
from pipeline.intake.layouts import Layout
from pipeline.intake.record_text import KnownWords as RecordWords
from pipeline.intake.record_text import RecordReader
from pipeline.intake.transform import Transformer
from pipeline.normalise.column_forms import FileForms, forms_of_file
from pipeline.normalise.line_columns import moment_names
from pipeline.normalise.money import factor_sql
from pipeline.open_questions import NewFile, questions_about
from pipeline.received_tables import put_received
from pipeline.recognition.plausible import Plausible
from pipeline.recognition.sampling import BLOCK_BYTES, MOST_ROWS, Sample
from pipeline.settings import Settings
from pipeline.standard_log import Column
from pipeline.store.key import Key
from pipeline.store.manifest import ReceivedFile
from pipeline.store.opening import CLOSED
from pipeline.vocabulary import known_terms, vocabulary

REPLACED = "[replaced]"
SHOWN = 5
_FILE = 1
_TABLE = "rows_of_the_sample"


@dataclass(frozen=True)
class RowsRead:
    """
    What a layout makes of a sample.

    Attributes
    ----------
    questions : tuple of Question
        What is open: the questions that a load would ask.
    shown : frame
        The first rows of work: a text column `column`, and one for each row. Identities stand as "[replaced]".
    """

    questions: tuple[Question, ...]
    shown: pl.DataFrame


def read_rows(
    sample: Sample,
    layout: Layout,
    key: Key,
    vocabulary_folder: Path,
) -> RowsRead:
    """
    Read a sample by a layout.

    Parameters
    ----------
    sample : Sample
        Of a file.
    layout : Layout
        A layout for it.
    key : Key
        One that is thrown away.
    vocabulary_folder : Path
        The shop's own words; it need not exist.
    """
    entry, received, columns = _receive(sample, layout, key, vocabulary_folder)
    plausible = Plausible(sample.tables[0], sample.header, vocabulary_folder)
    file = NewFile(layout, sample.header.names, entry, plausible)
    with _tables(entry, received) as con:
        questions = tuple(questions_about(con, vocabulary_folder, file))
        forms = forms_of_file(con, _FILE, layout.kind, layout.forms)
    first = received.filter(pl.col("row_problem").is_null()).head(SHOWN)
    with _tables(entry, first) as con:
        rows = _lines(con, layout, vocabulary_folder, columns, {_FILE: forms})
    return RowsRead(questions, _side_by_side(rows, columns))


def read_lines(sample: Sample, layout: Layout, key: Key, vocabulary_folder: Path) -> pl.DataFrame:
    """
    Every row of a sample as a layout reads it, in the order of the file.

    Returns
    -------
    frame
        Standard columns that the file has, typed; `row_problem` where a row is no line of work.
    """
    entry, received, columns = _receive(sample, layout, key, vocabulary_folder)
    with _tables(entry, received) as con:
        rows = _lines(con, layout, vocabulary_folder, columns, None)
    return rows.with_columns(received["row_problem"])


def _receive(
    sample: Sample, layout: Layout, key: Key, folder: Path
) -> tuple[ReceivedFile, pl.DataFrame, tuple[Column, ...]]:
    """Rows as a load would keep them: the entry of the file, the rows, and their standard columns."""
    transformers = [_transformer(sample, table, layout, key, folder) for table in sample.tables]
    each = zip(sample.tables, transformers, strict=True)
    received = pl.concat([_received(table, reads, len(sample.tables)) for table, reads in each])
    received = received.with_columns(pl.int_range(1, pl.len() + 1).alias("record"))
    return _entry(sample, layout, transformers[0], received.height), received, transformers[0].columns


def _transformer(sample: Sample, table: Table, layout: Layout, key: Key, folder: Path) -> Transformer:
    has_note = "note" in layout.positions(sample.header.names)
    record = None
    if layout.record is not None:
        record = RecordReader(layout.record, RecordWords(vocabulary(folder), layout.values))
    return Transformer(
        sample.header, layout, key, known_terms(folder) if has_note else (), record, title=table.title
    )


def _received(table: Table, transformer: Transformer, tables: int) -> pl.DataFrame:
    taken, frames = 0, []
    most = max(1, MOST_ROWS // tables)
    for block in table.blocks(transformer.header, BLOCK_BYTES):
        frames.append(transformer.rows(block).head(most - taken))
        taken += frames[-1].height
        if taken >= most:
            break
    return pl.concat(frames) if frames else pl.DataFrame(schema=_schema(transformer))


def _schema(transformer: Transformer) -> dict[str, Any]:
    texts = ("row_digest", "row_problem", "source", *(column.name for column in transformer.columns))
    return {"record": pl.Int64, "line": pl.Int64, **dict.fromkeys(texts, pl.String)}


def _entry(sample: Sample, layout: Layout, transformer: Transformer, rows: int) -> ReceivedFile:
    return ReceivedFile(
        load=1,
        file_no=_FILE,
        kind=layout.kind,
        name=sample.name,
        source_hash="",
        reading_hash="",
        parquet="",
        parquet_sha256="",
        layout=layout.name,
        layout_hash=layout.hash,
        reader_version=0,
        key_id="",
        rows=rows,
        columns=tuple(column.name for column in transformer.columns),
        columns_left_out=transformer.left_out,
        received_at=datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z"),
    )


@contextmanager
def _tables(entry: ReceivedFile, received: pl.DataFrame) -> Iterator[duckdb.DuckDBPyConnection]:
    """A database in memory that holds the rows as if they had been received; nothing of it may spill to a disk."""
    config = {**CLOSED, "threads": 2, "temp_directory": ""}
    with duckdb.connect(config=config) as con:
        con.execute("set TimeZone = 'UTC'")
        con.register(_TABLE, received.to_arrow())
        put_received(con, Path(), [entry], [], in_memory={_FILE: _TABLE})
        yield con


def _lines(
    con: duckdb.DuckDBPyConnection,
    layout: Layout,
    folder: Path,
    columns: Sequence[Column],
    forms: dict[int, FileForms] | None,
) -> pl.DataFrame:
    # As written: the zone of the store plays no part in what a person compares with the file.
    normalise.run(con, Settings(), {layout.name: layout}, folder, forms)
    asked = ", ".join(f'{_value_sql(column)} as "{column.name}"' for column in columns)
    sql = f"select {asked or 'null as nothing'} from normalise.lines order by row_no"
    return pl.DataFrame(pl.from_arrow(con.sql(sql).to_arrow_table()))


def _side_by_side(rows: pl.DataFrame, columns: Sequence[Column]) -> pl.DataFrame:
    """Rows as text, one beside the other."""
    table: Mapping[str, list[str]] = {
        "column": [column.name for column in columns],
        **{
            f"row {n}": [_as_text(c.kind, value) for c, value in zip(columns, row, strict=True)]
            for n, row in enumerate(rows.rows() if columns else [], start=1)
        },
    }
    return pl.DataFrame(table, schema=dict.fromkeys(table, pl.String))


def _value_sql(column: Column) -> str:
    if column.kind == "money":
        return f"{column.name}_minor / {factor_sql('currency')}"
    if column.kind == "moment":
        return moment_names(column.name)[0]
    return {"postcode": "area", "symptom": "symptoms", "visit_no": "visit_ref"}.get(
        column.name, f'"{column.name}"'
    )


def _as_text(kind: str, value: Any) -> str:
    if value is None or kind == "identity":
        return "" if value is None else REPLACED
    match value:
        case bool():
            return "yes" if value else "no"
        case datetime():
            return f"{value:%Y-%m-%d %H:%M}".removesuffix(" 00:00")
        case date():
            return value.isoformat()
        case float():
            return f"{value:.2f}" if kind == "money" else f"{value:g}"
        case _:
            return f"{float(value):.2f}" if kind == "money" else str(value)
