"""tables.built_visits, tables.built_jobs, tables.joined_jobs, tables.joined_heads, tables.job_rules: jobs of a log without numbers."""

import itertools
import random
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builds import LogFile, built
from tests.table_text import assert_table
from tests.twins.job_building import jobs_of_rows

HEADER = (
    "unit_id",
    "site_id",
    "unit_type",
    "job_kind",
    "reported_at",
    "started_at",
    "finished_at",
    "part_no",
)
HEADER += ("part_status", "outcome", "second_visit_reason")


def drawing(rows):
    return "\n".join(
        [" | ".join(HEADER), *(" | ".join(row.get(name, "") for name in HEADER) for row in rows)]
    )


def visit(day, outcome="", unit="u1", **cells):
    return {"unit_id": unit, "unit_type": "washer", "finished_at": day, "outcome": outcome, **cells}


def jobs_in(*files):
    """Records of each job, by file and record, and its rule."""
    con = built(*(LogFile(drawing(rows), load_no=load) for load, rows in enumerate(files, 1)), facts=False)
    sql = """
        select list((file_no, record) order by file_no, record), any_value(joined_by)
        from tables.lines join tables.job_rules using (job_no) group by job_no order by 1
    """
    return [([record for _, record in records], rule) for records, rule in con.execute(sql).fetchall()]


def pairs(firsts, days):
    """For each first visit and day of the second, on machines of their own: the rule of the job of the second."""
    rows = []
    for number, (first, day) in enumerate(itertools.product(firsts, days)):
        rows += [{**first, "unit_id": f"u{number}"}, visit(day, "fixed", unit=f"u{number}")]
    rules = {record: rule for records, rule in jobs_in(rows) for record in records}
    return [rules[record] for record in range(2, len(rows) + 1, 2)]


LEFT_OPEN = ["return booked", "awaiting customer", "temporary", "no access", "not finished"]
CLOSED = [
    "fixed",
    "no fault found",
    "advised",
    "quote declined",
    "beyond economic repair",
    "made safe",
    "referred",
]
OTHER = ["", "open", "cancelled", "unknown", "invoiced"]


def test_visit_left_open_and_the_next_within_60_days_are_one_job():
    firsts = [visit("2026-01-06", outcome) for outcome in LEFT_OPEN]
    assert (
        pairs(firsts, ["2026-01-07", "2026-03-07", "2026-03-08"])
        == ["planned return", "planned return", "new"] * 5
    )


def test_after_a_closed_visit_a_new_job_begins():
    assert (
        pairs([visit("2026-01-06", outcome) for outcome in CLOSED], ["2026-01-07"])
        == ["new after a closed job"] * 7
    )


def test_after_any_other_visit_a_new_job_begins():
    assert pairs([visit("2026-01-06", outcome) for outcome in OTHER], ["2026-01-07"]) == ["new"] * 5


def test_a_part_on_order_is_waited_for_180_days():
    firsts = [
        visit("2026-01-06", outcome, part_no="P1", part_status=status)
        for outcome in ("return booked", "")
        for status in ("ordered", "needed not on van")
    ]
    assert pairs(firsts, ["2026-07-05", "2026-07-06"]) == ["planned return", "new"] * 4


def test_planned_returns_go_on_until_the_job_is_closed():
    rows = [
        visit("2026-01-06", "return booked"),
        visit("2026-02-06", "no access"),
        visit("2026-03-06", "fixed"),
        visit("2026-03-07", "fixed"),
    ]
    assert jobs_in(rows) == [([1, 2, 3], "planned return"), ([4], "new after a closed job")]


def test_other_machine_other_kind_of_job_and_unknown_machine_are_never_joined():
    first = visit("2026-01-06", "return booked")
    for other in (
        visit("2026-01-07", "fixed", unit="u2"),
        visit("2026-01-07", "fixed", job_kind="planned service"),
        visit("2026-01-07", "fixed", unit=""),
    ):
        assert jobs_in([first, other]) == [([1], "new"), ([2], "new")]
    assert jobs_in([first, visit("2026-01-07", "fixed", job_kind="workshop")]) == [([1, 2], "planned return")]


def test_rows_of_one_day_on_one_machine_are_one_visit():
    con = built(
        drawing([visit("2026-01-06", "fixed", part_no="P1"), visit("2026-01-06", "fixed")]), facts=False
    )
    assert_table(con, "tables.jobs", "count_visits | outcome\n1 | fixed")
    assert_table(con, "tables.jobs_joined", "rule | count_jobs | count_visits\nnew | 1 | 1")


def test_rows_of_one_day_and_kind_at_one_site_are_one_visit_where_no_machine_is_known():
    there = visit("2026-01-06", "fixed", unit="", site_id="c1")
    assert jobs_in([{**there, "part_no": "P1"}, there]) == [([1, 2], "new")]
    assert len(jobs_in([there, {**there, "unit_type": "dryer"}])) == 2
    assert len(jobs_in([there, visit("2026-01-07", "fixed", unit="", site_id="c1")])) == 2


