"""The summary in sentences: each says what is, against what is usual, and what to do about it."""

from __future__ import annotations

from typing import Any

from pipeline.estimators.usual_range import ABOVE, BELOW
from pipeline.plain_words import capital, counted, day, figure, fix_label, listed, part_label, spelled, whole
from pipeline.summary.counts import Count
from pipeline.summary.listing import CUSTOMERS, OPEN, OTHERS, OURS
from pipeline.summary.summing import Summary

KIND_UNKNOWN = (None, "kind unknown")
# Weeks after which a job that waits for a part is asked about; common practice, no source.
LONG_DAYS = 21
NO_COMEBACKS = "Comebacks cannot be told: no fix of the log is on a known machine and has its day."
NO_TRIPS = "Trips in vain cannot be told: the log gives no day of any visit."


def reported(found: Summary) -> str:
    """How much came in and was done."""
    work = found.work
    kinds = listed([f"{name} {whole(number)}" for name, number in work.kinds])
    charged = " and ".join(f"{currency} {whole(amount)}".strip() for currency, amount in work.charged)
    billed = f", {charged} charged" if charged else ""
    came_in = f"{capital(counted(work.reported, 'fault job', 'fault jobs'))} reported{f' ({kinds})' if kinds else ''}"
    if not found.in_vain.is_known:
        return (
            f"{came_in}. The log gives no day of any visit, so what was done and what is open cannot be told."
        )
    return (
        f"{came_in}; "
        f"{counted(work.fixed, 'job', 'jobs')} fixed in {counted(work.visits, 'visit', 'visits')}{billed}. "
        f"{capital(spelled(work.open_jobs, 'job was', 'jobs were'))} open at the end."
    )


def danger(found: Summary) -> str:
    """Safety reports stand first, also when there is none."""
    if not found.danger:
        return "No safety report in these days."
    soon = sum(bool(row["is_soon_after_own_visit"]) for row in found.danger)
    after = f", {spelled(soon)} soon after our own visit" if soon else ""
    return f"{capital(spelled(len(found.danger), 'safety report', 'safety reports'))}{after}."


def danger_line(row: dict[str, Any]) -> str:
    """26 Feb 2026 · J26-03958 · washer · burning smell."""
    when = day(row["reported_on"]) if row["reported_on"] else "day not known"
    danger_words = row["danger"].replace("; ", " and ")
    return _joined(when, row["job_id"], _kind(row), danger_words)


def usual(count: Count) -> str:
    """Usual: 5 to 19."""
    if count.usual is None:
        return "what is usual cannot be said yet"
    return f"usual for so many: {whole(count.usual.low)} to {whole(count.usual.high)}"


def against(count: Count) -> str:
    """More than usual, fewer than usual, as usual."""
    return {ABOVE: "more than usual", BELOW: "fewer than usual", "": ""}.get(count.where, "as usual")


def came_back(found: Summary) -> str:
    """Comebacks, whose bill they were, and what ours cost."""
    count = found.comebacks
    if not count.is_known:
        return NO_COMEBACKS
    if not count.events:
        return f"No comeback among {counted(count.of, 'fault job', 'fault jobs')} ({usual(count)})."
    bills = {
        name: [row for row in found.back if row["bill"] == name] for name in (OURS, CUSTOMERS, OTHERS, OPEN)
    }
    who = listed([f"{spelled(len(rows))} {name}" for name, rows in bills.items() if rows], 4)
    said = (
        f"{capital(counted(count.events, 'comeback', 'comebacks'))} among {counted(count.of, 'fault job', 'fault jobs')} "
        f"({usual(count)}). Whose bill: {who}."
    )
    return f"{said} {_ours(bills[OURS])}".strip()


def _ours(rows: list[dict[str, Any]]) -> str:
    if not rows:
        return ""
    hours = sum(row["hours"] or 0.0 for row in rows)
    sums: dict[str, float] = {}
    for row in rows:
        sums[row["currency"] or ""] = sums.get(row["currency"] or "", 0.0) + (row["cost"] or 0.0)
    parts = listed([f"{currency} {whole(amount)}".strip() for currency, amount in sums.items() if amount])
    return f"Ours took {figure(hours)} hours{f' and {parts} of parts' if parts else ''}."


def comeback_line(row: dict[str, Any]) -> str:
    """18 Feb 2026 · J26-03921 · ours · 12 days after “drain pump, cleaned” · washer, not draining."""
    what = ", ".join(filter(None, [_kind(row), row["symptom"]]))
    fix = f"“{fix_label(row)}”" if row["part_no"] or row["part_name"] else "a fix without a part"
    days = counted(row["days"], "day", "days")
    return _joined(day(row["reported_on"]), row["job_id"], row["bill"], f"{days} after {fix}", what)


