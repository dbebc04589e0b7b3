"""Does cleaning pay, or should we just swap it? For the firm, for the customer, in hours; never put together."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import streamlit as st

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Answer, Fleet
from dashboards.questions import earning, money_terms, ways_of_failing
from dashboards.questions.breakdowns import of_kind
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told

QUESTION = "Does cleaning pay, or should we just swap it?"
SCALE = Scale("back after cleaning; dotted: where it turns", ".0%", most=1)
WHOSE = {
    "firm": "for the firm, job by job",
    "firm, diary full": "for the firm, when the diary is full",
    "customer": "for the customer",
    "hours": "in hours",
}
SAID = {"clean": "clean", "replace": "swap it", "cannot tell": "cannot tell"}
PART_KEY = "clean_part"
AGAIN = {"first": "the first time", "again": "a second time"}
FIRST_SAY = "First say what an hour of your own work costs, in the field “An hour of your own work costs”: without it nobody can tell."


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing; what an hour costs can still be said on the page."""
    return verdicts(fleet, kind).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    parts = by_part(of_kind(verdicts(fleet, kind), kind))
    blocks.ask(QUESTION)
    labels = {key: _label(rows[0]) for key, rows in parts.items()}
    shown = st.session_state.get(PART_KEY)
    key = shown if shown in parts else next(iter(parts), None)
    rows = parts.get(key, [])
    told = Told("", FIRST_SAY) if "hour_costs" not in money_terms.chosen(fleet) else tell(rows)
    blocks.answer(told)
    choose()
    if len(parts) > 1:
        st.selectbox("Part", list(parts), format_func=labels.__getitem__, key=PART_KEY)
    # One set of fields moves both questions about money; it stands with the first of them.
    if earning.refusal(fleet, kind):
        money_terms.choose(fleet)
    decided = [row for row in rows if row["value"] is not None]
    if decided and "hour_costs" in money_terms.chosen(fleet):
        show_rows([_drawn(row) for row in decided], SCALE, told)
        blocks.rests_on(_rests_on(decided[0]))
    if rows and rows[0]["whose"] != "safety":
        ways_of_failing.show(fleet, kind, rows[0], rows[0]["days"])
    blocks.worked_out(_how(), *_balance(fleet, kind, rows))
    blocks.what_next(_what_next(rows))


def verdicts(fleet: Fleet, kind: str | None) -> Answer:
    """Every part's verdicts, at the money that the page has."""
    return fleet.ask("clean-or-replace", **_question(fleet, kind))


def _question(fleet: Fleet, kind: str | None) -> dict[str, Any]:
    by = ("part_no",) if kind is None else ("unit_type", "part_no")
    return {"by": by, "hour_costs": money_terms.ANY_HOUR, **money_terms.chosen(fleet)}


