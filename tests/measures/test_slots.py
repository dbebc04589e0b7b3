"""Booked slots and batch closures are no time that somebody took: no minutes are worked out of them."""

from datetime import datetime

import numpy as np
import pytest

from pipeline.errors import CannotAnswerError
from pipeline.estimators.lognormal import fit_times, lognormal_mean
from pipeline.measures import Question, evaluate
from tests.builds import built


def log(minutes):
    rows = "\n".join(
        f"J{n} | washer | M{n} | 2026-01-{n % 28 + 1:02} | 2026-01-{n % 28 + 1:02} | fixed | {taken}"
        for n, taken in enumerate(minutes)
    )
    return built(f"job_id | unit_type | unit_id | reported_at | finished_at | outcome | hands_on_min\n{rows}")


def asked(con, clock="hands-on"):
    return evaluate(con, "time-to-fix", Question(clock=clock, complete_to=datetime(2026, 3, 1)))


def test_one_value_in_most_visits_is_refused_with_what_to_ask_instead():
    con = log([60] * 14 + [20 + n for n in range(10)])
    with pytest.raises(
        CannotAnswerError, match=r"14 of 24 visits show the same 60 minutes.*--clock restored"
    ) as refusal:
        asked(con)
    assert "slots or batch closures" in str(refusal.value)
    assert asked(con, "visits")["numerator"].item() == 24


@pytest.mark.parametrize(
    "minutes",
    [
        [60] * 12 + [20 + n for n in range(12)],  # half is a habit of rounding, not most
        [60] * 19,  # too few to say
    ],
)
def test_round_minutes_alone_are_no_slots(minutes):
    assert asked(log(minutes))["denominator"].item() == len(minutes)


def test_times_that_are_all_the_same_are_told_as_perhaps_a_slot():
    row = asked(log([30] * 12)).row(0, named=True)
    assert (row["value"], row["median"], row["sample"]) == (30, 30, "rough")
    assert "every time is the same: perhaps a slot" in row["note"]
    assert "perhaps a slot" not in (asked(log([30] * 11 + [31]))["note"].item() or "")


def test_times_of_zero_lie_within_their_own_range():
    row = asked(log([0] * 12)).row(0, named=True)
    assert row["low"] <= row["value"] == 0 <= row["high"]


def test_of_too_few_times_neither_mean_nor_median_is_told():
    for clock in ("hands-on", "visits", "restored"):
        row = asked(log([30, 40, 50]), clock).row(0, named=True)
        assert (row["value"], row["median"], row["p80"], row["p90"]) == (None, None, None, None)
        assert row["low"] is not None


def test_the_range_of_very_skewed_times_reaches_as_far_as_a_log_normal_shape():
    # 40 jobs, two of them long: the logarithms spread by 1.1, and drawing the jobs again shows no longer one.
    rng = np.random.default_rng(2)
    minutes = [*np.ceil(np.exp(rng.normal(2.5, 0.9, 37))), 400, 500, 300]
    row = asked(log([int(each) for each in minutes])).row(0, named=True)
    assert row["note"] == "very skewed times: upper limit no lower than that of a log-normal shape"
    shape = lognormal_mean(fit_times(minutes))
    assert row["high"] >= float(shape.high) - 1e-9
    plain = asked(log([20 + n for n in range(40)])).row(0, named=True)
    assert plain["note"] == ""
