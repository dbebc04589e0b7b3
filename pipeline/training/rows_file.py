"""A small table that people fill in through a page, kept in the store as one CSV file written whole or not at all."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from pathlib import Path

from pipeline.errors import UnreadableError
from pipeline.store import atomic
from pipeline.store.folder import Store


def read_rows(path: Path, columns: Sequence[str]) -> list[dict[str, str]]:
    """
    Rows of the file, in order; none where there is no file yet.

    Raises
    ------
    UnreadableError
        If it is not what `write_rows` makes.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return []
    except (OSError, UnicodeDecodeError) as error:
        raise _damaged(path, type(error).__name__) from None
    reader = csv.reader(io.StringIO(text, newline=""))
    if next(reader, []) != list(columns):
        raise _damaged(path, f"its first line is not {','.join(columns)}")
    rows = []
    for cells in reader:
        if len(cells) != len(columns):
            raise _damaged(path, f"line {reader.line_num} has {len(cells)} cells, not {len(columns)}")
        rows.append(dict(zip(columns, cells, strict=True)))
    return rows


def write_rows(store: Store, path: Path, columns: Sequence[str], rows: Sequence[Mapping[str, str]]) -> None:
    """Write the rows in place of those that were there; takes the lock of the store."""
    text = io.StringIO()
    writer = csv.DictWriter(text, columns, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    with store.lock():
        atomic.write_text(path, text.getvalue())


def _damaged(path: Path, why: str) -> UnreadableError:
    return UnreadableError(
        f"{path} is damaged ({why}). Put it back from a back-up, or remove it to begin anew."
    )
