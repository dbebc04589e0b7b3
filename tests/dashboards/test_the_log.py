"""The log's page: what to mend and how, which field is missed and what it costs, how machines are known."""

from dashboards.questions import accounts, coding, gaps, known_machines, people
from dashboards.questions.gaps import Filled


def texts(at) -> str:
    return "\n".join(found.proto.body for found in at.get("html"))


def test_page_says_how_rows_are_mended_and_what_was(fleet, page):
    shown = texts(page("the-log"))
    assert "Run mendstat mend" in shown
    assert "put the file itself right" in shown
    assert "3 cells were mended by hand" in shown
    assert "whole row: 13 fields where the header has 12" in shown


def test_page_says_which_jobs_were_written_down_late(fleet, page):
    assert "4 of 120 new jobs had been reported before" in texts(page("the-log"))


def test_only_missed_fields_say_what_they_cost(fleet, page):
    shown = texts(page("the-log"))
    assert "3,300 of 4,120 visits" in shown
    assert "Without it no minutes at the machine" in shown
    assert "Without it no job counts as fixed" not in shown
    # The machine list tells when machines were installed.
    assert "no ages" not in shown


def test_page_says_how_many_jobs_are_on_a_machine_known_by_number(fleet, page):
    shown = texts(page("the-log"))
    assert "2,600 of 3,010 jobs are on a machine known by a number." in shown
    assert "of 112 nobody can say which machine it was" in shown


def test_fields_of_several_logs_are_added_up():
    row = {"column": "outcome", "counted": "visits", "filled": 3, "of": 4, "share": 0.75}
    files = [
        {"kind": "log", "completeness": [row], "completeness_by_month": [{**row, "month": "2026-01"}]}
    ] * 2
    assert gaps.totals(files)["outcome"] == Filled(6, 8, "visits")
    assert gaps.by_month(files, "outcome") == [("2026-01", Filled(6, 8, "visits"))]
    assert gaps.by_month(files, "symptom") == []


def test_a_log_in_which_nothing_is_missed_says_so():
    assert gaps.tell({}).sure.startswith("Every field")


def test_fields_without_anything_counted_are_not_missed():
    block = gaps.field_block("part_no", Filled(0, 0, "lines"), [], costs=False)
    assert "0 of 0 lines" in block
    assert "width:0.0%" in block


def test_months_are_told_in_words_too():
    months = [("2026-01", Filled(1, 10, "visits")), ("2026-02", Filled(8, 10, "visits"))]
    block = gaps.field_block("outcome", Filled(9, 20, "visits"), months, costs=True)
    assert "Least in Jan 2026: 1 of 10 visits. Last month, Feb 2026: 8 of 10 visits." in block
    assert block.count("<span style=") == 2


def test_all_known_by_number_leaves_nothing_undecided():
    assert known_machines.tell({"unit_id": 7}).undecided == ""


def test_nothing_to_mend_leaves_the_advice_to_load_each_export():
    file = {"reasons": [], "set_aside": 0}
    assert "Load each new export" in accounts._what_next([file])


def test_page_says_what_is_kept_about_people_and_how_many_jobs_stand_alone(fleet, page):
    shown = texts(page("the-log"))
    assert (
        "who knows area, kind of machine, month and fault can tell 812 of 3,010 jobs from all others" in shown
    )
    assert "GDPR, Art. 4(5) and Recital 26" in shown
    assert "never of fewer than 30 jobs" in shown
    assert "fewer than 10 addresses" in shown
    assert "Rows would have to hold years instead of months before fewer than one job in a hundred" in shown


def test_people_of_an_empty_log_are_told_of_without_a_number():
    assert people.tell([]).undecided == ""
    assert "Do not hand this log on" in people.what_next([])


CHANGE = {
    "column": "cause",
    "word": "power",
    "since": "2026-02",
    "jobs": 45,
    "of": 60,
    "jobs_before": 2,
    "of_before": 1180,
}


def test_a_word_that_came_into_use_is_told_with_its_counts():
    told = coding.tell([CHANGE])
    assert told.sure.startswith("1 word stands in the newest jobs much more or much less often")
    assert "the log cannot say" in told.undecided
    assert coding.said(CHANGE) == (
        "cause: power",
        "45 of 60 jobs since 2026-02, 2 of 1,180 in the year before.",
    )
    assert "no word" in coding.tell([]).sure


def test_damaged_part_numbers_stand_beside_the_rows_of_their_file():
    damage = {"rule": "leading zeros lost", "count": 3, "written": ["123456"]}
    file = {"file": "log.csv", "kind": "log", "received": 0, **dict.fromkeys(accounts.FATES, 0)}
    block = accounts.file_block({**file, "damaged_numbers": [damage]})
    assert "Part number damaged in 3 rows (123456): zeros in front are missing" in block