def by_part(rows: list[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    """Rows of each part, payer and time it was cleaned: those that can be compared first, the largest first."""
    parts: dict[str, list[dict[str, Any]]] = {}
    for row in words.tell_parts_apart(rows):
        key = "|".join(str(row[name]) for name in ("part_no", "part_name", "payer", "currency", "cleaning"))
        parts.setdefault(key, []).append(row)
    order = list(WHOSE)
    ranked = sorted(
        parts.items(),
        key=lambda item: (
            item[1][0]["value"] is None,
            -min(item[1][0]["all_cleaned"], item[1][0]["all_replaced"]),
            item[0],
        ),
    )
    return {
        key: sorted(group, key=lambda row: order.index(row["whose"]) if row["whose"] in WHOSE else 0)
        for key, group in ranked
    }


def _label(row: dict[str, Any]) -> str:
    payer = f", paid by the {row['payer']}" if row["payer"] not in (None, "customer") else ""
    money = f", {row['currency']}" if row["currency"] else ""
    silent = (
        ""
        if row["value"] is not None
        else " – safety part"
        if row["whose"] == "safety"
        else " – not comparable"
    )
    return f"{words.part_label(row)}, cleaned or freed {AGAIN[row['cleaning']]}{payer}{money}{silent}"


def tell(rows: list[dict[str, Any]]) -> Told:
    """The verdicts that there are, and in grey those that there are not."""
    if not rows:
        return Told("", "No part was both cleaned and replaced by itself in jobs that were paid for.")
    first = rows[0]
    name = words.capital(words.part_label(first))
    if first["whose"] == "safety":
        return Told(f"{name}: swap it. It keeps people safe, so money does not decide.")
    if first["value"] is None:
        return Told(
            "",
            f"{name}: cannot tell. Too few jobs were alike: {_counts(first)}, chosen for different machines.",
        )
    sure = [
        f"{WHOSE[row['whose']]}, {SAID[row['verdict']]}" for row in rows if row["verdict"] != "cannot tell"
    ]
    open_ones = [WHOSE[row["whose"]] for row in rows if row["verdict"] == "cannot tell"]
    told = f"{name}, cleaned or freed {AGAIN[first['cleaning']]}: {'; '.join(sure)}." if sure else ""
    silent = (
        f"{'' if sure else name + ': '}cannot tell yet {words.listed(open_ones, 4)}." if open_ones else ""
    )
    return Told(told, words.capital(silent))


def _counts(row: dict[str, Any]) -> str:
    return f"{words.whole(row['all_cleaned'])} cleaned and {words.whole(row['all_replaced'])} replaced"


def _drawn(row: dict[str, Any]) -> Drawn:
    even = row["break_even"]
    band = {
        **row,
        "value": row["return_cleaned"],
        "low": row["low_return_cleaned"],
        "high": row["high_return_cleaned"],
    }
    is_on = even is not None and 0.0 <= even <= 1.0
    return Drawn(
        WHOSE[row["whose"]],
        f"{SAID[row['verdict']]} · {_turning(row)}",
        band,
        turns=even if is_on else None,
        turns_range=_range_of_turning(row),
    )


def _range_of_turning(row: dict[str, Any]) -> tuple[float, float] | None:
    """Return rates at which the verdict may as well turn, as far as there can be such rates."""
    low, high = row["low_break_even"], row["high_break_even"]
    if low is None or high is None or high < 0.0 or low > 1.0:
        return None
    return max(low, 0.0), min(high, 1.0)


def _turning(row: dict[str, Any]) -> str:
    """Below which return rate cleaning is better."""
    even = row["break_even"]
    if even is not None and 0.0 <= even <= 1.0:
        return f"cleaning is better below {words.percent(even, 1)} back"
    ahead = row["value"] > 0 if even is None else even > 1.0
    return "better to clean at any rate of returns" if ahead else "better to swap at any rate of returns"


def _rests_on(row: dict[str, Any]) -> str:
    note = f" {words.capital(row['note'])}." if row["note"] else ""
    jobs = f"{words.whole(row['jobs_cleaned'])} cleaned or freed and {words.whole(row['jobs_replaced'])} replaced"
    back = (
        f"{words.percent(row['return_cleaned'])} of the cleaned ones and {words.percent(row['return_replaced'])} of the "
        f"replaced ones were back within {row['days']} days"
    )
    return (
        f"Lines: likely range (95 %) of returns after cleaning; dotted below them, the range in which the verdict may turn: where the "
        f"two overlap, nobody can tell. Like against like: {jobs}, {words.window(row)}, of the same kind "
        f"of machine, age, symptom and way of failing; {back}. Priced: {row['pricing']}.{note} {_unseen(row)}"
    )


def _unseen(row: dict[str, Any]) -> str:
    ratio = row["unseen_ratio_limit"]
    if ratio is None or ratio <= 1.0:
        return ""
    return (
        f"Something nobody wrote down would have to be {ratio:.1f} times as common on one side, and raise returns as much, to turn "
        "the first verdict."
    )


def _how() -> list[str]:
    return [
        (
            "Jobs in which the part was the only one worked on and somebody paid. Each counts by how often the other thing was "
            "done to machines like it, so both sides are made up alike; where only one was ever done, nothing is compared."
        ),
        (
            "For the firm: the charge less parts, hours and free returns; when the diary is full, what an hour leaves. For the "
            "customer: the price, what a return is charged and the days without the machine. In hours: all of them, returns too."
        ),
        (
            "The dotted line is not sharp either: where it may as well lie on the other side, nobody can tell. What you would earn "
            "because a fix did not hold is never counted in favour of it."
        ),
        (
            "Freeing what is stuck cannot mend what is dead: where the way of failing was not written down, unlike may have been "
            "compared. A coin on the job card, where you are undecided, tells more: mendstat toss --part NUMBER."
        ),
    ]


def _balance(fleet: Fleet, kind: str | None, rows: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = ["held alike", "of the cleaned", "of the replaced", "compared as"]
    if not rows:
        return header, []
    names = ("part_no", "payer", "currency", "cleaning", *(("unit_type",) if kind else ()))
    found = [
        row
        for row in fleet.balance(**_question(fleet, kind))
        if all(row[name] == rows[0][name] for name in names)
    ]
    return header, [
        [
            f"{row['what'].replace('_', ' ')}: {row['level']}",
            *(words.percent(row[name]) for name in ("cleaned", "replaced", "weighted")),
        ]
        for row in found
    ]


def _what_next(rows: list[dict[str, Any]]) -> str:
    if not rows:
        return "Write down on each job whether a part was cleaned, freed or replaced, and how it had failed."
    first = rows[0]
    if first["whose"] == "safety":
        return "Replace it, and write down why it failed."
    verdicts = {row["verdict"] for row in rows if row["value"] is not None}
    if verdicts <= {"cannot tell"}:
        number = first["part_no"] or "NUMBER"
        return f"Where you are undecided, let chance choose and note it: mendstat toss --part {number}. Write down how the part had failed."
    if len(verdicts - {"cannot tell"}) > 1:
        return (
            "The verdicts differ: say so to the customer, and let them choose with both prices before them."
        )
    if "cannot tell" in verdicts:
        return "Keep to what is decided, but as a habit and not as a rule: the rest is open. Write down how the part had failed, and look again in half a year."
    return "Make it the house rule for parts that failed this way, and look again in half a year."
