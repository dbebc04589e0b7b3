"""What is asked of a measure: groups, window, days, and the choices a measure offers."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from pipeline.errors import WrongUseError
from pipeline.settings import AMOUNTS, MOST, PRICINGS

KINDS = ("any", "same-fault")
CLOCKS = ("hands-on", "restored", "visits")
BASES = ("machine-list", "machines-seen", "shares")
LEVEL = 0.95


@dataclass(frozen=True)
class Question:
    """
    One question to a measure.

    Parameters
    ----------
    by : tuple of str
        Column names of the standard log, `age_band`, `month` or `source`; empty for the measure's own default.
    from_at, complete_to : datetime or None
        Half-open window, local time of the log; None for the measure's default.
    days : int
        Days of follow-up for repeat visits.
    kind, clock, basis : str
        See KINDS, CLOCKS, BASES; `basis` None takes the best one the store allows.
    people : bool
        Whether figures about the people who work there were asked for.
    hour_costs, flat_price, customer_day : float or None
        Amounts in major units in place of the shop's settings; None for those.
    guarantee_days : int or None
        In place of the shop's setting.
    only : tuple of (str, str)
        Groups and their values: jobs of other groups are not looked at. For whoever needs few rows of a great many.
    price_change : float or None
        Per cent by which every bill of a customer would be higher; not with a flat price.
    pricing : str or None
        See `pipeline.settings.PRICINGS`; None for the shop's own.
    most : int or None
        Of figures of jobs, at most so many groups of a kind of machine, those with most records: there are as many symptoms
        as ways of writing. None for all.
    """

    by: tuple[str, ...] = ()
    from_at: datetime | None = None
    complete_to: datetime | None = None
    days: int = 30
    kind: str = "any"
    clock: str = "hands-on"
    basis: str | None = None
    people: bool = False
    level: float = LEVEL
    hour_costs: float | None = None
    pricing: str | None = None
    flat_price: float | None = None
    customer_day: float | None = None
    guarantee_days: int | None = None
    price_change: float | None = None
    only: tuple[tuple[str, str], ...] = ()
    most: int | None = None

    def __post_init__(self) -> None:
        """Refuse values that no measure can mean."""
        _one_of("kind", self.kind, KINDS)
        _one_of("clock", self.clock, CLOCKS)
        if self.basis is not None:
            _one_of("basis", self.basis, BASES)
        if self.pricing is not None:
            _one_of("pricing", self.pricing, PRICINGS)
        for name in AMOUNTS:
            amount = getattr(self, name)
            if amount is not None and not 0 < amount <= MOST:
                raise WrongUseError(f"{name} must be above 0 and at most {MOST:,.0f}, but was {amount}.")
        if self.guarantee_days is not None and not 1 <= self.guarantee_days <= 3650:
            raise WrongUseError(f"guarantee_days must be between 1 and 3650, but was {self.guarantee_days}.")
        if self.price_change is not None and not -100 < self.price_change <= 1000:
            raise WrongUseError(
                f"price_change must be above -100 and at most 1000, but was {self.price_change}."
            )
        if not 1 <= self.days <= 3650:
            raise WrongUseError(f"--days must be between 1 and 3650, but was {self.days}.")
        if self.from_at and self.complete_to and self.from_at >= self.complete_to:
            raise WrongUseError(
                f"--from ({self.from_at}) must lie before --complete-to ({self.complete_to})."
            )


@dataclass(frozen=True)
class Window:
    """A half-open window; `to_on` is the first local day no longer counted."""

    from_at: datetime
    complete_to: datetime

    @property
    def from_on(self) -> date:
        """First local day that counts."""
        return self.from_at.date()

    @property
    def to_on(self) -> date:
        """First local day that no longer counts at all."""
        whole_day = self.complete_to.time() == datetime.min.time()
        return self.complete_to.date() if whole_day else self.complete_to.date() + timedelta(days=1)

    def in_words(self) -> str:
        """The window as it is printed beside a figure."""
        return f"from {_moment(self.from_at)} until before {_moment(self.complete_to)}"


def moment_of(text: str, option: str) -> datetime:
    """Read an ISO date or date-time; a date means its first moment."""
    try:
        value = datetime.fromisoformat(text)
    except ValueError:
        message = f'{option} takes a date such as 2026-03-01 or 2026-03-01T12:00, but was "{text}".'
        raise WrongUseError(message) from None
    return value.replace(tzinfo=None)


def _one_of(option: str, value: str, allowed: tuple[str, ...]) -> None:
    if value not in allowed:
        raise WrongUseError(f'--{option} must be one of {", ".join(allowed)}, but was "{value}".')


def _moment(value: datetime) -> str:
    return (
        value.date().isoformat()
        if value.time() == datetime.min.time()
        else value.isoformat(sep=" ", timespec="minutes")
    )
