"""The files of one load: looked at, read, entered for the manifest."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pipeline.errors import UnreadableError
from pipeline.intake.csv_file import read_header
from pipeline.intake.layouts import Layout
from pipeline.intake.received import receive
from pipeline.intake.recognise import choose_layout, display_name
from pipeline.intake.source import Source, Survey, survey
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
        left = ", ".join(str(position) for position in self.columns_left_out)
        dropped = f" Columns left out (nothing is made from them), by position: {left}." if left else ""
        return f"{self.file}: {_rows(self.rows)} received by the layout {self.layout}.{dropped}"


@dataclass(frozen=True)
class Plan:
    """A file that was looked at and can be read."""

    source: Source
    survey: Survey
    layout: Layout
    transformer: Transformer
    reading_hash: str


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

    def look_at(
        self, source: Source, layouts: Mapping[str, Layout], kind: str | None, wanted: str | None
    ) -> Plan:
        """Survey a file and choose its layout; nothing is kept yet."""
        name = display_name(source.path)
        self.say(f"Looking at {name}")
        found = survey(source, self.key)
        header = read_header(source, found)
        layout = choose_layout(name, header, layouts, kind, wanted)
        terms = self._note_terms() if "note" in layout.positions(header.names) else ()
        # The same bytes read in another way are another reading; notes are read by the words known today.
        reading = "|".join((layout.hash, str(READER_VERSION), *terms))
        reading_hash = hashlib.sha256(reading.encode()).hexdigest()[:16]
        return Plan(source, found, layout, Transformer(header, layout, self.key, terms), reading_hash)

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
            if (entry.source_hash, entry.reading_hash) == (plan.survey.source_hash, plan.reading_hash):
                return entry
        return None

    def _receive(self, plan: Plan) -> ReceivedFile:
        name = display_name(plan.source.path)
        path = self.store.received / f"{plan.survey.source_hash}.{plan.reading_hash}.parquet"

        def tell(done: int) -> None:
            self.say(f"Reading {name}: {min(100, 100 * done // plan.survey.packed_size)} %")

        rows, digest = receive(
            plan.source, plan.survey, plan.transformer, path, block_bytes=self.block_bytes, tell=tell
        )
        _refuse_changed(plan, name, path)
        return ReceivedFile(
            load=self.received.next_load,
            file_no=self.received.next_file_no + len(self.entries),
            kind=plan.layout.kind,
            name=name,
            source_hash=plan.survey.source_hash,
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
            received_at=datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z"),
        )

    def _note_terms(self) -> tuple[str, ...]:
        # Imported here: a file without notes needs no vocabulary.
        from pipeline.vocabulary import known_terms

        return known_terms(self.store.vocabulary)


def _refuse_changed(plan: Plan, name: str, path: Path) -> None:
    """A file that grew while it was read was surveyed as another file."""
    if plan.source.size() != plan.survey.packed_size:
        path.unlink()
        raise UnreadableError(
            f"{name} changed while it was read. Wait until it is complete, then load it again."
        )


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count:,} rows"
