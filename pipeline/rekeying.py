"""Another key for a store: `rotate` keeps what belongs together together, `forget` cuts it off from every key."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.intake.identity import PSEUDONYM_MARK, wrapped_digests, wrapped_pseudonyms
from pipeline.rewriting import rewritten, take_over, unused_name
from pipeline.standard_log import FROM_SERIAL, columns_of_kind
from pipeline.store import corrections
from pipeline.store import key as keys
from pipeline.store.folder import Store
from pipeline.store.key import Key, wrapped

Progress = Callable[[str], None]
FROM_SERIAL_KEYED = tuple(column.name for column in FROM_SERIAL if column.kind == "identity")


def rotate(store_path: Path, key_path: Path, progress: Progress) -> None:
    """
    Put one more wrap around the key, and around every pseudonym in the store.

    The same machine keeps one pseudonym before and after, so figures and later loads do not change. Whoever holds
    only the key of before can test nothing against the store any more.

    Raises
    ------
    CannotAnswerError
        If nothing was ever received.
    UnreadableError
        If the key is missing or not the store's, or the store cannot be written.
    """
    store = _used(store_path)
    with store.lock():
        store.clear_leftovers()
        key = keys.key_for(store.manifest.key_check, key_path)
        longer = _longer(key_path, key)
        _wrap(store, longer.wraps[len(key.wraps) :], longer, progress)


def forget(store_path: Path, key_path: Path, progress: Progress) -> None:
    """
    Wrap every pseudonym in the store with a key that is thrown away.

    Nobody, the firm included, can test any more whether a given machine or address is in the store. What is in it
    stays together; what is loaded later does not join it. The old key is not needed, so this works without it.

    Raises
    ------
    CannotAnswerError
        If nothing was ever received.
    UnreadableError
        If the store cannot be written.
    """
    store = _used(store_path)
    with store.lock():
        store.clear_leftovers()
        later = _longer(key_path, keys.read(key_path)) if key_path.exists() else keys.make(key_path)
        _wrap(store, (keys.new_wrap(),), later, progress)


def _used(store_path: Path) -> Store:
    store = Store(store_path)
    if not store.manifest.files:
        raise CannotAnswerError(
            f"Nothing is loaded in {store_path} yet, so it has no key. The first load makes one."
        )
    return store


def _longer(path: Path, key: Key) -> Key:
    """
    The key with further wraps: those its file has already, else a new one.

    The file has more wraps than the store knows where another store with this key was rotated, or where an earlier
    rotation of this store was stopped half-way.
    """
    held = keys.read(path)
    return held if len(held.wraps) > len(key.wraps) else keys.extend(path, keys.new_wrap())


def _wrap(store: Store, wraps: tuple[str, ...], later: Key, say: Progress) -> None:
    manifest = store.manifest
    kept = list(corrections.read(store.corrections))
    renamed: dict[str, str] = {}
    entries = []
    for number, entry in enumerate(manifest.files, start=1):
        say(f"Writing received file {number} of {len(manifest.files)} under the new key")
        source_hash = entry.source_hash
        for wrap in wraps:
            source_hash = wrapped(source_hash, wrap)
        renamed[entry.source_hash] = source_hash
        identities = (*columns_of_kind(entry.kind, "identity"), *FROM_SERIAL_KEYED)
        numbers = ("source", *columns_of_kind(entry.kind, "number_of_job"))
        change = partial(_wrapped_rows, identities=identities, numbers=numbers, wraps=wraps)
        new = rewritten(store, entry, unused_name(entry, source_hash), change)
        entries.append(replace(new, source_hash=source_hash, key_id=later.id))
    changed = replace(manifest, files=tuple(entries), key_check=later.check)
    take_over(store, changed, corrections.with_sources(kept, renamed), say)


def _wrapped_rows(
    rows: pl.DataFrame, identities: tuple[str, ...], numbers: tuple[str, ...], wraps: tuple[str, ...]
) -> pl.DataFrame:
    for wrap in wraps:
        columns = [wrapped_digests(rows.get_column("row_digest"), wrap)]
        columns += [
            wrapped_pseudonyms(rows.get_column(name), wrap) for name in identities if name in rows.columns
        ]
        columns += [_wrapped_numbers(rows.get_column(name), wrap) for name in numbers if name in rows.columns]
        rows = rows.with_columns(columns)
    return rows


def _wrapped_numbers(numbers: pl.Series, wrap: str) -> pl.Series:
    """Numbers of jobs that intake replaced, because somebody's name stood for one; the others as they are."""
    replaced = numbers.drop_nulls().unique()
    replaced = replaced.filter(replaced.str.contains(rf"^{PSEUDONYM_MARK}[A-Za-z0-9_-]{{12}}$"))
    if not len(replaced):
        return numbers
    inner = wrapped_pseudonyms(replaced.str.strip_prefix(PSEUDONYM_MARK), wrap)
    return numbers.replace(replaced, PSEUDONYM_MARK + inner)
