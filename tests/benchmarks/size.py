"""
How long it takes to load logs of three sizes (and DuckDB to copy the finished tables, with nothing worked out), to show the
first page, to add 500 lines, to choose a van's stock, to write a pocket sheet; then each figure beside its floor (`figures`), and each page first and after a change (`pages`).

    python -m tests.benchmarks.size [LINES …] [--folder DIR]

By default 10,000, 1,000,000 and 10,000,000 lines of the standard log: a machine for every five lines, and a symptom of
its own wording in every fifth. Seconds are of the clock; beside them the ratio to DuckDB's bare `read_csv` of the same
file into a table, in the same run, and the most memory that the process and its children held.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path

import duckdb
import numpy as np
import polars as pl

from pipeline.build import MEMORY
from pipeline.store.folder import Store

SIZES = (10_000, 1_000_000, 10_000_000)
ADDED = 500
LINES_A_MACHINE = LINES_A_WORDING = 5
PARTS, DAYS = 1_000, 3 * 365
AND_THEN = ("figures", "pages")  # programs of their own that are run on the store of each size
PIECE = 1_000_000
MEGABYTE = 1 << 20
# A process of its own for each step, so that none finds the memory of another. The first argument is the step.
STEPS = {
    "bare read": "import duckdb; duckdb.connect(d + '/floor.duckdb', config={{'threads': 2}}).execute("
    "\"create or replace table t as select * from read_csv('{log}', all_varchar = true)\")",
    "load and build": "from pipeline.cli import main; main(['load', '{log}', '--store', d + '/store', '--key', d + '/key'])",
    "its tables copied": "from tests.benchmarks.size import copy_tables; copy_tables(d + '/store', d + '/copied.duckdb')",
    "first page": "import os; os.environ['MENDSTAT_STORE'] = d + '/store'; from streamlit.testing.v1 import AppTest; "
    "at = AppTest.from_file('dashboards/entry/start.py', default_timeout=600).run(); assert not at.exception",
    "500 lines added": "from pipeline.cli import main; main(['load', '{added}', '--store', d + '/store', '--key', d + '/key'])",
    "van stock": "from pipeline.cli import main; main(['van-stock', '--store', d + '/store'])",
    "pocket sheet": "from pipeline.cli import main; main(['pocket-sheet', '--output', d + '/sheet.html', '--store', d + '/store'])",
}


@dataclass(frozen=True)
class Spent:
    """Seconds of the clock, seconds of processors, and most bytes in memory of a process with its children."""

    seconds: float
    processor: float
    memory: int


def write_log(path: Path, lines: int, *, seed: int = 1, first_job: int = 0) -> None:
    """Write a standard log piece by piece."""
    with path.open("wb") as file:
        for start in range(0, lines, PIECE):
            count = min(PIECE, lines - start)
            frame = _piece(np.random.default_rng((seed, start)), first_job + start, count, lines)
            frame.write_csv(file, include_header=start == 0)


def _piece(rng: np.random.Generator, first: int, count: int, lines: int) -> pl.DataFrame:
    machine = rng.integers(0, max(1, lines // LINES_A_MACHINE), count)
    wording = rng.integers(0, max(1, lines // LINES_A_WORDING), count)
    reported = np.datetime64("2023-01-02T08:00") + rng.integers(0, DAYS * 24 * 60, count).astype(
        "timedelta64[m]"
    )
    finished = reported + rng.choice([90, 180, 1440, 4320], count).astype("timedelta64[m]")
    part = (PARTS * rng.random(count) ** 2).astype(int)
    symptoms = np.array(["not draining", "not heating", "noisy", "leaking", "will not start"])
    frame = pl.DataFrame(
        {
            "job_id": np.arange(first, first + count),
            "unit_id": machine,
            "kind": machine % 3,
            "reported_at": reported.astype("datetime64[ms]"),
            "finished_at": finished.astype("datetime64[ms]"),
            "hands_on_min": rng.integers(10, 120, count),
            "technician": rng.integers(0, 50, count),
            "symptom": symptoms[rng.integers(0, 5, count)],
            "wording": wording,
            "part": part,
            "action": np.array(["replace", "clean", "adjust", "test"])[rng.integers(0, 4, count)],
            "outcome": np.array(["fixed", "fixed", "fixed", "no fault found", "return booked"])[
                rng.integers(0, 5, count)
            ],
        }
    )
    return frame.select(
        pl.format("J{}", "job_id").alias("job_id"),
        pl.format("M{}", "unit_id").alias("unit_id"),
        pl.col("kind").replace_strict({0: "washer", 1: "dishwasher", 2: "oven"}).alias("unit_type"),
        pl.format("{} Lane", pl.col("unit_id") // 2).alias("site_id"),
        pl.col("reported_at", "finished_at").dt.strftime("%Y-%m-%dT%H:%M"),
        "hands_on_min",
        pl.format("T{}", "technician").alias("technician"),
        pl.format("{} since {}", "symptom", "wording").alias("symptom"),
        pl.format("P-{}", "part").alias("part_no"),
        "action",
        "outcome",
    )


def copy_tables(store: str, to: str) -> None:
    """Write every table of a store's build into a database of its own as the build writes them: what storing alone takes."""
    with duckdb.connect(
        to, config={"threads": 2, "memory_limit": MEMORY, "preserve_insertion_order": False}
    ) as con:
        con.execute(f"attach '{Store(Path(store)).current_build()}' as built (read_only)")
        tables = "select schema_name, table_name from duckdb_tables() where database_name = 'built'"
        for schema, name in con.execute(tables).fetchall():
            con.execute(f'create schema if not exists "{schema}"')
            con.execute(f'create table "{schema}"."{name}" as from built."{schema}"."{name}"')
        con.execute("checkpoint")
    Path(to).unlink()


