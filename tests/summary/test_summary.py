"""What a month says: comebacks and whose bill, machines that wait, the one thing worth a look, and the page itself."""

import dataclasses
import re
from datetime import date, timedelta
from functools import cache

import pytest

from pipeline.cli import main
from pipeline.estimators.usual_range import Usual
from pipeline.summary import telling
from pipeline.summary.counts import Count
from pipeline.summary.page import LINES, page
from pipeline.summary.period import last_month
from pipeline.summary.summing import summary_of
from tests.builds import built

HEADER = (
    "job_id | unit_id | unit_type | reported_at | started_at | finished_at | outcome | symptom | part_no | part_name | action | "
    "part_status | part_cost | charge | payer | hands_on_min | travel_min | currency"
)


def line(job, unit, on, **cells):
    given = {
        "job_id": job, "unit_id": unit, "unit_type": "washer", "reported_at": on, "started_at": on, "finished_at": on,
        "outcome": "fixed", "symptom": "not draining", "part_no": "P1", "part_name": "drain pump", "action": "clean",
        "charge": "110", "payer": "customer", "hands_on_min": "40", "travel_min": "20", "currency": "EUR",
    }  # fmt: skip
    row = {**given, **cells}
    return " | ".join(row.get(name.strip(), "") for name in HEADER.split("|"))


@cache
def summed(*lines):
    con = built("\n".join([HEADER, *lines]))
    return summary_of(con, last_month(con))


def february():
    return summed(
        *(line(f"J{at}", f"U{at}", "2026-01-20") for at in range(6)),
        line("B0", "U0", "2026-02-02", payer="own guarantee", charge="0", action="replace", part_cost="38"),
        line("B1", "U1", "2026-02-03", charge="165", action="replace", part_cost="38"),
        line("B2", "U2", "2026-02-04", payer="maker warranty"),
        line("B3", "U3", "2026-02-05", payer="", charge=""),
        # Another fault, and one after the guarantee, are no comebacks.
        line("B4", "U4", "2026-02-06", symptom="noisy", part_no="P2", part_name="bearings"),
        line("B5", "U5", "2026-02-27", symptom="noisy", part_no="P2", part_name="bearings", outcome="return booked",
             finished_at="", part_status="ordered", action=""),
    )  # fmt: skip


def test_comebacks_are_counted_by_whose_bill_they_are():
    found = february()
    assert (found.comebacks.events, found.comebacks.of) == (4, 6)
    said = telling.came_back(found)
    assert "one ours, one the customer's, one a maker's or an insurer's and one not written down yet" in said
    assert "Ours took 1 hours and EUR 38 of parts." in said
    assert telling.comeback_line(found.back[-1]) == (
        "2 Feb 2026 · B0 · ours · 13 days after “drain pump, cleaned” · washer, not draining"
    )


def test_machine_that_waits_for_a_part_is_named_with_its_days():
    found = february()
    assert [row["job_id"] for row in found.waiting] == ["B5"]
    assert telling.waits(found) == (
        "One machine waits for a part; the longest, a washer (job B5), for 1 day: bearings."
    )
    assert telling.waiting_line(found.waiting[0]) == "1 day · B5 · washer · bearings P2"


def test_part_fitted_or_job_called_off_no_longer_waits():
    asked = {"part_status": "ordered", "action": "", "outcome": "return booked", "finished_at": ""}
    found = summed(
        line("A", "U1", "2026-01-05", **asked),
        line("A", "U1", "2026-01-05", started_at="2026-02-05", finished_at="2026-02-05", action="replace"),
        line("C", "U2", "2026-01-05", **asked),
        line(
            "C",
            "U2",
            "2026-01-05",
            started_at="2026-02-07",
            finished_at="",
            outcome="cancelled",
            part_no="",
            action="",
        ),
        line("Z", "U9", "2026-02-28"),
    )
    assert found.waiting == ()


def test_job_finished_after_the_period_still_waited_in_it():
    lines = (
        line(
            "A",
            "U1",
            "2026-02-25",
            part_status="ordered",
            action="",
            outcome="return booked",
            finished_at="2026-02-25",
        ),
        line("A", "U1", "2026-02-25", started_at="2026-03-09", finished_at="2026-03-09", action="replace"),
        line("Z", "U9", "2026-03-10"),
    )
    assert [row["days"] for row in summed(line("Y", "U8", "2026-01-05"), *lines).waiting] == [3]


def test_work_is_added_up():
    found = february()
    assert (found.work.reported, found.work.fixed, found.work.open_jobs) == (6, 5, 1)
    assert found.work.charged == (("EUR", 0 + 165 + 110 + 110 + 110),)


def test_safety_report_stands_first_and_its_absence_is_said():
    assert telling.danger(february()) == "No safety report in these days."
    found = summed(line("Y", "U8", "2026-01-05"), line("S", "U1", "2026-02-26", symptom="burning smell"))
    text = page(found)
    assert "One safety report." in text
    assert text.index("burning smell") < text.index("How it went")


