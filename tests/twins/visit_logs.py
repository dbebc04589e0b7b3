"""Drawn logs that also say what was found outside the machine, how far it was, what was charged and who pays."""

from __future__ import annotations

import random
from dataclasses import dataclass
from pathlib import Path

from hypothesis import strategies as st

from tests.twins.strategies import LOG_HEADER, StandardLog, standard_logs, write_csv

MORE_HEADER = ("travel_min", "finding", "charge", "payer")
OUTSIDE = ("tap part closed", "vent duct blocked")
FINDINGS = ("", "", "wheel stuck", *OUTSIDE)
TRAVELS = ("", "0", "15", "22.5")
CHARGES = ("", "0.00", "0.00", "84.50")
PAYERS = ("", "customer", "customer", "own guarantee", "goodwill", "maker warranty", "insurer")


@dataclass(frozen=True, repr=False)
class VisitLog(StandardLog):
    """A standard log with the further columns."""

    def write(self, folder: Path) -> dict[str, Path]:
        """Write the files, the log with its further columns."""
        lists = StandardLog([], self.machines, self.parts, None, None).write(folder)
        write_csv(folder / "log.csv", (*LOG_HEADER, *MORE_HEADER), self.rows)
        return {**lists, "log": folder / "log.csv"}


@st.composite
def visit_logs(draw: st.DrawFn, logs: st.SearchStrategy[StandardLog] | None = None) -> VisitLog:
    """A standard log, and for each of its lines further fields by a drawn seed."""
    log = draw(standard_logs() if logs is None else logs)
    random_of = random.Random(draw(st.integers(0, 10**6)))
    return VisitLog(
        [enriched(row, random_of) for row in log.rows], log.machines, log.parts, log.start, log.end
    )


def enriched(row: dict[str, str], random_of: random.Random) -> dict[str, str]:
    """The line with further fields; now and then nothing was found, or nobody was in."""
    pick = random_of.choice
    more = {
        "finding": pick(FINDINGS),
        "travel_min": pick(TRAVELS),
        "charge": pick(CHARGES),
        "payer": pick(PAYERS),
    }
    if pick((True, *[False] * 7)):
        more["action"] = pick(("advise", "correct installation"))
    if row.get("finished_at") and pick((True, *[False] * 7)):
        more["outcome"] = pick(("no fault found", "no fault found", "no access", "cancelled"))
    both = {**row, **more}
    return {name: value for name, value in both.items() if value}
