"""A load may die at any moment: nothing good is lost, nothing private is left behind, readers notice nothing."""

from __future__ import annotations

import contextlib
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
import pytest

from pipeline.load import load as load_here
from pipeline.load import log_check
from pipeline.measures import evaluate
from pipeline.measures.question import Question
from pipeline.store.folder import Store
from tests.faults.dying import Dying
from tests.faults.limited import limited
from tests.privacy.searching import holding
from tests.twins.plain_log import PLANTED, write_log

MOMENTS, MANY_MOMENTS = 10, 50
SEED = 20260301
SECOND_JOBS = 8_000
MEGABYTE = 1024 * 1024
MEMORY = 300 * MEGABYTE  # private memory of a load that is given too little


@dataclass(frozen=True)
class Scene:
    """A store with one log loaded, a second log to load, how long that takes, and the answers before and after."""

    folder: Path
    seconds: float
    before: list[dict[str, Any]]
    after: list[dict[str, Any]]

    @property
    def second(self) -> Path:
        return self.folder / "second.csv"


def start(folder: Path, *files: Path, memory: int | None = None) -> subprocess.Popen[bytes]:
    """Start `mendstat load` as a child of its own, with every place it could write to inside `folder`."""
    for name in ("work", "tmp", "home"):
        (folder / name).mkdir(exist_ok=True)
    places = {
        "TMPDIR": str(folder / "tmp"),
        "HOME": str(folder / "home"),
        "XDG_CONFIG_HOME": str(folder / "home"),
    }
    places |= {"POLARS_TEMP_DIR": str(folder / "tmp"), "XDG_CACHE_HOME": str(folder / "home")}
    command = [sys.executable, "-m", "pipeline.cli", "load", *map(str, files)]
    command += ["--store", str(folder / "store"), "--key", str(folder / "home" / "key")]
    environment = {**os.environ, **places, "PYTHONPATH": str(Path.cwd())}
    return subprocess.Popen(
        limited(command, memory=memory),
        cwd=folder / "work",
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )


def load(folder: Path, *files: Path) -> None:
    """Load to the end."""
    child = start(folder, *files)
    _, said = child.communicate(timeout=120)
    assert child.returncode == 0, said.decode()


def kill(child: subprocess.Popen[bytes]) -> None:
    """Kill a child that we started, with whatever it started."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child.pid, signal.SIGKILL)
    child.communicate()


def answer(folder: Path) -> list[dict[str, Any]]:
    """What the store says at this moment."""
    with Store(folder / "store").connect() as con:
        return evaluate(con, "fixed-share", Question(by=("unit_type",))).to_dicts()


def assert_rows_add_up(folder: Path, received: int) -> None:
    """Every row received is used, repeated, replaced or set aside."""
    files = log_check(folder / "store")
    assert sum(file["received"] for file in files) == received
    for file in files:
        assert file["received"] == file["used"] + file["repeated"] + file["replaced"] + file["set_aside"]


@pytest.fixture(scope="module")
def scene(tmp_path_factory: pytest.TempPathFactory) -> Scene:
    folder = tmp_path_factory.mktemp("scene")
    write_log(folder / "first.csv", 300, seed=1)
    write_log(folder / "second.csv", SECOND_JOBS, seed=2, prefix="K")
    load(folder, folder / "first.csv")
    before = answer(folder)
    done = folder.with_name("done")
    shutil.copytree(folder, done)
    began = time.monotonic()
    load(done, done / "second.csv")
    seconds = time.monotonic() - began
    return Scene(folder, seconds, before, answer(done))


@pytest.fixture
def copy(scene: Scene, tmp_path: Path) -> Path:
    return shutil.copytree(scene.folder, tmp_path / "copy")


def kill_and_recover(scene: Scene, folder: Path, wait: float) -> None:
    """Kill a load after `wait` seconds and check what must hold."""
    child = start(folder, scene.second)
    time.sleep(wait)
    kill(child)
    found = answer(folder)
    assert found in (scene.before, scene.after)
    load(folder, scene.second)
    assert answer(folder) == scene.after
    copies = len(log_check(folder / "store")) - 1
    assert_rows_add_up(folder, 300 + SECOND_JOBS * copies)
    assert not [path for path in (folder / "store").rglob("*") if "unfinished" in path.name]


def moments(many: int, seconds: float) -> list[float]:
    """Seeded moments over the whole length of a load, one in each stretch of it."""
    random_ = random.Random(SEED)
    return [seconds * (n + random_.random()) / many for n in range(many)]


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Ten moments, or fifty with -m full."""
    if "moment" in metafunc.fixturenames:
        is_full = metafunc.config.getoption("markexpr") == "full"
        many, marks = (MANY_MOMENTS, [pytest.mark.full]) if is_full else (MOMENTS, [])
        numbers = [pytest.param((n, many), marks=marks, id=f"{n + 1} of {many}") for n in range(many)]
        metafunc.parametrize("moment", numbers)


def test_load_killed_at_any_moment_leaves_the_last_good_build_and_the_next_load_succeeds(
    scene: Scene, copy: Path, moment: tuple[int, int]
) -> None:
    number, many = moment
    kill_and_recover(scene, copy, moments(many, scene.seconds)[number])


