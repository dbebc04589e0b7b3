"""facts.symptom_works: what was done in each fixed job, by the symptom it shows."""

from tests.builds import built

LOG = """
job_id | unit_id | unit_type | symptom | reported_at | finished_at | part_no | action | finding | outcome
J1 | M1 | washer | noisy | 2026-01-05 | 2026-01-05 | P1 | replace | | fixed
J1 | M1 | washer | noisy | 2026-01-05 | 2026-01-05 | P2 | clean | | fixed
J2 | M1 | washer | noisy | 2026-01-20 | 2026-01-20 | P1 | replace | | fixed
J3 | M2 | washer | noisy | 2026-01-06 | 2026-01-06 | | advise | drain hose kinked | fixed
J4 | M3 | washer | noisy | 2026-01-07 | 2026-01-07 | | | | fixed
J5 | M4 | washer | noisy | 2026-01-07 | 2026-01-07 | P1 | replace | | no access
J6 | M5 | washer | | 2026-01-08 | 2026-01-08 | P1 | replace | | fixed
J7 | | washer | noisy | 2026-01-08 | 2026-01-08 | P1 | replace | | fixed
"""


def test_one_row_a_work_of_each_fixed_job_with_a_symptom_and_its_first_return():
    sql = """
    select jobs.job_id, works.subject, works.action, works.count_works, works.is_followed, works.days_to_next,
        works.next_is_same_fault
    from facts.symptom_works as works join tables.jobs as jobs on jobs.job_no = works.job_no
    where works.symptom = 'noisy' order by all
    """
    with built(LOG) as con:
        rows = con.execute(sql).fetchall()
        assert con.execute("select count(*) from facts.symptom_works").fetchall() == [(len(rows),)]
    assert rows == [
        ("J1", "P1", "replace", 2, True, 15, True),
        ("J1", "P2", "clean", 2, True, 15, True),
        ("J2", "P1", "replace", 1, True, None, None),
        ("J3", "outside: drain hose kinked", "advise", 1, True, None, None),
        ("J4", None, None, 0, True, None, None),
        ("J7", "P1", "replace", 1, False, None, None),
    ]
