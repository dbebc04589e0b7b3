"""What is new since the last load: comebacks and whose bill, who waits for a part, trips in vain, one thing worth a look."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from dashboards import blocks, words
from dashboards.charts.interval_rows import Scale
from dashboards.data import Fleet, News
from dashboards.questions.rows import Drawn, show_rows
from dashboards.words import Told
from pipeline.estimators.sample import ENOUGH
from pipeline.summary import Summary, telling
from pipeline.summary.counts import Count

QUESTION = "What is new since the last load?"
SCALE = Scale("of 100; line: usual range, square: outside of it", ".0f", factor=100.0)
SHOWN = 6
# What is new is told of the whole firm: no choice of a kind of machine moves it.
ABOUT_ALL = True


def refusal(fleet: Fleet, _kind: str | None) -> str:
    """Why the log cannot answer, or nothing."""
    return fleet.news().refusal


def render(fleet: Fleet, kind: str | None, choose: Callable[[], None]) -> None:
    """Draw the question."""
    del kind, choose
    found = fleet.news()
    if found.summary is None:
        return
    blocks.ask(QUESTION)
    told = tell(found)
    blocks.answer(told)
    look, to_do = telling.worth_a_look(found.summary)
    blocks.note_line("", look)
    drawn = [
        _drawn(name, count)
        for name, count in (("comebacks", found.summary.comebacks), ("trips in vain", found.summary.in_vain))
        if count.usual is not None
    ]
    if drawn:
        show_rows(drawn, SCALE, told)
    _whose_bill(found.summary)
    _who_waits(found.summary)
    blocks.rests_on(_rests_on(found))
    blocks.worked_out(_how())
    blocks.what_next(to_do)
    st.download_button(
        "The last whole month on one page, to print",
        fleet.month_page,
        file_name="month.html",
        mime="text/html",
        on_click="ignore",
    )


def tell(found: News) -> Told:
    """What came in, what came back against what is usual, and who waits."""
    if found.summary is None:
        return Told("", found.refusal)
    said = found.summary
    start = f"{words.capital(said.period.name)}: " if found.is_since_load else f"In {said.period.name}: "
    counts = (
        ("comeback", "comebacks", said.comebacks, telling.NO_COMEBACKS),
        ("trip in vain", "trips in vain", said.in_vain, telling.NO_TRIPS),
    )
    came_in = f"{words.counted(said.work.reported, 'fault job', 'fault jobs')} reported"
    told = ", ".join(
        [came_in, *(_against(one, many, count) for one, many, count, _ in counts if count.is_known)]
    )
    young = any(count.is_known and count.usual is None for _, _, count, _ in counts)
    undecided = [sentence for _, _, count, sentence in counts if not count.is_known]
    undecided += ["What is usual can be said once the log holds half a year."] if young else []
    return Told(f"{start}{told}. {telling.waits(said)}", " ".join(undecided))


def _against(one: str, many: str, count: Count) -> str:
    word = telling.against(count)
    return f"{words.spelled(count.events, one, many)}{f' ({word})' if word else ''}"


def _drawn(name: str, count: Count) -> Drawn:
    usual = count.usual
    low, high = (0.0, None) if usual is None else (usual.low / count.of, usual.high / count.of)
    row = {"low": low, "value": count.events / count.of, "high": high, "sample": ENOUGH}
    said = f"{words.whole(count.events)} of {words.whole(count.of)} · {telling.usual(count)}"
    return Drawn(name, said, row, kept=count.stands_out)


def _whose_bill(found: Summary) -> None:
    if not found.back:
        return
    blocks.note_line("What came back.", telling.came_back(found))
    _list([telling.comeback_line(row) for row in found.back])


def _who_waits(found: Summary) -> None:
    if not found.waiting:
        return
    blocks.note_line("Who waits for a part,", "the longest first.")
    _list([telling.waiting_line(row) for row in found.waiting])


def _list(lines: list[str]) -> None:
    """Each line as a heading and what is known of it; lines, since a table would not fit on a phone."""
    pieces = [line.split(" · ", 3) for line in lines[:SHOWN]]
    blocks.fixes([(" · ".join(piece[:3]), " · ".join(piece[3:])) for piece in pieces], "plain")
    _more(len(lines))


def _more(rows: int) -> None:
    if rows > SHOWN:
        blocks.rests_on(f"And {words.whole(rows - SHOWN)} more.")


def _rests_on(found: News) -> str:
    if found.summary is None:
        return ""
    said = found.summary
    why = (
        f"The last load brought {words.counted(said.new_jobs, 'new job', 'new jobs')} of any kind; shown are the days after the last "
        "report that the loads before it held."
        if found.is_since_load
        else "Nothing newer came since the load before, or this is the first one; shown is the last month of the log that is over."
    )
    return f"{said.period.days}, all kinds of machine. {telling.reported(said)} {why}"


def _how() -> list[str]:
    return [
        (
            "A comeback: the same fault on the same machine, reported within your guarantee after a job of ours that ended fixed. The "
            "bill is the firm's where the job is marked as guarantee or goodwill, or nothing was charged."
        ),
        (
            "A trip in vain: nobody in, or turned away at the door. A machine waits for a part that was noted as ordered or not on "
            "the van and has not been fitted, while the job is open."
        ),
        (
            "The usual range comes from up to 24 months before: 19 of 20 months fall within it if nothing changed. Two counts are "
            "looked at, so by chance one of them lies outside about once in ten months."
        ),
        (
            "Worth a look is the first of these that there is: trips in vain above the range; comebacks above it; a procedure that "
            "does not hold (page “What does not hold”); a machine that has waited for three weeks."
        ),
    ]
