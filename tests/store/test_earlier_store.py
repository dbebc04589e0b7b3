"""
A small store as mendstat wrote it on its first working day, 2026-11-25 (commit 81f7834), of an invented log that is kept beside it.

What a back-up holds of it is `received`; today's version must build it, answer from it and take the next file in.
"""

import shutil
from pathlib import Path

import pytest

from pipeline.load import load, log_check, reread
from pipeline.measures import Question, evaluate
from pipeline.store.folder import Store

KEPT = Path(__file__).parent / "earlier_store"
FIGURES = ("fixed-share", "repeat-visits", "time-to-fix", "part-failure-rate", "first-visit")


@pytest.fixture
def earlier(tmp_path):
    shutil.copytree(KEPT / "received", tmp_path / "store" / "received")
    shutil.copy(KEPT / "key", tmp_path / "key")
    (tmp_path / "key").chmod(0o600)
    return tmp_path / "store"


def figures(path):
    with Store(path).connect() as con:
        return {name: evaluate(con, name, Question()).drop("note").to_dicts() for name in FIGURES}


def accounts(path):
    names = ("file", "received", "used", "repeated", "replaced", "set_aside")
    return [{name: file[name] for name in names} for file in log_check(path)]


def test_it_is_built_again_and_every_row_is_accounted_for(earlier):
    reread(earlier)
    assert accounts(earlier) == [
        {"file": "log.csv", "received": 26, "used": 24, "repeated": 1, "replaced": 0, "set_aside": 1},
        {"file": "machines.csv", "received": 7, "used": 7, "repeated": 0, "replaced": 0, "set_aside": 0},
    ]


def test_its_figures_are_those_of_the_same_log_loaded_today(earlier, tmp_path):
    reread(earlier)
    load(
        tmp_path / "new",
        [KEPT / "log.csv"],
        machines=KEPT / "machines.csv",
        key_path=tmp_path / "key",
    )
    assert figures(earlier) == figures(tmp_path / "new")


def test_the_same_log_loaded_into_it_adds_no_job(earlier, tmp_path):
    load(earlier, [KEPT / "log.csv"], key_path=tmp_path / "key")
    with Store(earlier).connect() as con:
        assert con.execute("select count(*), count(distinct job_id) from tables.jobs").fetchall() == [
            (24, 24)
        ]
