"""What the disk, the clock or a second writer can do to a store: one sentence, and what was good still answers."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import subprocess
import sys
from pathlib import Path

import polars.selectors as cs
import pytest

import pipeline.build
import pipeline.intake.taking_in
from pipeline.load import load, log_check, reread
from pipeline.measures import Question, evaluate
from pipeline.store.folder import Store
from pipeline.store.on_disk import on_disk
from tests.faults.limited import limited
from tests.privacy.searching import holding
from tests.twins.plain_log import PLANTED, write_log

KILOBYTE = 1024
only_linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="limits of Linux are set")


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    folder = tmp_path_factory.mktemp("scene")
    write_log(folder / "first.csv", 200, seed=1)
    write_log(folder / "later.csv", 3_000, seed=2, prefix="K")
    load(folder / "store", [folder / "first.csv"], key_path=folder / "key")
    return folder


@pytest.fixture
def place(scene, tmp_path):
    return shutil.copytree(scene, tmp_path / "copy")


def figures(folder):
    with Store(folder).connect() as con:
        return [
            evaluate(con, name, Question(by=("unit_type",)))
            .with_columns(cs.float().round_sig_figs(9))
            .to_dicts()
            for name in ("fixed-share", "repeat-visits")
        ]


def command(place, *arguments, **less):
    """Exit code of mendstat in a process of its own, and what it said."""
    done = subprocess.run(
        limited(
            [sys.executable, "-m", "pipeline.cli", *map(str, arguments), "--store", str(place / "store")],
            **less,
        ),
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
        env={**os.environ, "PYTHONPATH": str(Path.cwd())},
    )
    assert "Traceback" not in done.stderr
    return done.returncode, done.stderr


# Too small for the received rows, and for the build.
@only_linux
@pytest.mark.parametrize("most", [8 * KILOBYTE, 400 * KILOBYTE])
def test_full_disk_is_one_sentence_and_the_last_good_build_answers(place, most):
    before = figures(place / "store")
    code, said = command(place, "load", place / "later.csv", "--key", place / "key", file_size=most)
    assert code == 3, said
    assert "still answers" in said
    assert figures(place / "store") == before
    load(place / "store", [place / "later.csv"], key_path=place / "key")
    assert figures(place / "store") != before
    assert holding(place / "store", PLANTED) == []


@only_linux
def test_folder_that_may_only_be_read_answers_and_refuses_a_load_in_one_sentence(place):
    before = figures(place / "store")
    folders = [place / "store", *(path for path in (place / "store").rglob("*") if path.is_dir())]
    for path in [*folders, *(place / "store").rglob("*")]:
        path.chmod(0o555 if path.is_dir() else 0o444)
    code, said = command(place, "load", place / "later.csv", "--key", place / "key", rights=False)
    assert code == 3
    assert "could not be written: Permission denied" in said
    assert command(place, "measure", "fixed-share", rights=False)[0] == 0
    for path in folders:
        path.chmod(0o755)
    assert figures(place / "store") == before


def test_clock_set_back_changes_no_figure_and_the_later_load_still_counts_as_later(
    place, tmp_path, monkeypatch
):
    right = shutil.copytree(place, tmp_path / "right")
    machines = "unit_id,unit_type\n" + "".join(f"U{n},washer\n" for n in range(20))
    for folder in (right, place):
        (folder / "machines.csv").write_text(machines)
        (folder / "newer.csv").write_text(machines.replace("washer", "dishwasher"))
    load_lists(right)

    class SetBack(dt.datetime):
        asked = 0

        @classmethod
        def now(cls, tz=None):
            cls.asked += 1
            return dt.datetime(2020 - cls.asked, 1, 1, tzinfo=tz)

    for module in (pipeline.build, pipeline.intake.taking_in):
        monkeypatch.setattr(module, "datetime", SetBack)
    load_lists(place)
    assert SetBack.asked > 3
    assert figures(place / "store") == figures(right / "store")
    with Store(place / "store").connect() as con:
        assert con.execute("select distinct unit_type from tables.machine_list").fetchall() == [
            ("dishwasher",)
        ]


def load_lists(folder):
    for name, files in (("machines", []), ("newer", ["later.csv"])):
        load(
            folder / "store",
            [folder / file for file in files],
            machines=folder / f"{name}.csv",
            key_path=folder / "key",
        )


def test_store_put_back_from_a_back_up_gives_the_same_figures_and_goes_on(place, tmp_path):
    (place / "store" / "settings.toml").write_text("repeat_days = 60\n")
    (place / "store" / "vocabulary").mkdir()
    (place / "store" / "vocabulary" / "outcome.toml").write_text('"not fixed" = ["quote declined"]\n')
    load(place / "store", [place / "later.csv"], key_path=place / "key")
    reread(place / "store")
    before = figures(place / "store")
    back_up, put_back = tmp_path / "back-up", tmp_path / "put back"
    for name in ("received", "layouts", "vocabulary", "corrections", "settings.toml"):
        path = place / "store" / name
        if path.is_dir():
            shutil.copytree(path, back_up / name)
        elif path.exists():
            shutil.copy(path, back_up / name)
    shutil.copy(place / "key", back_up / "key")
    shutil.rmtree(place)
    shutil.copytree(back_up, put_back / "store")
    reread(put_back / "store")
    assert figures(put_back / "store") == before
    write_log(put_back / "later.csv", 3_000, seed=2, prefix="K")
    report = load(put_back / "store", [put_back / "later.csv"], key_path=put_back / "store" / "key")
    assert not report.files[0].is_new
    assert not report.was_built


def test_store_says_what_it_takes_on_the_disk(place):
    found = on_disk(Store(place / "store"))
    kept = sum(path.stat().st_size for path in (place / "store" / "received").iterdir())
    assert found.kept >= kept > 0
    assert found.built == sum(path.stat().st_size for path in (place / "store").glob("fleet-*"))
    code, _ = command(place, "log-check")
    assert code == 0
    assert "back this up, with the key" in found.text()


def test_old_builds_are_removed_once_a_newer_one_answers(place):
    for _ in range(3):
        reread(place / "store")
    load(place / "store", [place / "later.csv"], key_path=place / "key")
    assert len(list((place / "store").glob("fleet-*.duckdb"))) <= 2
    assert sum(file["received"] for file in log_check(place / "store")) == 3_200
