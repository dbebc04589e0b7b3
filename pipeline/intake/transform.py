"""One block of a file to rows that may be kept: identity replaced, texts scrubbed, notes reduced to known words."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import polars as pl

from pipeline.intake.cells import Header
from pipeline.intake.csv_file import Block
from pipeline.intake.identity import DOMAINS, area, identity, keyed_hash
from pipeline.intake.layouts import Layout, comparable
from pipeline.intake.notes import NoteReader
from pipeline.intake.scrub import Care, scrubbed
from pipeline.intake.typed import readable
from pipeline.standard_log import LISTS, Column
from pipeline.store.key import Key

# Goes into the reading hash: raise it whenever the same file would be kept as other rows than before.
READER_VERSION = 1

# Texts that are numbers by nature; a pattern meant for running text would destroy them.
_LIGHT = frozenset(
    (
        "make",
        "model",
        "part_no",
        "fault_code",
        "reading",
        "currency",
        "replaced_by",
        "reference",
        "serial_from",
        "serial_to",
    )
)
_ROW_DIGEST_LENGTH = 32


class Transformer:
    """
    Turns blocks of one file into received rows.

    Parameters
    ----------
    header : Header
        Of the file.
    layout : Layout
        By which it is read.
    key : Key
        For pseudonyms and row digests.
    note_terms : sequence of str
        Words a note is read for.
    """

    def __init__(self, header: Header, layout: Layout, key: Key, note_terms: Sequence[str]) -> None:
        self.header, self.layout, self.key = header, layout, key
        self.positions = layout.positions(header.names)
        self._notes = NoteReader(note_terms) if "note" in self.positions else None

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        """Standard columns that the file has, in the standard order."""
        return tuple(column for column in LISTS[self.layout.kind] if column.name in self.positions)

    @property
    def left_out(self) -> tuple[int, ...]:
        """1-based positions of the headers that nothing is made from."""
        used = {position for places in self.positions.values() for position in places}
        source = self.layout.source_position(self.header.names)
        return tuple(n + 1 for n in range(len(self.header.names)) if n not in used and n != source)

    def rows(self, block: Block) -> pl.DataFrame:
        """Rows to keep of a block, in its order."""
        digests = [self._digest(block.cells), keyed_hash(pl.lit("row:raw=") + pl.col("raw"), self.key)]
        cells = block.cells.with_columns(block.raw.alias("raw"))
        frame = cells.select(
            pl.coalesce(digests[1], digests[0]).str.head(_ROW_DIGEST_LENGTH).alias("row_digest"),
            self._source(),
            *(self._cell(column).alias(column.name) for column in self.columns),
        )
        kept = [self._safe(frame.get_column(column.name), column) for column in self.columns]
        numbers = pl.int_range(block.first_record, block.first_record + frame.height, eager=True)
        return pl.DataFrame(
            [
                numbers.alias("record"),
                block.line.alias("line"),
                frame.get_column("row_digest"),
                block.problem.alias("row_problem"),
                scrubbed(frame.get_column("source")),
                *kept,
            ]
        )

    def _digest(self, cells: pl.DataFrame) -> pl.Expr:
        """Keyed digest of a row as read: its named, filled cells in the order of the names, whatever their order in the file."""
        names = [comparable(name) for name in self.header.names]
        parts = []
        for position in sorted(range(len(names)), key=lambda n: (names[n], n)):
            cell = pl.col(str(position))
            if not cells.get_column(str(position)).is_in(["", None]).all():
                parts.append(pl.when(cell != "").then(pl.lit(f"{names[position]}=") + cell + pl.lit("\x1e")))
        text = pl.concat_str(parts, ignore_nulls=True) if parts else pl.lit("")
        return keyed_hash(pl.lit("row:") + text, self.key)

    def _source(self) -> pl.Expr:
        position = self.layout.source_position(self.header.names)
        if position is None:
            return pl.lit(self.layout.source).alias("source")
        value = pl.col(str(position)).str.strip_chars()
        before = f"{self.layout.source}, " if self.layout.source else ""
        return pl.coalesce(pl.lit(before) + value, pl.lit(self.layout.source)).alias("source")

    def _cell(self, column: Column) -> pl.Expr:
        """A standard column's text; identity and area are gone from it already."""
        markers = [marker.strip().casefold() for marker in self.layout.missing.get(column.name, ())]
        texts: list[pl.Expr] = []
        for position in self.positions[column.name]:
            text = pl.col(str(position)).str.strip_chars()
            known = (text != "") & ~text.str.to_lowercase().is_in(markers) if markers else text != ""
            texts.append(pl.when(known).then(text))
        if column.kind == "identity":
            return identity(texts, DOMAINS[column.name], self.key)
        return area(texts[0]) if column.kind == "area" else texts[0]

    def _safe(self, cells: pl.Series, column: Column) -> pl.Series:
        match column.kind:
            case "identity" | "area":
                return cells
            case "note":
                return self._notes.known_words(cells) if self._notes else cells
            case "word" | "text" | "number_of_job":
                return scrubbed(cells, _care(column))
            case _:
                return readable(cells)


def _care(column: Column) -> Care:
    if column.name in _LIGHT or column.kind == "number_of_job":
        return "light"
    return "part" if column.name == "part_name" else "full"