def replaced(**changes):
    return dataclasses.replace(february(), **changes)


HIGH = Count(9, 60, Usual(0.02, 0, 4))
AS_USUAL = Count(2, 60, Usual(0.02, 0, 4))
WORSE = {
    "unit_type": "dryer", "part_no": "P9", "part_name": "belt", "action": "replace", "observed": 57, "expected": 10.2,
    "jobs": 159, "days": 90,
}  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"in_vain": HIGH, "comebacks": HIGH}, "More trips in vain than usual: 9 of 60 visits."),
        (
            {"in_vain": AS_USUAL, "comebacks": HIGH, "worse": (WORSE,)},
            "More comebacks than usual: 9 among 60",
        ),
        (
            {"in_vain": AS_USUAL, "worse": (WORSE,)},
            "“belt, new one fitted” on dryers does not hold: 57 of 159",
        ),
        ({"waiting": ()}, "Nothing stands out."),
    ],
)
def test_one_thing_is_worth_a_look(changes, says):
    look, to_do = telling.worth_a_look(replaced(**changes))
    assert says in look
    assert to_do


def test_machine_that_waits_long_is_worth_a_look():
    old = {**february().waiting[0], "days": 40}
    assert "for 40 days" in telling.worth_a_look(replaced(waiting=(old,)))[0]


def test_trips_are_told_against_what_is_usual():
    assert telling.in_vain(replaced(in_vain=HIGH)) == (
        "9 trips in vain in 60 visits (usual for so many: 0 to 4): more than usual."
    )
    assert "what is usual cannot be said yet" in telling.in_vain(replaced(in_vain=Count(1, 60, None)))


def test_what_a_log_cannot_tell_is_not_told_as_none():
    found = summed(*(line(f"J{at}", "", "2026-01-20", started_at="", finished_at="") for at in range(6)))
    assert not found.comebacks.is_known
    assert not found.in_vain.is_known
    assert telling.came_back(found) == telling.NO_COMEBACKS
    assert telling.in_vain(found) == telling.NO_TRIPS
    assert "cannot be told" in telling.reported(found)
    assert "cannot be told" in telling.worth_a_look(found)[0]
    assert page(found).count("the log does not say") >= 2
    assert february().comebacks.is_known


def test_usual_range_comes_from_the_months_before():
    days = [date(2025, 1, 6) + timedelta(days=7 * at) for at in range(60)]
    rows = [
        line(
            f"J{at}{n}",
            f"U{at}{n}",
            day.isoformat(),
            outcome="no access" if at % 8 == 0 and n == 0 else "fixed",
        )
        for at, day in enumerate(days)
        for n in range(4)
    ]
    found = summed(*rows)
    assert found.in_vain.usual is not None
    assert found.in_vain.usual.share == pytest.approx(1 / 32, abs=0.01)
    assert found.in_vain.where == "within"


def test_page_asks_nothing_outside_and_escapes_what_the_log_says():
    found = summed(
        line("Y", "U8", "2026-01-05"), line("<b>x</b>", "U1", "2026-02-26", symptom="<img src=x> smoke")
    )
    text = page(found)
    assert "default-src 'none'" in text
    assert not re.search(r"(src|href)=|https?://|url\(", re.sub(r"&lt;.*?&gt;", "", text))
    assert "<b>x</b>" not in text


def test_long_lists_are_cut_with_their_number():
    rows = [line(f"J{at}", f"U{at}", "2026-01-20") for at in range(15)]
    back = [line(f"B{at}", f"U{at}", "2026-02-02") for at in range(15)]
    text = page(summed(*rows, *back, line("Z", "Z", "2026-02-28")))
    assert text.count("days after “drain pump, cleaned”") == LINES
    assert "and 11 more" in text


@pytest.fixture
def store(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    header = ",".join(name.strip() for name in HEADER.split("|"))
    lines = [line("A", "U1", "2026-01-20"), line("B", "U1", "2026-02-27")]
    text = "\n".join([header, *(",".join(cell.strip() for cell in row.split("|")) for row in lines)])
    (tmp_path / "log.csv").write_text(text + "\n", encoding="utf-8")
    assert main(["load", "log.csv"]) == 0
    return tmp_path


def test_month_is_written_and_says_so(store, capsys):
    capsys.readouterr()
    assert main(["month", "--output", "feb.html"]) == 0
    assert (
        "feb.html written: 1 Feb 2026 to 28 Feb 2026, one side of A4. No safety report"
        in capsys.readouterr().out
    )
    assert "<h1>February 2026</h1>" in (store / "feb.html").read_text(encoding="utf-8")


def test_month_takes_html_only(store, capsys):
    assert main(["month", "--output", "feb.pdf"]) == 3
    assert "name a file that ends in .html" in capsys.readouterr().err
