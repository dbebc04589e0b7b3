"""
Every command that writes may be killed at any moment: what was received stays, and doing it again finishes it.

Half of the seeded deaths come between two steps on the disk, the other half after some share of the time that the
command takes. Numbers by default are small; `-m full` draws two hundred and more, MENDSTAT_DEATHS=2000 as many in rows of
eight, one death after another with nothing tidied between them.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import polars as pl
import polars.selectors as cs
import pytest

from pipeline.errors import UnreadableError
from pipeline.load import load, log_check
from pipeline.measures import Question, evaluate
from pipeline.mend import write_list
from pipeline.store.folder import Store
from tests.faults.dying import Dying
from tests.privacy.searching import holding
from tests.twins.plain_log import PLANTED, write_log

SEED = 20261126
FEW, MANY = 2, 36
IN_A_ROW = 8
JOBS, LATER_JOBS, NOT_READ, NOT_KNOWN = 200, 150, 3, 20
WORDS = "right as rain"
BY_SITE = f"{PLANTED[0]}, 5 Larkspur Row"
# What each command does to a store in which a log lies already.
COMMANDS: dict[str, list[str]] = {
    "load": ["load", "later.csv", "--key", "key"],
    "reread": ["reread"],
    "mend": ["mend", "list.csv"],
    "settle": ["settle", "words.csv"],
    "key rotate": ["key", "rotate", "--key", "key"],
    "key forget": ["key", "forget", "--key", "key"],
    "forget a site": ["forget", "--site", BY_SITE, "--key", "key"],
}
Figures = list[dict[str, Any]]


@dataclass(frozen=True)
class Act:
    """A command on a store, how many steps on the disk and seconds it takes, and what the store says before and after."""

    folder: Path
    command: str
    steps: int
    seconds: float
    before: Figures
    after: Figures


def figures(folder: Path) -> Figures:
    """What the store says: two figures, and what became of the rows."""
    with Store(folder / "store").connect() as con:
        found = [
            # Under another key machines are added up in another order: the last digits of a sum may differ.
            evaluate(con, name, Question(by=("unit_type",)))
            .with_columns(cs.float().round_sig_figs(9))
            .to_dicts()
            for name in ("fixed-share", "repeat-visits")
        ]
    accounts = [
        {name: file[name] for name in ("received", "used", "repeated", "replaced", "set_aside")}
        for file in log_check(folder / "store")
    ]
    for account in accounts:
        assert account["received"] == sum(account[each] for each in account if each != "received")
    return [*found[0], *found[1], *accounts]


@pytest.fixture(scope="module")
def scene(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with a log of which some rows and words could not be read, and lists that mend and settle them."""
    folder = tmp_path_factory.mktemp("scene")
    write_log(folder / "first.csv", JOBS, seed=1)
    rows = pl.read_csv(folder / "first.csv", infer_schema=False).with_row_index()
    spoiled = pl.when(pl.col("index") < NOT_READ).then(pl.lit("soon")).otherwise("reported_at")
    unheard = pl.when(pl.col("index") >= JOBS - NOT_KNOWN).then(pl.lit(WORDS)).otherwise("outcome")
    rows.with_columns(spoiled.alias("reported_at"), unheard.alias("outcome")).drop("index").write_csv(
        folder / "first.csv"
    )
    write_log(folder / "later.csv", LATER_JOBS, seed=2, prefix="K")
    load(folder / "store", [folder / "first.csv"], key_path=folder / "key")
    write_list(folder / "store", folder / "list.csv")
    to_mend = pl.read_csv(folder / "list.csv", infer_schema=False)
    assert to_mend.height == NOT_READ
    to_mend.with_columns(pl.lit("2023-01-01T08:00").alias(to_mend.columns[-1])).write_csv(folder / "list.csv")
    pl.DataFrame(
        {"column": ["outcome"], "words": [WORDS], "proposed": [None], "meaning": ["fixed"]}
    ).write_csv(folder / "words.csv")
    return folder


def arguments(folder: Path, command: str) -> list[str]:
    """A command with the files of a scene."""
    files = {"later.csv", "list.csv", "words.csv", "key"}
    given = COMMANDS[command]
    placed = [str(folder / each) if each in files and n else each for n, each in enumerate(given)]
    return [*placed, "--store", str(folder / "store")]


