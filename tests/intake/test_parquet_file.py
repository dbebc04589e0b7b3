"""Parquet files: typed cells as text, in order, or a sentence."""

import io
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

import pyarrow as pa
import pytest
from pyarrow import parquet

from pipeline.errors import UnreadableError
from pipeline.intake.source import Source, survey
from pipeline.intake.tables import tables_of
from tests.intake.reading import KEY, header_of, records_of


def written(table, **options):
    out = io.BytesIO()
    parquet.write_table(table, out, **options)
    return out.getvalue()


GOOD = written(pa.table({"a": ["x", "y"] * 500, "n": range(1000)}), row_group_size=300)


def test_cells_are_written_one_way():
    table = pa.table(
        {
            "text": ["00123", None],
            "repeated": pa.array(["a", None]).dictionary_encode(),
            "moment": [datetime(2024, 3, 4, 14, 5), None],
            "day": [date(2024, 3, 4), None],
            "whole": [1, None],
            "floating": [48.0, None],
            "exact": [Decimal("12.50"), None],
            "wide": pa.array([Decimal("12.50"), None], pa.decimal256(50, 2)),
            "truth": [True, None],
            "nothing": [None, None],
            "bytes": pa.array([b"\x01\xff", None], pa.binary(2)),
        }
    )
    first, second = records_of(written(table))
    assert first.cells == (
        *("00123", "a", "2024-03-04T14:05", "2024-03-04", "1", "48", "12.5", "12.5", "yes", "", "01ff"),
    )
    assert second.cells == ("",) * 11
    assert (first.number, second.number, first.line) == (1, 2, None)


@pytest.mark.parametrize("block_bytes", [1, 100, 1 << 23])
def test_rows_keep_their_order_whatever_is_read_at_a_time(block_bytes):
    records = records_of(GOOD, block_bytes)
    assert [record.cells[1] for record in records] == [str(n) for n in range(1000)]
    assert [record.number for record in records] == list(range(1, 1001))


def test_file_on_a_disk_reads_like_one_in_memory(tmp_path):
    path = tmp_path / "log.csv"  # whatever it is called
    path.write_bytes(GOOD)
    source = Source(Path(path))
    (table,) = tables_of(source, survey(source, KEY)).tables
    rows = [row for block in table.blocks(table.headers()[0]) for row in block.cells.iter_rows()]
    assert rows == [record.cells for record in records_of(GOOD)]


def test_equal_names_and_very_many_columns_are_read():
    twice = pa.Table.from_arrays([pa.array(["x"]), pa.array([1])], names=["a", "a"])
    assert (header_of(written(twice)).names, records_of(written(twice))[0].cells) == (("a", "a"), ("x", "1"))
    wide = pa.table({f"c{n}": [n] for n in range(5000)})
    assert records_of(written(wide))[0].cells == tuple(str(n) for n in range(5000))


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (GOOD[:-30], "damaged or cut off"),
        (GOOD[: len(GOOD) // 2], "damaged or cut off"),
        (b"PAR1", "damaged or cut off"),
        (written(pa.table({"a": [1], "b": [[1, 2]]})), "the cells of column 2 hold lists"),
        (written(pa.table({"a": [{"x": 1}]})), "the cells of column 1 hold records"),
        (written(pa.table({})), "has no columns"),
    ],
)
def test_what_holds_no_cells_is_refused_in_one_sentence(content, says):
    with pytest.raises(UnreadableError, match=says):
        header_of(content)


def test_damage_inside_shows_while_the_rows_are_read():
    damaged = written(pa.table({"a": [f"text {n}" for n in range(5000)]}), compression="none")
    damaged = damaged[:60] + b"\xff" * 3000 + damaged[3060:]
    with pytest.raises(UnreadableError, match="damaged or cut off"):
        records_of(damaged)
