"""The verdicts on one part: for the firm, for the customer, in hours; or why there are none."""

from __future__ import annotations

from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.estimators.arrays import Floats
from pipeline.estimators.bootstrap import Estimate
from pipeline.estimators.compared import Overlap, Records, Sides, compare, overlap
from pipeline.estimators.competing import CENSORED
from pipeline.estimators.resampled import COMPETING, EVENT, LAST_SEEN
from pipeline.estimators.sample import (
    CANNOT_TELL,
    COMPARISON_MIN_N,
    ENOUGH,
    MEAN_ENOUGH_N,
    ROUGH,
    TOO_FEW,
    can_tell,
)
from pipeline.measures.balance import largest_imbalance
from pipeline.measures.cleaning_figures import (
    BEYOND,
    CUSTOMER,
    EVEN_AFTER,
    FIRM,
    FULL,
    HOURS,
    MEASURED,
    PER_RETURN,
    VERDICTS,
    Asked,
    earns_on_comebacks,
    figures,
    returns,
    usual,
    with_unseen,
)
from pipeline.measures.comparable_jobs import ALIKE, CLEANED, REPLACED
from pipeline.measures.followed import SAME_FAULT, first_end
from pipeline.measures.groups import positions
from pipeline.measures.result import with_note
from pipeline.measures.terms import HOW_TO_SET
from pipeline.planning.unseen import unseen_ratio

CLEAN, REPLACE, NOT_COMPARABLE = "clean", "replace", "not comparable"
# In place of the verdicts: a part that money does not decide on, and jobs that are too unlike.
SAFETY, EVERYBODY = "safety", "all"
UNITS = {
    FIRM: "money a job that cleaning earns more than replacing",
    FULL: "money an hour that cleaning earns more than replacing",
    CUSTOMER: "money a job that cleaning saves the customer",
    HOURS: "hours a job that cleaning saves",
    SAFETY: "",
    EVERYBODY: "",
}


def verdict_rows(key: dict[str, Any], jobs: pl.DataFrame, asked: Asked) -> list[dict[str, Any]]:
    """
    The verdicts of one part, payer and currency; nothing where only one of the two was done.

    Parameters
    ----------
    key : mapping
        Group columns of the answer.
    jobs : DataFrame
        As `comparable_jobs` gives them.
    asked : Asked
    """
    side = jobs["side"].to_numpy()
    both = {CLEANED, REPLACED} <= set(side.tolist())
    base = {**key, **_same_everywhere(side, asked)}
    if jobs["is_safety_part"].any():
        return [_safety_row(base)]
    if not both:
        return []
    records, cells = as_records(jobs)
    common = overlap(records, cells, asked.terms.guarantee_days)
    base |= _amount(common)
    kinds = (FIRM, FULL, HOURS) if _customer_is_silent(key, asked) else VERDICTS
    if common.effective.min() < COMPARISON_MIN_N:
        return [_not_comparable({**base, "whose": EVERYBODY})]
    return _compared(base, records, cells, common, kinds=kinds, jobs=jobs, asked=asked)


def _customer_is_silent(key: dict[str, Any], asked: Asked) -> bool:
    """Nobody but a customer who pays has a price to compare, and without the cost of a day there is no answer."""
    return key["payer"] not in (None, "customer") or asked.terms.customer_day is None


def as_records(jobs: pl.DataFrame) -> tuple[Records, int]:
    """Jobs as the comparison takes them, and the number of cells of what is held alike."""
    _, cell = positions(jobs, ALIKE)
    time, cause = first_end(jobs)
    kind = np.select([cause == SAME_FAULT, cause == CENSORED], [EVENT, LAST_SEEN], COMPETING)
    records = Records(
        jobs["machine_no"].to_numpy(),
        jobs["side"].to_numpy().astype(np.int64),
        cell,
        time,
        kind,
        jobs.select(MEASURED).cast(pl.Float64).fill_null(np.nan).to_numpy(),
        jobs.select(PER_RETURN).cast(pl.Float64).to_numpy(),
    )
    return records, int(cell.max()) + 1


def _compared(
    base: dict[str, Any],
    records: Records,
    cells: int,
    common: Overlap,
    *,
    kinds: tuple[str, ...],
    jobs: pl.DataFrame,
    asked: Asked,
) -> list[dict[str, Any]]:
    days = asked.terms.guarantee_days
    one_return = usual(records, common, days)
    whole, found = compare(
        records,
        lambda sides: figures(sides, asked),
        cells=cells,
        days=days,
        per_event=one_return,
        level=asked.question.level,
    )
    rates = returns(whole, found, common, asked.question.level)
    found = with_unseen(found, whole, rates, common, asked)
    side = records.side
    shared = {
        **base,
        **rates,
        **_means(whole),
        "imbalance_before": largest_imbalance(side, jobs, np.ones(jobs.height)),
        "imbalance_after": largest_imbalance(side, jobs, common.weight),
        "note": with_note(*_notes(base, one_return, jobs, asked)),
    }
    rows = [_verdict_row({**shared, "whose": whose}, found, common) for whose in kinds]
    return [_without_comebacks(row) for row in rows] if earns_on_comebacks(whole, asked) else rows


