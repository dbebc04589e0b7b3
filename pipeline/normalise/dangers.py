"""Reads each distinct text once for dangers: normalise.row_dangers, and which parts are thermal cut-outs."""

from __future__ import annotations

import duckdb
import polars as pl

from pipeline.normalise.files import RECORDS_A_FILE
from pipeline.normalise.tables import store_frame
from pipeline.vocabulary import safety_words
from pipeline.vocabulary.dangers import SEVERAL, compared, cut_out_names, dangers_of

# Where a danger is reported: every cell once, and its meaning, since a code that a layout or the shop translates reports it too.
_CELLS = {
    "symptom": "select layout, cell, symptoms as meaning from normalise.symptom_cells where column_name = 'symptom'",
    "finding": """
        select distinct files.layout, rows.finding as cell, meanings.meaning
        from received.rows as rows
        join normalise.files as files on files.file_no = rows.file_no
        left join normalise.meanings as meanings
            on meanings.column_name = 'finding' and meanings.layout = files.layout and meanings.phrase = rows.finding
        where rows.finding is not null""",
    "note": "select layout, cell, null::varchar as meaning from normalise.symptom_cells where column_name = 'note'",
}


def read_dangers(con: duckdb.DuckDBPyConnection) -> None:
    """
    Create normalise.dangers, .row_dangers, .danger_bits, .danger_sets and .thermal_cut_outs.

    Parameters
    ----------
    con : connection
        With received.*, normalise.files, .meanings and .symptom_cells.
    """
    store_frame(con, "dangers", pl.concat([_cells(con, column) for column in _CELLS]).sort(pl.all()))
    con.execute(
        f"""
        create or replace table normalise.row_dangers as
        {" union all ".join(_rows(column) for column in _CELLS)}
        """
    )
    store_frame(
        con, "danger_bits", pl.DataFrame(_bits(), schema=["danger", "bit"], orient="row").sort(pl.all())
    )
    store_frame(
        con,
        "danger_sets",
        pl.DataFrame(_sets(), schema=["danger_set", "dangers"], orient="row").sort(pl.all()),
    )
    store_frame(con, "thermal_cut_outs", _cut_outs(con).sort(pl.all()))


def _bits() -> list[tuple[str, int]]:
    return [(danger, 1 << place) for place, danger in enumerate(safety_words())]


def _sets() -> list[tuple[int, str]]:
    """Every set of dangers, by the sum of its bits, so that SQL can name what a report tells of."""
    bits = _bits()
    return [
        (total, SEVERAL.join(danger for danger, bit in bits if total & bit))
        for total in range(1, 1 << len(bits))
    ]


def _cells(con: duckdb.DuckDBPyConnection, column: str) -> pl.DataFrame:
    """One row per layout, column, cell and danger that the cell reports."""
    text = pl.concat_str("cell", "meaning", separator=SEVERAL, ignore_nulls=True)
    cells: pl.DataFrame = (
        con.sql(_CELLS[column]).pl().with_columns(pl.col("layout", "cell", "meaning").cast(pl.String))
    )
    dangers = dangers_of(cells.select(text.alias("danger")).to_series())
    told = cells.with_columns(dangers).filter(pl.col("danger").is_not_null())
    told = told.select("layout", pl.lit(column).alias("column_name"), "cell", "danger")
    return told.with_columns(pl.col("danger").str.split(SEVERAL)).explode("danger").unique()


def _rows(column: str) -> str:
    return f"""
        select files.file_order * {RECORDS_A_FILE} + rows.record as row_no, dangers.column_name, dangers.danger
        from received.rows as rows
        join normalise.files as files on files.file_no = rows.file_no
        join normalise.dangers as dangers
            on dangers.column_name = '{column}' and dangers.layout = files.layout and dangers.cell = rows.{column}
    """


def _cut_outs(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    """Meanings of part names that name a thermal cut-out, in any way of writing it."""
    sql = """
    select distinct phrase, meaning from normalise.meanings
    where column_name in ('part_name', 'parts.part_name') and meaning is not null
    """
    names: pl.DataFrame = con.sql(sql).pl().with_columns(pl.col("phrase", "meaning").cast(pl.String))
    is_one = names.select(
        pl.any_horizontal(
            pl.col(column).map_batches(compared, return_dtype=pl.String).is_in(sorted(cut_out_names()))
            for column in names.columns
        )
    ).to_series()
    return names.filter(is_one).select(pl.col("meaning").alias("part_name").unique(maintain_order=True))
