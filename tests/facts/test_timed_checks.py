"""facts.timed_checks: checks whose minutes the log records, by hand and against plain Python."""

from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.normalise.part_keys import match_key
from tests.builds import Layout, LogFile, built

HEAD = "job_id | unit_id | unit_type | reported_at | finished_at | check | check_min | part_no | part_name | action | outcome"
SQL = """
select jobs.job_id, checks.unit_type, checks.finished_on, checks.part_key, checks."check", checks.check_min
from facts.timed_checks as checks join tables.jobs as jobs on jobs.job_no = checks.job_no order by all
"""


def rows(*lines, **choices):
    with built("\n".join([HEAD, *lines]), **choices) as con:
        return con.execute(SQL).fetchall()


def test_lines_of_checks_with_minutes_above_none_of_a_part_or_in_words():
    found = rows(
        "J1 | M1 | washer | 2026-01-05 | 2026-01-05 | look into the pump | 6 | | | test | fixed",
        "J1 | M1 | washer | 2026-01-05 | 2026-01-05 | | 1h05 | P-1 | drain pump | test | fixed",
        "J2 | M2 | dryer | 2026-01-06 | 2026-01-06 | look into the pump | 0 | | | test | fixed",
        "J2 | M2 | dryer | 2026-01-06 | 2026-01-06 | look into the pump | | | | test | fixed",
        "J2 | M2 | dryer | 2026-01-06 | 2026-01-06 | | 4 | | | test | fixed",
        "J3 | M3 | dryer | 2026-01-07 | 2026-01-07 | turn the drum | -3 | | | test | fixed",
    )
    day = date(2026, 1, 5)
    assert found == [
        ("J1", "washer", day, "P1", None, 65.0),
        ("J1", "washer", day, None, "look into the pump", 6.0),
    ]


def test_a_row_with_several_works_does_not_say_which_was_checked():
    two = "J1 | M1 | washer | 2026-01-05 | 2026-01-05 | | 6 | | drain pump + hose | test; clean | fixed"
    one = "J2 | M1 | washer | 2026-03-05 | 2026-03-05 | | 7 | | drain pump | test | fixed"
    found = rows(two, one, layouts={"plain": Layout(split=("part_name", "action"))})
    assert [(job, took) for job, *_, took in found] == [("J2", 7.0)]


CHECKS = st.sampled_from(["", "look into the pump", "Resistance of the heater"])
LINES = st.lists(
    st.tuples(
        st.integers(1, 6),
        CHECKS,
        st.sampled_from(["", "0", "1", "4", "4.5", "12", "1h10", "soon"]),
        st.sampled_from(["", "DP-1107", "HE 7203"]),
    ),
    max_size=14,
)
KINDS = ("washer", "dryer", "dishwasher")
MINUTES = {"1": 1.0, "4": 4.0, "4.5": 4.5, "12": 12.0, "1h10": 70.0}


def plainly(lines):
    """Row by row: what cannot be read sets its row aside, a row said again counts once."""
    found, seen = [], set()
    for job, words, took, part in lines:
        if (job, words, took, part) in seen:
            continue
        seen.add((job, words, took, part))
        if took in MINUTES and (words or part):
            on = date(2026, 1, 1) + timedelta(days=job)
            key = match_key(part) if part else None
            found.append((f"J{job}", KINDS[job % 3], on, key, words.casefold() or None, MINUTES[took]))
    return sorted(found, key=str)


@settings(max_examples=15, derandomize=True)
@given(LINES)
def test_drawn_lines_give_what_plain_python_gives(lines):
    text = [
        f"J{job} | M{job} | {KINDS[job % 3]} | {date(2026, 1, 1) + timedelta(days=job)} | {date(2026, 1, 1) + timedelta(days=job)}"
        f" | {words} | {took} | {part} | | test | fixed"
        for job, words, took, part in lines
    ]
    # A column of its own for lengths of time with units, so that no question is open: some rows are always there.
    always = [
        f"K{n} | N{n} | oven | 2026-01-01 | 2026-01-01 | | {20 + n} | | | test | fixed" for n in range(8)
    ]
    with built(
        LogFile("\n".join([HEAD, *always, *text])), layouts={"plain": Layout(forms={"check_min": "minutes"})}
    ) as con:
        found = sorted(con.execute(SQL).fetchall(), key=str)
    assert found == plainly(lines)
