"""What a figure says in plain words: machines, breakdowns, counts before percentages; nothing it cannot say."""

from __future__ import annotations

from typing import Any

import polars as pl

# Below this many jobs a count says more than a percentage.
COUNTS_BELOW = 50


def headline_words(name: str, result: pl.DataFrame) -> str:
    """One or two sentences on the rows that have enough behind them; nothing for a figure that has none of its own."""
    if name not in _SENTENCES:
        return ""
    enough = result.filter(pl.col("sample") == "enough")
    said = _SENTENCES[name](enough) if enough.height else "Too few jobs yet to say anything."
    return f"{said} {_undecided(_groups_of(result) - _groups_of(enough))}".strip()


def _groups_of(rows: pl.DataFrame) -> int:
    """How many groups there are; the ages of one are one."""
    names = [name for name in rows.columns[: rows.columns.index("value")] if name != "age_years"]
    return rows.select(names).n_unique() if names else min(rows.height, 1)


def share_in_words(row: dict[str, Any]) -> str:
    """`9 of 14; likely between 4 and 8 in every 10` below 50 jobs, percentages above."""
    low, high = row["low"], row["high"]
    if row["denominator"] < COUNTS_BELOW:
        likely = f"likely between {10 * low:.0f} and {10 * high:.0f} in every 10"
        return f"{row['numerator']:.0f} of {row['denominator']:.0f}; {likely}"
    return f"about {100 * row['value']:.0f} in 100 (likely {100 * low:.0f} to {100 * high:.0f})"


def rate_in_words(row: dict[str, Any]) -> str:
    """A rate as breakdowns a year per 100 machines."""
    return f"{100 * row['value']:.1f} breakdowns a year per 100 machines (likely {100 * row['low']:.1f} to {100 * row['high']:.1f})"


def _rates(enough: pl.DataFrame) -> str:
    if enough["basis"][0] == "shares":
        row = enough.sort("low", descending=True).row(0, named=True)
        return f"{_part(row)} is worked on in {share_in_words(row)} of the jobs. Without machines that are followed, no rate can be given."
    row = enough.sort("low", descending=True).row(0, named=True)
    return f"Of the parts with enough behind them, the {_part(row)} fails most often: {rate_in_words(row)}."


def _repeats(enough: pl.DataFrame) -> str:
    worst = enough.sort("low", descending=True).row(0, named=True)
    best = enough.sort("high").row(0, named=True)
    back = "came back with the same fault" if "(same fault)" in worst["unit"] else "came back"
    if enough.height == 1:
        return f"After {_fix(worst)}, {share_in_words(worst)} {back}."
    if worst["low"] <= best["high"]:
        return f"After {_fix(worst)}, {share_in_words(worst)} {back}; they cannot be told apart yet."
    return (
        f"Holds least: {_fix(worst)}; {share_in_words(worst)} {back}. "
        f"Holds best: {_fix(best)}; {share_in_words(best)}."
    )


def _times(enough: pl.DataFrame) -> str:
    row = enough.sort("denominator", descending=True).row(0, named=True)
    what = row.get("unit_type") or row.get("part_name") or "job"
    number = "{:.1f}" if row["unit"] == "visits" else "{:.0f}"
    value, low, high = (number.format(row[name]) for name in ("value", "low", "high"))
    unit = row["unit"].partition(" ")[0]
    done = [
        f"{share} in {number.format(row[name])}"
        for share, name in (("half are done", "median"), ("8 in 10", "p80"))
        if row[name] is not None
    ]
    said = f"For a {what}{_beside(row, 'unit_type', 'part_no', 'part_name')}, a fix takes {value} {unit} on average (likely {low} to {high})"
    return f"{said}; {', '.join(done)}." if done else f"{said}; when half are done is not known yet."


def _fixed(enough: pl.DataFrame) -> str:
    row = enough.sort("denominator", descending=True).row(0, named=True)
    return f"Of the jobs{_beside(row)} whose outcome is known, {share_in_words(row)} ended fixed."


def _reasons(enough: pl.DataFrame) -> str:
    named = enough.drop_nulls("second_visit_reason")
    if not named.height:
        return "For most of them nothing is recorded."
    row = named.sort("low", descending=True).row(0, named=True)
    beside = _beside(row, "second_visit_reason")
    return f"What most often stopped the rest{beside}: {row['second_visit_reason']}, {share_in_words(row)}."


def _first_visits(enough: pl.DataFrame) -> str:
    row = enough.sort("denominator", descending=True).row(0, named=True)
    which = (f" of a {row['unit_type']}" if row.get("unit_type") else "") + _beside(row, "unit_type")
    said = (
        f"Of the first visits{which} that needed a fix, {share_in_words(row)} ended with the machine working."
    )
    if row["value_strict"] is None:
        return said
    return f"{said} About {100 * row['value_strict']:.0f} in 100 also held for {row['days']} days."


def _second_visits(enough: pl.DataFrame) -> str:
    name = "part_name" if "part_name" in enough.columns else "second_visit_reason"
    named = enough.drop_nulls(name)
    if not named.height:
        return "For most of them nothing is recorded."
    row = named.sort("low", descending=True).row(0, named=True)
    beside = _beside(row, "second_visit_reason", "part_no", "part_name")
    return f"What most often made a second visit necessary{beside}: {row[name]}, {share_in_words(row)}."


