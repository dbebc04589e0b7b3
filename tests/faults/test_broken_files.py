"""Broken files end in one clear sentence, in seconds and little memory, or are read with every row accounted for."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

from pipeline.log_check import log_check
from tests.faults.broken_files import BROKEN, MEGABYTE

# Seconds of a processor and not of the clock: other work of the machine must not fail a file.
MOST_SECONDS, MOST_MEMORY = 10, 1024 * MEGABYTE
# What is left of these is a table, so that they are read; all others are refused.
READ = {
    "only a header.csv": 0,
    "a quote never closed.csv": 199_999,
    "formulas.csv": 1,
    "the same header twice.csv": 1,
    "text called packed.csv.gz": 1,
    "10,000 deep in a record.jsonl": 2,
    "numbers without end.jsonl": 5,
    "no parquet.parquet": 1,
    "no book.xlsx": 1,
    "formulas.xlsx": 1,
}
FITS_NO_LAYOUT = {"letters of a mainframe.csv", "lists in lists.jsonl"}


@dataclass(frozen=True)
class Ending:
    """How a load ended: exit code, what it said, seconds of the processor, most bytes in memory."""

    code: int
    said: str
    seconds: float
    memory: int


def load(file: Path, folder: Path) -> Ending:
    """Load a file as a user does, into a store of its own."""
    command = [sys.executable, "-m", "pipeline.cli", "load", str(file)]
    command += ["--store", str(folder / "store"), "--key", str(folder / "key")]
    with (folder / "said").open("w+b") as said:
        child = subprocess.Popen(
            command, stdout=said, stderr=said, env={**os.environ, "PYTHONPATH": str(Path.cwd())}
        )
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        said.seek(0)
        text = said.read().decode()
    kilobytes = used.ru_maxrss // (1024 if sys.platform == "darwin" else 1)
    return Ending(child.returncode, text, used.ru_utime + used.ru_stime, kilobytes * 1024)


@pytest.mark.skipif(sys.platform == "win32", reason="asks the system what a child used")
@pytest.mark.parametrize("name", BROKEN)
def test_broken_file_ends_in_one_sentence_within_seconds_and_a_gigabyte(name: str, tmp_path: Path) -> None:
    BROKEN[name](tmp_path / name)
    ending = load(tmp_path / name, tmp_path)
    assert "Traceback" not in ending.said
    assert ending.seconds <= MOST_SECONDS
    assert ending.memory <= MOST_MEMORY
    if name in READ:
        assert ending.code == 0, ending.said
        (found,) = log_check(tmp_path / "store")
        assert found["received"] == READ[name]
        assert found["received"] == found["used"] + found["repeated"] + found["replaced"] + found["set_aside"]
    else:
        assert ending.code == (1 if name in FITS_NO_LAYOUT else 3), ending.said
        (sentence,) = [line for line in ending.said.splitlines() if line.startswith("mendstat: ")]
        assert name in sentence
        assert sentence.endswith((".", "?"))
        assert not list((tmp_path / "store" / "received").glob("*.parquet*"))