def _without_comebacks(row: dict[str, Any]) -> dict[str, Any]:
    """What the firm would earn because a fix did not hold is no ground for advice."""
    if row["whose"] not in (FIRM, FULL):
        return row
    note = "a return would leave the firm money under this pricing: no verdict rests on that"
    return {**row, "verdict": CANNOT_TELL, "note": with_note(row["note"], note)}


def _verdict_row(base: dict[str, Any], found: Estimate, common: Overlap) -> dict[str, Any]:
    place = VERDICTS.index(base["whose"])
    value, low, high = (float(column[place]) for column in found)
    even = float(found.value[place + EVEN_AFTER])
    n = float(common.effective.min())
    decided = bool(can_tell(n, n, low, high))
    q, q_low, q_high = (
        base[name] for name in ("return_cleaned", "low_return_cleaned", "high_return_cleaned")
    )
    # The picture and the words agree: a band that the line runs through decides nothing.
    verdict = CANNOT_TELL if not decided or q_low <= even <= q_high else CLEAN if value > 0 else REPLACE
    near = q_high if q < even else q_low
    return {
        **base,
        "value": value,
        "low": low,
        "high": high,
        "unit": UNITS[base["whose"]],
        "sample": ENOUGH if n >= MEAN_ENOUGH_N else ROUGH,
        "verdict": verdict,
        "break_even": even if abs(even) < BEYOND else None,
        "low_break_even": float(found.low[place + EVEN_AFTER]),
        "high_break_even": float(found.high[place + EVEN_AFTER]),
        "unseen_ratio": unseen_ratio(q, even),
        "unseen_ratio_limit": 1.0 if q_low <= even <= q_high else unseen_ratio(near, even),
    }


def _means(whole: Sides) -> dict[str, Any]:
    found = {
        f"{name}_{side}": float(whole.measured[0, at, place])
        for place, name in enumerate(MEASURED)
        for at, side in ((CLEANED, "cleaned"), (REPLACED, "replaced"))
    }
    return {
        **found,
        "return_cost": float(whole.per_event[0, CLEANED, 0]),
        "return_hours": float(whole.per_event[0, CLEANED, 1]),
    }


def _same_everywhere(side: NDArray[np.int64], asked: Asked) -> dict[str, Any]:
    cleaned, replaced = (int((side == s).sum()) for s in (CLEANED, REPLACED))
    return {
        "level": asked.question.level,
        "numerator": cleaned,
        "denominator": replaced,
        "all_cleaned": cleaned,
        "all_replaced": replaced,
        "basis": "paid jobs on this part alone, in cells of machine type, age, symptom and mechanism where both were done",
        "pricing": asked.terms.rule,
        "days": asked.terms.guarantee_days,
        "from": asked.bounds.window.from_at,
        "complete_to": asked.bounds.window.complete_to,
        "note": "",
    }


def _amount(common: Overlap) -> dict[str, Any]:
    cleaned, replaced = (int(n) for n in common.shared)
    effective = common.effective
    return {
        "numerator": cleaned,
        "denominator": replaced,
        "jobs_cleaned": cleaned,
        "jobs_replaced": replaced,
        "effective_cleaned": float(effective[CLEANED]),
        "effective_replaced": float(effective[REPLACED]),
    }


def _notes(
    base: dict[str, Any], one_return: Floats | None, jobs: pl.DataFrame, asked: Asked
) -> tuple[str, ...]:
    unknown = int(jobs["is_payer_unknown"].sum())
    alone = (base["all_cleaned"] - base["jobs_cleaned"], base["all_replaced"] - base["jobs_replaced"])
    is_for_customer = base["payer"] in (None, "customer")
    return (
        f"not comparable, left out: {alone[0]} cleaned and {alone[1]} replaced" if any(alone) else "",
        "hardly a return on one side: a return costs what it does on both together"
        if one_return is not None
        else "",
        f"returns of which nobody knows who paid, counted as free of cost: {unknown}" if unknown else "",
        f"the customer's side: write customer_day = 40.00, say, {HOW_TO_SET}"
        if is_for_customer and asked.terms.customer_day is None
        else "",
    )


def _not_comparable(base: dict[str, Any]) -> dict[str, Any]:
    effective = min(base["effective_cleaned"], base["effective_replaced"])
    return {
        **base,
        "unit": UNITS[base["whose"]],
        "sample": TOO_FEW,
        "verdict": NOT_COMPARABLE,
        "note": f"like against like there are {effective:.0f} jobs on the smaller side, and {COMPARISON_MIN_N} are needed: one was chosen where the other was not",
    }


def _safety_row(base: dict[str, Any]) -> dict[str, Any]:
    return {
        **base,
        "whose": SAFETY,
        "unit": UNITS[SAFETY],
        "sample": TOO_FEW,
        "verdict": REPLACE,
        "basis": "a part that keeps people safe: money does not decide",
        "note": "a safety part is replaced, whatever it earns; no figure is worked out",
    }
