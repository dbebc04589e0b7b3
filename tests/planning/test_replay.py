"""The replay of a van's stock: by hand, and against a van driven job by job."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.planning.replay import Wanted, finished_first, pieces_there, tours


def wanted(*needs):
    columns = np.array(needs, dtype=np.int64).reshape(-1, 3)
    return Wanted(columns[:, 0], columns[:, 1], columns[:, 2])


def test_stock_runs_down_until_the_next_restock():
    # Five jobs of one van, restocked after three; one pump aboard. The second pump of the first tour is not there.
    needs = wanted((0, 0, 1), (2, 0, 1), (3, 0, 1))
    tour = tours([0] * 5, 3)
    assert finished_first(tour, needs, [1], [True] * 5).tolist() == [True, True, False, True, True]


def test_vans_have_stocks_of_their_own():
    needs = wanted((0, 0, 1), (1, 0, 1))
    assert finished_first(tours([0, 1], 5), needs, [1], [True, True]).tolist() == [True, True]
    assert finished_first(tours([0, 0], 5), needs, [1], [True, True]).tolist() == [True, False]


def test_job_needs_all_its_parts_and_takes_what_is_there():
    # The first job lacks the second piece, takes the one there, and leaves none for the next.
    needs = wanted((0, 0, 2), (0, 1, 1), (1, 0, 1), (2, 1, 1))
    assert finished_first(tours([0] * 3, 3), needs, [1, 2], [True] * 3).tolist() == [False, False, True]


def test_first_visit_that_failed_for_another_reason_stays_failed_and_uses_its_parts():
    needs = wanted((0, 0, 1), (1, 0, 1))
    assert finished_first(tours([0, 0], 2), needs, [1], [False, True]).tolist() == [False, False]


def test_nothing_needed_is_nothing_missed():
    assert finished_first(tours([0, 0], 2), wanted(), [0], [True, False]).tolist() == [True, False]


@given(
    st.lists(
        st.tuples(st.integers(0, 2), st.lists(st.tuples(st.integers(0, 2), st.integers(1, 3)), max_size=3)),
        min_size=1,
        max_size=25,
    ),
    st.lists(st.integers(0, 4), min_size=3, max_size=3),
    st.integers(1, 6),
)
def test_replay_is_that_of_a_van_driven_job_by_job(jobs, stock, between):
    van = [who for who, _ in jobs]
    needs = [(at, part, n) for at, (_, need) in enumerate(jobs) for part, n in sorted(dict(need).items())]
    found = pieces_there(tours(van, between), wanted(*needs), stock)
    left, driven, expected = {}, dict.fromkeys(van, 0), []
    for at, who in enumerate(van):
        if driven[who] % between == 0:
            left[who] = list(stock)
        driven[who] += 1
        for _, part, n in (need for need in needs if need[0] == at):
            expected.append(left[who][part] >= n)
            left[who][part] -= min(n, left[who][part])
    assert found.tolist() == expected


def test_no_jobs_at_all():
    assert tours([], 3).tolist() == []
    with pytest.raises(IndexError):
        pieces_there(tours([], 3), wanted((0, 0, 1)), [1])
