"""Comebacks that await a reason: listed without a name, kept as corrections, known to figures once built again."""

import pytest

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.load import load, reread
from pipeline.store.folder import Store
from pipeline.training.reasons import awaiting, keep_reasons, reasons, without_reason

HEAD = "job_id,unit_id,unit_type,technician,reported_at,finished_at,symptom,part_no,part_name,action,outcome,return_reason\n"
ROWS = (
    "A1,M1,washer,Kim,2026-01-02,2026-01-03,not draining,DP-1,drain pump,clean,fixed,\n"
    "A2,M1,washer,Kim,2026-01-10,2026-01-11,not draining,DP-1,drain pump,replace,fixed,\n"
    "A3,M2,washer,Lou,2026-01-02,2026-01-03,noisy,BE-1,bearings,replace,fixed,\n"
    "A4,M2,washer,Lou,2026-01-20,2026-01-21,noisy,BE-1,bearings,replace,fixed,faulty new part\n"
    "A5,M3,washer,Lou,2026-01-02,2026-01-03,noisy,BE-1,bearings,replace,fixed,\n"
    "A6,M3,washer,Lou,2026-02-20,2026-02-21,not heating,HE-1,heater,replace,fixed,\n"
)


@pytest.fixture
def store(tmp_path):
    (tmp_path / "log.csv").write_text(HEAD + ROWS)
    load(tmp_path / "store", [tmp_path / "log.csv"], key_path=tmp_path / "key")
    return Store(tmp_path / "store")


def waiting(store):
    with store.connect() as con:
        return awaiting(without_reason(con), store)


def test_only_same_faults_without_a_reason_wait(store):
    (one,) = waiting(store)
    assert (one.job_id, one.symptom, one.done, one.days) == ("A2", "not draining", "drain pump, clean", 7)
    assert "Kim" not in repr(one)


def test_a_reason_given_is_kept_at_once_and_counts_after_building_again(store):
    (one,) = waiting(store)
    assert keep_reasons(store, {one.row: "wrong diagnosis"}) == 1
    assert waiting(store) == []
    reread(store.folder)
    with store.connect() as con:
        found = con.execute(
            "select j.job_id, r.return_reason from facts.repeats as r join tables.jobs as j on j.job_no = r.next_job_no "
            "where r.next_is_same_fault order by 1"
        ).fetchall()
    assert found == [("A2", "wrong diagnosis"), ("A4", "faulty new part")]
    assert waiting(store) == []


def test_no_row_is_lost_by_a_reason(store):
    (one,) = waiting(store)
    keep_reasons(store, {one.row: "use"})
    reread(store.folder)
    with store.connect() as con:
        assert con.execute("select count(*) from tables.jobs").fetchall() == [(6,)]


def test_a_reason_is_one_of_the_list(store):
    (one,) = waiting(store)
    assert "wrong diagnosis" in reasons()
    with pytest.raises(WrongUseError, match='but was "Kim again"'):
        keep_reasons(store, {one.row: "Kim again"})
    assert not list(store.corrections.glob("*"))


def test_a_job_that_is_gone_keeps_nothing(store):
    with pytest.raises(CannotAnswerError, match="not there any more"):
        keep_reasons(store, {"r000000000000-1": "use"})
