"""Which fixes earn, once their returns are counted?"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions import money_terms
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import IN_SIGHT, Drawn, Reference, show_rows
from dashboards.words import Told

QUESTION = "Which fixes earn, once their returns are counted?"


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = of_kind(_ask(fleet, kind), kind)
    blocks.ask(QUESTION)
    purse = commonest_purse(rows)
    mine = words.tell_parts_apart([row for row in rows if _purse(row) == purse and row["part_no"]])
    mine.sort(key=lambda row: (row["low"] is None, -(row["low"] or 0.0), words.fix_label(row)))
    told = tell(mine)
    blocks.answer(told)
    choose()
    money_terms.choose(fleet)
    known = [row for row in mine if row["value"] is not None]
    hour = money_terms.chosen(fleet).get("hour_costs")
    if known:
        reference = Reference(hour, f"an hour costs you {words.figure(hour)}") if hour else None
        show_rows(
            [Drawn(words.fix_label(row), _said(row), row) for row in ends_first(known)],
            _scale(purse),
            told,
            reference,
        )
        blocks.rests_on(_rests_on(known, len(mine) - len(known), purse))
    blocks.worked_out(_how(), *_numbers(known))
    blocks.what_next(_what_next(known, hour))


def _ask(fleet: Fleet, kind: str | None) -> Answer:
    by = ("part_no", "action")
    return fleet.ask("fix-payoff", by=by if kind is None else ("unit_type", *by), **_terms(fleet))


def _terms(fleet: Fleet) -> dict[str, Any]:
    return {name: value for name, value in money_terms.chosen(fleet).items() if name != "customer_day"}


def _purse(row: dict[str, Any]) -> tuple[Any, Any]:
    return row["payer"], row["currency"]


def commonest_purse(rows: list[dict[str, Any]]) -> tuple[Any, Any]:
    """The payer and currency with most jobs; what others pay is not put together with it."""
    jobs: dict[tuple[Any, Any], int] = {}
    for row in rows:
        jobs[_purse(row)] = jobs.get(_purse(row), 0) + row["jobs"]
    return max(jobs, key=lambda purse: jobs[purse], default=(None, None))


def ends_first(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Of many rows the half dozen that leave most, then the half dozen that leave least, then the others."""
    if len(rows) <= IN_SIGHT:
        return rows
    half = IN_SIGHT // 2
    least = sorted(rows[half:], key=lambda row: row["high"])[:half]
    least.sort(key=lambda row: -row["high"])
    return [*rows[:half], *least, *(row for row in rows[half:] if row not in least)]


def _scale(purse: tuple[Any, Any]) -> Scale:
    return Scale(f"left of an hour, returns counted{f', {purse[1]}' if purse[1] else ''}", ".0f")


def tell(rows: list[dict[str, Any]]) -> Told:
    """The fix that surely leaves most of an hour, and the one that surely leaves least."""
    known = [row for row in rows if row["value"] is not None]
    few = len(rows) - len(known)
    silent = f"For {words.whole(few)} of {len(rows)} fixes there is too little to tell." if few else ""
    if not known:
        return Told("", silent or "No fix of a part was paid for.")
    best, least = known[0], min(known, key=lambda row: row["high"])
    money = best["currency"] or ""
    sure = f"Most surely “{words.fix_label(best)}”: {_an_hour(best, money)}."
    if least["high"] < best["low"]:
        sure += f" Least “{words.fix_label(least)}”: {_an_hour(least, money)}."
    return Told(sure, silent)


def _an_hour(row: dict[str, Any], money: str) -> str:
    amount = f"{money} {words.figure(row['value'])}".strip()
    return f"about {amount} an hour (likely {words.figure(row['low'])} to {words.figure(row['high'])})"


def _said(row: dict[str, Any]) -> str:
    rough = " · rough" if row["sample"] == "rough" else ""
    return f"{words.figure(row['value'])} an hour · {words.counted(row['jobs'], 'job', 'jobs')}{rough}"


def _rests_on(rows: list[dict[str, Any]], few: int, purse: tuple[Any, Any]) -> str:
    row = rows[0]
    who = f"paid for by the {purse[0]}" if purse[0] else "that were paid for"
    left = (
        f" Left out of the picture: {words.counted(few, 'fix', 'fixes')} with too little behind them."
        if few
        else ""
    )
    return (
        f"Lines: likely range (95 %), {_order(rows)}. Fixed jobs {who}, {words.window(row)}; each was followed for up to "
        f"{row['days']} days. {words.capital(row['basis'].partition('; ')[2])}.{left}"
    )


def _order(rows: list[dict[str, Any]]) -> str:
    half = words.spelled(IN_SIGHT // 2)
    if len(rows) <= IN_SIGHT:
        return "sorted by its low end"
    return f"the {half} that most surely leave most, then the {half} that most surely leave least"


def _how() -> list[str]:
    return [
        (
            "What was charged less what the parts cost you, less what returns of the same fault within the guarantee cost in "
            "parts, over all hours: at the machine, on the road, and again for those returns. A return that the customer "
            "pays for costs nothing here and earns nothing. Wages are not taken off."
        ),
        "A return counts with the whole string of free visits that it starts, until one is paid or the fault is another.",
        "Parts that the customer brought or the maker supplied earn nothing. What other payers pay is worked out apart.",
    ]


def _numbers(rows: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = [
        "fix",
        "an hour",
        "likely from",
        "to",
        "a job, wages off",
        "back",
        "free hours a job",
        "trips in vain",
        "jobs",
    ]
    cells = []
    for row in rows:
        hour = [words.figure(row[name]) for name in ("value", "low", "high")]
        job = "–" if row["per_job"] is None else words.figure(row["per_job"])
        rest = [words.percent(row["return_probability"]), words.figure(row["unpaid_hours"])]
        cells.append(
            [words.fix_label(row), *hour, job, *rest, f"{row['wasted_trips']:.2f}", words.whole(row["jobs"])]
        )
    return header, cells


def _what_next(rows: list[dict[str, Any]], hour: float | None) -> str:
    dear = [row for row in rows if hour and row["high"] < hour]
    if dear:
        names = words.listed([f"“{words.fix_label(row)}”" for row in dear])
        return f"Below what an hour costs you: {names}. Ask more for these, mend their returns first, or pass them on."
    if not rows:
        return "Write down charges, part costs and minutes on each job; ten paid jobs of a fix give a first figure."
    least = min(rows, key=lambda row: row["high"])
    return f"Look first at “{words.fix_label(least)}”: is it the price, the time, or the returns that leave so little?"
