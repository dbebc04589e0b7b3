"""Minutes that some checks took, drawn by themselves: nothing else of the log depends on them."""

from __future__ import annotations

import random

from sample_logs.jobs import Row, log_normal

# What is checked -> median minutes, panels not counted; of other checks nobody writes the minutes down.
MEDIAN_MIN: dict[str, float] = {
    "turn the wheel by hand": 6.0,
    "look into the pump": 8.0,
    "resistance of the heater": 5.0,
    "length of the brushes": 7.0,
}
SIGMA = 0.35  # of the log of the minutes
WRITTEN = 0.45  # share of those checks whose minutes are written down


def fill_check_minutes(seed: int, rows: list[Row]) -> None:
    """Put minutes beside some checks of a job; a check takes less than the visit."""
    rng = random.Random(f"{seed}:minutes of checks:{rows[0]['job_id']}") if rows else None
    for row in rows:
        median = MEDIAN_MIN.get(row["check"])
        if rng is None or median is None or rng.random() >= WRITTEN:
            continue
        took = max(1, round(log_normal(rng, median, SIGMA)))
        if not row["hands_on_min"] or took < int(row["hands_on_min"]):
            row["check_min"] = str(took)
