"""tables.repeated_rows, tables.shared_rows, tables.unused_rows, tables.fates: no row is lost, each has one fate."""

import pytest

from tests.builds import Layout, LogFile, built
from tests.table_text import assert_table

HEADER = "job_id | visit_no | unit_type | reported_at | finished_at | outcome | action | part_no"
J1 = "J1 | 1 | washer | 2026-01-05 | 2026-01-06 | return booked | inspect |"
J1_PART = "J1 | 1 | washer | 2026-01-05 | 2026-01-06 | return booked | clean | P1"
J1_SECOND = "J1 | 2 | washer | 2026-01-05 | 2026-01-12 | fixed | replace | P1"
J2_OPEN = "J2 | 1 | washer | 2026-01-08 | | open | |"
J2_FIXED = "J2 | 1 | washer | 2026-01-08 | 2026-01-09 | fixed | free | P2"
J2_FIXED_TOO = "J2 | 1 | washer | 2026-01-08 | 2026-01-09 | fixed | clean | P3"
J3 = "J3 | 1 | washer | 2026-01-20 | 2026-01-21 | fixed | replace | P4"


def log(*rows, **choices):
    return LogFile("\n".join((HEADER, *rows)), **choices)


def fates_of(*files, **choices):
    con = built(*files, facts=False, **choices)
    rows = con.execute("select file_no, record, fate from tables.fates order by all").fetchall()
    received = con.execute("select count(*) from received.rows").fetchall()[0][0]
    assert len(rows) == received, "each row has exactly one fate"
    used = con.execute("select file_no, record from tables.lines order by all").fetchall()
    assert used == [(file, record) for file, record, fate in rows if fate == "used"]
    return [fate for _, _, fate in rows]


def test_identical_line_inside_one_file_is_repeated():
    assert fates_of(log(J1, J2_OPEN, J1)) == ["used", "used", "repeated"]


def test_identical_lines_are_all_meant_where_the_layout_says_so():
    layouts = {"plain": Layout(lines_may_repeat=True)}
    assert fates_of(log(J1, J1), layouts=layouts) == ["used", "used"]


def test_later_file_that_says_the_same_is_repeated():
    assert fates_of(log(J1, J1_PART), log(J1_PART, J1, load_no=2)) == ["used", "used", "repeated", "repeated"]


def test_later_file_replaces_the_visits_it_holds_and_no_other():
    earlier, later = log(J1, J2_OPEN, J3), log(J2_FIXED, load_no=2)
    assert fates_of(earlier, later) == ["used", "replaced", "used", "used"]


def test_visit_is_replaced_whole_so_that_an_unchanged_line_is_kept_once():
    earlier, later = log(J1, J1_PART, J3), log(J1, J2_FIXED, load_no=2)
    assert fates_of(earlier, later) == ["replaced", "replaced", "used", "used", "used"]


def test_visit_missing_from_the_later_file_is_kept():
    assert fates_of(log(J1, J1_SECOND, J3), log(J1, J3, load_no=2)) == ["used"] * 3 + ["repeated"] * 2


def test_copies_that_may_repeat_are_counted():
    layouts = {"plain": Layout(lines_may_repeat=True)}
    one_more = fates_of(log(J3, J1, J1), log(J1, J1, J1, load_no=2), layouts=layouts)
    assert one_more == ["used", "replaced", "replaced", "used", "used", "used"]
    assert (
        fates_of(log(J3, J1, J1), log(J1, J1, load_no=2), layouts=layouts) == ["used"] * 3 + ["repeated"] * 2
    )


def test_row_that_was_replaced_is_not_brought_back_by_its_repetition():
    files = log(J2_OPEN, J3), log(J2_OPEN, J1, load_no=2), log(J2_FIXED, J1_SECOND, load_no=3)
    assert fates_of(*files) == ["replaced", "used", "replaced", "used", "used", "used"]


def test_visit_that_goes_back_to_an_earlier_state_stands_in_its_last():
    files = log(J2_OPEN, J3), log(J2_FIXED, J1, load_no=2), log(J2_OPEN, J1_SECOND, load_no=3)
    assert fates_of(*files) == ["replaced", "used", "replaced", "used", "used", "used"]


def test_visit_cut_by_the_end_of_a_file_is_one_visit():
    assert fates_of(log(J3, J2_FIXED), log(J2_FIXED_TOO, J1)) == ["used"] * 4
    assert fates_of(log(J3, J2_FIXED), log(J2_FIXED_TOO, J1, load_no=2)) == ["used"] * 4


def test_later_state_of_the_last_visit_is_no_cut():
    assert fates_of(log(J3, J2_OPEN), log(J2_FIXED, J1, load_no=2)) == ["used", "replaced", "used", "used"]


def test_file_that_holds_only_the_last_visit_corrects_it():
    assert fates_of(log(J3, J2_FIXED), log(J2_FIXED_TOO, load_no=2)) == ["used", "replaced", "used"]


@pytest.mark.parametrize("cut", range(1, 6))
@pytest.mark.parametrize("load_no", [1, 2])
def test_a_log_cut_anywhere_gives_the_same_lines(cut, load_no):
    rows = [J1, J1_PART, J1_SECOND, J2_FIXED, J2_FIXED_TOO, J3]
    assert fates_of(log(*rows[:cut]), log(*rows[cut:], load_no=load_no)) == ["used"] * 6


def test_same_visit_numbered_in_one_file_only_is_known_by_its_day():
    plain = "job_id | unit_type | reported_at | finished_at | outcome\nJ2 | washer | 2026-01-08 | 2026-01-09 | not finished"
    assert fates_of(LogFile(plain), log(J2_FIXED, load_no=2)) == ["replaced", "used"]


def test_row_set_aside_replaces_nothing():
    bad = J2_FIXED.replace("2026-01-09", "9 Jan")
    assert fates_of(log(J2_OPEN, J3), log(bad, load_no=2)) == ["used", "used", "set aside"]


def test_same_job_number_of_two_sources_is_two_jobs():
    con = built(log(J2_OPEN))
    con.execute(
        "insert into received.rows by name select * replace ('other' as source, 2 as record) from received.rows"
    )
    from pipeline import normalise
    from pipeline.settings import Settings
    from pipeline.sql import run_folder

    normalise.run(con, Settings(), {})
    run_folder(con, "tables")
    assert_table(con, "tables.jobs", "source | job_id\nshop | J2\nother | J2")


def test_reason_names_column_record_and_shape():
    con = built(log(J1, J3.replace("2026-01-21", "21 Januar")), facts=False)
    assert_table(
        con,
        "tables.fates",
        """
        record | fate      | column_name | reason                            | shape
        1      | used      |             |                                   |
        2      | set aside | finished_at | cannot be read as a date or time  | 99 Aaaaaa
        """,
    )


def test_rows_of_a_log_without_job_numbers_are_jobs_by_their_content():
    text = "unit_type | reported_at | action\nwasher | 2026-01-05 | clean\nwasher | 2026-01-06 | clean"
    assert fates_of(LogFile(text), LogFile(text, load_no=2)) == ["used", "used", "repeated", "repeated"]
