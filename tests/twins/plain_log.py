"""A seeded log of any size with planted names, for tests that need bulk and not surprises."""

from __future__ import annotations

import random
from datetime import datetime, timedelta
from pathlib import Path

from tests.twins.strategies import write_csv

# Invented, and unlike anything that the product or a library would write by itself.
PLANTED = ("Zebulonia Quistgaard", "Ottoquist Vanderplonk")
HEADER = (
    *(
        "job_id",
        "job_kind",
        "unit_id",
        "unit_type",
        "make",
        "model",
        "made_on",
        "site_id",
        "site_kind",
        "reported_at",
        "started_at",
    ),
    *("finished_at", "hands_on_min", "technician", "symptom", "part_no", "action", "outcome", "note"),
)


def write_log(path: Path, jobs: int, *, seed: int = 1, prefix: str = "J") -> Path:
    """Write a log of `jobs` jobs of one line each; every row names a customer and a technician."""
    random_ = random.Random(seed)
    write_csv(path, HEADER, [_row(random_, f"{prefix}{number}", jobs) for number in range(jobs)])
    return path


def _row(random_: random.Random, job_id: str, jobs: int) -> dict[str, str]:
    reported = datetime(2023, 1, 2, 8) + timedelta(
        days=random_.randrange(700), minutes=15 * random_.randrange(36)
    )
    finished = reported + timedelta(days=random_.choice((0, 1, 2, 9)), hours=2)
    machine = random_.randrange(max(1, jobs // 3))
    return {
        "job_id": job_id,
        "unit_id": f"U{machine}",
        "unit_type": ("washer", "dishwasher", "ice maker")[machine % 3],
        "make": ("Make One", "Make Two")[machine % 2],
        "made_on": f"{2010 + machine % 13}-06-30",
        "site_id": f"{PLANTED[0]}, {machine} Larkspur Row",
        "site_kind": ("household", "café")[machine % 2],
        "reported_at": reported.isoformat(timespec="minutes"),
        "finished_at": finished.isoformat(timespec="minutes"),
        "hands_on_min": str(random_.randrange(15, 95)),
        "technician": f"{PLANTED[1]} {machine % 7}",
        "symptom": random_.choice(("not draining", "noisy", "not heating")),
        "part_no": random_.choice(("100-20", "200-30", "300-40")),
        "action": random_.choice(("clean", "replace", "free")),
        "outcome": random_.choice(("fixed",) * 4 + ("no fault found", "quote declined")),
        "note": f"key is with {PLANTED[0]}, pump noisy",
    }
