"""The whole firm: machines, their lives, and the five files as rows."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

from sample_logs.extras import add_extras
from sample_logs.jobs import Job, Row, moment
from sample_logs.life import Life, live
from sample_logs.lists import machine_rows, notice_rows, part_rows, stock_rows
from sample_logs.park import make_park
from sample_logs.rows import log_rows
from sample_logs.scenario import SEED


@dataclass(frozen=True)
class Firm:
    """A simulated firm: the lives of its machines, and its files as rows."""

    seed: int
    lives: tuple[Life, ...]
    jobs: tuple[Job, ...]  # in order of report

    @cached_property
    def files(self) -> dict[str, list[Row]]:
        """Rows of each file, by kind of file: log, machines, parts, stock, notices."""
        machines = [life.machine for life in self.lives]
        return {
            "log": log_rows(self.seed, list(self.jobs), machines),
            "machines": machine_rows(machines),
            "parts": part_rows(),
            "stock": stock_rows(self.seed),
            "notices": notice_rows(),
        }


def _number(jobs: list[Job]) -> None:
    for number, job in enumerate(jobs, start=1):
        job.job_id = f"J{moment(job.reported):%y}-{number:05d}"


def make_firm(seed: int = SEED, machines: int = 2000) -> Firm:
    """
    Simulate the firm.

    Parameters
    ----------
    seed : int
        Same seed, same firm.
    machines : int
        Number of machines on its list; 2,000 give about 6,000 lines in three years.

    Returns
    -------
    Firm
        Lives with their truth, jobs in order of report.
    """
    lives = [live(seed, machine) for machine in make_park(seed, machines)]
    add_extras(seed, lives)
    jobs = sorted(
        (job for life in lives for job in life.jobs), key=lambda job: (job.reported, job.machine.number)
    )
    _number(jobs)
    return Firm(seed, tuple(lives), tuple(jobs))


@lru_cache(maxsize=2)
def committed_firm() -> Firm:
    """The firm whose files are committed in `sample_logs/standard`."""
    return make_firm()


def simulate(seed: int = SEED, machines: int = 2000) -> dict[str, list[Row]]:
    """
    Simulate the firm and give its files as plain rows.

    Parameters
    ----------
    seed, machines : int
        As in `make_firm`.

    Returns
    -------
    dict of str to list of dict
        Rows by kind of file: log, machines, parts, stock, notices. Every value is a text.
    """
    return make_firm(seed, machines).files