@pytest.fixture(scope="module", params=COMMANDS)
def act(
    request: pytest.FixtureRequest, scene: Path, warm: Dying, tmp_path_factory: pytest.TempPathFactory
) -> Act:
    folder = shutil.copytree(scene, tmp_path_factory.mktemp("whole") / "copy")
    before = figures(folder)
    whole = warm.run(arguments(folder, request.param), folder / "said")
    assert whole.code == 0, whole.said
    assert whole.steps > 3
    return Act(scene, request.param, whole.steps, whole.seconds, before, figures(folder))


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """A few deaths a command, or many with -m full."""
    is_full = metafunc.config.getoption("markexpr") == "full"
    if "row_of_deaths" in metafunc.fixturenames:
        rows = int(os.environ.get("MENDSTAT_DEATHS", "0")) // (IN_A_ROW * len(COMMANDS))
        numbers = range(max(1, rows) if is_full else 1)
        metafunc.parametrize("row_of_deaths", numbers)
    if "death" in metafunc.fixturenames:
        numbers = range(MANY) if is_full else range(FEW)
        metafunc.parametrize("death", [pytest.param(n, marks=[pytest.mark.full] * is_full) for n in numbers])


def test_command_killed_at_a_drawn_moment_loses_nothing_and_can_be_given_again(
    act: Act, warm: Dying, tmp_path: Path, death: int
) -> None:
    draw = random.Random(f"{SEED} {act.command} {death}")
    folder = shutil.copytree(act.folder, tmp_path / "copy")
    given = arguments(folder, act.command)
    if death % 2:
        died = warm.run(given, tmp_path / "said", after=act.seconds * draw.random())
    else:
        died = warm.run(given, tmp_path / "said", step=draw.randint(1, act.steps))
        assert died.code == -signal.SIGKILL
    assert died.code in (0, -signal.SIGKILL), died.said
    assert_answers_or_says_how(act, warm, folder)
    again = warm.run(given, tmp_path / "said")
    # A customer who is erased already is not found again.
    assert again.code == 0 or (act.command == "forget a site" and again.code == 1), again.said
    assert figures(folder) == act.after
    assert_tidy(folder)


@pytest.mark.full
def test_command_killed_again_and_again_loses_nothing(
    act: Act, warm: Dying, tmp_path: Path, row_of_deaths: int
) -> None:
    draw = random.Random(f"{SEED} {act.command} row {row_of_deaths}")
    folder = shutil.copytree(act.folder, tmp_path / "copy")
    given = arguments(folder, act.command)
    deaths = 0
    while deaths < IN_A_ROW:
        died = kill_once(act, warm, folder, draw)
        deaths += died == -signal.SIGKILL
        assert_answers_or_says_how(act, warm, folder)
        if died != -signal.SIGKILL:
            shutil.rmtree(folder)
            shutil.copytree(act.folder, folder)
    again = warm.run(given, tmp_path / "said")
    assert again.code == 0 or (act.command == "forget a site" and again.code == 1), again.said
    assert figures(folder) == act.after
    assert_tidy(folder)


def kill_once(act: Act, warm: Dying, folder: Path, draw: random.Random) -> int:
    """Run the command and kill it, between two steps on the disk or at any time; gives how it ended."""
    at_a_step = draw.random() < 0.5
    died = warm.run(
        arguments(folder, act.command),
        folder / "said",
        step=draw.randint(1, act.steps) if at_a_step else None,
        after=None if at_a_step else act.seconds * draw.random(),
    )
    assert died.code in (0, -signal.SIGKILL) or (act.command == "forget a site" and died.code == 1), died.said
    return died.code


def assert_answers_or_says_how(act: Act, warm: Dying, folder: Path) -> None:
    """The store says what it said before or what it says after; else one sentence says how it does again."""
    try:
        found = figures(folder)
    except UnreadableError as error:
        says = str(error)
        found = None
    if found is None:
        assert "mendstat reread" in says
        assert warm.run(["reread", "--store", str(folder / "store")], folder / "said").code == 0
        found = figures(folder)
    assert found in (act.before, act.after)


def assert_tidy(folder: Path) -> None:
    """No half-written file, no build or received file that nothing names, and nobody's name."""
    store = Store(folder / "store")
    assert not [
        path for path in store.folder.rglob("*") if "unfinished" in path.name or path.suffix == ".spill"
    ]
    assert {path.name for path in store.received.glob("*.parquet")} == {
        e.parquet for e in store.manifest.files
    }
    assert store.current_build() in set(store.folder.glob("fleet-*.duckdb"))
    assert len(list(store.folder.glob("fleet-*.duckdb"))) <= 2
    assert holding(store.folder, PLANTED) == []
