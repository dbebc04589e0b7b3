"""How good are the answers at the machine? Learnt from the log's earlier jobs, tried on its later ones, beside simpler guesses."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Fleet
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told

QUESTION = "Would the answers at the machine have been right?"
ABOUT_ALL = True
PATH = "how-good-the-answers-are"
SCALE = Scale("% of later fixes, part or cause named first", ".0%", most=1)


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    del kind
    return fleet.back_test().refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    del kind
    test = fleet.back_test().test
    if test is None:
        return
    ours, plain, overall = test.rows
    blocks.ask(QUESTION)
    told = tell(ours, plain, overall)
    blocks.answer(told)
    choose()
    show_rows([_drawn(row) for row in test.rows], SCALE, told)
    blocks.points(
        ("Among the first three fixes of part and action", _each(test.rows, lambda row: _share(row, "fix"))),
        ("Minutes until the check that finds it", _each(test.rows, _minutes)),
        (
            "Mean log of the chance given (nearer to 0 is better)",
            _each(test.rows, lambda row: f"{row['log_score']:.2f}"),
        ),
    )
    blocks.rests_on(
        f"Learnt from jobs finished before {words.day(test.split)}, tried on the {words.whole(ours['jobs'])} fixes after it that "
        "held. Every symptom and kind of machine; a job with two symptoms counts for both. Lines: likely range (95 %)."
    )
    blocks.worked_out(_how(), *_tenths(test.calibration))
    blocks.what_next(
        "Where plain counts do as well, the symptom and the kind say it all: record the model and the code, they add what counts "
        "cannot. Where the first answer is often wrong, look at how the symptom is written down and settle its words; the order "
        "of checks still finds it. What was done often is not what is wrong this time: check before you fit."
    )


def tell(ours: dict[str, Any], plain: dict[str, Any], overall: dict[str, Any]) -> Told:
    """How often the first answer was right, and the minutes it saves."""
    sure = f"In {_share(ours, 'part')} later fixes the part or cause named first was the one."
    saved = overall["minutes"] - ours["minutes"]
    if ours["minutes_high"] < overall["minutes_low"]:
        sure += f" Checking in its order finds it {words.figure(saved)} minutes sooner than going by what is commonest on the kind."
    same = ours["part_low"] <= plain["part_share"] <= ours["part_high"]
    return Told(
        sure,
        "Plain counts of symptom and kind are as often right: no difference that can be told."
        if same
        else "",
    )


def _drawn(row: dict[str, Any]) -> Drawn:
    figures = {
        "low": row["part_low"],
        "value": row["part_share"],
        "high": row["part_high"],
        "sample": row["sample"],
    }
    return Drawn(words.capital(row["method"]), _share(row, "part"), figures)


def _each(rows: list[dict[str, Any]], said: Callable[[dict[str, Any]], str]) -> str:
    return "; ".join(f"{row['method']}: {said(row)}" for row in rows) + "."


def _share(row: dict[str, Any], name: str) -> str:
    counts = {"numerator": row[f"{name}_hits"], "denominator": row["jobs"]}
    return f"{words.counts_of(counts)} ({words.percent(row[f'{name}_share'])})"


def _minutes(row: dict[str, Any]) -> str:
    figures = (row[name] for name in ("minutes", "minutes_low", "minutes_high"))
    return "{} ({} to {})".format(*(f"{figure:.1f}" for figure in figures))


def _how() -> list[str]:
    return [
        (
            "The answer for each later job is worked out from the jobs before the day alone, with the kind, model and code that the "
            "job has, and held against what was done and held. Plain counts: shares among the earlier jobs of that symptom and "
            "kind. The commonest fixes of the kind: the same whatever the symptom."
        ),
        (
            "Minutes: isolation, the look at the installation, then the checks in the order of each way of guessing, panels counted "
            "once, until the check of what was later the fix; every check is taken to find its fault, and its minutes are those "
            "of the log where it recorded ten such checks before the day, else of the table of checks, an assumption unless the "
            "shop put in its own."
        ),
        "Below: every chance that was given, by tenths, and how often it came true. They should be near each other.",
    ]


def _tenths(rows: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    cells = [
        [
            f"{words.whole(row['chance_from'] * 100)} to {words.percent(row['chance_to'])}",
            words.whole(row["guesses"]),
            words.percent(row["mean_chance"]),
            words.whole(row["happened"]),
            words.percent(row["share"]),
        ]
        for row in rows
    ]
    return ["chance given", "guesses", "mean", "happened", "that is"], cells