def spent(program: str, folder: Path) -> Spent:
    """Run a program in a process of its own."""
    began = time.monotonic()
    environment = {**os.environ, "PYTHONPATH": str(Path.cwd()), "TMPDIR": str(folder)}
    with (folder / "said").open("wb") as said:
        child = subprocess.Popen(
            [sys.executable, "-c", f"d = {str(folder)!r}; {program}"],
            stdout=said,
            stderr=said,
            env=environment,
        )
        peak = [0]
        watch = threading.Thread(target=_watch, args=(child, peak))
        watch.start()
        _, status, used = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        watch.join()
    if child.returncode:
        raise SystemExit((folder / "said").read_text()[-3000:])
    return Spent(time.monotonic() - began, used.ru_utime + used.ru_stime, max(peak[0], used.ru_maxrss * 1024))


def _watch(child: subprocess.Popen[bytes], peak: list[int]) -> None:
    while child.returncode is None:
        peak[0] = max(peak[0], sum(map(_resident, _tree(child.pid))))
        time.sleep(0.2)


def _tree(pid: int) -> list[int]:
    try:
        below = Path(f"/proc/{pid}/task/{pid}/children").read_text().split()
    except OSError:
        below = []
    return [pid, *(each for child in below for each in _tree(int(child)))]


def _resident(pid: int) -> int:
    try:
        return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    except (OSError, IndexError):
        return 0


def measure(lines: int, folder: Path) -> None:
    """Print a table of one size."""
    log, added = folder / "log.csv", folder / "added.csv"
    write_log(log, lines)
    write_log(added, ADDED, seed=2, first_job=lines)
    print(f"\n{lines:,} lines, {log.stat().st_size / MEGABYTE:,.0f} MB")
    print(f"{'step':28}{'seconds':>9}{'processor':>11}{'ratio':>8}{'MB':>8}")
    steps = {name: text.format(log=log, added=added) for name, text in STEPS.items()}
    floor = None
    for name, program in steps.items():
        found = spent(program, folder)
        floor = floor or found.seconds
        print(
            f"{name:28}{found.seconds:9.1f}{found.processor:11.1f}{found.seconds / floor:8.1f}"
            f"{found.memory / MEGABYTE:8,.0f}",
            flush=True,
        )
    for program in AND_THEN:
        print()
        command = [sys.executable, "-m", f"tests.benchmarks.{program}", str(folder / "store")]
        subprocess.run(command, check=True, stderr=subprocess.DEVNULL)


def main() -> None:
    """Measure the sizes that were asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("lines", nargs="*", type=int, default=SIZES)
    parser.add_argument("--folder", type=Path, default=None)
    options = parser.parse_args()
    for lines in options.lines:
        with tempfile.TemporaryDirectory(dir=options.folder) as folder:
            measure(lines, Path(folder))


if __name__ == "__main__":
    main()