def in_vain(found: Summary) -> str:
    """Trips in vain against the usual range."""
    count = found.in_vain
    if not count.is_known:
        return NO_TRIPS
    if not count.of:
        return "No visit in these days."
    many = (
        capital(counted(count.events, "trip in vain", "trips in vain")) if count.events else "No trip in vain"
    )
    word = against(count)
    return f"{many} in {counted(count.of, 'visit', 'visits')} ({usual(count)}){f': {word}' if word else ''}."


def waits(found: Summary) -> str:
    """Machines that wait for a part, and the oldest."""
    if not found.waiting:
        return "No machine is known to wait for a part."
    oldest = found.waiting[0]
    many = capital(spelled(len(found.waiting), "machine waits", "machines wait"))
    number = f" (job {oldest['job_id']})" if oldest["job_id"] else ""
    return f"{many} for a part; the longest, a {_kind(oldest)}{number}, for {counted(oldest['days'], 'day', 'days')}: {part_label(oldest)}."


def waiting_line(row: dict[str, Any]) -> str:
    """19 days · J26-03880 · fridge-freezer · door seal DG-6210."""
    more = f" and {row['count_parts'] - 1} more" if row["count_parts"] > 1 else ""
    part = " ".join(filter(None, [row["part_name"], row["part_no"]])) or "part not recorded"
    return _joined(counted(row["days"], "day", "days"), row["job_id"], _kind(row), f"{part}{more}")


def worth_a_look(found: Summary) -> tuple[str, str]:
    """
    One thing worth a look, and what to do: first what is unusual in these days, then what does not hold, then who waits long.

    Chosen by this order and not by size, since unlike things have no common measure.
    """
    if found.in_vain.where == ABOVE:
        return (
            f"More trips in vain than usual: {whole(found.in_vain.events)} of {counted(found.in_vain.of, 'visit', 'visits')}.",
            "Read them: one customer, one round, one way of agreeing on times? Confirm visits on the day.",
        )
    if found.comebacks.where == ABOVE:
        return (
            f"More comebacks than usual: {whole(found.comebacks.events)} among {counted(found.comebacks.of, 'fault job', 'fault jobs')}.",
            "Read them one by one: one part lot, one fix, one new hand?",
        )
    if found.worse:
        return _does_not_hold(found.worse[0])
    if found.waiting and found.waiting[0]["days"] > LONG_DAYS:
        return (
            waits(found),
            "Ask the supplier today and tell the customer; if the job is long over, close it in your program.",
        )
    if not (found.comebacks.is_known or found.in_vain.is_known):
        return (
            "Whether anything stands out cannot be told.",
            "Write on each job which machine it was, the day of the visit and how it ended: from then on comebacks and trips are counted.",
        )
    return (
        "Nothing stands out.",
        "Leave things as they are; looking for reasons where there is only chance costs time.",
    )


def _does_not_hold(row: dict[str, Any]) -> tuple[str, str]:
    counts = f"{whole(row['observed'])} of {whole(row['jobs'])} came back within {row['days']} days"
    said = f"Worth a look: “{fix_label(row)}” on {_plural(row['unit_type'])} does not hold: {counts}"
    return (
        f"{said}, where {whole(row['expected'])} would be usual for such work.",
        "Look at how it is done and at the part's lot before the next one is fitted (page “What does not hold”).",
    )


def _kind(row: dict[str, Any]) -> str:
    return "machine" if row["unit_type"] in KIND_UNKNOWN else str(row["unit_type"])


def _joined(*pieces: str | None) -> str:
    return " · ".join(piece for piece in pieces if piece)


def _plural(kind: str | None) -> str:
    return "machines" if kind in KIND_UNKNOWN else f"{kind}s"


def earning(found: Summary) -> str:
    """Which fixes leave most and least of an hour, by the whole log."""
    if not found.earning:
        return ""
    best, least = found.earning[0], min(found.earning, key=lambda row: row["high"])
    said = f"Most surely earns: “{fix_label(best)}”, {_an_hour(best)}."
    if least["high"] < best["low"]:
        said += f" Least: “{fix_label(least)}”, {_an_hour(least)}."
    dear = [row for row in found.earning if found.hour_costs and row["high"] < found.hour_costs]
    if dear:
        names = listed([f"“{fix_label(row)}”" for row in dear], 2)
        said += f" Surely below what an hour costs ({figure(found.hour_costs or 0.0)}): {names}."
    return said


def _an_hour(row: dict[str, Any]) -> str:
    amount = f"{row['currency'] or ''} {figure(row['value'])}".strip()
    return f"about {amount} an hour after returns (likely {figure(row['low'])} to {figure(row['high'])}, {counted(row['jobs'], 'job', 'jobs')})"
