"""Totals and like jobs that disagree: old machines are not held against a procedure, and new ones hide none."""

import numpy as np
import polars as pl
import pytest

from dashboards.questions.procedure_told import total_and_like
from pipeline.estimators.observed_expected import compare_procedures
from pipeline.measures.procedure_detail import Split
from pipeline.measures.procedure_strata import LIKE, disagreements
from tests.fixtures.fake_trainer import DETAIL

SEEDS, ALL_SEEDS = 15, 200
PROCEDURES, DAYS = 12, 90
OLD, NEW = 0.30, 0.06


def firm(seed, *, is_mixed):
    """
    Twelve parts replaced 250 times each: 30 in 100 come back on old machines, 6 on new ones; a third of the machines are old.

    Mixed: the first part sits in old machines only; the second fails three times as often as it should, in new ones.
    """
    rng = np.random.default_rng(seed)
    at = np.repeat(np.arange(PROCEDURES), 250)
    share_old = np.full(PROCEDURES, 0.33)
    times = np.ones(PROCEDURES)
    if is_mixed:
        share_old[:2], times[1] = (0.95, 0.03), 3.0
    old = rng.random(len(at)) < share_old[at]
    chance = np.where(old, OLD, NEW) * times[at]
    followed, day = rng.integers(30, 400, len(at)), rng.integers(1, DAYS, len(at))
    back = (rng.random(len(at)) < chance) & (day <= followed)
    records = pl.DataFrame(
        {
            "unit_type": rng.choice(["washer", "dryer"], len(at)),
            "age_band": np.where(old, "10-15 years", "2-5 years"),
            "make": pl.Series(rng.choice(["Orle", "Quill", ""], len(at))).replace("", None),
            "symptom": rng.choice(["noisy", "leaking", "dead"], len(at)),
            "action": "replace",
            "time": np.where(back, day, followed),
            "is_back": back,
        }
    )
    compared = compare_procedures(
        at, np.zeros(PROCEDURES, dtype=int), records["time"], records["is_back"], days=DAYS
    )
    return compared.band, disagreements(records, at, compared, 0.95)


def shares(seeds):
    """Of totals that are worse by old machines alone, those told by age; hidden ones told by age; anything else told, mixed and flat."""
    old, hidden_one, others, flat = [], [], [], []
    for seed in seeds:
        band, like = firm(seed, is_mixed=True)
        old += [like[0]["like"] == "age_band"] if band[0] == "worse" else []
        hidden_one.append(band[1] != "worse" and like[1]["like"] == "age_band")
        others.append(any(each["like"] for each in like[2:]))
        flat.append(any(each["like"] for each in firm(seed, is_mixed=False)[1]))
    return tuple(float(np.mean(each)) for each in (old, hidden_one, others, flat))


def test_old_machines_are_told_from_bad_work_and_new_ones_hide_none():
    old, hidden_one, others, flat = shares(range(SEEDS))
    assert old >= 0.8
    assert hidden_one >= 0.7
    assert others <= 0.2
    assert flat <= 0.2


@pytest.mark.full
def test_totals_that_mislead_in_full():
    """200 firms of twelve parts with 250 fixes each."""
    found = shares(range(1000, 1000 + ALL_SEEDS))
    print(found)
    assert found[0] >= 0.90
    # 18 in 100 instead of 6, on 250 fixes: found in 87.5 with what is usual taken for an estimate, in 92 as if it were known.
    assert found[1] >= 0.80
    assert found[2] <= 0.05
    assert found[3] <= 0.05


def test_by_hand():
    """
    Two parts. On old machines 4 of 8 (the first) and 2 of 4 come back, on new ones 0 of 1 and 1 of 20: alike in like jobs.

    Expected of the first: 8 at risk on day 10, and of the other 2 of 4, so 8 x 2/4; on new machines 1 x 1/20.
    """
    old = ["old"] * 8 + ["new"] + ["old"] * 4 + ["new"] * 20
    back = [True] * 4 + [False] * 5 + [True] * 2 + [False] * 2 + [True] + [False] * 19
    at = np.repeat([0, 1], [9, 24])
    records = pl.DataFrame(
        {
            **{name: pl.Series(["x"] * 33, dtype=pl.String) for name in LIKE if name != "age_band"},
            "age_band": old,
            "action": "replace",
            "time": [10] * 33,
            "is_back": back,
        }
    )
    compared = compare_procedures(at, [0, 0], records["time"], back, days=DAYS)
    told = disagreements(records, at, compared._replace(band=["worse", "cannot tell"]), 0.95)
    assert told[0] == {
        "like": "age_band",
        "like_jobs": 9,
        "like_observed": 4,
        "like_expected": pytest.approx(8 * 2 / 4 + 1 / 20),
    }
    assert told[1]["like"] is None


def test_disagreement_is_said_with_its_counts():
    row = {"like": "age_band", "like_observed": 12, "like_jobs": 40, "like_expected": 11.2}
    detail = DETAIL.__class__(
        **{**DETAIL.__dict__, "by": {"age_band": (Split("10-15 years", 11, 30), Split("2-5 years", 1, 10))}}
    )
    assert total_and_like(row, detail) == (
        "total and ages disagree: on machines of like age 12 of 40 came back, where 11 would be usual "
        "(10-15 years: 11 of 30 came back; 2-5 years: 1 of 10 came back)"
    )
    assert total_and_like({"like": None}, detail) == ""
