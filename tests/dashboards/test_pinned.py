"""What stands above everything on every page: each report one line, more folded, counts in words."""

from datetime import date

import pytest

from dashboards import STORE_VARIABLE, data, pinned, words
from dashboards.data import DAYS_PINNED, Pinned
from dashboards.pages import PAGES

PATHS = [page.path for page in PAGES]


def report(day, danger="smoke", after="", kind="dryer"):
    return {"reported_on": day, "unit_type": kind, "danger": danger, "after_visit": after}


SOON = report(date(2026, 1, 12), "burning smell", "7 days after our own visit")
OLDER = [report(date(2025, 12, day)) for day in (20, 19, 18, 17)]

NOTICE = {
    "said": "Zemberly ZD 200: unplug.",
    "concerned": "130 machines",
    "plate": "Check the plate: serial from A1 to B2.",
    "reference": "ZN-1",
    "dated_on": date(2024, 10, 14),
    "last_reported_on": date(2026, 2, 23),
}


def bodies(at):
    return [found.proto.body for found in at.get("html")]


@pytest.mark.parametrize("path", PATHS)
def test_reports_and_notices_stand_above_everything_on_every_page(fleet, page, path):
    fleet.first = Pinned(reports=(SOON, *OLDER), soon=1, notices=(NOTICE,), has_notice_list=True)
    at = page(path)
    assert not at.exception
    first = at.main.children[0]
    assert first.proto.body.startswith('<section class="pinned"')
    assert "12 Jan 2026 · dryer · burning smell · 7 days after our own visit" in first.proto.body


@pytest.mark.parametrize("path", PATHS)
def test_nothing_is_pinned_where_there_is_nothing(fleet, page, path):
    assert not any('class="pinned"' in body for body in bodies(page(path)))


def test_a_network_s_thousands_of_reports_are_counted_and_the_page_lists_the_first():
    many = pinned.MOST_REPORTS + 940
    text = pinned.block(Pinned(reports=(SOON,) * many, soon=many))
    assert text.count("<li>") == pinned.MOST_REPORTS
    assert f"{words.spelled(many, 'safety report', 'safety reports').capitalize()} in the last twelve" in text
    assert "940 more are not listed here." in text
    assert "mendstat measure safety-reports" in text


def test_counts_are_words_and_all_but_the_first_are_folded():
    text = pinned.block(Pinned(reports=(SOON, *OLDER), soon=1))
    assert (
        "Five safety reports in the last twelve months of the log, one of them soon after our own visit."
        in text
    )
    shown, folded = text.split("<details>")
    assert shown.count("<li>") == pinned.REPORTS_IN_SIGHT
    assert "<summary>The other two</summary>" in folded
    assert folded.count("<li>") == 2


def test_one_report_is_one():
    assert "One safety report in the last twelve months of the log.<" in pinned.block(
        Pinned(reports=(OLDER[0],))
    )
    assert (
        "One safety report in the last twelve months of the log, soon after our own visit."
        in pinned.block(Pinned(reports=(SOON,), soon=1))
    )


def test_report_without_a_day_or_a_kind_is_a_line_too():
    line = pinned.report_line(report(None, "smoke; fire", kind="kind unknown"))
    assert line == "day not known · machine · smoke and fire"


def test_unread_notices_are_said():
    text = pinned.block(Pinned(has_notice_list=True, unread_notices=2))
    assert "Two notices of the list could not be read" in text


def test_what_a_notice_says_is_not_taken_for_markup():
    text = pinned.block(Pinned(notices=({**NOTICE, "said": "Orle <b>: unplug", "reference": "<i>"},)))
    assert "<b>" not in text
    assert "<i>" not in text


def test_notice_says_itself_in_sight_and_what_to_check_in_its_fold():
    text = pinned.block(Pinned(notices=(NOTICE,)))
    assert "One notice concerns machines in the log." in text
    shown, folded = text.split("<details>")
    assert "Zemberly ZD 200: unplug." in shown
    assert "130 machines: check the plate" in folded
    assert (
        "Check the plate: serial from A1 to B2. Last reported 23 Feb 2026. Notice ZN-1, 14 Oct 2024."
        in folded
    )


def test_notice_without_number_or_days_is_said_as_well():
    bare = {**NOTICE, "reference": None, "dated_on": None, "last_reported_on": None}
    assert "serial from A1 to B2. Notice.</span></details>" in pinned.block(Pinned(notices=(bare,)))


def test_cut_outs_are_said_to_the_trainer_alone():
    found = Pinned(cut_outs=1)
    assert "One job replaced a thermal cut-out" in pinned.block(found, for_trainer=True)
    assert pinned.block(found) == ""


@pytest.mark.parametrize("path", ["at-the-machine", "the-log"])
def test_without_a_list_of_notices_nothing_is_said_about_recalls(fleet, page, path):
    said = "nothing can be said about recalls"
    assert said in "\n".join(bodies(page(path)))
    fleet.first = Pinned(has_notice_list=True)
    assert said not in "\n".join(bodies(page(path)))


def test_sample_pins_the_reports_of_its_last_twelve_months(sample_store, sample, monkeypatch):
    monkeypatch.setenv(STORE_VARIABLE, str(sample_store))
    found = data.open_fleet().pinned()
    last = sample.execute("select max(reported_on) from tables.jobs").fetchall()[0][0]
    days = sample.execute("select reported_on from facts.safety_reports").fetchall()
    wanted = sorted(day for (day,) in days if (last - day).days < DAYS_PINNED)
    assert sorted(row["reported_on"] for row in found.reports) == wanted
    assert 0 < len(found.reports) < len(days)
    assert found.has_notice_list
    assert len(found.notices) == 2


@pytest.mark.parametrize(
    ("number", "said"), [(0, "no"), (1, "one"), (12, "twelve"), (13, "13"), (1200, "1,200")]
)
def test_counts_up_to_twelve_are_words(number, said):
    assert words.spelled(number) == said
    assert words.spelled(number, "report", "reports") == f"{said} report{'' if number == 1 else 's'}"
