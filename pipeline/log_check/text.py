"""The accounts of the log to read: rows add up first, then why some are set aside, then what to do."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from typing import Any

from pipeline.intake.no_work import A_TOTAL, THE_HEADER
from pipeline.log_check.costs import FIELDS
from pipeline.log_check.drift import as_sentence
from pipeline.normalise.part_keys import LOST, MISTAKEN, ZEROS

FATES = {"used": "used", "repeated": "repeated", "replaced": "replaced", "set_aside": "set aside"}
WIDTH = 100
# A month is told where a column is less than half as full in it as in all, over no fewer than so many.
HALF_AS_FULL, FEWEST_A_MONTH = 0.5, 10
# Whole rows that are as they should be, and for which nothing is to be done.
NO_WORK = (A_TOTAL, THE_HEADER)
Account = dict[str, Any]


def as_text(files: Sequence[Account]) -> str:
    """Text of what `log_check` gives, ending in a line end."""
    parts = [_sums(files), *(_file(file) for file in files), _to_do(files)]
    return "\n\n".join("\n".join(lines) for lines in (list(part) for part in parts) if lines) + "\n"


def _sums(files: Sequence[Account]) -> Iterator[str]:
    for file in files:
        yield f"{file['file']} ({file['kind']}): {_sum(file)}"
    if len(files) > 1:
        total = {name: sum(file[name] for file in files) for name in ("received", *FATES)}
        yield f"All files: {_sum(total)}"


def _sum(counts: Account) -> str:
    said = " + ".join(f"{counts[name]:,} {words}" for name, words in FATES.items())
    holds = counts["received"] == sum(counts[name] for name in FATES)
    return f"{counts['received']:,} received {'=' if holds else 'IS NOT'} {said}"


def _file(file: Account) -> Iterator[str]:
    lines = [
        *_reasons(file),
        *_mended(file),
        *_numbers(file),
        *_circular(file),
        *_nothing_charged(file),
        *_visits(file),
        *_jobs(file),
        *_filled(file),
        *_drift(file),
        *_costs(file),
    ]
    if lines:
        yield f"{file['file']}"
        yield from (
            textwrap.fill(line, WIDTH, initial_indent="  ", subsequent_indent="    ") for line in lines
        )


def _reasons(file: Account) -> Iterator[str]:
    for reason in file["reasons"]:
        where = "" if reason["column"] == "row" else f"{reason['column']}: "
        looks = f" (looks like {reason['shape']})" if reason["shape"] else ""
        records = _records(reason["records"], reason["count"])
        yield f"set aside: {reason['count']:,} × {where}{reason['reason']}{looks}; record {records}"


def _mended(file: Account) -> Iterator[str]:
    if file["corrected"]:
        yield f"mended: {_counted(file['corrected'], 'cell')}"
    for gone in file["corrections_gone"]:
        yield f"mended, but the row is gone: {gone['row']}, {gone['column']}"


DAMAGE_WORDS = {
    LOST: "a spreadsheet made an exponent of it: which part it was nobody can tell any more",
    ZEROS: "zeros in front are missing: read as the one listed part that has them",
    MISTAKEN: "one sign is another (O for 0, I for 1, B for 8): read as the one listed part that differs so",
}


def _numbers(file: Account) -> Iterator[str]:
    for damage in file.get("damaged_numbers", ()):
        yield (
            f"part_no damaged: {_counted(damage['count'], 'row')} ({', '.join(damage['written'])}): "
            f"{DAMAGE_WORDS[damage['rule']]}"
        )


def _circular(file: Account) -> Iterator[str]:
    if file.get("circular"):
        yield (
            f"replaced_by: {', '.join(file['circular'])} replace each other in a circle: each is counted as a part of its own "
            "until the parts list says which one is ordered now"
        )


def _nothing_charged(file: Account) -> Iterator[str]:
    for each in file.get("nothing_charged", ()):
        yield f'{each["column"]}: {_counted(each["count"], "row")} say "{each["word"]}": read as 0, nothing charged'


def _drift(file: Account) -> Iterator[str]:
    for change in file.get("coding_drift", ()):
        yield f"coded differently: {as_sentence(change)}"


def _visits(file: Account) -> Iterator[str]:
    if file.get("suspected"):
        records = _records([row["record"] for row in file["suspects"]], file["suspected"])
        yield (
            f"suspected: {_counted(file['suspected'], 'visit')} say in all but the job number what a visit of another "
            f"job says, and are counted; record {records}"
        )
    if file.get("missing_visits"):
        records = _records([row["record"] for row in file["missing"]], file["missing_visits"])
        yield (
            f"kept: {_counted(file['missing_visits'], 'visit')} that a newer file leaves out although it covers the day; "
            f"record {records}"
        )


def _records(records: Sequence[int], many: int) -> str:
    return ", ".join(str(record) for record in records) + (" …" if many > len(records) else "")


def _jobs(file: Account) -> Iterator[str]:
    for name, words in (("rungs", "machine known by"), ("joined", "jobs made by")):
        if file.get(name):
            key = "rung" if name == "rungs" else "rule"
            yield f"{words}: " + ", ".join(
                f"{row[key]} {row['jobs']:,} ({row['share']:.0%})" for row in file[name]
            )
    lag = file.get("entry_lag")
    if lag and lag["late"]:
        yield (
            f"written down late: {lag['late']:,} of {_counted(lag['jobs'], 'new job')} had been reported before the "
            f"last report of an earlier load, by {lag['days_mean']:g} days on average, {lag['days_longest']:,} at most"
        )


def _filled(file: Account) -> Iterator[str]:
    """How full the columns are that figures lean on, and the month in which one was written down far less than usual."""
    shares = {row["column"]: row["share"] for row in file.get("completeness", ()) if row["share"] is not None}
    named = [f"{column} {shares[column]:.0%}" for column in FIELDS if column in shares]
    if named:
        yield f"filled in: {', '.join(named)}"
    for row in file.get("completeness_by_month", ()):
        is_enough = row["of"] >= FEWEST_A_MONTH and row["share"] is not None
        if is_enough and row["share"] < HALF_AS_FULL * shares.get(row["column"], 0):
            yield f"{row['column']} in {row['month']}: filled in {row['filled']:,} of {row['of']:,} {row['counted']} only"


def _costs(file: Account) -> Iterator[str]:
    for cost in file.get("costs", ()):
        yield f"{cost['column']} is there in {cost['share']:.0%}: {cost['says']}"


def _to_do(files: Sequence[Account]) -> Iterator[str]:
    if any(reason["column"] != "row" for file in files for reason in file["reasons"]):
        yield "What to do: `mendstat mend` writes the cells to mend to a list; fill it in and give it back."
    if any(
        reason["column"] == "row" and reason["reason"] not in NO_WORK
        for file in files
        for reason in file["reasons"]
    ):
        yield "Rows that are out of joint as a whole: correct the source file and load it again."


def _counted(many: int, what: str) -> str:
    return f"{many:,} {what}" if many == 1 else f"{many:,} {what}s"
