"""Classes foretold from texts of four languages whose class people chose, five parts, each foretold from the other four.

Source: Open Repair Data, Open Repair Alliance (openrepair.org), CC BY-SA 4.0, `vacuum_fault_types.csv`. The limits are those
asked of mendstat; counts of n-grams with a logistic regression reach 0.746 and 0.920 there.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from functools import cache
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from pipeline.estimators.text_classes import learn_classes
from pipeline.vocabulary.nearest import plain

FILE = Path(__file__).parents[2].parent / "shared/open_data/open_repair_data/vacuum_fault_types.csv"
PARTS = 5
TOP_1, TOP_3, CALIBRATION = 0.76, 0.92, 0.05

pytestmark = pytest.mark.skipif(not FILE.exists(), reason="../shared/open_data is not here")


@cache
def rows():
    frame = pl.read_csv(FILE, infer_schema=False)
    assert frame.height == 2303
    return [(plain(text), name) for text, name in frame.select("problem", "fault_type").iter_rows()]


def parts_of(seed):
    """Which of the parts each row is in; rows with the same text are in the same."""
    texts = sorted({text for text, _ in rows()})
    order = np.random.default_rng(seed).permutation(len(texts))
    part = {texts[at]: place % PARTS for place, at in enumerate(order)}
    return np.array([part[text] for text, _ in rows()])


def foretold(seed):
    """Chances of every row's classes from the parts it is not in, and which class is true."""
    classes = sorted({name for _, name in rows()})
    chances, truth = (
        np.zeros((len(rows()), len(classes))),
        np.array([classes.index(name) for _, name in rows()]),
    )
    parts = parts_of(seed)
    for part in range(PARTS):
        known = defaultdict(Counter)
        for at in np.flatnonzero(parts != part):
            text, name = rows()[at]
            known[text][name] += 1
        learned = learn_classes(known)
        tried = np.flatnonzero(parts == part)
        columns = [classes.index(name) for name in learned.classes]
        chances[np.ix_(tried, columns)] = learned.chances([rows()[at][0] for at in tried])
    return chances, truth


def scores(chances, truth):
    """Share right at the first, share among the first three, mean gap between chance and share right over ten bins."""
    order = np.argsort(-chances, axis=1)
    right, surest = order[:, 0] == truth, chances.max(axis=1)
    bins = np.minimum((surest * 10).astype(int), 9)
    gaps = [
        (bins == each).mean() * abs(right[bins == each].mean() - surest[bins == each].mean())
        for each in np.unique(bins)
    ]
    return right.mean(), (order[:, :3] == truth[:, None]).any(axis=1).mean(), sum(gaps)


def mean_scores(seeds):
    found = np.mean([scores(*foretold(seed)) for seed in seeds], axis=0)
    print("top 1, top 3, calibration error:", found.round(4))
    return found


# One drawing of the parts moves the shares by as much as 0.006 either way.
def test_one_drawing_comes_near():
    top_1, top_3, calibration = mean_scores([0])
    assert top_1 >= TOP_1 - 0.006
    assert top_3 >= TOP_3 - 0.006
    assert calibration <= CALIBRATION


@pytest.mark.full
def test_five_drawings_hold_what_is_asked():
    top_1, top_3, calibration = mean_scores(range(5))
    assert top_1 >= TOP_1
    assert top_3 >= TOP_3
    assert calibration <= CALIBRATION


def calibration_among_strangers(seed):
    """The gap between chance and share right where half of the texts asked about are of classes never met."""
    rng = np.random.default_rng(seed)
    classes = sorted({name for _, name in rows()})
    strange = set(rng.choice(classes, size=6, replace=False))
    parts = parts_of(seed)
    known = defaultdict(Counter)
    for (text, name), part in zip(rows(), parts, strict=True):
        if part and name not in strange:
            known[text][name] += 1
    asked = [row for row, part in zip(rows(), parts, strict=True) if not part and row[1] not in strange]
    aliens = [row for row in rows() if row[1] in strange]
    many = min(len(asked), len(aliens))
    asked = asked[:many] + [aliens[at] for at in rng.permutation(len(aliens))[:many]]
    learned = learn_classes(known, none=0.5)
    chances = learned.chances([text for text, _ in asked])
    truth = [learned.classes.index(name) if name in learned.classes else -1 for _, name in asked]
    return scores(chances, np.array(truth))[2]


# Held only where classes that were met look like those that were not; the limit is ours, wider than the one above.
def test_chances_hold_among_texts_of_classes_never_met():
    gaps = [calibration_among_strangers(seed) for seed in range(3)]
    print("calibration error among strangers:", np.round(gaps, 4))
    assert np.mean(gaps) <= 0.10


def test_rows_with_the_same_text_are_in_the_same_part():
    parts, where = parts_of(0), {}
    for (text, _), part in zip(rows(), parts, strict=True):
        assert where.setdefault(text, part) == part
    assert len(set(parts)) == PARTS
