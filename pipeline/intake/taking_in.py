"""The files of one load: looked at, read, entered for the manifest."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pipeline.errors import UnreadableError
from pipeline.intake.block import Header, Table
from pipeline.intake.layouts import Layout
from pipeline.intake.misplaced import MisplacedError, refuse_headers, refused
from pipeline.intake.received import receive
from pipeline.intake.recognise import choose_layout, display_name, fits_any
from pipeline.intake.record_text import KnownWords, RecordReader
from pipeline.intake.source import Source, survey
from pipeline.intake.tables import tables_of
from pipeline.intake.transform import READER_VERSION, Transformer
from pipeline.store.folder import Store
from pipeline.store.key import Key
from pipeline.store.manifest import Manifest, ReceivedFile


@dataclass(frozen=True)
class LoadedFile:
    """What became of one file of a load."""

    file: str
    kind: str
    layout: str
    rows: int
    is_new: bool
    columns_left_out: tuple[int, ...]

    def text(self) -> str:
        """One line for the user."""
        if not self.is_new:
            return f"{self.file}: already loaded, nothing to do ({_rows(self.rows)}, layout {self.layout})."
        left = _positions(self.columns_left_out)
        dropped = f" Columns left out (nothing is made from them), by position: {left}." if left else ""
        return f"{self.file}: {_rows(self.rows)} received by the layout {self.layout}.{dropped}"


@dataclass(frozen=True)
class Plan:
    """A file, or a sheet of a workbook, that was looked at and can be read."""

    name: str
    table: Table
    source_hash: str
    layout: Layout
    transformer: Transformer
    reading_hash: str


# As many as a spreadsheet has. A file with more is cut at the wrong sign, or made to do harm.
MOST_COLUMNS = 16_384
MOST_NAMED = 12  # positions that are listed one by one


def _refuse_width(name: str, headers: Sequence[Sequence[Header]]) -> None:
    """
    Refuse what is no table.

    Raises
    ------
    UnreadableError
        If its header has more columns than any log.
    """
    widest = max(len(header.names) for each in headers for header in each)
    if widest > MOST_COLUMNS:
        raise UnreadableError(
            f"{name} has a line of {widest:,} columns; more than {MOST_COLUMNS:,} are not read. "
            "Delete the empty ones, or see whether it is a table at all."
        )


def _positions(places: Sequence[int]) -> str:
    """
    Positions of columns, neighbours drawn together where there are many.

    >>> _positions([3, 5, 6]), _positions([2, *range(10, 40)])
    ('3, 5, 6', '2, 10 to 39')
    """
    if len(places) <= MOST_NAMED:
        return ", ".join(map(str, places))
    runs: list[list[int]] = []
    for place in places:
        if runs and place == runs[-1][1] + 1:
            runs[-1][1] = place
        else:
            runs.append([place, place])
    return ", ".join(str(a) if a == b else f"{a} to {b}" for a, b in runs)


class TakingIn:
    """
    Takes the files of one load in.

    Parameters
    ----------
    store, key, received
        The store, its key, and what it holds already.
    say : callable
        Told what is being done.
    block_bytes : int
        How much of a file is held in memory at a time.
    """

    def __init__(
        self, store: Store, key: Key, received: Manifest, say: Callable[[str], None], block_bytes: int
    ) -> None:
        self.store, self.key, self.received, self.say = store, key, received, say
        self.block_bytes = block_bytes
        self.entries: list[ReceivedFile] = []
        self.left_out: list[str] = []  # what is said of sheets that are not read

    def look_at(
        self, source: Source, layouts: Mapping[str, Layout], kind: str | None, wanted: str | None
    ) -> list[Plan]:
        """Survey a file and choose its layout, or those of the sheets that have one; nothing is kept yet."""
        name = display_name(source.path)
        self.say(f"Looking at {name}")
        found = tables_of(source, survey(source, self.key))
        headers = [table.headers() for table in found.tables]
        _refuse_width(name, headers)
        fitting = [n for n, each in enumerate(headers) if fits_any(each, layouts, kind, wanted)]
        # Where no sheet fits, the one with the widest record is the one to ask about.
        widest = max(range(len(headers)), key=lambda n: max(header.width for header in headers[n]))
        plans = []
        for n in fitting or [widest]:
            table = found.tables[n]
            called = name if table.sheet is None else f"{name}, sheet {table.sheet}"
            layout, header = choose_layout(called, headers[n], layouts, kind, wanted)
            plans.append(self._plan(called, table, layout, header))
        left = [table.sheet for n, table in enumerate(found.tables) if n not in fitting]
        self._tell_left_out(name, [sheet for sheet in left if sheet is not None], found.hidden)
        return plans

    def _plan(self, name: str, table: Table, layout: Layout, header: Header) -> Plan:
        refuse_headers(name, header.names, layout)
        terms = self._note_terms() if "note" in layout.positions(header.names) else ()
        record = self._record_reader(layout) if layout.record is not None else None
        words = record.vocabulary.all_terms if record is not None else ()
        # The same bytes read in another way are another reading; notes are read by the words known today.
        reading = "|".join((layout.hash, str(READER_VERSION), *terms, *words))
        reading_hash = hashlib.sha256(reading.encode()).hexdigest()[:16]
        transformer = Transformer(header, layout, self.key, terms, record, title=table.title)
        return Plan(name, table, self._source_hash(table), layout, transformer, reading_hash)

    def _source_hash(self, table: Table) -> str:
        """Each sheet is a file of its own: two of them may be read in the same way."""
        if table.sheet is None:
            return table.survey.source_hash
        sheet = f"{table.survey.content_hash}:{table.sheet}".encode()
        return self.key.wrapped(self.key.digest("sheet", sheet)[:32])

    def _tell_left_out(self, name: str, unlike: Sequence[int], hidden: Sequence[int]) -> None:
        if unlike:
            self.left_out.append(f"{name}: not read, because no layout fits: {_sheets(unlike)}.")
        if hidden:
            self.left_out.append(f"{name}: not read, because hidden: {_sheets(hidden)}.")

    def receive(self, plan: Plan) -> LoadedFile:
        """Keep a file's rows, unless the same bytes were read in the same way already."""
        known = self._known(plan)
        entry = known or self._receive(plan)
        if known is None:
            self.entries.append(entry)
        return LoadedFile(
            entry.name, entry.kind, entry.layout, entry.rows, known is None, entry.columns_left_out
        )

    def _known(self, plan: Plan) -> ReceivedFile | None:
        for entry in (*self.received.active, *self.entries):
            if (entry.source_hash, entry.reading_hash) == (plan.source_hash, plan.reading_hash):
                return entry
        return None

    def _receive(self, plan: Plan) -> ReceivedFile:
        path = self.store.received / f"{plan.source_hash}.{plan.reading_hash}.parquet"

        def tell(done: int) -> None:
            self.say(f"Reading {plan.name}: {min(100, 100 * done // plan.table.survey.packed_size)} %")

        blocks = plan.table.blocks(plan.transformer.header, self.block_bytes, tell)
        try:
            rows, digest = receive(blocks, plan.transformer, path)
        except MisplacedError as error:
            raise refused(plan.name, plan.layout, plan.transformer.positions, error) from None
        _refuse_changed(plan, path)
        return ReceivedFile(
            load=self.received.next_load,
            file_no=self.received.next_file_no + len(self.entries),
            kind=plan.layout.kind,
            name=plan.name,
            source_hash=plan.source_hash,
            reading_hash=plan.reading_hash,
            parquet=path.name,
            parquet_sha256=digest,
            layout=plan.layout.name,
            layout_hash=plan.layout.hash,
            reader_version=READER_VERSION,
            key_id=self.key.id,
            rows=rows,
            columns=tuple(column.name for column in plan.transformer.columns),
            columns_left_out=plan.transformer.left_out,
            received_at=self._now(),
        )

    def _now(self) -> str:
        """
        The time now, but none before the loads that came before.

        A clock that was set back would have every row of today dated after its file was received.
        """
        now = datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
        return max([now, *(entry.received_at for entry in self.received.files)])

    def _note_terms(self) -> tuple[str, ...]:
        # Imported here: a file without notes needs no vocabulary.
        from pipeline.vocabulary import known_terms

        return known_terms(self.store.vocabulary)

    def _record_reader(self, layout: Layout) -> RecordReader | None:
        from pipeline.vocabulary import vocabulary

        words = KnownWords(vocabulary(self.store.vocabulary), layout.values)
        return RecordReader(layout.record, words) if layout.record is not None else None


def _refuse_changed(plan: Plan, path: Path) -> None:
    """A file that grew while it was read was surveyed as another file."""
    if plan.table.source.size() != plan.table.survey.packed_size:
        path.unlink()
        raise UnreadableError(
            f"{plan.name} changed while it was read. Wait until it is complete, then load it again."
        )


def _sheets(numbers: Sequence[int]) -> str:
    return f"sheet{'s' * (len(numbers) > 1)} {', '.join(map(str, numbers))}"


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count:,} rows"
