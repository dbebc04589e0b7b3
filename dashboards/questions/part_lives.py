"""How long does the part last after it was fixed? By what was done to it, or by where it came from."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import polars as pl
import streamlit as st

from dashboards import blocks, words
from dashboards.charts.life_curves import life_curves
from dashboards.data import Answer, Fleet, compare
from dashboards.questions.breakdowns import of_kind
from dashboards.words import Told

QUESTION = "How long does the part last after it was fixed?"
YEAR = 365
LINES = 3
FIRST_LIFE = "first life"
BY = {"action": "what was done", "part_source": "where the new part came from"}
PART_KEY, BY_KEY = "life_of_part", "life_by"
SHAPES = {
    "early trouble": "mostly soon after the fix",
    "cannot tell from random": "soon or late, cannot tell",
    "wear": "more and more as it ages",
}


def refusal(fleet: Fleet, kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return _ask(fleet, kind, "action").refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    rows = _fixes(of_kind(_ask(fleet, kind, "action"), kind))
    blocks.ask(QUESTION)
    parts = _parts(rows)
    if not parts:
        blocks.answer(Told("No fix here names the part it was done on."))
        choose()
        return
    part = st.session_state.get(PART_KEY)
    part = part if part in parts else next(iter(parts))
    sources = _sources(fleet, kind, part)
    by = (st.session_state.get(BY_KEY) or "action") if sources else "action"
    mine = _most_first(sources if by == "part_source" else [row for row in rows if _key(row) == part])
    told = tell(mine, parts[part], by)
    blocks.answer(told)
    choose()
    _choose(parts, has_sources=bool(sources))
    _show(_points(fleet, kind, part, by, mine[:LINES]), mine[:LINES], told)
    blocks.rests_on(_rests_on(mine))
    blocks.worked_out(_how(), *_numbers(mine, by))
    blocks.what_next(_what_next(mine, by))


def _ask(fleet: Fleet, kind: str | None, by: str) -> Answer:
    groups = ("part_no", by) if kind is None else ("unit_type", "part_no", by)
    return fleet.ask("part-life", by=groups, days=YEAR)


def _fixes(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [row for row in rows if row["action"] != FIRST_LIFE and _key(row)]


def _key(row: dict[str, Any]) -> str | None:
    return row["part_no"] or row["part_name"]


def _parts(rows: list[dict[str, Any]]) -> dict[str, str]:
    """Parts by number (or name), most fixes first, and how they are called."""
    jobs: dict[str, float] = {}
    for row in rows:
        jobs[_key(row) or ""] = jobs.get(_key(row) or "", 0) + row["denominator"]
    names = {_key(row): words.part_label(row) for row in words.tell_parts_apart(rows)}
    return {part: names[part] for part in sorted(jobs, key=lambda part: (-jobs[part], part))}


def _sources(fleet: Fleet, kind: str | None, part: str) -> list[dict[str, Any]]:
    """Rows by source of the new part; nothing where fewer than two sources are recorded."""
    rows = [row for row in of_kind(_ask(fleet, kind, "part_source"), kind) if _key(row) == part]
    known = [row for row in rows if row["part_source"]]
    return known if len(known) > 1 else []


def _most_first(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return sorted(rows, key=lambda row: (-row["denominator"], _label(row)))


def _label(row: dict[str, Any]) -> str:
    if row.get("action"):
        first, _, again = row["action"].partition(", ")
        return f"{words.DONE.get(first, first)}{f' {again}' if again else ''}"
    return f"{row['part_source']} part"


def tell(rows: list[dict[str, Any]], part: str, by: str) -> Told:
    """Share worked on again within a year after the two commonest, and whether one lasts longer."""
    telling = [row for row in rows if row["value"] is not None][:2]
    few = [_label(row) for row in rows if row["value"] is None]
    too_few = f"Too few to say: {words.listed(few)}." if few else ""
    if not telling:
        return Told(f"Cannot tell yet how long the {part} lasts.", too_few)
    said = [f"{_label(row)}, {_again(row)}" for row in telling]
    sure = f"{words.capital(part)}, worked on again within a year: {said[0]}"
    if len(telling) == 1:
        return Told(f"{sure}.", too_few)
    verdict = compare(*telling)
    first, second = (_label(row) for row in telling)
    if verdict == "cannot tell":
        apart = f"Whether one lasts longer than the other cannot be told. {too_few}"
        return Told(f"{sure}; {said[1]}.", apart.strip())
    longer, shorter = (first, second) if verdict == "better" else (second, first)
    return Told(f"{sure}; {said[1]}. It lasts longer {_when(longer, by)} than {_when(shorter, by)}.", too_few)


def _when(label: str, by: str) -> str:
    return f"as a {label}" if by == "part_source" else f"after “{label}”"


def _again(row: dict[str, Any]) -> str:
    low, high = 100 * row["low"], 100 * row["high"]
    return f"about {100 * row['value']:.0f} in 100 (likely {low:.0f} to {high:.0f}; {words.counted(row['denominator'], 'fix', 'fixes')})"


def _choose(parts: dict[str, str], *, has_sources: bool) -> None:
    st.selectbox("Part, most fixes first", list(parts), format_func=parts.__getitem__, key=PART_KEY)
    if has_sources:
        st.segmented_control(
            "Told apart by", list(BY), format_func=BY.__getitem__, default="action", required=True, key=BY_KEY
        )


def _points(
    fleet: Fleet, kind: str | None, part: str, by: str, rows: list[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Points of the lines of these rows, in their order."""
    name = "part_no" if rows[0]["part_no"] else "part_name"
    only = {name: part} if kind is None else {name: part, "unit_type": kind}
    groups = ("part_no", by) if kind is None else ("unit_type", "part_no", by)
    line = fleet.line("part-life", only, by=groups, days=YEAR)
    order = [row[by] for row in rows]
    return [{**point, "label": _label({by: at})} for at in order for point in line.rows if point[by] == at]


