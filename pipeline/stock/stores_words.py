"""What the rows about the stores mean and rest on, in sentences."""

from __future__ import annotations

import polars as pl

from pipeline.estimators.sample import RATE_MIN_EVENTS
from pipeline.stock.stores import Stores
from pipeline.stock.stores_rows import ASSUMED_LEAD_DAYS, KEEPING, MONTHS_24, SURE
from pipeline.stock.supersession import ANNOUNCED, RUNNING
from pipeline.stock.words import counted


def notes(found: Stores) -> list[str]:
    """What the rows mean and rest on, in sentences."""
    frame = found.frame
    said = [
        (
            "Base stock: pieces on the shelf and on order together; order one as soon as they fall to the reorder point. Ready "
            "rate: how often a piece is there when the next one is needed. Period fill: share of the pieces wanted during one "
            "lead time that the shelf covers. Two different things."
        ),
        _aim_words(found),
        f"From what jobs of every kind needed {found.bounds.window.in_words()}, fitted or not.",
        *_ahead_words(found),
        *_change_words(frame),
    ]
    assumed = int((frame["lead_from"] == "assumed").sum())
    if assumed:
        said.append(
            f"For {counted(assumed, 'part', 'parts')} no lead time is known: {ASSUMED_LEAD_DAYS:.0f} days are assumed (lead_days in the parts list)."
        )
    rare = int((frame["jobs"].is_between(1, RATE_MIN_EVENTS - 1)).sum())
    if rare:
        said.append(
            f"{counted(rare, 'part was', 'parts were')} needed by fewer than {RATE_MIN_EVENTS} jobs: too rare to say, to be ordered when needed."
        )
    if not found.now.frame.height:
        said.append("No stock list is loaded (--stock), so nothing is said of what to order or let go.")
    elif found.years < MONTHS_24:
        said.append("The log is shorter than 24 months, so nothing is said of what to let go.")
    else:
        said.append(_let_go_words(found))
    return said


def _ahead_words(found: Stores) -> list[str]:
    """Season and ageing: what is counted in, and why not."""
    season = int(found.ahead.season.is_shown.sum())
    told = (
        "Season: the log is shorter than 24 months, so none is counted in."
        if found.years < MONTHS_24
        else f"Season: shown for {counted(season, 'part', 'parts')}; levels are for the weeks in which an order is on its way."
    )
    if found.ahead.ageing is None:
        return [told, "No machine list with days of installation speaks for this log, so ageing is left out."]
    shown = int(found.ahead.ageing.is_shown.sum())
    return [
        told,
        (
            f"Ageing: needs go by the listed machines there will be, and for {counted(shown, 'part', 'parts')} by their age "
            "(machines_change: next year's need over a year's of the log)."
        ),
    ]


def _change_words(frame: pl.DataFrame) -> list[str]:
    """Numbers about to be replaced, and old pieces to use up."""
    said = []
    for what, words in ((ANNOUNCED, "About to be replaced"), (RUNNING, "Being replaced")):
        rows = frame.filter(pl.col("number_change") == what)
        if rows.height:
            listed = [
                f"{row['replaces']} by {row['part_no']}"
                + (
                    f" ({counted(row['older_pieces'], 'old piece', 'old pieces')} to use up)"
                    if row["older_pieces"]
                    else ""
                )
                for row in rows.head(5).to_dicts()
            ]
            more = f" and {rows.height - 5} more" if rows.height > 5 else ""
            said.append(
                f"{words}: {'; '.join(listed)}{more}. Order the new number; where it does not fit old machines: --last-time-buy."
            )
    return said


def _aim_words(found: Stores) -> str:
    if found.wish.short_cost is None:
        return f"Aim: a ready rate of at least {found.wish.ready_rate:.0%} (--ready-rate), or --short-cost for what one missing piece costs."
    return (
        f"Aim: the least cost where a missing piece costs {found.wish.short_cost:,.2f} and keeping one {KEEPING:.0%} of its price a "
        "year (common practice, no source)."
    )


def _let_go_words(found: Stores) -> str:
    idle = found.frame.filter(pl.col("let_go") > 0)
    if not idle.height:
        return "Nothing lies there that the next 24 months will not want."
    money = f", worth {idle['let_go_value'].sum():,.2f}" if found.has_costs else ""
    return (
        f"To let go (return, sell): {counted(int(idle['let_go'].sum()), 'piece', 'pieces')} of {counted(idle.height, 'part', 'parts')}"
        f"{money}; with {SURE:.0%} probability the "
        "next 24 months want no more than what stays. Numbers that replace each other are counted as one part."
    )