def test_models_of_one_kind_at_one_site_are_visited_apart():
    text = """
        site_id | unit_type | model | finished_at | outcome | part_no
        c1      | washer    | A     | 2026-01-06  | fixed   |
        c1      | washer    | B     | 2026-01-06  | fixed   |
        c2      | washer    | A     | 2026-01-06  | fixed   |
        c2      | washer    |       | 2026-01-06  | fixed   | P1
        """
    for log in (text, text.replace("model", "make ")):
        con = built(log, facts=False)
        assert con.execute("select count(*) from tables.jobs").fetchall() == [(3,)]


def test_two_starts_on_one_day_are_two_visits_and_a_row_without_a_start_is_of_the_first():
    rows = [
        visit("2026-01-06", "return booked", started_at="2026-01-06T09:00"),
        visit("2026-01-06", "fixed", started_at="2026-01-06T15:00"),
        visit("2026-01-06", part_no="P1"),
    ]
    con = built(drawing(rows), facts=False)
    assert_table(con, "tables.lines", "record | visit_no\n1 | 1\n2 | 2\n3 | 1")
    assert_table(con, "tables.jobs", "count_visits | outcome\n2 | fixed")


def test_joined_job_says_what_its_first_visit_says_and_is_known_by_it():
    rows = [
        visit("2026-01-12", "fixed", reported_at="2026-01-11"),
        visit("2026-01-06", "return booked", reported_at="2026-01-05"),
    ]
    con = built(drawing(rows), facts=False)
    assert_table(
        con,
        "tables.jobs",
        "reported_on | finished_on | count_visits | outcome\n2026-01-05 | 2026-01-12 | 2 | fixed",
    )
    assert con.execute("select sum(count_disagreeing) from tables.disagreements").fetchall() == [(0,)]
    alone = built(drawing(rows[1:]), facts=False)
    number = "select job_id from tables.jobs"
    assert con.execute(number).fetchall() == alone.execute(number).fetchall()


def test_machine_is_resolved_before_visits_are_joined():
    text = """
        make | serial | site_id | site_kind | unit_type | finished_at | outcome
        Orle | s1     | home1   | household | washer    | 2026-01-06  | return booked
             |        | home1   | household | washer    | 2026-01-09  | fixed
        """
    con = built(text, facts=False)
    assert_table(con, "tables.jobs", "machine_rung | count_visits\nmake + serial | 2")


DAYS = [
    date(2026, 1, 1) + timedelta(days=gap) for gap in (0, 0, 1, 30, 59, 60, 61, 90, 121, 180, 181, 250, 400)
]
ROWS = st.builds(
    lambda unit, site, kind, day, start, part, status, outcome, reason: {
        "unit_id": unit,
        "site_id": site,
        "unit_type": "washer",
        "job_kind": kind,
        "started_at": f"{day}T{start}" if start else "",
        "finished_at": f"{day}T17:00",
        "part_no": part,
        "part_status": status if part else "",
        "outcome": outcome,
        "second_visit_reason": reason,
    },
    st.sampled_from(["", *("u1", "u2", "u3", "u4", "u5", "u6") * 2]),
    st.sampled_from(["", "c1", "c2", "c3"]),
    st.sampled_from(["", "", "", "fault", "workshop", "planned service"]),
    st.sampled_from(DAYS),
    st.sampled_from(["", "", "09:00", "15:00"]),
    st.sampled_from(["", "P1", "P2"]),
    st.sampled_from(["", "ordered", "needed not on van", "fitted"]),
    st.sampled_from(
        ["fixed", "return booked", "return booked", "no access", "temporary", "", "advised", "open"]
    ),
    st.sampled_from(["", "", "", "part not on van"]),
)


def contents(rows, jobs):
    """Jobs as the sets of what their rows say."""
    key = lambda row: tuple(sorted((name, value) for name, value in row.items() if value))  # noqa: E731
    return {frozenset(key(rows[record - 1]) for record in records): rule for records, rule in jobs}


@settings(max_examples=6)
@given(rows=st.lists(ROWS, min_size=30, max_size=60), seed=st.integers(0, 99))
def test_jobs_are_those_of_the_twin_in_whichever_order_the_rows_stand(rows, seed):
    expected = jobs_of_rows(rows)
    assert contents(rows, jobs_in(rows)) == expected
    mixed = random.Random(seed).sample(rows, len(rows))
    assert contents(mixed, jobs_in(mixed)) == expected


@settings(max_examples=6)
@given(rows=st.lists(ROWS, min_size=20, max_size=40), data=st.data())
def test_a_log_loaded_in_overlapping_pieces_gives_the_jobs_of_the_whole(rows, data):
    cut = data.draw(st.integers(1, len(rows) - 1))
    back = data.draw(st.integers(0, cut))
    sql = "select job_id, outcome, reported_at, finished_at, count_visits from tables.jobs order by all"
    whole = built(drawing(rows), facts=False)
    pieces = built(drawing(rows[:cut]), LogFile(drawing(rows[cut - back :]), load_no=2), facts=False)
    assert pieces.execute(sql).fetchall() == whole.execute(sql).fetchall()
    fates = "select count(*) from tables.fates where fate = 'used'"
    assert pieces.execute(fates).fetchall() == whole.execute(fates).fetchall()
