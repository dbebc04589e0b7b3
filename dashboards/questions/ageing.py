"""Do machines need us more often as they age? Repairs a machine has had by an age, kind by kind."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import polars as pl

from dashboards import blocks, words
from dashboards.charts.mean_cumulative import mean_cumulative
from dashboards.data import Answer, Fleet
from dashboards.questions.breakdowns import of_kind
from dashboards.words import Told

QUESTION = "Do machines need us more often as they age?"
LINES = 4
POPULATION = {
    "machine list": "All machines in the machine list whose age is known",
    "machines seen": "Machines we have been to whose age is known, from their first job on, which does not count",
}


def refusal(fleet: Fleet, _kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet).refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = of_kind(_ask(fleet), kind)
    blocks.ask(QUESTION)
    if not rows:
        blocks.answer(Told("No five machines of one age are known here, so nothing can be said of ageing."))
        choose()
        return
    kinds = last_rows(rows)
    told = tell(kinds)
    blocks.answer(told)
    choose()
    _show(fleet, kinds[:LINES], told)
    blocks.rests_on(_rests_on(kinds))
    blocks.worked_out(_how(len(kinds)), *_numbers(kinds))
    blocks.what_next(_what_next(kinds))


def _ask(fleet: Fleet) -> Answer:
    return fleet.ask("repairs-by-age", by=("unit_type",))


def last_rows(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Of each kind the row of its highest age, most machines first."""
    oldest: dict[str, dict[str, Any]] = {}
    for row in rows:
        name = row["unit_type"] or ""
        if name not in oldest or row["age_years"] > oldest[name]["age_years"]:
            oldest[name] = row
    return sorted(oldest.values(), key=lambda row: (-row["denominator"], row["unit_type"] or ""))


def _name(row: dict[str, Any]) -> str:
    return row["unit_type"] or "kind not recorded"


def tell(kinds: list[dict[str, Any]]) -> Told:
    """Kinds that need more, kinds that need fewer, and those that cannot be told."""
    more, fewer = ([row for row in kinds if row["change_says"] == says] for says in ("more", "fewer"))
    silent = [_name(row) for row in kinds if row["change_says"] not in ("more", "fewer")]
    said = [
        f"{'Yes' if at == 0 else 'And'}, the {_name(row)}: {_slopes(row)}" for at, row in enumerate(more[:2])
    ]
    said += [f"The {_name(row)} needs us less often: {_slopes(row)}" for row in fewer[:2]]
    rest = [_name(row) for row in (*more[2:], *fewer[2:])]
    if rest:
        said.append(f"It also changes with age for the {words.listed(rest)}")
    undecided = f"Cannot be told for the {words.listed(silent)}." if silent else ""
    if not said and len(kinds) == 1 and kinds[0].get("early_a_year") is not None:
        return Told("", f"Cannot tell: {_slopes(kinds[0])}, and that little difference can be chance.")
    return Told(". ".join(said) + "." if said else "", undecided)


def _slopes(row: dict[str, Any]) -> str:
    early, late = (words.figure(row[name]) for name in ("early_a_year", "late_a_year"))
    return (
        f"about {early} repairs a year up to {row['split_age_years']} years of age, {late} from then to "
        f"{words.figure(row['to_age_years'])}"
    )


def _show(fleet: Fleet, kinds: list[dict[str, Any]], told: Told) -> None:
    points: list[dict[str, Any]] = []
    for row in kinds:
        line = fleet.line(
            "repairs-by-age", {"unit_type": row["unit_type"]} if row["unit_type"] else {}, by=("unit_type",)
        )
        points += [
            {**point, "label": _name(row)} for point in line.rows if point["unit_type"] == row["unit_type"]
        ]
    if not points:
        return
    frame = pl.DataFrame(points, infer_schema_length=None).select(
        "label", "x", "value", "low", "high", "at_risk"
    )
    lines = "; ".join(
        f"{_name(row)}: {row['value']:.1f} repairs by {row['age_years']} years"
        for row in kinds
        if row["value"] is not None
    )
    says = f"{told.sure} {told.undecided} Shown: repairs a machine has had by each age, on average. {lines}."
    blocks.chart(says, mean_cumulative, frame)


def _rests_on(kinds: list[dict[str, Any]]) -> str:
    row = kinds[0]
    note = f" {words.capital(row['note'])}." if row["note"] else ""
    most = f", the {LINES} kinds with most machines drawn" if len(kinds) > LINES else ""
    return (
        "Lines: repairs a machine has had on average, added up over its age; steeper means more often. Pale: likely range "
        f"(95\u00a0%). Below: machines of that age; a line ends where fewer than five are left{most}. "
        f"{POPULATION[row['basis']]}, {words.window(row)}.{note}"
    )


def _how(looked_at: int) -> list[str]:
    return [
        (
            "At each age the repairs of that age are divided by the machines that were under our eyes at that age, and the "
            "shares are added up (Nelson). A machine that came to us when it was six years old counts from six years on."
        ),
        (
            "The answer compares the repairs a year in the younger and in the older half of the time that machines were "
            "under our eyes. Compared are the ages at which 20 machines were there all along. It says yes or no only where the likely range of the "
            f"difference leaves out zero, and chance is ruled out after allowing for the {words.counted(looked_at, 'kind', 'kinds')} "
            "looked at (Benjamini-Hochberg)."
        ),
        (
            "Old machines are not young machines grown old: they are other models, and the worst of their year have been "
            "scrapped already. The line cannot tell these apart."
        ),
    ]


def _numbers(kinds: list[dict[str, Any]]) -> tuple[list[str], list[list[str]]]:
    header = [
        "kind",
        "machines",
        "to age",
        "repairs by then",
        "likely",
        "a year, younger",
        "a year, older",
        "difference, likely",
        "charged by then",
    ]
    return header, [_cells(row) for row in kinds]


def _cells(row: dict[str, Any]) -> list[str]:
    value = "too few" if row["value"] is None else f"{row['value']:.1f}"
    high = "–" if row["high"] is None else f"{row['high']:.1f}"
    slopes = [_or_dash(row.get(name)) for name in ("early_a_year", "late_a_year")]
    limits = [_or_dash(row.get(name)) for name in ("change_low", "change_high")]
    cost = "–" if row.get("cost") is None else f"{words.whole(row['cost'])} {row['currency']}".rstrip()
    return [
        _name(row),
        words.whole(row["denominator"]),
        f"{row['age_years']} years",
        value,
        f"{row['low']:.1f} to {high}",
        *slopes,
        " to ".join(limits),
        cost,
    ]


def _or_dash(number: float | None) -> str:
    return "–" if number is None else f"{number:.2f}"


def _what_next(kinds: list[dict[str, Any]]) -> str:
    more = [row for row in kinds if row["change_says"] == "more"]
    if not more:
        return (
            "No reason here to price or plan by age. Record when a machine was installed (or its age) on every job, so that "
            "more of them can be told."
        )
    row = more[0]
    return (
        f"Before you quote a dear repair on a {_name(row)} older than {row['split_age_years']} years, say how often such "
        "machines come back; price a yearly contract by age, not by kind alone."
    )
