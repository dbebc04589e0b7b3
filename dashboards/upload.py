"""A file given to a page: kept in memory, recognised, and handed to a load of its own. Only its layout is written."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from dashboards.data import store_path
from pipeline.draft_layout import Answer
from pipeline.intake.source import Source
from pipeline.recognition.choosing import Chosen, choose
from pipeline.recognition.recognising import Recognised, recognise, write_text
from pipeline.store.folder import Store

MOST_MB = 64
SECONDS_TO_LOAD = 1800
ROWS_TOLD_BY = "What became of each row"  # begins the line of a load that names commands


@dataclass(frozen=True)
class Loaded:
    """What a load said, and whether the file is in."""

    says: str
    is_in: bool


def look_at(name: str, content: bytes) -> Recognised:
    """
    Find out what a file holds.

    Raises
    ------
    MendstatError
        If it cannot be read.
    """
    return recognise(Source(Path(name), content), store_path())


def chosen(found: Recognised, wanted: Mapping[int, str], answers: Sequence[Answer]) -> Chosen:
    """The layout as a person chose it, and the first rows by it."""
    return choose(found, wanted, answers, Store(store_path()))


def write_and_load(found: Recognised, text: str, name: str, content: bytes) -> Loaded:
    """Write a layout into the store, then load the file by it: in a process of its own, by its standard input."""
    if text:
        write_text(text, found.layout_name, store_path())
    command = [sys.executable, "-m", "pipeline.cli", "load", "-", "--called", Path(name).name]
    command += ["--layout", found.layout_name, "--store", str(store_path())]
    done = subprocess.run(command, input=content, capture_output=True, timeout=SECONDS_TO_LOAD, check=False)  # noqa: S603
    said = (done.stdout or done.stderr).decode("utf-8", "replace").strip()
    # The commands that the last line names are for a terminal.
    said = "\n".join(line for line in said.split("\n") if not line.startswith(ROWS_TOLD_BY))
    return Loaded(said.removeprefix("mendstat: "), done.returncode == 0)