def _show(points: list[dict[str, Any]], rows: list[dict[str, Any]], told: Told) -> None:
    if not points:
        return
    named = words.listed([_label(row) for row in rows])
    says = (
        f"{told.sure} {told.undecided} Shown: share worked on again by each day since the fix, one line each for {named}; "
        "a line ends where fewer than five are left."
    )
    frame = pl.DataFrame(points, infer_schema_length=None)
    blocks.chart(says, life_curves, frame.select("label", "x", "value", "low", "high", "at_risk"))


def _rests_on(rows: list[dict[str, Any]]) -> str:
    return (
        "Pale: likely range (95\u00a0%) at each day. Below: how many are still followed; a line ends where fewer than five "
        f"are left. {words.capital(rows[0]['basis'])}, {words.window(rows[0])}, the {LINES} commonest drawn."
    )


def _how() -> list[str]:
    return [
        (
            "Each fix of the part on a known machine is followed to the next job that works on the same part of that "
            "machine. Work on other parts does not end it. A part that was cleaned or freed before and is cleaned or "
            "freed again stands apart: “again”."
        ),
        (
            "A fix of last week cannot have failed yet: each counts for as long as it was followed (Aalen-Johansen), and "
            "a machine that is taken away can no longer come back."
        ),
        (
            "Nobody drew lots: a part that was cleaned may have been in a better state than one that was replaced, and a "
            "genuine part may have gone into other machines than a pattern part. The lines show what happened."
        ),
    ]


def _numbers(rows: list[dict[str, Any]], by: str) -> tuple[list[str], list[list[str]]]:
    header = [
        BY[by],
        "fixes",
        "by 30 days",
        "by 90 days",
        "by a year",
        "likely",
        "mean days in the first year",
        "when",
    ]
    cells = []
    for row in rows:
        shares = [_or_dash(row[f"by_{days}"]) for days in (30, 90, 365)]
        likely = f"{words.percent(row['low'])} to {words.percent(row['high'])}"
        mean = "–" if row.get("mean_days_in_year") is None else words.whole(row["mean_days_in_year"])
        when = SHAPES.get(row.get("shape_says") or "", "–")
        cells.append([_label(row), words.whole(row["denominator"]), *shares, likely, mean, when])
    return header, cells


def _or_dash(share: float | None) -> str:
    return "–" if share is None else words.percent(share)


def _what_next(rows: list[dict[str, Any]], by: str) -> str:
    telling = [row for row in rows if row["value"] is not None][:2]
    safety = "Parts that keep people safe are replaced, whatever lasts."
    if len(telling) < 2 or compare(*telling) == "cannot tell":
        return f"Go on recording part, action and where the part came from; look again when 20 of each have had a year. {safety}"
    worse = telling[0] if compare(*telling) == "worse" else telling[1]
    if by == "part_source":
        return f"Read the jobs in which the {_label(worse)} came back, and ask the supplier about that lot. {safety}"
    return (
        f"Take the jobs that came back after “{_label(worse)}” to the bench: was the cause outside the part (drain, "
        f"supply, water)? Say to the customer beforehand how long each usually lasts. {safety}"
    )
