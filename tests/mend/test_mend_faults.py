"""A mend that dies at any step on the disk leaves the last good build, and mending again finishes it."""

from __future__ import annotations

import shutil
import signal
from pathlib import Path

import pytest

from pipeline.load import load, log_check
from pipeline.mend import take_back, write_list
from pipeline.store.folder import Store
from tests.faults.dying import Dying

LOG = """job_id,unit_id,unit_type,reported_at,finished_at,part_no,action,outcome
1,A1,washer,2026-01-02,2026-01-03,P1,replace,fixed
2,A2,washer,soon,2026-01-06,P1,clean,fixed
"""


def set_aside(folder: Path) -> int:
    (account,) = log_check(folder / "store")
    assert account["received"] == account["used"] + account["set_aside"] == 2
    return int(account["set_aside"])


@pytest.mark.parametrize("every", [3, pytest.param(1, marks=pytest.mark.full)])
def test_mend_killed_between_two_steps_on_the_disk_loses_nothing(
    tmp_path: Path, warm: Dying, every: int
) -> None:
    """After the first step and each third one; with -m full after each."""
    scene = tmp_path / "scene"
    scene.mkdir()
    (scene / "log.csv").write_text(LOG)
    load(scene / "store", [scene / "log.csv"], key_path=scene / "key")
    write_list(scene / "store", scene / "list.csv")
    (scene / "list.csv").write_text((scene / "list.csv").read_text().rstrip() + "2026-01-05\n")
    for step in range(1, 30, every):
        folder = shutil.copytree(scene, tmp_path / f"step {step}")
        arguments = ["mend", folder / "list.csv", "--store", folder / "store"]
        code = warm.run(arguments, folder / "said", step=step).code
        assert set_aside(folder) in (0, 1)
        if code == 0:
            break
        assert code == -signal.SIGKILL
        take_back(folder / "store", folder / "list.csv")
        assert set_aside(folder) == 0
        assert not [path for path in (folder / "store").rglob("*") if "unfinished" in path.name]
    assert step > 5
    assert len(list((folder / "store").glob("fleet-*.duckdb"))) <= 2
    assert Store(folder / "store").current_build()
