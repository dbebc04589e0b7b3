"""
What to check first at a machine with a symptom: the least expected minutes, with what is never re-ordered in front.

Measure book, section 10. In front, in this order: safety isolation, the look at the installation, dead tests before
checks on the running machine. Within the dead tests, and within the running ones, the order is that of `planning.check_order`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from pipeline.measures.symptom_fixes import Fixes
from pipeline.measures.symptom_jobs import OUTSIDE, TOGETHER
from pipeline.planning.check_order import Check, after_miss, best_order, minutes_of, minutes_of_draws
from pipeline.vocabulary.check_minutes import ASSUMPTION, INSTALLATION, CheckEntry, CheckTable

ISOLATE = "Isolate: electricity off and proved dead, water off, cooled down"
ISOLATE_MIN = 3.0
MACHINE_OUT = "machine out"
DRAWS, SEED = 400, 10
# Minutes that are assumed may as well be a third more or less (log-sd).
ASSUMED_SPREAD = 0.3
# Two checks may change places where the other order is the shorter one in more than this share of the draws.
EQUAL_ABOVE = 0.1
SEEN_LEAST = 0.01  # a part with less of a chance is not worth a line


@dataclass(frozen=True)
class Step:
    """
    One step of the order.

    Attributes
    ----------
    check : str
    part_no, part_name : str or None
        What is looked at; none for the first two steps.
    stage : str
        isolation, installation, dead test, running.
    probability : float
        That the fault lies here, given that it was not found where `missed` says.
    minutes, panel_min : float
        Of the check; of taking off what has not come off yet.
    panels : tuple of str
        What comes off for it.
    source : str
        Where the minutes come from.
    same_as_next : bool
        Whether this and the next may as well change places.
    """

    check: str
    part_no: str | None
    part_name: str | None
    stage: str
    probability: float
    minutes: float
    panel_min: float = 0.0
    panels: tuple[str, ...] = ()
    source: str = ""
    same_as_next: bool = False


@dataclass(frozen=True)
class CheckOrder:
    """
    Steps in order; expected minutes until the fault is found or every step is done, panels and isolation counted; the same
    for the parts in the order in which they were most often the fix; parts for licensed people, named and not in the order.
    """

    steps: tuple[Step, ...]
    expected_min: float
    most_often_first_min: float
    licensed: tuple[str, ...]


@dataclass(frozen=True)
class _Candidate:
    """A part that may be it, by its name; the number is that of the likeliest."""

    part_no: str | None
    part_name: str
    entry: CheckEntry
    weight: float  # jobs behind its chance

    def is_out(self, missed: Collection[str]) -> bool:
        """Whether it was checked already; fitting one from the van says more than the check did."""
        return self.part_name in missed and not self.is_fitting

    is_fitting: bool = False


def check_order(
    fixes: Fixes,
    table: CheckTable,
    kind: str = "",
    *,
    machine_out: bool = False,
    panel_off: bool = False,
    missed: Collection[str] = (),
    on_van: Collection[str] = (),
) -> CheckOrder:
    """
    Order of checks for a symptom.

    Parameters
    ----------
    fixes : Fixes
        What usually fixes it; works done together are shared out evenly among their parts.
    table : CheckTable
        Minutes, panels, and how surely each check finds its fault: as `timed_checks` gives it.
    kind : str
        Kind of machine.
    machine_out, panel_off : bool
        Whether the machine stands out already; whether the panels are off already.
    missed : collection of str
        Names of parts that were checked already and nothing found; "installation" for the look outside.
    on_van : collection of str
        Names of parts that lie on the van: where a check is doubtful, fitting one settles it.
    """
    candidates, outside, other, licensed = _candidates(fixes, table, kind)
    weights = np.array([outside, *(each.weight for each in candidates), other])
    chance = weights / weights.sum()
    look = table.look(kind)
    detection = [look.finds, *(each.entry.finds for each in candidates)]
    for at, name in enumerate([INSTALLATION, *(each.part_name for each in candidates)]):
        if name in missed:
            chance = after_miss(chance, at, detection[at])
    parts = chance[1:-1]
    if on_van:
        candidates, parts = _with_fitting(candidates, parts, table, on_van, missed)
        weights = np.array([weights[0], *(each.weight for each in candidates), weights[-1]])
    plan = _Plan.of(candidates, parts, table, machine_out=machine_out, panel_off=panel_off)
    order = plan.best()
    front = _front(look, float(chance[0]), missed)
    equal = dict(zip(order, plan.equal_to_next(order, weights), strict=True))
    kept = plan.without(order, missed)
    return CheckOrder(
        (*front, *plan.steps(kept, [equal[at] for at in kept])),
        _expected(plan, front, look.finds, kept),
        _expected(plan, front, look.finds, plan.without(plan.most_often_first(), missed)),
        licensed,
    )


@dataclass(frozen=True)
class Weighed:
    """What may be it, without what it rests on: rows and keys as in `Fixes`, jobs behind each, something else last."""

    rows: Sequence[Mapping[str, Any]]
    keys: Sequence[str]
    weights: NDArray[np.float64]


def steps_of(
    found: Weighed, table: CheckTable, kind: str = "", *, most_often_first: bool = False
) -> tuple[Step, ...]:
    """The steps alone, parts in the order of `check_order` or as often as they were the fix."""
    candidates, outside, other, _ = _candidates(found, table, kind)
    weights = np.array([outside, *(each.weight for each in candidates), other])
    chance = weights / weights.sum()
    plan = _Plan.of(candidates, chance[1:-1], table, machine_out=False, panel_off=False)
    order = plan.most_often_first() if most_often_first else plan.best()
    return (*_front(table.look(kind), float(chance[0]), ()), *plan.steps(order, [False] * len(order)))


def _expected(plan: _Plan, front: list[Step], finds: float, parts: list[int]) -> float:
    """The pinned steps are made whatever the fault is; what the look outside finds, no part has to be checked for."""
    pinned = [Check(step.probability, finds, step.minutes) for step in front]
    made = [*range(len(pinned)), *(len(pinned) + at for at in parts)]
    return minutes_of(made, [*pinned, *plan.checks], plan.panels, plan.off)


def _candidates(
    fixes: Fixes | Weighed, table: CheckTable, kind: str
) -> tuple[list[_Candidate], float, float, tuple[str, ...]]:
    """Parts that may be it, jobs behind causes outside and behind something else, names of parts for licensed people."""
    found: dict[str, _Candidate] = {}
    outside, licensed, total = 0.0, dict[str, None](), float(fixes.weights.sum())
    other = float(fixes.weights[-1])
    for key, row, weight in zip(fixes.keys, fixes.rows, fixes.weights, strict=False):
        each = key.split(TOGETHER)
        numbers, names = (str(row[name] or "").split(TOGETHER) for name in ("part_no", "part_name"))
        written = iter(numbers)
        for part, name in zip(each, names, strict=True):
            share = float(weight) / len(each)
            if part.startswith(OUTSIDE):
                outside += share
                continue
            number = next(written, "") or None
            entry = table.of_part(name, kind)
            if entry is None:
                licensed[name] = None
                other += share
            elif name in found:
                # Two numbers of one part are looked at in one check.
                found[name] = replace(found[name], weight=found[name].weight + share)
            else:
                found[name] = _Candidate(number, name, entry, share)
    kept = [each for each in found.values() if each.weight >= SEEN_LEAST * total]
    other += sum(each.weight for each in found.values()) - sum(each.weight for each in kept)
    return kept, outside, other, tuple(licensed)


def _with_fitting(
    candidates: list[_Candidate],
    chance: NDArray[np.float64],
    table: CheckTable,
    on_van: Collection[str],
    missed: Collection[str],
) -> tuple[list[_Candidate], NDArray[np.float64]]:
    """One more step for each doubtful check whose part is on the van: what the check would not have found."""
    fitting = table.fitting
    more, left = [], []
    for each, p in zip(candidates, chance, strict=True):
        entry, unseen = each.entry, 1.0 - each.entry.finds
        # Never before the check itself: to fit on suspicion is no check.
        is_second = unseen / fitting.minutes < entry.finds / entry.minutes
        if each.part_name in on_van and entry.finds <= fitting.finds and is_second:
            step = replace(fitting, finds=1.0, behind=entry.behind, running=True)
            more.append(replace(each, entry=step, weight=each.weight * unseen, is_fitting=True))
            left.append(float(p) * (1.0 if each.part_name in missed else unseen))
    return [*candidates, *more], np.array([*chance, *left])


def _off(names: list[str], *, machine_out: bool, panel_off: bool) -> list[int]:
    """A panel that is off was reached: whatever stands before it is out of the way too."""
    if panel_off:
        return list(range(len(names)))
    return [names.index(MACHINE_OUT)] if machine_out and MACHINE_OUT in names else []


@dataclass(frozen=True)
class _Plan:
    """Parts that may be it with their checks, panels by name with their minutes, and which are off."""

    candidates: list[_Candidate]
    checks: list[Check]
    names: list[str]
    panels: list[float]
    off: list[int]

    @classmethod
    def of(
        cls,
        candidates: list[_Candidate],
        chance: NDArray[np.float64],
        table: CheckTable,
        *,
        machine_out: bool,
        panel_off: bool,
    ) -> _Plan:
        names = list(table.panels)
        checks = [
            Check(
                float(p),
                each.entry.finds,
                each.entry.minutes,
                tuple(names.index(panel) for panel in table.way_to(each.entry.behind)),
            )
            for each, p in zip(candidates, chance, strict=True)
        ]
        off = _off(names, machine_out=machine_out, panel_off=panel_off)
        return cls(candidates, checks, names, [panel.minutes for panel in table.panels.values()], off)

    def is_running(self, at: int) -> bool:
        return self.candidates[at].entry.running

    def best(self) -> list[int]:
        """Dead tests in their best order, then the running machine in its own."""
        order: list[int] = []
        for running in (False, True):
            some = [at for at in range(len(self.checks)) if self.is_running(at) == running]
            gone = sorted({*self.off, *(panel for at in order for panel in self.checks[at].behind)})
            order += [some[at] for at in best_order([self.checks[at] for at in some], self.panels, gone)]
        return order

    def most_often_first(self) -> list[int]:
        return sorted(range(len(self.checks)), key=lambda at: -self.checks[at].probability)

    def without(self, order: list[int], missed: Collection[str]) -> list[int]:
        return [at for at in order if not self.candidates[at].is_out(missed)]

    def equal_to_next(self, order: list[int], weights: NDArray[np.float64]) -> list[bool]:
        """
        Whether a check and the next could change places.

        Chances are drawn as the jobs allow, minutes from the log as their middle may be, assumed ones as they may be.
        """
        rng = np.random.default_rng(SEED)
        drawn = rng.dirichlet(np.maximum(weights, 1e-3), DRAWS)[:, 1:-1]
        spread = np.exp(rng.normal(0.0, ASSUMED_SPREAD, (DRAWS, len(self.checks))))
        minutes = spread * np.array([check.minutes for check in self.checks])
        for at, each in enumerate(self.candidates):
            if each.entry.recorded is not None:
                minutes[:, at] = each.entry.recorded.medians(rng, DRAWS)

        def of(some: list[int]) -> NDArray[np.float64]:
            return minutes_of_draws(some, self.checks, (drawn, minutes), self.panels, self.off)

        as_it_is, found = of(order), []
        for place, (one, other) in enumerate(pairwise(order)):
            is_apart = self.is_running(one) != self.is_running(other)
            swapped = [*order[:place], other, one, *order[place + 2 :]]
            shorter = 0.0 if is_apart else float(np.mean(of(swapped) < as_it_is))
            found.append(shorter > EQUAL_ABOVE)
        return [*found, False][: len(order)]

    def steps(self, order: list[int], equal: list[bool]) -> list[Step]:
        """The order in words, each panel with the first check that needs it."""
        gone, steps = set(self.off), []
        for at, same in zip(order, equal, strict=True):
            needed = [panel for panel in self.checks[at].behind if panel not in gone]
            gone |= set(needed)
            each = self.candidates[at]
            steps.append(
                Step(
                    each.entry.check,
                    each.part_no,
                    each.part_name,
                    "running" if each.entry.running else "dead test",
                    self.checks[at].probability,
                    each.entry.minutes,
                    float(sum(self.panels[panel] for panel in needed)),
                    tuple(self.names[panel] for panel in needed),
                    each.entry.source,
                    same,
                )
            )
        return steps


def _front(look: CheckEntry, outside: float, missed: Collection[str]) -> list[Step]:
    steps = [Step(ISOLATE, None, None, "isolation", 0.0, ISOLATE_MIN, source=ASSUMPTION)]
    if INSTALLATION not in missed:
        steps.append(Step(look.check, None, None, INSTALLATION, outside, look.minutes, source=look.source))
    return steps
