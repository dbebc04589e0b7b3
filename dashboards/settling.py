"""Answers given on the page “Words to settle”: handed to a `mendstat settle` of its own, which writes the vocabulary and builds."""

from __future__ import annotations

import csv
import io
import subprocess
import sys
from collections.abc import Iterable
from dataclasses import dataclass

from dashboards.data import store_path
from pipeline.settle.list_file import NEEDED

SECONDS_TO_BUILD = 1800


@dataclass(frozen=True)
class Kept:
    """What the command said, and whether the answers are in."""

    says: str
    is_in: bool


def keep(answers: Iterable[tuple[str, str, str]]) -> Kept:
    """
    Keep answers and build again.

    Parameters
    ----------
    answers : iterable of (str, str, str)
        Column, words, meaning (`own` for a meaning of its own).
    """
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(NEEDED)
    writer.writerows((column, words, "", meaning) for column, words, meaning in answers)
    command = [sys.executable, "-m", "pipeline.cli", "settle", "-", "--store", str(store_path())]
    done = subprocess.run(  # noqa: S603 - our own module
        command, input=text.getvalue().encode(), capture_output=True, timeout=SECONDS_TO_BUILD, check=False
    )
    said = (done.stdout or done.stderr).decode("utf-8", "replace").strip()
    return Kept(said.removeprefix("mendstat: "), done.returncode == 0)
