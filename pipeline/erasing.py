"""One customer forgotten: every row of an address erased from everything received, and from everything built of it."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import polars as pl

from pipeline.errors import CannotAnswerError
from pipeline.intake.identity import DOMAINS, identity
from pipeline.rewriting import finish, rewritten, take_over, unused_name
from pipeline.store import corrections
from pipeline.store import key as keys
from pipeline.store.folder import Store
from pipeline.store.key import Key
from pipeline.store.manifest import ReceivedFile

BETWEEN_PARTS = "|"
_PSEUDONYM = re.compile(r"[A-Za-z0-9_-]{12}")


@dataclass(frozen=True)
class _Customer:
    """What tells the rows of one address: its pseudonyms, its jobs, and the machines that only ever stood there."""

    sites: frozenset[str]
    jobs: frozenset[tuple[str, str]]
    machines: frozenset[str]


def forget_site(store_path: Path, site: str, key_path: Path, progress: Callable[[str], None]) -> int:
    """
    Erase an address: its rows, the rows of its jobs and machines that name no address, and its machines in the list.

    Parameters
    ----------
    store_path, key_path : Path
        The store and its key.
    site : str
        As the firm's files have it; the parts of an address that a layout makes from several columns stand with `|`
        between them. Or the pseudonym.
    progress : callable
        Told what is being done.

    Returns
    -------
    int
        How many rows were erased.

    Raises
    ------
    CannotAnswerError
        If the store holds no such address.
    """
    store = Store(store_path)
    with store.lock():
        store.clear_leftovers()
        manifest = store.manifest
        sites = _pseudonyms(site, keys.key_for(manifest.key_check, key_path))
        customer = _look_up(store, manifest.files, sites)
        if not customer.sites:
            # An erasure that was killed left nothing to erase, but perhaps a build that still holds it.
            finish(store, progress)
            # The address itself is not repeated: a message may end in a file.
            raise CannotAnswerError(
                "No row of that address is in the store. Write it as your files have it; where a layout makes an "
                "address from several columns, write all of them with | between."
            )
        entries, gone = [], set()
        for entry in manifest.files:
            progress(f"Erasing from {entry.name}")
            new, records = _without(store, entry, customer)
            entries.append(new)
            gone |= {(entry.source_hash, record) for record in records}
        kept = [
            each for each in corrections.read(store.corrections) if not _is_on(each.row, gone, manifest.files)
        ]
        take_over(store, replace(manifest, files=tuple(entries)), kept, progress)
        return len(gone)


def _pseudonyms(site: str, key: Key) -> frozenset[str]:
    parts = [pl.Series("site", [part.strip()], dtype=pl.String) for part in site.split(BETWEEN_PARTS)]
    found = {identity(parts, DOMAINS["site_id"], key).item()}
    if _PSEUDONYM.fullmatch(site):
        found.add(site)
    return frozenset(found - {None})


def _look_up(store: Store, entries: tuple[ReceivedFile, ...], sites: frozenset[str]) -> _Customer:
    there: set[str] = set()
    jobs: set[tuple[str, str]] = set()
    machines: dict[str, set[str | None]] = {}
    for entry in entries:
        rows = _read(store, entry, ("source", "job_id", "unit_id", "site_id"))
        if "site_id" not in rows.columns:
            continue
        here = rows.filter(pl.col("site_id").is_in(sorted(sites)))
        there |= set(here.get_column("site_id"))
        if {"source", "job_id"} <= set(rows.columns):
            jobs |= set(here.drop_nulls("job_id").select("source", "job_id").unique().iter_rows())
        if "unit_id" in rows.columns:
            theirs = here.get_column("unit_id").drop_nulls().unique()
            placed = rows.filter(pl.col("unit_id").is_in(theirs.to_list()) & pl.col("site_id").is_not_null())
            for unit, site in placed.select("unit_id", "site_id").unique().iter_rows():
                machines.setdefault(unit, set()).add(site)
    only_there = frozenset(unit for unit, places in machines.items() if places <= sites)
    return _Customer(frozenset(there), frozenset(jobs), only_there)


def _read(store: Store, entry: ReceivedFile, columns: tuple[str, ...]) -> pl.DataFrame:
    scan = pl.scan_parquet(store.received / entry.parquet)
    there = set(scan.collect_schema().names())
    return scan.select([name for name in columns if name in there]).collect()


def _without(store: Store, entry: ReceivedFile, customer: _Customer) -> tuple[ReceivedFile, list[int]]:
    """The entry without the customer's rows, and the records that went; the same entry where none was there."""
    rows = _read(store, entry, ("record", "source", "job_id", "unit_id", "site_id"))
    theirs = rows.filter(_is_theirs(rows, customer)).get_column("record").to_list()
    if not theirs:
        return entry, []
    new = rewritten(
        store,
        entry,
        unused_name(entry, entry.source_hash),
        lambda some: some.filter(~pl.col("record").is_in(theirs)),
    )
    return replace(new, erased=entry.erased + len(theirs)), theirs


def _is_theirs(rows: pl.DataFrame, customer: _Customer) -> pl.Series:
    there = set(rows.columns)
    no_site = pl.col("site_id").is_null() if "site_id" in there else pl.lit(value=True)
    theirs = pl.lit(value=False)
    if "site_id" in there:
        theirs = theirs | pl.col("site_id").is_in(sorted(customer.sites))
    if "unit_id" in there:
        theirs = theirs | (no_site & pl.col("unit_id").is_in(sorted(customer.machines)))
    if {"source", "job_id"} <= there and customer.jobs:
        jobs = pl.DataFrame(sorted(customer.jobs), schema=["source", "job_id"], orient="row")
        of_job = rows.select("source", "job_id").join(
            jobs.with_columns(pl.lit(value=True).alias("found")),
            on=["source", "job_id"],
            how="left",
            maintain_order="left",
        )
        theirs = theirs | (no_site & pl.Series(of_job.get_column("found").fill_null(value=False)))
    return rows.select(theirs.fill_null(value=False).alias("theirs")).to_series()


def _is_on(row: str, gone: set[tuple[str, int]], entries: tuple[ReceivedFile, ...]) -> bool:
    at = corrections.row_of(row, entries)
    return at is not None and (at[0].source_hash, at[1]) in gone
