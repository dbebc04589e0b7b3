"""The attack itself: what was planted, every place mendstat may write to, all that it said on a terminal."""

from __future__ import annotations

import contextlib
import io
import os
import pty
import subprocess
import sys
import threading
from dataclasses import dataclass, field
from pathlib import Path

from pipeline.cli import main
from tests.privacy.identifiers import Identifier
from tests.privacy.planting import Load
from tests.privacy.searching import marks_found, marks_in_folder


@dataclass
class Attack:
    """What was planted, where mendstat wrote, and all that it said."""

    folder: Path
    planted: list[Identifier]
    loads: list[Load] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    @property
    def marks(self) -> set[str]:
        return {mark for each in self.planted for mark in each.marks}

    @property
    def written(self) -> Path:
        """Every place that mendstat may write to."""
        return self.folder / "written"

    @property
    def store(self) -> Path:
        return self.written / "store"

    @property
    def key(self) -> Path:
        return self.written / "home" / "key"

    def run(self, *arguments: object) -> int:
        """A command on a terminal, so that it shows its progress, whose every place to write to is ours."""
        store = ("--store", self.store, "--key", self.key)
        ours, theirs = pty.openpty()
        running = subprocess.Popen(
            [sys.executable, "-m", "pipeline.cli", *map(str, (*arguments, *store))],
            cwd=self.written / "work",
            env=self.environment(),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=theirs,
        )
        os.close(theirs)
        shown: list[bytes] = []
        reading = threading.Thread(target=read_to_end, args=(ours, shown))
        reading.start()
        out, _ = running.communicate()
        reading.join()
        os.close(ours)
        self.said += (out + b"\n" + b"".join(shown)).decode("utf-8", "replace").splitlines()
        return running.returncode

    def run_here(self, *arguments: object) -> int:
        """A command in this process, which is quicker: for those that only read."""
        told = io.StringIO()
        store = ("--store", self.store, "--key", self.key)
        with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
            code = main([str(part) for part in (*arguments, *store)])
        self.said += told.getvalue().splitlines()
        return code

    def environment(self) -> dict[str, str]:
        """Environment of a process that finds no other folder than ours."""
        places = {
            "TMPDIR": "tmp",
            "POLARS_TEMP_DIR": "tmp",
            "HOME": "home",
            "XDG_CONFIG_HOME": "home",
            "XDG_CACHE_HOME": "home",
        }
        ours = {name: str(self.written / folder) for name, folder in places.items()}
        return {**os.environ, **ours, "PYTHONPATH": str(Path.cwd())}

    def assert_nothing_is_told(self) -> None:
        assert marks_in_folder(self.written, self.marks) == {}
        assert marks_found(self.said, self.marks) == set()


def read_to_end(handle: int, shown: list[bytes]) -> None:
    """All that is written to a terminal until the last one lets go of it."""
    with contextlib.suppress(OSError):  # Linux says so where the other end is closed
        while piece := os.read(handle, 1 << 16):
            shown.append(piece)
