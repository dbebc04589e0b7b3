"""Every cell that is studied: section, figure, what the fleet is like, and how it is worked out."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from . import lives, rates, times
from .fleets import SIZES
from .scoring import Answers, Score, score

SEED = 1
FRAILTY = (0.0, 0.5, 1.5)
DISTURBED = {"lost 15 % a year": {"lost": 0.15}, "5 % on a wrong machine": {"mixed": 0.05}}


@dataclass(frozen=True)
class Cell:
    """
    One cell.

    `kind` is `exact`, `other`, `disturbed` (what the log cannot show) or `usual` (the usual figure, beside ours); `more` how
    many times more replicates it needs.
    """

    section: int
    figure: str
    name: str
    kind: str
    work_out: Callable[[np.random.Generator, int], Answers]
    more: int = 1

    @property
    def id(self) -> str:
        """Name in a test report."""
        return f"{self.section} {self.figure} {self.name}".replace(" ", "_")

    def run(self, reps: int, seed: int) -> Score:
        """Work the cell out with so many replicates, in blocks that fit into memory."""
        blocks, left, at = [], reps, 0
        while left > 0:
            size = min(left, self.block)
            rng = np.random.default_rng([seed, self.section, *self.id.encode(), at])
            blocks.append(self.work_out(rng, size))
            left, at = left - size, at + 1
        return score(self.section, self.figure, self.name, self.kind, _together(blocks))

    @property
    def block(self) -> int:
        """Replicates at a time."""
        return 100 if "national" in self.name else 500


def _together(blocks: list[Answers]) -> Answers:
    if len(blocks) == 1:
        return blocks[0]
    sizes = [len(block.value) for block in blocks]
    truths = [
        np.broadcast_to(np.asarray(b.truth, dtype=float), n) for b, n in zip(blocks, sizes, strict=True)
    ]
    columns = {
        name: np.concatenate([getattr(block, name) for block in blocks])
        for name in ("value", "low", "high", "n_eff", "sample")
    }
    naive = None if blocks[0].naive is None else np.concatenate([block.naive for block in blocks])
    return Answers(**columns, truth=np.concatenate(truths), naive=naive)


def all_cells() -> Iterator[Cell]:
    """Sections 2 to 8 in order."""
    yield from _rates()
    yield from _ages()
    yield from _lives()
    yield from _repeats()
    yield from _times()
    yield from _shares()


def _rates() -> Iterator[Cell]:
    for seen in (False, True):
        figure = "failure rate, " + ("machines seen" if seen else "machine list")
        for size, machines in SIZES.items():
            for v in FRAILTY:
                # Thirty machines of sixty are a van's; the others that a firm never sees are in no log.
                setting = rates.Setting(machines, v, is_seen_only=seen)
                yield Cell(
                    2, figure, f"{size}, frailty {v}", "other", partial(_call, rates.failure_rate, setting)
                )
        for said, how in DISTURBED.items():
            setting = rates.Setting(400, 0.5, is_seen_only=seen, **how)
            yield Cell(
                2,
                figure,
                f"four vans, frailty 0.5, {said}",
                "disturbed",
                partial(_call, rates.failure_rate, setting),
            )
    for machines in (20, 60, 400):
        setting = rates.Setting(machines, 0.0)
        name = f"{machines} machines, one failure each at most"
        yield Cell(
            2, "failure rate, exact", name, "exact", partial(_call, rates.rate_of_one_event_each, setting)
        )
        yield Cell(
            2,
            "ratio of two rates",
            f"{machines} machines a side",
            "exact",
            partial(_call, rates.ratio_of_two_rates, setting),
        )


def _ages() -> Iterator[Cell]:
    for size, machines in SIZES.items():
        for v in FRAILTY:
            setting = rates.Ageing(machines, v)
            name = f"{size}, frailty {v}"
            for years in (3, 10):
                yield Cell(
                    3,
                    f"repairs by {years} years",
                    name,
                    "other",
                    partial(_by_age, rates.repairs_by, setting, years),
                )
            if size != "national":
                yield Cell(
                    3,
                    "difference of two groups, 5 years",
                    name,
                    "other",
                    partial(_by_age, rates.difference_by, setting, 5),
                )
                yield Cell(3, "change with age", name, "other", partial(_call, rates.change, setting))


def _lives() -> Iterator[Cell]:
    both = (lives.SAME, lives.OTHER)
    for size, machines in SIZES.items():
        for v in FRAILTY:
            setting = lives.Setting(machines, v)
            name = f"{size}, frailty {v}"
            # Of one van's answers only some are printed as enough, and what is said of those needs replicates of its own.
            more = 5 if size == "one van" else 1
            for day in (30, 90, 365):
                worked = partial(_by_day, setting, day, both)
                yield Cell(4, f"worked on again by day {day}", name, "other", worked, more=more)
            mean = partial(_call, lives.mean_life, setting)
            yield Cell(4, "mean life in a year", name, "other", mean, more=more)
    for shape in (0.7, 1.0, 2.0):
        setting = lives.Setting(400, 0.0, shape=shape, comes_back=0.0)
        yield Cell(
            4,
            "Weibull shape",
            f"four vans, true shape {shape}",
            "other",
            partial(_call, lives.shape_of_life, setting),
        )
    setting = lives.Setting(400, 0.5, comes_back=0.0)
    yield Cell(
        4,
        "Weibull shape",
        "four vans, shape 1 in each machine, frailty 0.5",
        "disturbed",
        partial(_call, lives.shape_of_life, setting),
    )
    for said, how in DISTURBED.items():
        setting = lives.Setting(400, 0.5, **how)
        yield Cell(
            4,
            "worked on again by day 365",
            f"four vans, frailty 0.5, {said}",
            "disturbed",
            partial(_by_day, setting, 365, both),
        )


def _repeats() -> Iterator[Cell]:
    same, both = (lives.SAME,), (lives.SAME, lives.OTHER)
    for size, machines in SIZES.items():
        for v in FRAILTY:
            for a_year, often in ((0.5, ""), (0.1, ", a seldom fix")):
                setting = lives.Setting(machines, v, a_year=a_year)
                name = f"{size}, frailty {v}{often}"
                yield Cell(5, "same fault in 30 days", name, "other", partial(_by_day, setting, 30, same))
            yield Cell(
                5,
                "any fault in 90 days",
                f"{size}, frailty {v}",
                "other",
                partial(_by_day, lives.Setting(machines, v), 90, both),
            )
    for said, how in DISTURBED.items():
        setting = lives.Setting(400, 0.5, **how)
        yield Cell(
            5,
            "same fault in 30 days",
            f"four vans, frailty 0.5, {said}",
            "disturbed",
            partial(_by_day, setting, 30, same),
        )


def _times() -> Iterator[Cell]:
    for jobs, machines in ((12, 10), (20, 16), (30, 20), (60, 40), (300, 150)):
        for kind, spread in (
            ("log-normal", 0.6),
            ("log-normal", 1.2),
            ("quick or long", 0.0),
            ("gamma", 0.0),
        ):
            setting = times.Jobs(jobs, machines, 0.0, kind, spread)
            name = f"{jobs} jobs, {kind}" + (f", log-sd {spread}" if spread else "")
            yield Cell(
                6,
                "hands-on mean",
                name,
                "other",
                partial(_call, times.hands_on, setting),
            )
        for figure, work_out, v in (
            ("visits mean", times.visits, 0.0),
            ("days without, mean", times.restored, 0.0),
        ):
            yield Cell(
                6,
                figure,
                f"{jobs} jobs",
                "other",
                partial(_call, work_out, times.Jobs(jobs, machines, v)),
            )
    setting = times.Jobs(300, 60, 0.3)
    yield Cell(
        6,
        "hands-on mean",
        "300 jobs on 60 machines that differ",
        "other",
        partial(_call, times.hands_on, setting),
    )
    yield Cell(
        6,
        "days without, mean",
        "300 jobs on 60 machines that differ",
        "other",
        partial(_call, times.restored, setting),
    )


def _shares() -> Iterator[Cell]:
    for section, figure, truth in ((7, "done at the first visit", 0.8), (8, "no fault found", 0.06)):
        for jobs, machines, v in (
            (20, 16, 0.0),
            (100, 70, 0.0),
            (1000, 400, 0.0),
            (100, 40, 0.1),
            (300, 40, 0.1),
            (1000, 150, 0.1),
        ):
            setting = times.Jobs(jobs, machines, v)
            name = f"{jobs} jobs on {machines} machines" + (f", correlation {v}" if v else "")
            yield Cell(section, figure, name, "other", partial(_share, times.share, setting, truth))
            if v:
                usual = partial(_share, times.usual_share, setting, truth)
                yield Cell(section, f"{figure}, usual range", name, "usual", usual)
    for size, machines in SIZES.items():
        for v in (0.0, 1.5):
            setting = lives.Setting(machines, v, comes_back=0.03)
            yield Cell(
                8,
                "another part was the cure",
                f"{size}, frailty {v}",
                "other",
                partial(_by_day, setting, 30, (lives.SAME,)),
            )
    for jobs, machines in ((100, 70), (300, 150), (1000, 400)):
        yield Cell(
            8,
            "unpaid hours per 100 jobs",
            f"{jobs} jobs",
            "other",
            partial(_call, times.unpaid, times.Jobs(jobs, machines)),
        )


def _call(work_out, setting, rng, reps) -> Answers:
    return work_out(rng, setting, reps)


def _by_age(work_out, setting, years, rng, reps) -> Answers:
    return work_out(rng, setting, reps, years=years)


def _by_day(setting, day, causes, rng, reps) -> Answers:
    return lives.probability(rng, setting, reps, day=day, causes=causes)


def _share(work_out, setting, truth, rng, reps) -> Answers:
    return work_out(rng, setting, reps, truth=truth)
