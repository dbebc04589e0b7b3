"""
Runs cells and writes the table: `python -m tests.studies.run [WORD ...]`.

With words, only cells whose name holds one of them are run (`4_` is a section); their lines in RESULTS.md are written anew and
the others stay, so that no single run is long.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

from .cells import SEED, Cell, all_cells
from .scoring import HEADING, line

REPLICATES = 2000
RESULTS = Path(__file__).with_name("RESULTS.md")
HEAD = f"""# What simulated firms said

Written by `python -m tests.studies.run`; `python -m pytest -m full tests/studies` works the same numbers out again and holds them to
what is asked. Firms are invented: one van (60 machines), four vans (400), national (3,000), three years of log, half of the machines
there from the start at any age, removals, gamma frailty between machines of the variance named. {REPLICATES:,} replicates a cell (fewer
stand there where an answer was refused), five times as many for lives of one van, few of which are printed as enough; seed {SEED}.

Coverage: in how many of 100 replicates the likely range (95 %) held the truth; "of enough", the same where the figure was printed as
enough. n_eff: mean effective sample (events, for rates and ages). Naive bias: how far the usual figure is off. Kinds: `exact` and
`other` ranges; `disturbed`, what a log cannot show (customers lost, jobs on a wrong machine); `usual`, the usual range beside ours.

"""

FOOT = """
Past revisions (`revisions.py`, the sample cut off month by month): of repeat visits by kind of machine 14 % of the comparisons are
contradicted by what came later. One kind makes up 17 of these 23: of dishwashers 20 % were back within 30 days up to the summer of 2024
and 14 % after it, and the 24 cuts, which share most of their jobs, count that one difference 17 times. It is chance: firms of six other
seeds (7 to 12, cut every third month, some 56 comparisons each) are contradicted in 1.8 to 3.6 %, and their dishwashers are back in
16.0 % before the cut of September 2024 and in 16.2 % after it.
"""


def name_of(row: str) -> tuple[str, ...]:
    """Section, figure and cell of a line of the table."""
    return tuple(part.strip() for part in row.split("|")[1:4])


def kept(path: Path) -> dict[tuple[str, ...], str]:
    """Lines that are there."""
    if not path.exists():
        return {}
    rows = path.read_text(encoding="utf-8").splitlines(keepends=True)
    return {name_of(row): row for row in rows if row.startswith("| ") and row[2].isdigit()}


def main(words: list[str]) -> None:
    """Run the cells asked for and write."""
    start, rows = time.perf_counter(), kept(RESULTS)
    every: list[Cell] = list(all_cells())
    for cell in every:
        if words and not any(word in cell.id for word in words):
            continue
        row = line(cell.run(REPLICATES * cell.more, SEED))
        rows[name_of(row)] = row
        print(f"{time.perf_counter() - start:6.1f} s {row}", end="", flush=True)
        order = [(str(each.section), each.figure, each.name) for each in every]
        body = "".join(rows[name] for name in order if name in rows)
        RESULTS.write_text(HEAD + HEADING + body + FOOT, encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