def _no_fault(enough: pl.DataFrame) -> str:
    row = enough.sort("denominator", descending=True).row(0, named=True)
    which = (f" on a {row['unit_type']}" if row.get("unit_type") else "") + _beside(row, "unit_type")
    said = f"Of the attended jobs{which}, no fault was found in {share_in_words(row)}."
    if row["value_repeat"] is None:
        return f"{said} How many of them came back cannot be said yet."
    back = {name: row[f"{name}_repeat"] for name in ("value", "low", "high", "numerator", "denominator")}
    return f"{said} Of those, {share_in_words(back)} were reported again within {row['days']} days."


def _wrong_parts(enough: pl.DataFrame) -> str:
    row = enough.sort("low", descending=True).row(0, named=True)
    where = f" for “{row['symptom']}”" if row.get("symptom") else ""
    within = f"another part cured the same symptom within {row['days']} days"
    if row["numerator"] == 0:
        return f"After none of the fixes with enough behind them was another part seen to cure the same symptom within {row['days']} days."
    return f"After {_fix(row, 'symptom')}{where}, {within}: {share_in_words(row)}."


def _lives(enough: pl.DataFrame) -> str:
    row = enough.sort("denominator", descending=True).row(0, named=True)
    said = (
        f"After {_fix(row)}, the part was worked on again within {row['days']} days in {share_in_words(row)}."
    )
    if row["by_365"] is None or row["days"] == 365:
        return said
    low, high = (f"{100 * row[name]:.0f}" for name in ("low_365", "high_365"))
    return f"{said} Within a year: about {100 * row['by_365']:.0f} in 100 (likely {low} to {high})."


def _ageing(enough: pl.DataFrame) -> str:
    row = enough.sort("age_years", descending=True).row(0, named=True)
    which = f"a {row.get('unit_type') or 'machine'}{_beside(row, 'unit_type', 'age_years')}"
    said = (
        f"By the age of {row['age_years']} years {which} has had {row['value']:.1f} repairs on average "
        f"(likely {row['low']:.1f} to {row['high']:.1f}), counted from {row['from_age_years']:.0f}."
    )
    if row["split_age_years"] is None:
        return said
    change = {"more": "It needs more", "fewer": "It needs fewer"}.get(row["change_says"])
    years = f"up to {row['split_age_years']} years {row['early_a_year']:.2f} a year, above {row['late_a_year']:.2f}"
    if change is None:
        return f"{said} Whether it needs more of them as it ages cannot be told: {years}."
    return f"{said} {change} of them as it ages: {years}."


def _unpaid(enough: pl.DataFrame) -> str:
    row = enough.sort("denominator", descending=True).row(0, named=True)
    which = (f" on a {row['unit_type']}" if row.get("unit_type") else "") + _beside(row, "unit_type")
    kinds = {
        "returns under our own guarantee": row["hours_own_guarantee"],
        "no access": row["hours_no_access"],
        "no fault found and nothing charged": row["hours_uncharged_no_fault"],
        "cancelled at the door": row["hours_cancelled_at_door"],
    }
    most = max(kinds, key=lambda kind: kinds[kind])
    return (
        f"In 100 jobs{which}, about {row['value']:.0f} hours go unpaid (likely {row['low']:.0f} to {row['high']:.0f}), "
        f"most of them for: {most} ({kinds[most]:.0f} hours)."
    )


_SENTENCES = {
    "part-failure-rate": _rates,
    "repeat-visits": _repeats,
    "time-to-fix": _times,
    "fixed-share": _fixed,
    "not-fixed-reasons": _reasons,
    "first-visit": _first_visits,
    "second-visits": _second_visits,
    "no-fault-found": _no_fault,
    "wrong-part": _wrong_parts,
    "part-life": _lives,
    "repairs-by-age": _ageing,
    "unpaid-hours": _unpaid,
}


def _undecided(silent: int) -> str:
    if not silent:
        return ""
    return f"For {silent} more there is too little to say yet, or only an early sign."


def _part(row: dict[str, Any]) -> str:
    return str(row.get("part_name") or row.get("function_group") or row.get("part_no") or "part")


def _beside(row: dict[str, Any], *told: str) -> str:
    """In brackets, of which group the row is, apart from what the sentence tells anyway."""
    groups = list(row)[: list(row).index("value")]
    said = [str(row[name] or "not recorded") for name in groups if name not in told]
    return f" ({', '.join(said)})" if said else ""


def _fix(row: dict[str, Any], *told: str) -> str:
    doing = {
        "replace": "a new",
        "clean": "cleaning the",
        "free": "freeing the",
        "repair": "repairing the",
        "adjust": "adjusting the",
        "reset": "resetting the",
    }
    beside = _beside(row, "part_no", "part_name", "function_group", "action", *told)
    has_part = any(row.get(name) for name in ("part_name", "part_no", "function_group"))
    action = row.get("action")
    if has_part:
        start = doing.get(str(action), f"{action}:" if action else "work on the")
        return f"{start} {_part(row)}{beside}"
    return f"{f'“{action}”' if action else 'a fix'}{beside}"
