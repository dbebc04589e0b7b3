"""What decides how a column is written, and what leaves it open. Nothing is guessed: open means that a person is asked.

The counts come from `column_facts.py`, over the distinct cells of a column; the order of rows plays no part.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from pipeline.normalise.column_facts import Facts, Order
from pipeline.normalise.forms import Typed, default_form

# A few cells may go against all others (a slip, a copied row) without leaving a column open.
SLIPS = 0.02
# One slip is no share of a short column; so many cells must stand against it.
AGAINST_ONE = 20
# Share of a column's cells for which nobody is asked how they are meant: their rows are set aside, and can be mended.
FEW = 0.05
# Steps from one job number to the next: so many are needed, so few may go back, so many must go back the other way.
STEPS_NEEDED, BACK_AT_MOST, BACK_AT_LEAST = 10, 0.05, 0.25
# Medians of bare numbers in a column of lengths of time, fractions among them (common practice, no source).
DAY_PARTS_BELOW, HOURS_TO, MINUTES_FROM = 0.2, 5.0, 15.0
# Distinct dates left as text, and taken for dates, before a spreadsheet is suspected.
TYPED_NEEDED, TURNED_NEEDED = 3, 6
# Two-digit years in the first place show as few different first numbers and many different last ones.
YEARS_TELL, DAYS_NEEDED = 3, 6


@dataclass(frozen=True)
class Decision:
    """
    How a column is read.

    Attributes
    ----------
    form : str
        Name of the form; of an open column, of the preferred one.
    evidence : str
        What decided, in words.
    open : tuple of str
        Names of the forms between which nothing decides; empty where the column is decided.
    is_proven : bool
        Whether cells of this column show the form, so that a column beside it may follow it.
    is_worth_asking : bool
        Whether a person should be asked what is open; not where it hangs on so few cells that their rows are set aside.
    """

    form: str
    evidence: str
    open: tuple[str, ...] = ()
    is_proven: bool = False
    is_worth_asking: bool = True


def decide(kind: Typed, facts: Facts, order: Callable[[], Order]) -> Decision:
    """
    Decide the form of a column from what its cells show.

    Parameters
    ----------
    kind : str
        What the column holds.
    facts : Facts
        Counts over its distinct cells.
    order : callable
        Gives how often the days go back along the job numbers, read day first and month first; asked only where
        nothing else decides.
    """
    if kind in ("moment", "day"):
        decision = _dates(kind, facts, order)
        return _asking(decision, facts["numbered" if len(decision.open) > 2 else "differ"], facts)
    return {"minutes": _minutes, "money": _money, "number": _numbers}[kind](facts)


def _asking(decision: Decision, hangs_on: int, facts: Facts) -> Decision:
    """An open decision that hangs on so many cells, with whether these are worth a question."""
    return replace(decision, is_worth_asking=hangs_on > FEW * facts["cells"]) if decision.open else decision


def _dates(kind: Typed, facts: Facts, order: Callable[[], Order]) -> Decision:
    if not facts["numbered"]:
        return _unnumbered_dates(kind, facts)
    if facts["year_first"] and facts["year_first"] == facts["numbered"] and facts["lasts"] > facts["firsts"]:
        if facts["lasts"] >= max(YEARS_TELL * facts["firsts"], DAYS_NEEDED):
            return Decision(
                "year first", "the first number hardly changes and the last one does", is_proven=True
            )
        return Decision("day first", "years of two digits could stand first", _ALL_ORDERS)
    votes = _Votes("day first", "month first", facts["day_only"], facts["month_only"], facts["differ"])
    turned = _turned_round(votes, facts)
    if turned is not None:
        return turned
    decision = votes.decision("a number above 12 or a weekday stands where only a day can")
    if not decision.open or votes.first or votes.second:
        return decision
    return _by_order(order(), decision)


def _turned_round(votes: _Votes, facts: Facts) -> Decision | None:
    """
    Whether a spreadsheet may have turned dates round: every date that it could take for one has a day up to 12.

    What it could not (13/04/2026) stayed as it was typed. By chance so many days up to 12 and none as text are rare.
    """
    typed = votes.first + votes.second
    only_typed = typed >= TYPED_NEEDED and not votes.differ and not (votes.first and votes.second)
    if (
        not only_typed
        or facts["turnable"] < TURNED_NEEDED
        or facts["not_turnable"]
        or facts["numbered"] > typed
    ):
        return None
    name = votes.one if votes.first else votes.other
    why = "a spreadsheet may have turned round the dates that it could read: none of them is after the 12th"
    return Decision(name, why, (name, f"{name}, other dates turned round"))


_ALL_ORDERS = ("day first", "month first", "year first")


def _by_order(order: Order, otherwise: Decision) -> Decision:
    enough = order.steps >= STEPS_NEEDED
    for name, back, other in (
        ("day first", order.back_day_first, order.back_month_first),
        ("month first", order.back_month_first, order.back_day_first),
    ):
        if enough and back <= BACK_AT_MOST * order.steps and other >= BACK_AT_LEAST * order.steps:
            return Decision(name, "only so do the days rise with the job numbers", is_proven=True)
    return otherwise


def _unnumbered_dates(kind: Typed, facts: Facts) -> Decision:
    """No date of numbers that could be turned round: whatever reads most."""
    names = (default_form(kind).name, "month names", "compact", "spreadsheet days")
    best = max(names, key=lambda name: facts[name])
    return Decision(best, "reads most of the column")


def _minutes(facts: Facts) -> Decision:
    if not facts["fractions"]:
        why = "whole numbers" if facts["bare"] else "every cell names its unit"
        if facts["marked"] and facts["median"] <= HOURS_TO:
            # Nobody writes minutes with a decimal mark, and hardly anybody works for three of them.
            return Decision(
                "hours", f"{why} with a decimal mark, half of them {HOURS_TO:g} or less", ("minutes", "hours")
            )
        return _marked_hours(facts, "minutes", why)
    median = facts["median"]
    if median < DAY_PARTS_BELOW:
        why = f"half of the numbers are below {DAY_PARTS_BELOW}"
        undecided = () if facts["long_fractions"] else ("parts of a day", "hours")
        return Decision("parts of a day", why, undecided)
    if median <= HOURS_TO:
        return _hours(facts)
    if median >= MINUTES_FROM:
        form = "minutes from 5" if facts["small_fractions"] else "minutes"
        return _marked_hours(facts, form, f"half of the numbers are {MINUTES_FROM:g} or more")
    return Decision("minutes", "the numbers could be minutes or hours", ("minutes", "hours"))


def _hours(facts: Facts) -> Decision:
    why = f"fractions, and half of the numbers are {HOURS_TO:g} or less"
    if facts["decimal_only"]:
        return Decision("hours", f"{why}; fractions of .60 or more", is_proven=True)
    if facts["doubtful"]:
        return Decision("hours", f"{why}; no fraction tells parts of an hour from minutes", _DOTS)
    return Decision("hours", f"{why}; halves only")


_DOTS = ("hours", "hours.minutes")


def _marked_hours(facts: Facts, form: str, why: str) -> Decision:
    """Bare numbers are minutes; "1.30 h" among them may still be meant either way."""
    if facts["doubtful_hours"] and not facts["decimal_only"]:
        decision = Decision(form, f"{why}; hours with a fraction", (form, "minutes, and hours.minutes"))
        return _asking(decision, facts["doubtful_hours"], facts)
    return Decision(form, why)


def _money(facts: Facts) -> Decision:
    point, comma = "amounts with a decimal point", "amounts with a decimal comma"
    votes = _Votes(point, comma, facts["point_only"], facts["comma_only"], facts["differ"])
    decision = votes.decision("two digits after the mark, or thousands parted by the other one")
    if decision.form == point and not decision.open and facts["default"] == facts["cells"]:
        return replace(decision, form="decimal point")
    return _asking(decision, facts["differ"], facts)


def _numbers(facts: Facts) -> Decision:
    default = default_form("number").name
    if facts["numbers with units"] > facts[default]:
        return Decision("numbers with units", "reads most of the column")
    return Decision(default, "reads as much as any other form")


@dataclass(frozen=True)
class _Votes:
    """Two ways of reading: cells that only the one reads, only the other, and both but differently."""

    one: str
    other: str
    first: int
    second: int
    differ: int

    def decision(self, shown: str) -> Decision:
        """What the cells decide between two ways of reading; `shown` says in words what a deciding cell shows."""
        more, fewer = max(self.first, self.second), min(self.first, self.second)
        winner = self.one if self.first >= self.second else self.other
        if not more:
            if not self.differ:
                return Decision(self.one, "every cell reads the same either way")
            return Decision(self.one, "every cell can be read either way", (self.one, self.other))
        counted = f"{shown} ({more} of {more + fewer} such cells)"
        # Against a slip here and there; but not where cells that can be read either way hang on it.
        is_slip = fewer <= SLIPS * (more + fewer) or (fewer == 1 and more >= AGAINST_ONE)
        if not is_slip and self.differ:
            return Decision(winner, f"the column is written both ways ({more} and {fewer} cells)", self.pair)
        return Decision(winner, counted, is_proven=True)

    @property
    def pair(self) -> tuple[str, str]:
        """Both names."""
        return (self.one, self.other)
