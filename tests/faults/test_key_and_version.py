"""A wrong key, and a store that an earlier version made: one sentence, and nothing of what answered is lost."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import duckdb
import polars.selectors as cs
import pytest

from pipeline.load import load, log_check
from pipeline.measures import Question, evaluate
from pipeline.store import key as keys
from pipeline.store.folder import Store
from pipeline.store.opening import BUILD_VERSION
from tests.faults.dying import Dying
from tests.privacy.searching import holding
from tests.twins.plain_log import PLANTED, write_log

JOBS, LATER_JOBS = 60, 20


@pytest.fixture(scope="module")
def scene(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("scene")
    write_log(folder / "first.csv", JOBS, seed=1)
    write_log(folder / "later.csv", LATER_JOBS, seed=2, prefix="K")
    load(folder / "store", [folder / "first.csv"], key_path=folder / "key")
    return folder


@pytest.fixture
def place(scene: Path, tmp_path: Path) -> Path:
    return shutil.copytree(scene, tmp_path / "copy")


def figures(place: Path) -> list[object]:
    """Figures and accounts; the rows add up."""
    with Store(place / "store").connect() as con:
        found = evaluate(con, "fixed-share", Question(by=("unit_type",)))
    accounts = log_check(place / "store")
    for account in accounts:
        parts = ("used", "repeated", "replaced", "set_aside")
        assert account["received"] == sum(account[each] for each in parts)
    return [found.with_columns(cs.float().round_sig_figs(9)).to_dicts(), accounts]


def test_load_with_a_wrong_key_is_refused_and_everything_still_answers(place: Path, warm: Dying) -> None:
    before, manifest = figures(place), Store(place / "store").manifest
    keys.make(place / "other")
    given = ["load", place / "later.csv", "--store", place / "store", "--key"]
    died = warm.run([*given, place / "other"], place / "said")
    assert died.code == 3
    assert "is not the key this store was made with" in died.said
    assert "Figures can still be read" in died.said
    assert (figures(place), Store(place / "store").manifest) == (before, manifest)
    assert len(list((place / "store" / "received").iterdir())) == 2
    assert warm.run([*given, place / "key"], place / "said").code == 0
    assert sum(account["received"] for account in figures(place)[1]) == JOBS + LATER_JOBS
    assert holding(place / "store", PLANTED) == []


def test_store_of_an_earlier_version_says_how_it_goes_on_and_then_says_the_same(
    place: Path, warm: Dying
) -> None:
    before, store = figures(place), Store(place / "store")
    values = json.loads(store.manifest_path.read_text(encoding="utf-8"))
    del values["sha256"]  # earlier versions wrote none
    store.manifest_path.write_text(json.dumps(values), encoding="utf-8")
    build = store.current_build()
    assert build is not None
    with duckdb.connect(build) as con:
        con.execute(f"update settings.build set version = {BUILD_VERSION - 1}")
    measure = ["measure", "fixed-share", "--store", store.folder]
    died = warm.run(measure, place / "said")
    assert died.code == 3
    assert "an older version" in died.said
    assert "mendstat reread" in died.said
    assert warm.run(["reread", "--store", store.folder], place / "said").code == 0
    assert warm.run(measure, place / "said").code == 0
    assert figures(place) == before
