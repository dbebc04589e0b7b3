"""An erasure that is killed before its new build answers is finished by giving the command again."""

from __future__ import annotations

import signal
from pathlib import Path

import duckdb
import polars as pl

from pipeline.load import load
from pipeline.store.folder import Store
from tests.faults.dying import Dying
from tests.twins.plain_log import PLANTED, write_log

SITE = f"{PLANTED[0]}, 5 Larkspur Row"


def sites_built(store: Store) -> set[str]:
    """Pseudonyms of addresses in every build that lies in the store."""
    found: set[str] = set()
    for build in store.folder.glob("fleet-*.duckdb"):
        with duckdb.connect(build, read_only=True) as con:
            found |= {site for (site,) in con.execute("select distinct site_id from tables.jobs").fetchall()}
    return found


def test_erasure_killed_after_its_rows_went_leaves_no_build_with_them_once_it_is_given_again(
    tmp_path: Path, warm: Dying
) -> None:
    write_log(tmp_path / "log.csv", 60, seed=1)
    store = Store(tmp_path / "store")
    load(store.folder, [tmp_path / "log.csv"], key_path=tmp_path / "key")
    arguments = ["forget", "--site", SITE, "--store", store.folder, "--key", tmp_path / "key"]
    before = store.manifest
    for step in range(1, 20):
        died = warm.run(arguments, tmp_path / "said", step=step)
        assert died.code == -signal.SIGKILL
        if store.manifest != before:
            break
    # The manifest has changed, and the build that answers is still the one of the rows as they were.
    there = set(pl.read_parquet(store.received / store.manifest.active[0].parquet)["site_id"])
    assert sites_built(store) > there
    again = warm.run(arguments, tmp_path / "said")
    assert (again.code, "No row of that address" in again.said) == (1, True)
    assert sites_built(store) == there
