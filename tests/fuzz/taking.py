"""
What becomes of mutated files: taken in one by one by the functions that a load calls, then read together.

Whole builds of ten thousand small files would take hours. Here each file is surveyed, read and kept, and asked about, as in
`pipeline.load`; the rows of many files then become lines and fates in one database in memory. Every so many files one goes
through a whole load besides. Of tens of thousands only that is done which reads a file; its rows then have no fates.
"""

from __future__ import annotations

import faulthandler
import signal
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

import duckdb

from pipeline import build, normalise, questions
from pipeline.errors import MendstatError
from pipeline.intake.block import BLOCK_BYTES
from pipeline.intake.layout_files import known_layouts
from pipeline.intake.layouts import Layout
from pipeline.intake.record_text import RecordReader
from pipeline.intake.source import Source
from pipeline.intake.taking_in import TakingIn
from pipeline.load import load
from pipeline.received_tables import put_received
from pipeline.settings import Settings
from pipeline.sql import VIEW, load_folder, run_order, tables_read
from pipeline.store.folder import Store
from pipeline.store.key import Key
from pipeline.store.manifest import Manifest, ReceivedFile
from sample_logs.exports import layout_files
from tests.fuzz.cases import Case

KEY = Key("0123456789abcdef" * 4)
SECONDS = 30  # a file takes a tenth of a second; other work of the machine must not fail it
SECONDS_ALONE = 10
SECONDS_TO_DUMP = 300
# In turn, so that records are also cut at the borders of blocks.
BLOCKS = (BLOCK_BYTES, BLOCK_BYTES, 1 << 13, BLOCK_BYTES, BLOCK_BYTES, 2500)


class HangError(BaseException):
    """A file took too long. No handler of ordinary errors may swallow it."""


@dataclass
class Outcome:
    """
    What became of a file.

    Attributes
    ----------
    case : Case
        The file.
    refused : MendstatError or None
        Where it was refused or a question was asked.
    received : int
        Rows kept.
    fates : dict of int to tuple, or None
        By record: fate, column and reason; None where the file was only read.
    """

    case: Case
    refused: MendstatError | None = None
    received: int = 0
    fates: dict[int, tuple[str, str | None, str | None]] | None = field(default_factory=dict)


class FewWords(TakingIn):
    """As in a load, but notes are read for a few words, and what reads a record is made once for a layout."""

    readers: ClassVar[dict[str, RecordReader | None]] = {}

    def _note_terms(self) -> tuple[str, ...]:
        return ("leaking", "not heating", "smoke", "burning smell", "key safe")

    def _record_reader(self, layout: Layout) -> RecordReader | None:
        if layout.hash not in self.readers:
            self.readers[layout.hash] = super()._record_reader(layout)
        return self.readers[layout.hash]


@contextmanager
def time_limit(seconds: float = SECONDS) -> Iterator[None]:
    """End what takes too long: by an alarm, or where nothing listens by the end of the process."""

    def stop(*_: Any) -> None:
        raise HangError

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    faulthandler.dump_traceback_later(SECONDS_TO_DUMP, exit=True)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
        faulthandler.cancel_dump_traceback_later()


def with_layouts(folder: Path) -> Store:
    """A store whose shop described the sample exports."""
    store = Store(folder)
    store.layouts.mkdir(parents=True, exist_ok=True)
    for name, path in layout_files().items():
        (store.layouts / f"{name}.toml").write_bytes(path.read_bytes())
    return store


