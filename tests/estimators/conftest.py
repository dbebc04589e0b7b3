"""What the estimators' tests share: the published data, as arrays by column name."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

DATA = Path(__file__).parents[1] / "reference"


@pytest.fixture(scope="session")
def reference() -> Callable[[str], dict[str, np.ndarray]]:
    def read(name: str) -> dict[str, np.ndarray]:
        with (DATA / f"{name}.csv").open(newline="", encoding="utf-8") as file:
            rows = list(csv.DictReader(file))
        return {column: np.array([float(row[column]) for row in rows]) for column in rows[0]}

    return read
