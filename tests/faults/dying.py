"""
Commands that die: killed at their n-th step that changes what the disk holds for good, or after some seconds.

Run as a program it stays warm: it has read all modules and forks for each command, so that hundreds of deaths take
minutes. It has opened no database and no thread before it forks.
"""

from __future__ import annotations

import importlib
import json
import os
import pkgutil
import signal
import subprocess
import sys
import threading
import time
import traceback
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FOLDERS = ("tables", "facts")
STEPS = ("fsync", "replace", "rename", "unlink")


@dataclass(frozen=True)
class Death:
    """How a command ended: exit code (-9 where it was killed), steps on the disk, seconds, and what it said."""

    code: int
    steps: int
    seconds: float
    said: str


class Dying:
    """A warm process that runs commands and kills them on demand."""

    def __init__(self, child: subprocess.Popen[str]) -> None:
        self.child = child

    def run(
        self,
        arguments: Sequence[str | Path],
        said: Path,
        *,
        step: int | None = None,
        after: float | None = None,
    ) -> Death:
        """
        Run a command of mendstat.

        Parameters
        ----------
        arguments : sequence of str or Path
            As after `mendstat`.
        said : Path
            File that takes what it says.
        step : int or None
            Kill it before this step on the disk, counted from 1.
        after : float or None
            Kill it after so many seconds.
        """
        assert self.child.stdin is not None
        assert self.child.stdout is not None
        order = {
            "arguments": [str(each) for each in arguments],
            "said": str(said),
            "step": step,
            "after": after,
        }
        self.child.stdin.write(json.dumps(order) + "\n")
        self.child.stdin.flush()
        answer = json.loads(self.child.stdout.readline())
        return Death(**answer, said=said.read_text(encoding="utf-8", errors="replace"))


@contextmanager
def dying() -> Iterator[Dying]:
    """Start the warm process, and end it."""
    command = [sys.executable, "-m", "tests.faults.dying"]
    with subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path.cwd())},
    ) as child:
        yield Dying(child)
        assert child.stdin is not None
        child.stdin.close()


def _mortal(step: Callable[..., Any], die_at: int | None, told: int) -> Callable[..., Any]:
    def call(*arguments: Any, **named: Any) -> Any:
        # One byte a step, written to whoever waits: a killed process cannot count for us.
        os.write(told, b"1")
        _mortal.done += 1  # type: ignore[attr-defined]
        if _mortal.done == die_at:  # type: ignore[attr-defined]
            os.kill(os.getpid(), signal.SIGKILL)
        return step(*arguments, **named)

    return call


def _obey(order: dict[str, Any], told: int) -> int:
    """In the forked process: run the command until it ends or dies."""
    with Path(order["said"]).open("wb") as said:
        os.dup2(said.fileno(), 1)
        os.dup2(said.fileno(), 2)
    _mortal.done = 0  # type: ignore[attr-defined]
    for name in STEPS:
        setattr(os, name, _mortal(getattr(os, name), order["step"], told))
    from pipeline.cli import main

    code = main(order["arguments"])
    sys.stdout.flush()
    sys.stderr.flush()
    return code


def _run(order: dict[str, Any]) -> dict[str, Any]:
    hears, told = os.pipe()
    began = time.monotonic()
    child = os.fork()
    if not child:
        os.close(hears)
        code = 70
        try:
            code = _obey(order, told)
        except BaseException:  # noqa: BLE001  what Python would print is for the test to see
            traceback.print_exc()
            sys.stderr.flush()
        finally:
            os._exit(code)
    os.close(told)
    killer = (
        threading.Timer(order["after"], os.kill, (child, signal.SIGKILL))
        if order["after"] is not None
        else None
    )
    if killer:
        killer.start()
    steps = 0
    while heard := os.read(hears, 1024):
        steps += len(heard)
    os.close(hears)
    _, status = os.waitpid(child, 0)
    if killer:
        killer.cancel()
        killer.join()
    return {"code": os.waitstatus_to_exitcode(status), "steps": steps, "seconds": time.monotonic() - began}


def _warm() -> None:
    """Read all modules, and let a process of its own find out in which order the SQL files run: it opens a database."""
    import pipeline

    for module in pkgutil.walk_packages(pipeline.__path__, "pipeline."):
        if not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    from pipeline import sql

    program = f"import json; from pipeline.sql import folder_files; print(json.dumps({{n: folder_files(n) for n in {FOLDERS}}}))"
    found = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    sql.folder_files = json.loads(found.stdout).__getitem__  # type: ignore[assignment]


if __name__ == "__main__":
    _warm()
    for line in sys.stdin:
        print(json.dumps(_run(json.loads(line))), flush=True)
