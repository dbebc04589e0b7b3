"""What the store has received: one entry per file, swapped by rename."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any, Literal

from pipeline.errors import UnreadableError
from pipeline.store import atomic

STORE_VERSION = 1

State = Literal["active", "superseded"]


@dataclass(frozen=True)
class ReceivedFile:
    """
    One file taken in.

    Hashes of the source are keyed: without the key nobody can test whether a file they hold was loaded.
    `rows` are those that are still there. `columns_left_out` are 1-based positions, because a header nobody mapped may itself be a name.
    """

    load: int
    file_no: int
    kind: str
    name: str
    source_hash: str
    reading_hash: str
    parquet: str
    parquet_sha256: str
    layout: str
    layout_hash: str
    reader_version: int
    key_id: str
    rows: int
    columns: tuple[str, ...]
    columns_left_out: tuple[int, ...]
    received_at: str
    state: State = "active"
    erased: int = 0  # rows of customers who asked to be forgotten


@dataclass(frozen=True)
class Manifest:
    """Everything received, oldest first, and the check value of the key it was received with."""

    key_check: str = ""
    files: tuple[ReceivedFile, ...] = ()
    store_version: int = STORE_VERSION
    layouts: dict[str, dict[str, Any]] = field(default_factory=dict)  # by hash: how the files were read

    @property
    def active(self) -> tuple[ReceivedFile, ...]:
        """Files that count, in the order of their loads."""
        return tuple(entry for entry in self.files if entry.state == "active")

    @property
    def next_load(self) -> int:
        """Number of the next load."""
        return max((entry.load for entry in self.files), default=0) + 1

    @property
    def next_file_no(self) -> int:
        """Number of the next file; never used twice."""
        return max((entry.file_no for entry in self.files), default=0) + 1

    def holding(self, source_hash: str, reading_hash: str) -> ReceivedFile | None:
        """Active entry of the same bytes read in the same way, if there is one."""
        for entry in self.active:
            if (entry.source_hash, entry.reading_hash) == (source_hash, reading_hash):
                return entry
        return None

    def with_files(self, new: list[ReceivedFile]) -> Manifest:
        """
        Add a load's files.

        The same bytes read another way supersede their earlier reading; of a list (machines, parts, stock,
        notices) only the newest load counts.
        """
        sources = {entry.source_hash for entry in new}
        lists = {entry.kind for entry in new if entry.kind != "log"}
        kept = tuple(
            replace(entry, state="superseded")
            if entry.source_hash in sources or entry.kind in lists
            else entry
            for entry in self.files
        )
        return replace(self, files=kept + tuple(new))

    def digest(self) -> str:
        """Fingerprint of the manifest: a build names the manifest it was made from."""
        return hashlib.sha256(to_text(self).encode()).hexdigest()[:16]


def to_text(manifest: Manifest) -> str:
    """Manifest as JSON, the same text for the same content."""
    return _text(asdict(manifest))


def _text(values: dict[str, Any]) -> str:
    return json.dumps(values, indent=1, sort_keys=True, ensure_ascii=False) + "\n"


def _hash(values: dict[str, Any]) -> str:
    return hashlib.sha256(_text(values).encode()).hexdigest()


def write(manifest: Manifest, path: Path) -> None:
    """Swap the manifest: from then on the load it describes is visible. It holds its own hash, so that damage is found."""
    values = asdict(manifest)
    atomic.write_text(path, _text({**values, "sha256": _hash(values)}))


def read(path: Path) -> Manifest:
    """
    Read the manifest of a store; an absent file is an empty store.

    Raises
    ------
    UnreadableError
        If it is damaged, or was written by a later version.
    """
    if not path.exists():
        return Manifest()
    try:
        values = json.loads(path.read_text(encoding="utf-8"))
        version = int(values["store_version"])
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        raise UnreadableError(
            f"{path} is damaged ({type(error).__name__}). Put the folder `received` back from a back-up."
        ) from None
    if version > STORE_VERSION:
        raise UnreadableError(
            f"The store {path.parent.parent} was written by a later mendstat (store version {version}, "
            f"this one knows {STORE_VERSION}). Install the later version."
        )
    # Earlier versions wrote no hash.
    if values.pop("sha256", None) not in (None, _hash(values)):
        raise UnreadableError(
            f"{path} is damaged (it is not as it was written). Put the folder `received` back from a back-up."
        )
    return _from_values(values, path)


def _from_values(values: dict[str, Any], path: Path) -> Manifest:
    try:
        files = tuple(
            ReceivedFile(
                **{
                    **entry,
                    "columns": tuple(entry["columns"]),
                    "columns_left_out": tuple(entry["columns_left_out"]),
                }
            )
            for entry in values.pop("files")
        )
        return Manifest(files=files, **values)
    except (TypeError, KeyError) as error:
        raise UnreadableError(
            f"{path} is damaged ({error}). Put the folder `received` back from a back-up."
        ) from None
