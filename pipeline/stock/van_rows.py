"""The chosen stock as rows and in words."""

from __future__ import annotations

from typing import Any

import numpy as np
import polars as pl

from pipeline.estimators.sample import RATE_MIN_EVENTS
from pipeline.plain_words import figure
from pipeline.stock.van import VanStock
from pipeline.stock.wish import USUAL_SHARE, money_now
from pipeline.stock.words import counted

SCHEMA = {
    "part_no": pl.String,
    "part_name": pl.String,
    "quantity": pl.Int64,
    "cost": pl.Float64,
    "second_trips_saved_per_year": pl.Float64,
    "needed_in_jobs": pl.Int64,
    "not_there": pl.Int64,
    "why": pl.String,
}
# Season and ageing that change a need by less than a tenth are not spoken of.
NOTABLE = 0.1
AGAINST = {"on_vans": pl.Int64, "put_in": pl.Int64, "take_out": pl.Int64}


def rows(found: VanStock) -> pl.DataFrame:
    """
    The list, one row a part, most second trips saved first; what is too rare to say is pooled in the last row.

    `cost` is that of one van; trips saved are a year's, of all vans together, against the same list without that part.
    Where the stock list names vans, `on_vans, put_in, take_out` count pieces over all of them.
    """
    listed = [_row(found, int(part)) for part in np.flatnonzero(found.stock)]
    listed.sort(
        key=lambda row: (-row["second_trips_saved_per_year"], row["part_no"] or "", row["part_name"] or "")
    )
    schema = SCHEMA | (AGAINST if found.basis.now.vans else {})
    if len(found.rare):
        listed.append({**dict.fromkeys(schema), **_pooled(found)})
    return pl.DataFrame(listed, schema=schema)


def _row(found: VanStock, part: int) -> dict[str, Any]:
    basis, quantity = found.basis, int(found.stock[part])
    known = basis.parts.frame.row(part, named=True)
    past = basis.past
    mine = past.part == part
    if found.van is not None:
        mine &= past.van[past.job] == found.van
    row = {
        "part_no": known["part_no"],
        "part_name": known["part_name"],
        "quantity": quantity,
        "cost": round(quantity * known["unit_cost"], 2) if basis.parts.has_costs else None,
        "second_trips_saved_per_year": round(float(found.saved[part]), 3),
        "needed_in_jobs": int(mine.sum()),
        "not_there": int((mine & ~past.there).sum()),
    }
    row["why"] = "; ".join([_why(found, row, priced=known["is_cost_known"]), *_ahead_words(found, part)])
    if basis.now.vans:
        there = basis.now.on_vans(past.keys)[:, part]
        row |= {
            "on_vans": int(there.sum()),
            "put_in": int(np.maximum(quantity - there, 0).sum()),
            "take_out": int(np.maximum(there - quantity, 0).sum()),
        }
    return row


def _why(found: VanStock, row: dict[str, Any], *, priced: bool) -> str:
    past = found.basis.past
    jobs = past.jobs if found.van is None else int((past.van == found.van).sum())
    said = [f"needed in {row['needed_in_jobs']:,} of {jobs:,} jobs"]
    if row["not_there"]:
        said.append(f"not there at {row['not_there']:,} first visits")
    if row["quantity"] > 1:
        said.append(f"{row['quantity']} because jobs between two restocks need it more than once")
    if not priced and found.basis.parts.has_costs:
        said.append("price not known, the middle one taken")
    return "; ".join(said)


def _ahead_words(found: VanStock, part: int) -> list[str]:
    """What season and ageing do to a part in the next three months, where it is worth a word."""
    coming = float(found.coming[part])
    if abs(coming - 1.0) < NOTABLE:
        return []
    ahead = found.ahead
    why = [
        *(["season"] if ahead.season.is_shown[part] else []),
        *(["age of the machines"] if ahead.ageing is not None and ahead.ageing.is_shown[part] else []),
    ]
    return [f"{coming:.2g} times the usual in the next three months ({' and '.join(why)})"]


