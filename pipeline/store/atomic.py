"""Files that are there whole or not at all: temporary name, fsync, rename."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

TEMPORARY = ".unfinished"


def temporary_name(path: Path) -> Path:
    """Name beside `path` under which it is written; `remove_unfinished` knows it by its ending."""
    return path.with_name(f"{path.name}.{secrets.token_hex(4)}{TEMPORARY}")


def put_in_place(temporary: Path, path: Path) -> None:
    """Make a finished file durable, give it its name, and make the name durable."""
    sync(temporary)
    temporary.replace(path)
    sync(path.parent)


def write_text(path: Path, text: str) -> None:
    """Write a text file so that a reader sees the old or the new text, never a part."""
    temporary = temporary_name(path)
    try:
        temporary.write_text(text, encoding="utf-8")
        put_in_place(temporary, path)
    except BaseException:
        temporary.unlink(missing_ok=True)
        raise


def sync(path: Path) -> None:
    """Wait until a file or a folder is on the disk."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def remove_unfinished(folder: Path) -> None:
    """Remove what a killed load left behind in a folder. Only whoever holds the lock may call this."""
    for path in folder.glob(f"*{TEMPORARY}"):
        path.unlink(missing_ok=True)