def outcomes(folder: Path, cases: Sequence[Case]) -> list[Outcome]:
    """What becomes of some files, taken into one store."""
    store = with_layouts(folder)
    store.received.mkdir(exist_ok=True)
    layouts = known_layouts(store.layouts)
    entries: list[ReceivedFile] = []
    found = []
    for number, case in enumerate(cases, start=1):
        taking = FewWords(store, KEY, Manifest(files=tuple(entries)), _silent, BLOCKS[number % len(BLOCKS)])
        outcome = Outcome(case)
        kept: list[Any] = []
        found.append((outcome, kept))
        with time_limit():
            try:
                plans = taking.look_at(Source(Path(case.sample.name), case.content), layouts, None, None)
                for plan in plans:
                    taking.receive(plan)
                questions.ask(store, plans, taking.entries)
            except MendstatError as error:
                outcome.refused = error
                known_layouts(store.layouts)  # what was written for an answer can be read
                continue
        # The same bytes as in a file before are that file.
        kept += [taking._known(plan) for plan in plans]
        entries += taking.entries
    with time_limit(SECONDS * (1 + len(entries) // 5)):
        fates = _fates(store, entries, layouts)
    for outcome, kept in found:
        for entry in kept:
            outcome.received += entry.rows
            outcome.fates |= fates.get(entry.file_no, {})
    return [outcome for outcome, _ in found]


def only_read(folder: Path, cases: Sequence[Case]) -> list[Outcome]:
    """What becomes of some files up to where their rows are kept, each in a store of its own within `SECONDS_ALONE`."""
    store = with_layouts(folder)
    store.received.mkdir(exist_ok=True)
    layouts = known_layouts(store.layouts)
    found = []
    for number, case in enumerate(cases, start=1):
        # Small blocks cost most of the time and are tried where rows get fates.
        taking = FewWords(store, KEY, Manifest(), _silent, BLOCK_BYTES if number % 8 else BLOCKS[2])
        outcome = Outcome(case, fates=None)
        found.append(outcome)
        with time_limit(SECONDS_ALONE):
            try:
                for plan in taking.look_at(Source(Path(case.sample.name), case.content), layouts, None, None):
                    taking.receive(plan)
            except MendstatError as error:
                outcome.refused = error
        outcome.received = sum(entry.rows for entry in taking.entries)
        for path in store.received.iterdir():
            assert path.name in {entry.parquet for entry in taking.entries}, f"left over: {path.name}"
            path.unlink()
    return found


def whole_load(folder: Path, case: Case) -> Outcome:
    """What becomes of a file in a whole load into a store of its own."""
    store = with_layouts(folder / "store")
    outcome = Outcome(case)
    with time_limit():
        try:
            load(store.folder, [Source(Path(case.sample.name), case.content)], key_path=folder / "key")
        except MendstatError as error:
            outcome.refused = error
            return outcome
    outcome.received = sum(entry.rows for entry in store.manifest.active)
    with store.connect() as con:
        outcome.fates = _read_fates(con).get(1, {})
    return outcome


def _silent(_text: str) -> None:
    pass


def _fates(store: Store, entries: list[ReceivedFile], layouts: Any) -> dict[int, dict[int, Any]]:
    with duckdb.connect(config={"threads": 2}) as con:
        con.execute("set TimeZone = 'UTC'")
        build._put_settings(con, Settings(), ("", "", ""))
        put_received(con, store.received, entries, [])
        normalise.run(con, Settings(), layouts, store.vocabulary)
        con.execute("create schema tables")
        for name, text in _tables_up_to_fates():
            con.execute(f"create {'view' if VIEW in text else 'table'} tables.{name} as {text}")
        return _read_fates(con)


def _read_fates(con: duckdb.DuckDBPyConnection) -> dict[int, dict[int, Any]]:
    found: dict[int, dict[int, Any]] = {}
    sql = "select file_no, record, fate, column_name, reason from tables.fates order by all"
    for file_no, record, *fate in con.execute(sql).fetchall():
        assert record not in found.setdefault(file_no, {}), "a row has two fates"
        found[file_no][record] = tuple(fate)
    return found


@cache
def _tables_up_to_fates() -> list[tuple[str, str]]:
    """Names and texts of the tables that the fates of rows are made from, in their order."""
    texts = load_folder("tables")
    with duckdb.connect() as con:
        order = run_order(con, "tables", texts)
        reads = {name: tables_read(con, texts[name]) for name in order}
    needed = {"fates"}
    for name in reversed(order):
        if name in needed:
            needed |= {each.removeprefix("tables.") for each in reads[name] if each.startswith("tables.")}
    return [(name, texts[name]) for name in order if name in needed]
