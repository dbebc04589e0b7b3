"""A made-up firm's past in arrays, without a build: what `pipeline.stock` works on."""

from datetime import datetime

import numpy as np
import polars as pl

from pipeline.measures.question import Window
from pipeline.measures.window import Bounds
from pipeline.stock.history import History
from pipeline.stock.parts import Parts
from pipeline.stock.present import Present
from pipeline.stock.van import Basis

DAYS = 730


def bounds():
    start, end = datetime(2024, 1, 1), datetime(2026, 1, 1)
    return Bounds(Window(start, end), start.date(), end.date(), start, end)


def basis(past, prices, stock=()):
    """Parts by their prices, and a stock list of (place, part key, pieces)."""
    count = len(past.keys)
    parts = pl.DataFrame(
        {
            "part_key": past.keys,
            "part_no": past.keys,
            "part_name": [None] * count,
            "is_safety_part": [False] * count,
            "lead_days": [None] * count,
            "least_order": [None] * count,
            "volume_l": [1.0] * count,
            "unit_cost": np.asarray(prices, dtype=np.float64),
            "is_cost_known": [True] * count,
            "litres": [1.0] * count,
        },
        schema_overrides={"part_name": pl.String, "lead_days": pl.Float64, "least_order": pl.Float64},
    )
    schema = {"place": pl.String, "part_key": pl.String, "quantity": pl.Int64}
    return Basis(
        past, Parts(parts), Present(pl.DataFrame(list(stock), schema=schema, orient="row")), "EUR", ""
    )


def drawn(seed, jobs=600, parts=15, vans=2):
    """Jobs over two years whose needs come by chance; one first visit in twelve fails for another reason."""
    rng = np.random.default_rng(seed)
    day = np.sort(rng.integers(0, DAYS, jobs))
    rate = rng.dirichlet(np.full(parts, 0.7))
    rows = [
        (job, int(part), int(rng.choice([1, 1, 1, 2])))
        for job in range(jobs)
        for part in sorted(set(rng.choice(parts, rng.choice([0, 1, 1, 2]), p=rate).tolist()))
    ]
    need = np.array(rows, dtype=np.int64)
    past = History(
        day.astype(np.int64),
        rng.integers(0, vans, jobs),
        np.ones(jobs, dtype=np.bool_),
        rng.random(jobs) > 1 / 12,
        need[:, 0],
        need[:, 1],
        need[:, 2],
        rng.random(len(rows)) > 0.3,
        [f"P{n:02d}" for n in range(parts)],
        DAYS,
        bounds(),
        np.full(jobs, np.nan),
        tuple(f"T{n}" for n in range(vans)),
    )
    return past, np.exp(rng.normal(3, 0.7, parts))