@pytest.mark.parametrize("every", [3, pytest.param(1, marks=pytest.mark.full)])
def test_load_killed_between_two_steps_on_the_disk_loses_nothing(
    scene: Scene, warm: Dying, tmp_path: Path, every: int
) -> None:
    """After the first step and each third one; with -m full after each."""
    write_log(tmp_path / "small.csv", 200, seed=4, prefix="S")
    whole = shutil.copytree(scene.folder, tmp_path / "whole")
    load(whole, tmp_path / "small.csv")
    after = answer(whole)
    for step in range(1, 100, every):
        folder = shutil.copytree(scene.folder, tmp_path / f"step {step}")
        places = ["--store", folder / "store", "--key", folder / "home" / "key"]
        died = warm.run(["load", tmp_path / "small.csv", *places], tmp_path / "said", step=step)
        found = answer(folder)
        assert found in (scene.before, after)
        if died.code == 0:
            break
        assert died.code == -signal.SIGKILL
        load_here(folder / "store", [tmp_path / "small.csv"], key_path=folder / "home" / "key")
        assert answer(folder) == after
        assert_rows_add_up(folder, 500)
        shutil.rmtree(folder)
    assert step > 5
    assert died.code == 0


def test_store_killed_again_and_again_recovers_without_being_cleaned_by_hand(
    scene: Scene, copy: Path
) -> None:
    for wait in moments(4, 0.9 * scene.seconds):
        child = start(copy, scene.second)
        time.sleep(wait)
        kill(child)
        assert answer(copy) in (scene.before, scene.after)
    load(copy, scene.second)
    assert answer(copy) == scene.after
    assert len(list((copy / "store").glob("fleet-*.duckdb"))) <= 2


def test_reader_looks_on_undisturbed_while_a_load_runs(scene: Scene, copy: Path) -> None:
    with Store(copy / "store").connect() as open_before:
        child = start(copy, scene.second)
        looks = 0
        while child.poll() is None:
            assert answer(copy) in (scene.before, scene.after)
            assert (
                evaluate(open_before, "fixed-share", Question(by=("unit_type",))).to_dicts() == scene.before
            )
            looks += 1
        kill(child)
    assert child.returncode == 0
    assert looks >= 5
    assert answer(copy) == scene.after


def test_second_writer_is_refused_in_one_sentence_and_harms_nothing(scene: Scene, copy: Path) -> None:
    with Store(copy / "store").lock():
        child = start(copy, scene.second)
        _, said = child.communicate(timeout=60)
        assert answer(copy) == scene.before
    assert child.returncode == 3
    assert b"Another load" in said
    assert b"Traceback" not in said
    load(copy, scene.second)
    assert answer(copy) == scene.after


def resident(pid: int) -> int:
    """Resident bytes of a process, 0 when it is gone."""
    try:
        pages = Path(f"/proc/{pid}/statm").read_text().split()[1]
    except (OSError, IndexError):
        return 0
    return int(pages) * resource.getpagesize()


@pytest.fixture(scope="module")
def big_log(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_log(tmp_path_factory.mktemp("big") / "big.csv", 200_000, seed=3, prefix="B")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc and sets RLIMIT_DATA")
def test_load_killed_by_a_memory_limit_leaves_no_planted_name_anywhere(tmp_path: Path, big_log: Path) -> None:
    child = start(tmp_path, big_log, memory=MEMORY)
    child.communicate(timeout=300)
    assert child.returncode != 0, (
        "the load got by on 300 MB: the log must be bigger for this test to say anything"
    )
    assert holding(tmp_path, PLANTED) == []


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="reads /proc")
# Far into the file at 300 MB, while rows go out to the disk at 540 MB.
@pytest.mark.parametrize("megabytes", [300, 540])
def test_load_killed_when_it_outgrows_its_memory_leaves_no_planted_name_anywhere(
    tmp_path: Path, big_log: Path, megabytes: int
) -> None:
    child = start(tmp_path, big_log)
    while child.poll() is None and resident(child.pid) < megabytes * MEGABYTE:
        time.sleep(0.001)
    outgrown = child.poll() is None
    kill(child)
    assert outgrown, (
        f"the load never outgrew {megabytes} MB: the log must be bigger for this test to say anything"
    )
    assert holding(tmp_path, PLANTED) == []


@pytest.mark.parametrize("share", [0.2, 0.4, 0.6, 0.8])
def test_load_killed_half_way_leaves_no_planted_name_anywhere(
    tmp_path: Path, scene: Scene, share: float
) -> None:
    child = start(tmp_path, scene.second)
    time.sleep(share * scene.seconds)
    kill(child)
    assert holding(tmp_path, PLANTED) == []


def test_finished_load_holds_no_planted_name(scene: Scene) -> None:
    store = scene.folder / "store"
    assert any(store.rglob("*.parquet"))
    assert holding(store, PLANTED) == []


def test_search_finds_a_name_in_every_form_a_file_may_hide_it(tmp_path: Path) -> None:
    frame = pl.DataFrame({"x": [f"{PLANTED[0]} {n}" for n in range(1000)]})
    frame.write_parquet(tmp_path / "whole.parquet", compression="zstd")
    (tmp_path / "cut.parquet").write_bytes((tmp_path / "whole.parquet").read_bytes()[:-200])
    (tmp_path / "plain.tmp").write_text("ZEBULONIA quistgaard")
    (tmp_path / "wide.tmp").write_bytes(PLANTED[0].encode("utf-16-le"))
    with duckdb.connect(tmp_path / "fleet.duckdb") as con:
        con.register("frame", frame)
        con.execute("create table t as select * from frame")
    assert len(holding(tmp_path, PLANTED)) == 5
