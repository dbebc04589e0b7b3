"""Mended cells: what a person gave for cells of rows set aside, kept beside what was received and never overwritten."""

from __future__ import annotations

import csv
import hashlib
import io
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from pipeline.errors import UnreadableError
from pipeline.standard_log import mendable_columns
from pipeline.store import atomic
from pipeline.store.manifest import ReceivedFile

COLUMNS = ("row", "column", "value")
# Given for a cell of which nothing is known: it becomes empty.
NOTHING = "-"
_HASH_LENGTH = 12  # of the keyed hash of the source; 48 bits
# The letter keeps an office program from taking a reference for a number or a date.
_REFERENCE = re.compile(rf"r([0-9a-f]{{{_HASH_LENGTH}}})-([1-9]\d{{0,10}})")
_NUMBERED = re.compile(r"(\d+)\.csv")


@dataclass(frozen=True)
class Correction:
    """One mended cell: the reference of its row, its column, and the value as text or `-` for nothing known."""

    row: str
    column: str
    value: str


@dataclass(frozen=True)
class Mended:
    """One mended cell of a row that is there: file, record, column, and the value or None for nothing known."""

    file_no: int
    record: int
    column: str
    value: str | None


def reference(source_hash: str, record: int) -> str:
    """
    Reference of a row: it stays the same whenever and however its source is read.

    Parameters
    ----------
    source_hash : str
        Keyed hash of the source.
    record : int
        1-based number of the record in it.
    """
    return f"r{source_hash[:_HASH_LENGTH]}-{record}"


def with_sources(corrections: Sequence[Correction], renamed: Mapping[str, str]) -> list[Correction]:
    """The same corrections on sources that have another hash now; those of other sources as they are."""
    short = {old[:_HASH_LENGTH]: new[:_HASH_LENGTH] for old, new in renamed.items()}
    changed = []
    for correction in corrections:
        found = _REFERENCE.fullmatch(correction.row)
        if found is not None and found.group(1) in short:
            row = reference(short[found.group(1)], int(found.group(2)))
            changed.append(Correction(row, correction.column, correction.value))
        else:
            changed.append(correction)
    return changed


def row_of(text: str, entries: Sequence[ReceivedFile]) -> tuple[ReceivedFile, int] | None:
    """File and record that a reference names; None where no such row is there."""
    found = _REFERENCE.fullmatch(text)
    if found is None:
        return None
    record = int(found.group(2))
    for entry in entries:
        if entry.source_hash.startswith(found.group(1)) and record <= entry.rows + entry.erased:
            return entry, record
    return None


def placed(
    corrections: Iterable[Correction], entries: Sequence[ReceivedFile]
) -> tuple[list[Mended], list[Correction]]:
    """
    Corrections on the rows they belong to, and those whose row is gone; of one cell the later correction counts.

    Parameters
    ----------
    corrections : iterable of Correction
        In the order in which they were given.
    entries : sequence of ReceivedFile
        Files that count.
    """
    latest = {(correction.row, correction.column): correction for correction in corrections}
    mended, gone = [], []
    for correction in latest.values():
        at = row_of(correction.row, entries)
        if at is None or correction.column not in mendable_columns(at[0].kind):
            gone.append(correction)
        else:
            value = None if correction.value == NOTHING else correction.value
            mended.append(Mended(at[0].file_no, at[1], correction.column, value))
    return mended, gone


def read(folder: Path) -> tuple[Correction, ...]:
    """
    All corrections of a store, in the order in which they were given.

    Raises
    ------
    UnreadableError
        If a file of them is damaged.
    """
    return tuple(correction for path in _files(folder) for correction in _read_file(path))


def digest(folder: Path) -> str:
    """Fingerprint of all corrections; a build names the corrections it was made with. Empty without any."""
    contents = [(path.name, path.read_bytes()) for path in _files(folder)]
    if not contents:
        return ""
    total = hashlib.sha256()
    for name, content in contents:
        total.update(f"{name} {len(content)}\n".encode() + content)
    return total.hexdigest()[:16]


def keep(folder: Path, corrections: Sequence[Correction]) -> Path:
    """
    Keep corrections in a new file, numbered after those that are there. Needs the lock of the store.

    Returns
    -------
    Path
        The new file.
    """
    folder.mkdir(exist_ok=True)
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows((correction.row, correction.column, correction.value) for correction in corrections)
    number = max((int(path.stem) for path in _files(folder)), default=0) + 1
    path = folder / f"{number:04d}.csv"
    atomic.write_text(path, text.getvalue())
    return path


def replace_all(folder: Path, corrections: Sequence[Correction]) -> list[Path]:
    """
    Keep corrections in a new file that is to stand for all earlier ones. Needs the lock of the store.

    Returns
    -------
    list of Path
        The earlier files, for the caller to remove once nothing refers to them.
    """
    earlier = _files(folder)
    if earlier:
        keep(folder, corrections)
    return earlier


def _files(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    found = [path for path in folder.iterdir() if _NUMBERED.fullmatch(path.name)]
    return sorted(found, key=lambda path: int(path.stem))


def _read_file(path: Path) -> Iterator[Correction]:
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise _damaged(path, f"({type(error).__name__})") from None
    reader = csv.reader(io.StringIO(text, newline=""))
    if tuple(next(reader, ())) != COLUMNS:
        raise _damaged(path, f"(its first line is not {','.join(COLUMNS)})")
    for cells in reader:
        if len(cells) != len(COLUMNS) or not all(cells):
            raise _damaged(path, f"in line {reader.line_num}")
        yield Correction(*cells)


def _damaged(path: Path, where: str) -> UnreadableError:
    return UnreadableError(f"{path} is damaged {where}. Put the folder `corrections` back from a back-up.")
