"""Life curves in plain Python and exact fractions, one record at a time: a twin of the estimators."""

from __future__ import annotations

from fractions import Fraction

# A record is (entry, time, cause, unit); at risk on the days entry < day <= time; cause -1 is "still
# event-free".
Record = tuple[int, int, int, int]


def at_risk_on(records: list[Record], day: int) -> int:
    return sum(1 for entry, time, _, _ in records if entry < day <= time)


def incidence_by(records: list[Record], day: int, causes: tuple[int, ...]) -> Fraction:
    """Aalen-Johansen probability of the causes by a day, that day included."""
    staying, total = Fraction(1), Fraction(0)
    for now in range(day + 1):
        at_risk = at_risk_on(records, now)
        ended = [cause for entry, time, cause, _ in records if entry < time == now and cause >= 0]
        if at_risk:
            total += staying * Fraction(sum(cause in causes for cause in ended), at_risk)
            staying *= 1 - Fraction(len(ended), at_risk)
    return total


def event_free_by(records: list[Record], day: int) -> Fraction:
    """Kaplan-Meier probability of no event of any cause by a day."""
    staying = Fraction(1)
    for now in range(day + 1):
        at_risk = at_risk_on(records, now)
        ended = sum(1 for entry, time, cause, _ in records if entry < time == now and cause >= 0)
        if at_risk:
            staying *= 1 - Fraction(ended, at_risk)
    return staying


def greenwood_by(records: list[Record], day: int) -> Fraction:
    """Greenwood's variance of the event-free probability; for curves that have not come down to zero."""
    spread = Fraction(0)
    for now in range(day + 1):
        at_risk = at_risk_on(records, now)
        ended = sum(1 for entry, time, cause, _ in records if entry < time == now and cause >= 0)
        if ended:
            spread += Fraction(ended, at_risk * (at_risk - ended))
    return event_free_by(records, day) ** 2 * spread


def mean_restricted_to(records: list[Record], tau: int, causes: tuple[int, ...]) -> Fraction:
    """Area under 1 - incidence, day by day, up to tau."""
    return sum((1 - incidence_by(records, day, causes) for day in range(tau)), Fraction(0))


def without_unit(records: list[Record], unit: int) -> list[Record]:
    return [record for record in records if record[3] != unit]
