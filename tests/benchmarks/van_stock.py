"""
How long a van's stock takes to choose among 5,000 parts from 500,000 jobs. Run by hand:

    python -m tests.benchmarks.van_stock

Processor seconds, and as ratios to reading and grouping the same needs once (what any answer has to do).
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np

from pipeline.stock.history import History
from pipeline.stock.patterns import patterns
from pipeline.stock.van import curve, van_stock
from pipeline.stock.wish import Wish
from tests.stock import fleets

JOBS, PARTS = 500_000, 5_000


def large_past() -> History:
    """Half a million jobs of a hundred vans; parts by a power law, up to four a job."""
    rng = np.random.default_rng(1)
    weight = 1 / np.arange(1, PARTS + 1) ** 0.9
    size = rng.choice([0, 1, 2, 3, 4], p=[0.35, 0.45, 0.13, 0.05, 0.02], size=JOBS)
    drawn = rng.choice(PARTS, p=weight / weight.sum(), size=size.sum())
    need = np.unique(np.repeat(np.arange(JOBS), size) * PARTS + drawn)
    return History(
        np.sort(rng.integers(0, fleets.DAYS, JOBS)),
        rng.integers(0, 100, JOBS),
        np.ones(JOBS, dtype=np.bool_),
        rng.random(JOBS) > 0.08,
        need // PARTS,
        need % PARTS,
        np.ones(len(need), dtype=np.int64),
        rng.random(len(need)) > 0.3,
        [f"P{n:04d}" for n in range(PARTS)],
        fleets.DAYS,
        fleets.bounds(),
        np.full(JOBS, np.nan),
    )


def seconds(work: Callable[[], Any]) -> tuple[float, Any]:
    """Processor seconds of a piece of work, and what came of it."""
    start = time.process_time()
    result = work()
    return time.process_time() - start, result


def main() -> None:
    """Print one line a piece of work."""
    past = large_past()
    basis = fleets.basis(past, np.exp(np.random.default_rng(2).normal(3, 1, PARTS)))
    least, _ = seconds(lambda: patterns(past))
    print(f"{'patterns of need':<24}{least:6.1f} s")
    found = None
    for wish in (Wish(budget=1500), Wish(budget=8000), Wish(lines=100)):
        took, found = seconds(lambda wish=wish: van_stock(basis, wish))
        what = f"list, {f'budget {wish.budget:.0f}' if wish.budget else f'{wish.lines} lines'}"
        print(
            f"{what:<24}{took:6.1f} s  {took / least:5.1f}  {found.stock.sum()} pieces, gap at most {found.choice.gap:.2%}"
        )
    took, steps = seconds(lambda: curve(found))
    print(f"{'curve':<24}{took:6.1f} s  {took / least:5.1f}  {len(steps)} points")


if __name__ == "__main__":
    main()
