"""facts.safety_reports and facts.cutouts_without_cause: each report once, with the days since our own visit."""

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.builds import LogFile, built
from tests.table_text import assert_table

HEAD = "job_id | unit_id | unit_type | visit_no | reported_at | finished_at | symptom | finding | note | action | part_name | outcome\n"
COLUMNS = (
    "job_id | reported_on | danger | told_in | days_since_own_visit | own_job_id | is_soon_after_own_visit\n"
)


def reports(text: str, *more: str):
    return built(*(LogFile(HEAD + file, load_no=n) for n, file in enumerate((text, *more), start=1)))


def test_each_report_is_listed_once_however_many_lines_tell_it():
    con = reports(
        """
        J1 | U1 | washer | 1 | 2026-01-05 | 2026-01-06 | noisy; Burning smell | | | test | | fixed
        J1 | U1 | washer | 1 | 2026-01-05 | 2026-01-06 | noisy; Burning smell | smoke | burning smell | replace | motor | fixed
        J2 | U2 | washer | 1 | 2026-01-05 | 2026-01-06 | smell | trips the breaker | shock absorber | test | | fixed
        """
    )
    assert_table(
        con,
        "facts.safety_reports",
        COLUMNS + "J1 | 2026-01-05 | smoke; burning smell | symptom; finding; note | | | no",
    )


def test_days_count_from_our_last_finished_visit_to_that_machine():
    con = reports(
        """
        J1 | U1 | washer | 1 | 2026-01-01 | 2026-01-02T10:00 | noisy | | | test | | fixed
        J2 | U1 | washer | 1 | 2026-01-03 | 2026-01-05T10:00 | leaks | | | test | | fixed
        J3 | U1 | washer | 1 | 2026-01-06 | 2026-01-07T10:00 | leaks | | | test | | no access
        J4 | U1 | washer | 1 | 2026-01-12T09:00 | 2026-01-13T10:00 | smoke | | | test | | fixed
        J5 | U2 | washer | 1 | 2026-01-12T09:00 | 2026-01-13T10:00 | smoke | | | test | | fixed
        J6 | U1 | washer | 1 | 2026-03-12T09:00 | 2026-03-13T10:00 | flooded | | | test | | fixed
        """
    )
    assert_table(
        con,
        "facts.safety_reports",
        COLUMNS
        + """
        J4 | 2026-01-12 | smoke | symptom | 7  | J2 | yes
        J5 | 2026-01-12 | smoke | symptom |    |    | no
        J6 | 2026-03-12 | flood | symptom | 58 | J4 | no
        """,
    )


def test_danger_first_told_at_a_later_visit_counts_from_the_visit_before():
    con = reports(
        """
        J1 | U1 | washer | 1 | 2026-01-01 | 2026-01-02T10:00 | noisy | | | test | | temporary
        J1 | U1 | washer | 2 | 2026-01-01 | 2026-01-09T10:00 | noisy | | no smell of gas | test | | fixed
        """
    )
    assert_table(con, "facts.safety_reports", COLUMNS + "J1 | 2026-01-09 | gas | note | 7 | J1 | yes")


def test_report_on_the_day_of_our_visit_but_before_it_is_not_after_it():
    con = reports(
        """
        J1 | U1 | washer | 1 | 2026-01-01T08:00 | 2026-01-02T10:00 | noisy | | | test | | fixed
        J2 | U1 | washer | 1 | 2026-01-02T09:00 | 2026-01-03T10:00 | smoke | | | test | | fixed
        J3 | U1 | washer | 1 | 2026-01-02T11:00 | 2026-01-03T12:00 | smoke | | | test | | fixed
        """
    )
    assert_table(con, "facts.safety_reports", "job_id | days_since_own_visit\nJ2 |\nJ3 | 0")


def test_row_set_aside_still_reports_its_danger():
    con = reports(
        """
        J1 | U1 | washer | 1 | 2026-01-01 | 2026-01-02 | noisy | | | test | | fixed
        J2 | U1 | washer | 1 | yesterday  | 2026-01-05 | smoke | | | test | | fixed
        J2 | U1 | washer | 1 | yesterday  | 2026-01-05 | smoke | | | replace | motor | fixed
        J3 | U1 | washer | 1 | 2026-01-09 | 2026-01-10 | smoke | | | test | | fixed
        J3 | U1 | washer | 1 | 2026-01-09 | tomorrow   | smoke | | | replace | motor | fixed
        """
    )
    assert_table(
        con,
        "facts.safety_reports",
        """
        job_id | reported_on | danger | unit_type | days_since_own_visit | is_set_aside
        J2     | 2026-01-05  | smoke  | washer    | 3                    | yes
        J3     | 2026-01-09  | smoke  | washer    | 7                    | no
        """,
    )


def test_file_loaded_again_with_more_in_it_lists_each_report_once():
    first = "J1 | U1 | washer | 1 | 2026-01-05 | | smoke | | | | | open\n"
    later = first + "J1 | U1 | washer | 2 | 2026-01-05 | 2026-01-08 | smoke | | | test | | fixed\n"
    con = reports(first, later)
    assert_table(con, "facts.safety_reports", "job_id | danger | outcome\nJ1 | smoke | fixed")


TEXTS = st.sampled_from(
    ["noisy", "smoke", "no smoke", "Burning smell; noisy", "smell", "trips the breaker", "shock absorber", ""]
)
TOLD = {"smoke": "smoke", "no smoke": "smoke", "Burning smell; noisy": "burning smell"}


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 6), TEXTS, TEXTS), min_size=1, max_size=12))
def test_reports_agree_with_a_plain_reading(lines):
    rows = [
        f"J{job} | U1 | washer | 1 | 2026-01-{job:02} | | {symptom} | {finding} | line {n} | test | | open"
        for n, (job, symptom, finding) in enumerate(lines)
    ]
    wanted: dict[str, set[str]] = {}
    for job, symptom, finding in lines:
        for text in (symptom, finding):
            if text in TOLD:
                wanted.setdefault(f"J{job}", set()).add(TOLD[text])
    found = reports("\n".join(rows)).execute("select job_id, danger from facts.safety_reports").fetchall()
    assert len(found) == len(wanted)
    assert {job: set(danger.split("; ")) for job, danger in found} == wanted


def test_cut_out_replaced_without_a_cause_is_listed():
    con = built(
        """
        job_id | unit_type | reported_at | part_no | part_name | action | finding | cause | part_status
        J1 | dryer | 2026-01-05 | 7 | Thermal Cut Out | replace | open circuit | unknown |
        J2 | dryer | 2026-01-05 | 7 | thermal cutout | replace | open circuit | wear |
        J3 | dryer | 2026-01-05 | 7 | TCO | replace | | |
        J3 | dryer | 2026-01-05 | 8 | fan | clean | | |
        J4 | dryer | 2026-01-05 | 7 | | replace | | |
        J5 | dryer | 2026-01-05 | 7 | TCO | replace | vent duct blocked | |
        J6 | dryer | 2026-01-05 | 7 | TCO | inspect | | |
        J7 | dryer | 2026-01-05 | 7 | TCO | replace | | | needed not on van
        J8 | dryer | 2026-01-05 | 9 | regulating thermostat | replace | | |
        """
    )
    assert_table(con, "facts.cutouts_without_cause", "job_id | part_no\nJ1 | 7\nJ4 | 7")
