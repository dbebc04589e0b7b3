"""One file a part in the store's `trials` folder: what was fixed before the first toss, and each toss since."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import dataclass, replace
from pathlib import Path

from pipeline.errors import UnreadableError
from pipeline.planning.tossing import Line, assignments
from pipeline.store import atomic

FOLDER = "trials"


@dataclass(frozen=True)
class Trial:
    """
    A trial of one part.

    Attributes
    ----------
    part : str
        Key of the part, as the build has it.
    seed : int
        From which the assignments are drawn.
    line : Line
        Below which return rate cleaning is the better one.
    rests_on : str
        What the line was worked out from, in words.
    jobs : tuple of str
        Job of each toss, in order; empty where none was named.
    """

    part: str
    seed: int
    line: Line
    rests_on: str
    jobs: tuple[str, ...] = ()

    @property
    def tossed(self) -> list[str]:
        """The assignments given out so far."""
        return assignments(self.seed, len(self.jobs))

    def with_toss(self, job: str) -> Trial:
        """The trial after one more toss."""
        return replace(self, jobs=(*self.jobs, job))


def path_of(store: Path, part: str) -> Path:
    """File of a part's trial."""
    return store / FOLDER / f"{re.sub('[^A-Za-z0-9]+', '-', part).strip('-')}.toml"


def read(path: Path) -> Trial | None:
    """
    Read a trial; None where there is none yet.

    Raises
    ------
    UnreadableError
        If the file is not what `write` makes.
    """
    if not path.exists():
        return None
    try:
        said = tomllib.loads(path.read_text(encoding="utf-8"))
        line = Line(float(said["base"]), float(said["slope"]))
        tosses = said.get("toss", [])
        trial = Trial(
            str(said["part"]),
            int(said["seed"]),
            line,
            str(said["rests_on"]),
            tuple(str(t["job"]) for t in tosses),
        )
        is_whole = [toss["fix"] for toss in tosses] == trial.tossed
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError, KeyError, TypeError, ValueError) as error:
        raise UnreadableError(
            f"{path} could not be read: {error}. Put it back from a back-up, or remove it to start anew."
        ) from None
    if not is_whole:
        raise UnreadableError(
            f"{path}: the tosses are not those of its seed, so the trial proves nothing any more. Put it back from a back-up, or remove it to start anew."
        )
    return trial


def write(path: Path, trial: Trial) -> None:
    """Write a trial whole or not at all."""
    head = [
        "# A trial of cleaning against replacing. Do not change it by hand: what was fixed before the first toss must stay.",
        f"part = {json.dumps(trial.part)}",
        f"seed = {trial.seed}",
        "# Cleaning is the better one where its return rate is below base + slope * that of replacing.",
        f"base = {trial.line.base!r}",
        f"slope = {trial.line.slope!r}",
        f"rests_on = {json.dumps(trial.rests_on)}",
    ]
    tosses = [
        f"\n[[toss]]\nnumber = {number}\nfix = {json.dumps(fix)}\njob = {json.dumps(job)}"
        for number, (fix, job) in enumerate(zip(trial.tossed, trial.jobs, strict=True), start=1)
    ]
    path.parent.mkdir(exist_ok=True)
    atomic.write_text(path, "\n".join([*head, *tosses]) + "\n")