def _coming_words(found: VanStock) -> str:
    changed = int((np.abs(found.coming - 1.0) >= NOTABLE)[found.stock > 0].sum())
    if not changed:
        return ""
    return (
        f"For the next three months: {counted(changed, 'part is', 'parts are')} counted by what season or the age of the "
        "machines makes likely (--format csv says which, and by how much)."
    )


def _pooled(found: VanStock) -> dict[str, Any]:
    count, past = len(found.rare), found.basis.past
    jobs = len(np.unique(past.job[np.isin(past.part, found.rare)]))
    return {
        "part_name": f"{count:,} {'part' if count == 1 else 'parts'} too rare to say",
        "quantity": 0,
        "cost": 0.0,
        "needed_in_jobs": jobs,
        "why": f"each needed by fewer than {RATE_MIN_EVENTS} jobs: which of them comes next, nobody can tell",
    }


def notes(found: VanStock) -> list[str]:
    """What the list rests on, what it finishes, what the next line would add: sentences for under the table."""
    basis = found.basis
    said = [
        _finishes_words(found),
        _limits_words(found),
        _rests_words(found),
        _coming_words(found),
        _bound_words(found),
        next_words(found),
        _rare_words(found),
        _price_words(found),
        basis.circular,
    ]
    if basis.now.vans:
        said.append(
            "What to put in and take out of each van: mendstat van-stock --changes, with the same options."
        )
    return [sentence for sentence in said if sentence]


def _finishes_words(found: VanStock) -> str:
    basis, lines = found.basis, int((found.stock > 0).sum())
    money = f" worth {found.cost:,.2f}{_unit(found)}" if basis.parts.has_costs else ""
    return (
        f"{counted(lines, 'line', 'lines')}, {counted(int(found.stock.sum()), 'piece', 'pieces')}{money} on each of "
        f"{counted(basis.past.vans, 'van', 'vans')} (technicians in the log). Of the jobs that only the right part "
        f"decides, {found.share(found.tour.finished(found.chosen)):.0%} would end at the first visit."
    )


def _rests_words(found: VanStock) -> str:
    past = found.basis.past
    return (
        "Second trips saved: a year's, all vans together, if each carries the list; "
        f"{counted(found.tour.jobs, 'job', 'jobs')} between two restocks; from {past.jobs:,} attended fault jobs "
        f"{past.bounds.window.in_words()}."
    )


def _bound_words(found: VanStock) -> str:
    if found.choice.gap <= 0.0:
        return ""
    return f"No list within these limits can finish more than {found.share(found.choice.bound):.0%} of them (a bound, not a list)."


def _rare_words(found: VanStock) -> str:
    if not len(found.rare):
        return ""
    pooled = _pooled(found)
    return f"{pooled['part_name'][0].upper()}{pooled['part_name'][1:]}: {pooled['why']}; {counted(pooled['needed_in_jobs'], 'job', 'jobs')} needed one."


def _price_words(found: VanStock) -> str:
    count = int((~found.basis.parts.frame["is_cost_known"].to_numpy())[found.stock > 0].sum())
    if not count or not found.basis.parts.has_costs:
        return ""
    return f"{counted(count, 'part', 'parts')} on the list without a known price: the middle one of the others is taken."


def _limits_words(found: VanStock) -> str:
    if not found.wish.is_unlimited:
        return ""
    if money_now(found.basis.now, found.basis.parts, found.basis.past.keys) is not None:
        return "No limit was given: the list takes the money that a van carries now, on average."
    return f"No limit was given: the list goes as far as {USUAL_SHARE:.0%} of what a van could finish at all."


def next_words(found: VanStock) -> str:
    """What the line after the last would add."""
    following = found.next_line
    if following is None:
        return "No further line would save a trip."
    part, trips = following
    known = found.basis.parts.frame.row(part, named=True)
    label = " ".join(filter(None, [known["part_name"], known["part_no"]]))
    price = f" ({known['unit_cost']:,.2f}{_unit(found)})" if found.basis.parts.has_costs else ""
    return f"The next line would be {label}{price}: it would save about {figure(trips)} more trips a year."


def _unit(found: VanStock) -> str:
    return f" {found.basis.currency}" if found.basis.currency else ""
