"""tables.missing_visits, tables.suspected_repeats: what a later export leaves out, or says again under a new number."""

from tests.builds import LogFile, built
from tests.table_text import assert_table

HEADER = "job_id | visit_no | return_of | unit_id | unit_type | reported_at | finished_at | outcome | part_no"
J1 = "J1 | 1 | | u1 | washer | 2026-01-05 | 2026-01-06 | return booked | P1"
J1_SECOND = "J1 | 2 | | u1 | washer | 2026-01-05 | 2026-01-12 | fixed | P1"
J2 = "J2 | 1 | J1 | u1 | washer | 2026-01-18 | 2026-01-19 | fixed | P2"
J2_TOO = "J2 | 1 | J1 | u1 | washer | 2026-01-18 | 2026-01-19 | fixed | P3"
J3 = "J3 | 1 | | u3 | dryer | 2026-01-20 | 2026-01-21 | fixed | P2"


def log(*rows, load_no=1, layout="plain"):
    return LogFile("\n".join((HEADER, *rows)), load_no=load_no, layout=layout)


def tables(*files):
    return built(*files, facts=False)


def missing(*files):
    sql = "select file_no, record, job_id, missing_from_no from tables.missing_visits order by all"
    return tables(*files).execute(sql).fetchall()


def suspected(*files):
    sql = "select file_no, record, job_id, of_file_no, of_record, of_job_id from tables.suspected_repeats order by all"
    return tables(*files).execute(sql).fetchall()


def test_visit_that_a_newer_export_leaves_out_is_listed():
    assert missing(log(J1, J1_SECOND, J2, J3), log(J1, J3, load_no=2)) == [(1, 2, "J1", 2), (1, 3, "J2", 2)]


def test_visit_outside_the_days_of_the_newer_export_is_not_missing():
    assert missing(log(J1, J1_SECOND, J2), log(J2, J3, load_no=2)) == []
    assert missing(log(J1, J1_SECOND, J2), log(J1, J1_SECOND, load_no=2)) == []


def test_files_that_share_no_job_or_have_another_layout_are_not_compared():
    assert missing(log(J2), log(J1, J1_SECOND, J3, load_no=2)) == []
    assert missing(log(J1, J2, J3), log(J1, J3, load_no=2, layout="other")) == []


def test_visit_that_the_newest_export_holds_again_is_not_missing():
    assert missing(log(J1, J2, J3), log(J1, J3, load_no=2), log(J1, J2, J3, load_no=3)) == []
    assert missing(log(J1, J2, J3), log(J1, J2, J3, load_no=2), log(J1, J3, load_no=3)) == [(1, 2, "J2", 3)]


def test_row_missing_from_a_newer_export_of_a_log_without_numbers_is_listed_but_not_a_changed_one():
    first = """
        unit_id | unit_type | finished_at | outcome
        u1      | washer    | 2026-01-05  | fixed
        u2      | washer    | 2026-01-06  | open
        u3      | washer    | 2026-01-07  | fixed
        u4      | washer    | 2026-01-08  | fixed
        """
    later = first.replace("open", "fixed").replace("        u3      | washer    | 2026-01-07  | fixed\n", "")
    con = tables(first, LogFile(later, load_no=2))
    assert_table(
        con, "tables.missing_visits", "file_no | record | visit_on | missing_from_no\n1 | 3 | 2026-01-07 | 2"
    )


def test_same_content_under_a_new_number_is_suspected_and_never_merged():
    renumbered = [row.replace("J1", "N1").replace("J2", "N2") for row in (J2, J2_TOO, J1_SECOND)]
    files = log(J1, J1_SECOND, J2, J2_TOO), log(*renumbered, load_no=2)
    assert suspected(*files) == [(2, 1, "N2", 1, 3, "J2"), (2, 3, "N1", 1, 2, "J1")]
    assert tables(*files).execute("select count(*) from tables.jobs").fetchall() == [(4,)]


def test_other_content_or_unknown_machine_is_not_suspected():
    assert suspected(log(J2, J2_TOO), log(J2.replace("J2", "N2"), load_no=2)) == []
    assert suspected(log(J3, J3.replace("J3", "N3").replace("P2", "P9"))) == []
    unknown = J3.replace("u3", "")
    assert suspected(log(unknown, unknown.replace("J3", "N3"))) == []


def test_entry_made_twice_under_two_numbers_in_one_file_is_suspected():
    assert suspected(log(J3, J3.replace("J3", "N3"))) == [(1, 2, "N3", 1, 1, "J3")]


def test_row_without_a_number_that_differs_only_in_what_is_not_kept_is_suspected_in_a_later_file_only():
    text = "unit_id | unit_type | finished_at | outcome\nu1 | washer | 2026-01-05 | fixed\nu1 | washer | 2026-01-05 | fixed"
    con = tables(text, LogFile(text, load_no=2))
    assert con.execute("select count(*) from tables.suspected_repeats").fetchall() == [(0,)]
    # As if a column that is not kept told the rows apart.
    con.execute("update received.rows set row_digest = file_no || record || row_digest")
    from pipeline import normalise
    from pipeline.settings import Settings
    from pipeline.sql import run_folder

    normalise.run(con, Settings(), {})
    run_folder(con, "tables")
    assert_table(
        con,
        "tables.suspected_repeats",
        "file_no | record | of_file_no | of_record\n2 | 1 | 1 | 1\n2 | 2 | 1 | 2",
    )
