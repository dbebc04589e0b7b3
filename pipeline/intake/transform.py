"""One block of a file to rows that may be kept: identity replaced, texts scrubbed, notes reduced to known words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property

import polars as pl

from pipeline.intake.block import Block, Header
from pipeline.intake.canonical import uniform_cells
from pipeline.intake.identity import (
    DOMAINS,
    PSEUDONYM_MARK,
    area,
    identity,
    keyed_hash,
    pseudonyms,
    wrapped_digests,
)
from pipeline.intake.layouts import Layout, comparable
from pipeline.intake.misplaced import refuse_cells
from pipeline.intake.no_work import NoWork
from pipeline.intake.notes import NoteReader
from pipeline.intake.record_text import RecordReader
from pipeline.intake.scrub import scrubbed
from pipeline.intake.scrub_patterns import Care
from pipeline.intake.serials import blocks, made_weeks
from pipeline.intake.typed import readable
from pipeline.standard_log import FROM_SERIAL, LISTS, Column
from pipeline.store.key import Key

# Goes into the reading hash: raise it whenever the same file would be kept as other rows than before.
READER_VERSION = 6

# Texts that are numbers by nature; a pattern meant for running text would destroy them.
_LIGHT = frozenset(
    (
        "model",
        "part_no",
        "fault_code",
        "currency",
        "replaced_by",
        "reference",
        "serial_from",
        "serial_to",
    )
)
_CARE: dict[str, Care] = {"make": "make", "part_name": "part"}
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
    record : RecordReader or None
        Reads the text that is the whole record, where the layout has one.
    title : str or None
        Name of the sheet, for a layout by which it is the technician.
    """

    def __init__(
        self,
        header: Header,
        layout: Layout,
        key: Key,
        note_terms: Sequence[str],
        record: RecordReader | None = None,
        *,
        title: str | None = None,
    ) -> None:
        self.header, self.layout, self.key = header, layout, key
        self.positions = layout.positions(header.names)
        self._constants = dict(layout.constants)
        if layout.technician_from and title is not None and title.strip():
            self._constants["technician"] = title
        self._no_work = NoWork(header.names, layout)
        self._record = record
        self._told = layout.record.all_columns if layout.record is not None else frozenset[str]()
        if layout.record is not None:
            self._text_at = [comparable(name) for name in header.names].index(comparable(layout.record.text))
            if "note" not in self.positions:
                # Whatever the text is read for, a danger it reports is not lost; any other word has its section.
                self.positions["note"], note_terms = (self._text_at,), ()
        self._notes = NoteReader(note_terms) if "note" in self.positions else None

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        """Columns that rows of the file have: standard ones in the standard order, then those read from the serial."""
        there = {*self.positions, *self._constants, *self._told}
        rule = self.layout.serial if "serial" in self.positions else None
        read = {"serial_block": rule and rule.block, "made_week": rule and rule.made_week}
        return (
            *(column for column in LISTS[self.layout.kind] if column.name in there),
            *(column for column in FROM_SERIAL if read[column.name]),
        )

    @property
    def left_out(self) -> tuple[int, ...]:
        """1-based positions of the headers that nothing is made from."""
        used = {position for places in self.positions.values() for position in places}
        used |= {self._text_at} if self._record is not None else set()
        source = self.layout.source_position(self.header.names)
        return tuple(n + 1 for n in range(len(self.header.names)) if n not in used and n != source)

    def rows(self, block: Block) -> pl.DataFrame:
        """Rows to keep of a block, in its order."""
        cells = block.cells
        numbers = pl.int_range(block.first_record, block.first_record + cells.height, eager=True)
        digests = self._digests(cells, block.raw)
        told = self._record.cells(_said(cells, self._text_at)) if self._record is not None else {}
        problem = self._no_work.added_to(block.problem, cells).alias("row_problem")
        kept = pl.DataFrame(
            [
                numbers.alias("record"),
                block.line.alias("line"),
                digests,
                problem,
                self._sources(cells),
                *(
                    (
                        self._from_serial(cells, column)
                        if column in FROM_SERIAL
                        else self._kept(cells, column, told)
                    ).alias(column.name)
                    for column in self.columns
                ),
            ]
        )
        if problem.null_count() == problem.len():
            return kept
        # What stands in a row that is no line of work may say nothing about how a column is written.
        said = (
            pl.when(pl.col("row_problem").is_null()).then(pl.col(c.name)).alias(c.name) for c in self.columns
        )
        return kept.with_columns(said)

    def _digests(self, cells: pl.DataFrame, raw: pl.Series) -> pl.Series:
        """
        Keyed digest of each row as read.

        Of its filled cells with their headers, in the order of the headers: neither the order of a file's columns
        nor the kind of file counts. Of a row with a problem, of the row as written.
        """
        names = [comparable(name) for name in self.header.names]
        cells = uniform_cells(cells)
        parts = []
        for position in sorted(range(len(names)), key=lambda n: (names[n], n)):
            cell = pl.col(str(position))
            if not (cells.get_column(str(position)) == "").all():
                parts += [pl.when(cell != "").then(pl.lit(f"\x1e{names[position]}=")), cell]
        text = pl.concat_str(parts, ignore_nulls=True) if parts else pl.lit("")
        hashed = keyed_hash(pl.lit("row:") + text, self.key)
        if raw.null_count() < raw.len():
            hashed = pl.coalesce(keyed_hash(pl.lit("row:raw=") + pl.col("raw"), self.key), hashed)
        digests = (
            cells.with_columns(raw.alias("raw"))
            .select(hashed.str.head(_ROW_DIGEST_LENGTH).alias("row_digest"))
            .to_series()
        )
        for wrap in self.key.wraps:
            digests = wrapped_digests(digests, wrap)
        return digests

    def _sources(self, cells: pl.DataFrame) -> pl.Series:
        position = self.layout.source_position(self.header.names)
        if position is None:
            return pl.Series("source", [self.layout.source]).new_from_index(0, cells.height)
        before = f"{self.layout.source}, " if self.layout.source else ""
        value = pl.coalesce(
            pl.lit(before) + pl.col(str(position)).str.strip_chars(), pl.lit(self.layout.source)
        )
        return self._told_apart(cells.select(value.alias("source")).to_series(), "job", "source")

    def _told_apart(self, texts: pl.Series, care: Care, domain: str) -> pl.Series:
        """
        Numbers as written, but one that holds somebody's name or telephone number as a pseudonym.

        What keys a job must still tell it from others, so that `[removed]` would not do.
        """
        distinct = texts.drop_nulls().unique()
        close = scrubbed(distinct, care)
        changed = distinct.filter(distinct != close)
        if not len(changed):
            return texts
        names = PSEUDONYM_MARK + pseudonyms(changed.alias("0"), domain, self.key)
        return texts.replace(changed, names)

    def _kept(self, cells: pl.DataFrame, column: Column, told: Mapping[str, pl.Series]) -> pl.Series:
        """A standard column as it may be kept."""
        texts = [told[column.name]] if column.name in told else self._texts(cells, column)
        match column.kind:
            case "identity":
                return identity(texts, DOMAINS[column.name], self.key)
            case "area":
                return area(texts[0])
            case "note":
                return self._notes.known_words(texts[0]) if self._notes else texts[0]
            case "number_of_job":
                return self._told_apart(texts[0], care_of(column), "job")
            case "word" | "text":
                refuse_cells(column, texts[0])
                return scrubbed(texts[0], care_of(column), self._said_by_a_person(column))
            case _:
                return readable(_together(texts), is_answer=column.kind == "yes_no")

    def _from_serial(self, cells: pl.DataFrame, column: Column) -> pl.Series:
        """What the layout lets a serial say, while it is still in memory."""
        named = {each.name: each for each in LISTS[self.layout.kind]}
        serials = self._texts(cells, named["serial"])[0]
        rule = self.layout.serial
        if column.name == "serial_block" or rule is None or rule.made_week is None:
            return blocks(serials, self.key)
        has_make = "make" in self.positions or "make" in self._constants
        makes = self._texts(cells, named["make"])[0] if has_make else None
        return made_weeks(serials, makes, rule.made_week)

    def _said_by_a_person(self, column: Column) -> frozenset[str]:
        """Cells of a column whose meaning stands in the layout: a maker who is called like a person stays so."""
        return frozenset(cell.strip().casefold() for cell in self.layout.values.get(column.name, ()))

    def _texts(self, cells: pl.DataFrame, column: Column) -> list[pl.Series]:
        """What stands in the cells a column is made from; the constant of the layout where the file has none."""
        places = self.positions.get(column.name)
        if places is None:
            value = pl.Series([self._constants[column.name]], dtype=pl.String)
            return [value.new_from_index(0, cells.height)]
        return [self._text(cells, position, column) for position in places]

    def _text(self, cells: pl.DataFrame, position: int, column: Column) -> pl.Series:
        """Cells of one column of the file, null where nothing is said."""
        text = pl.col(str(position)).str.strip_chars()
        says_something = text != ""
        markers = [marker.strip().lower() for marker in self.layout.missing.get(column.name, ())]
        if markers:
            says_something &= ~text.str.to_lowercase().is_in(markers)
        return cells.select(pl.when(says_something).then(text).alias(column.name)).to_series()


def _said(cells: pl.DataFrame, position: int) -> pl.Series:
    text = pl.col(str(position)).str.strip_chars()
    return cells.select(pl.when(text != "").then(text).alias("text")).to_series()


def _together(texts: list[pl.Series]) -> pl.Series:
    """A day and a time that stand in cells of their own, as one moment."""
    if len(texts) == 1:
        return texts[0]
    parts = pl.DataFrame([text.alias(str(at)) for at, text in enumerate(texts)])
    joined = pl.concat_str(pl.all(), separator=" ", ignore_nulls=True)
    return parts.select(pl.when(pl.any_horizontal(pl.all().is_not_null())).then(joined)).to_series()


def care_of(column: Column) -> Care:
    """How closely the texts of a column are looked at before they are kept."""
    if column.name in _LIGHT:
        return "light"
    if column.kind == "number_of_job":
        return "job"
    return _CARE.get(column.name, "full")
