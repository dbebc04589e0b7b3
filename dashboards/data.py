"""Where the pages get their figures: the only module of the dashboard that knows the pipeline.

Everything is keyed by the build: a new build after a load is a new name, so no page shows figures of an old one.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import duckdb
import polars as pl
import streamlit as st

from dashboards import STORE_VARIABLE, beside, listed
from dashboards.carrying import Carry, Shelf, carry, shelf
from dashboards.trainers_book import TrainersBook
from pipeline import summary
from pipeline.behind import behind
from pipeline.errors import MendstatError
from pipeline.estimators import sample
from pipeline.estimators.proportions import newcombe_difference
from pipeline.estimators.standing_out import means_above
from pipeline.measures.calls import Call, answers, call_of, calls, days_with_calls
from pipeline.measures.check_order import CheckOrder, check_order
from pipeline.measures.machine_before import Before, before
from pipeline.measures.symptom_back_test import BackTest, back_test
from pipeline.measures.symptom_fixes import Fixes, end_of_reports, find_fixes
from pipeline.measures.symptom_weights import Weights, best_weights
from pipeline.measures.symptom_words import Case, KnownWords, Understood
from pipeline.measures.time_to_book import Booking, time_to_book
from pipeline.measures.timed_checks import timed_checks
from pipeline.measures.working import Working
from pipeline.settle.proposing import ToSettle, words_to_settle
from pipeline.stock.bring import Bring, bring
from pipeline.stock.parts import currency_of
from pipeline.stock.stores import stores
from pipeline.stock.stores_wish import StoresWish
from pipeline.stock.van import Basis, basis_of
from pipeline.store.on_disk import on_disk
from pipeline.summary import Summary
from pipeline.training.house_notes import HouseNote, notes_for
from pipeline.vocabulary.check_minutes import CheckTable
from pipeline.vocabulary.own_file import own_words_digest

DAYS_PINNED = (
    365  # how long a safety report stands on every page, counted back from the last report of the log
)
CALLS_ANSWERED = 12  # calls of a day that are listed with their answers; the others are reached by number
MOST_TO_SETTLE = 300  # words on a page; what comes after them stands in few rows
_WORKED_OUT_AT_ONCE = 200  # answers kept; a frame has tens of rows


@dataclass(frozen=True)
class Answer:
    """A measure's frame and how it was worked out, or the one sentence that says why there is none."""

    frame: pl.DataFrame = field(default_factory=pl.DataFrame)
    refusal: str = ""
    working: Working | None = None
    not_listed: str = ""  # what the page leaves out of the rows, in words

    @property
    def rows(self) -> list[dict[str, Any]]:
        """The rows as dictionaries."""
        return self.frame.to_dicts()


@dataclass(frozen=True)
class Read:
    """How words were read, or the one sentence that says why not."""

    understood: Understood | None = None
    refusal: str = ""


@dataclass(frozen=True)
class Found:
    """The fixes of a symptom, or the one sentence that says why there are none."""

    fixes: Fixes | None = None
    refusal: str = ""


@dataclass(frozen=True)
class Booked:
    """Minutes to book, or the one sentence that says why there are none."""

    booking: Booking | None = None
    refusal: str = ""


@dataclass(frozen=True)
class Tried:
    """A back-test, or the one sentence that says why there is none."""

    test: BackTest | None = None
    refusal: str = ""


@dataclass(frozen=True)
class News:
    """What came since the last load; where it is the first one, the last whole month. Or the sentence that says why not."""

    summary: Summary | None = None
    is_since_load: bool = False
    refusal: str = ""


@dataclass(frozen=True)
class Window:
    """Local days; both ends are the last or first day that counts."""

    first_on: date
    last_report_on: date
    followed_to: date


@dataclass(frozen=True)
class Pinned:
    """What stands before everything else, in words: reports of a danger, notices, cut-outs replaced without a cause."""

    reports: tuple[dict[str, Any], ...] = ()  # of the last twelve months of the log, and those without a day
    soon: int = 0  # reports soon after our own visit to that machine; they stand first
    notices: tuple[dict[str, Any], ...] = ()  # those that concern machines in the log
    has_notice_list: bool = False
    unread_notices: int = 0
    cut_outs: int = 0


@dataclass(frozen=True)
class Fleet:
    """What one build of a store can be asked."""

    store: Path
    build: str

    def ask(self, measure: str, **question: Any) -> Answer:
        """Frame of a measure (see pipeline.measures); worked out once a build."""
        answer = _ask(str(self.store), self.build, measure, **question)
        _note(answer)
        return answer

    def line(self, measure: str, only: dict[str, str], **question: Any) -> Answer:
        """Points of a measure's line: group columns, then x, value, low, high, at_risk (see pipeline.measures.lines)."""
        return _line(str(self.store), self.build, measure, only, **question)

    def kinds(self) -> list[str]:
        """Kinds of machine with at least one fault job, most jobs first."""
        sql = (
            "select unit_type, count(*) as jobs from tables.jobs where is_fault and unit_type is not "
            "null group by 1 order by 2 desc, 1"
        )
        return [row[0] for row in self._rows(sql)]

    def models(self, kind: str) -> list[str]:
        """Models of such machines, or of all; most fault jobs first."""
        sql = """select model, count(*) as jobs from tables.jobs where is_fault and model is not null
            and (unit_type = $1 or $1 = '') group by 1 order by 2 desc, 1"""
        return [row[0] for row in self._rows(sql, kind)]

    def suggestions(self, words: str, kind: str) -> list[str]:
        """Symptoms that what was typed so far may mean; the commonest where nothing was."""
        return _suggestions(str(self.store), self.build, words, kind)

    def understand(self, case: Case) -> Read:
        """The customer's words as the log's own."""
        return _understand(str(self.store), self.build, case)

    def fixes(self, understood: Understood) -> Found:
        """What fixes a symptom and holds; not for words that tell of a danger."""
        return _fixes(str(self.store), self.build, understood)

    def back_test(self) -> Tried:
        """How well fixes are foretold (see pipeline.measures.symptom_back_test); worked out once a build."""
        return _back_test(str(self.store), self.build)

    def names_works(self) -> bool:
        """Whether any job says what was done to which part, or what was wrong outside the machine."""
        sql = "select exists (select 1 from facts.job_parts) or exists (select 1 from facts.outside_causes)"
        return bool(self._rows(sql)[0][0])

    def days_with_calls(self) -> list[tuple[date, int]]:
        """Days with visits that are booked and not done, and how many jobs each has."""
        return _days_with_calls(str(self.store), self.build)

    def calls(self, day: date) -> tuple[list[Call], list[str]]:
        """Calls of a day in its order, and the line that answers each."""
        return _calls(str(self.store), self.build, day)

    def call(self, job: str) -> Call | None:
        """The job of a number."""
        return _call(str(self.store), self.build, job)

    def before(self, call: Call) -> Before:
        """What the log knows of a call's machine."""
        return _before(str(self.store), self.build, call)

    def bring(self, understood: Understood, van: str | None = None) -> Bring | None:
        """What to take for the best chance of finishing first time; None where there are no fixes to learn from."""
        return _bring(str(self.store), self.build, understood, van)

    def booking(self, understood: Understood) -> Booked:
        """How long to book (see pipeline.measures.time_to_book)."""
        return _booking(str(self.store), self.build, understood)

    def check_order(self, fixes: Fixes, kind: str, **choices: Any) -> CheckOrder:
        """What to check first (see pipeline.measures.check_order), minutes from the log where it records enough."""
        return check_order(fixes, self.check_table(), kind, **choices)

    def check_table(self) -> CheckTable:
        """Minutes of checks, with the shop's own as they stand now (see pipeline.measures.timed_checks)."""
        words = own_words_digest(_vocabulary(str(self.store)))
        return _checks(str(self.store), self.build, words)

    def window(self) -> Window | None:
        """First day, last report, and the last day that was followed; None for a log without dates."""
        sql = """select first_on, last_report_on, coalesce(closed_complete_to, reports_complete_to) - 1 from facts.windows
            where first_on is not null"""
        rows = self._rows(sql)
        return Window(*rows[0]) if rows else None

    def terms(self) -> dict[str, Any]:
        """The shop's settings about money: hour_costs, pricing, flat_price, customer_day, guarantee_days."""
        names = ("hour_costs", "pricing", "flat_price", "customer_day", "guarantee_days")
        rows = self._rows(f'select {", ".join(names)} from settings."values"')
        return dict(zip(names, rows[0], strict=True))

    def balance(self, **question: Any) -> list[dict[str, Any]]:
        """What the jobs compared by clean-or-replace are made of (see pipeline.measures.clean_or_replace)."""
        return _balance(str(self.store), self.build, **question)

    def behind(self) -> str:
        """What was received and is not in the figures yet (see pipeline.behind); looked up each time, since a load may run."""
        from pipeline.store.folder import Store

        return behind(Store(self.store), _connection(str(self.store), self.build).cursor())

    def pinned(self) -> Pinned:
        """Safety reports and notices (see pipeline.measures.safety_words)."""
        return _pinned(str(self.store), self.build)

    def carry(self, money: float | None) -> Carry:
        """A van's stock for some money, by default what a van carries now."""
        return _carry(str(self.store), self.build, money)

    def shelf(self) -> Shelf:
        """The stores."""
        return _shelf(str(self.store), self.build)

    def news(self) -> News:
        """What is new, summed up (see pipeline.summary)."""
        return _news(str(self.store), self.build)

    def month_page(self) -> bytes:
        """The last whole month as the page that `mendstat month` writes."""
        return _month_page(str(self.store), self.build)

    def files(self) -> list[dict[str, Any]]:
        """What came in, file by file (see pipeline.load.log_check)."""
        return _files(str(self.store), self.build)

    def on_disk(self) -> str:
        """How much of the disk the store takes, in a sentence."""
        from pipeline.store.folder import Store

        return on_disk(Store(self.store)).text()

    def to_settle(self) -> ToSettle:
        """Words that nothing settles, with proposals (see pipeline.settle); worked out once a build."""
        return _to_settle(str(self.store), self.build)

    def singling_out(self) -> list[dict[str, Any]]:
        """How many jobs somebody who knows a little could single out (see pipeline.sharing.intruder)."""
        return _singling_out(str(self.store), self.build)

    def trainers_book(self) -> TrainersBook:
        """What the trainer asks, and writes down."""
        return TrainersBook(self.store, self.build, _connection(str(self.store), self.build).cursor())

    def house_notes(self, kind: str, model: str | None, symptoms: tuple[str, ...]) -> tuple[HouseNote, ...]:
        """Approved house notes for a machine with a symptom (see pipeline.training.house_notes)."""
        try:
            return notes_for(self.store, kind, model=model, symptoms=symptoms)
        except MendstatError:
            # A damaged file is told on the trainer's page; it must not stand between a technician and an answer.
            return ()

    def is_sample(self) -> bool:
        """Whether this is the invented firm's log that comes with mendstat, and nothing else."""
        return _is_sample(str(self.store), self.build)

    def beside(self, work: Callable[[Fleet], Iterator[None]]) -> None:
        """Do some work once a build, step by step, while the pages go on answering."""
        _beside(str(self.store), self.build, work.__qualname__, work(self))

    def _rows(self, sql: str, *values: str) -> list[tuple[Any, ...]]:
        """Rows of a query of ours; what a person chose or typed is bound to it, never written into it."""
        return _rows(str(self.store), self.build, sql, *values)


_heard: ContextVar[list[Answer] | None] = ContextVar("heard", default=None)


@contextmanager
def hearing() -> Iterator[list[Answer]]:
    """Collect every figure asked in the meantime, each once."""
    heard: list[Answer] = []
    token = _heard.set(heard)
    try:
        yield heard
    finally:
        _heard.reset(token)


def heard_so_far() -> tuple[Answer, ...]:
    """Answers that `hearing` has collected up to now, each with its working; nothing outside it."""
    return tuple(_heard.get() or ())


def _note(answer: Answer) -> None:
    heard = _heard.get()
    if heard is None or answer.working is None:
        return
    if answer.working not in [each.working for each in heard]:
        heard.append(answer)


def store_path() -> Path:
    """The store that the pages show; the command line passes it on."""
    return Path(os.environ.get(STORE_VARIABLE, "mendstat-store"))


def open_fleet() -> Fleet | None:
    """The current build of the store, or None where nothing has been loaded."""
    path = store_path()
    if not path.is_dir():
        return None
    from pipeline.store.folder import Store

    build = Store(path).current_build()
    return None if build is None else Fleet(path, str(build))


def compare(first: dict[str, Any], second: dict[str, Any]) -> str:
    """Whether the first of two shares is 'better', 'worse' or 'cannot tell', more being worse (rows of repeat-visits)."""
    if first["value"] is None or second["value"] is None:
        return sample.CANNOT_TELL
    one, other = ([row[name] for name in ("value", "low", "high")] for row in (first, second))
    apart = newcombe_difference(tuple(one), tuple(other))
    return str(sample.band_of(first["effective_n"], second["effective_n"], apart.low, apart.high))


def longer_than_all(rows: list[dict[str, Any]], total: dict[str, Any]) -> list[dict[str, Any]]:
    """Rows of `time-to-fix` that take longer than all jobs together, chance allowed for over all that were looked at."""
    told = [row for row in rows if row["value"] is not None and row["low"] is not None]
    if not told or total["value"] is None or total["high"] is None:
        return []
    values, lows = ([row[name] for row in told] for name in ("value", "low"))
    is_above = means_above(values, lows, (total["value"], total["high"]))
    return [row for row, above in zip(told, is_above, strict=True) if above]


def sample_limits() -> dict[str, float]:
    """The numbers that decide when a sample is enough, rough or too few."""
    return {
        name.lower(): value
        for name, value in vars(sample).items()
        if name.isupper() and isinstance(value, int | float)
    }


@st.cache_resource(max_entries=2, show_spinner=False, on_release=lambda connection: connection.close())
def _connection(store: str, build: str) -> duckdb.DuckDBPyConnection:  # noqa: ARG001 - the build is the cache's key
    from pipeline.store.folder import Store

    return Store(Path(store)).connect()


@st.cache_data(max_entries=_WORKED_OUT_AT_ONCE, show_spinner="Working it out …")
def _ask(store: str, build: str, measure: str, **question: Any) -> Answer:
    from pipeline.measures import Question, evaluate_with_working

    try:
        # One cursor a piece of work: a connection is not for several threads.
        con = _connection(store, build).cursor()
        asked = Question(**question)
        frame, working = evaluate_with_working(con, measure, asked, _fates(store, build))
        return Answer(frame, "", working, listed.left_out(measure, frame, asked))
    except MendstatError as error:
        return Answer(refusal=str(error))


@st.cache_resource(max_entries=4, show_spinner=False)
def _beside(store: str, build: str, name: str, _steps: Iterator[None]) -> beside.Work:  # noqa: ARG001
    return beside.Work(name, _steps, (MendstatError, duckdb.Error))


@st.cache_resource(max_entries=2, show_spinner=False)
def _known_words(store: str, build: str) -> KnownWords:
    return KnownWords.of(_connection(store, build).cursor(), _vocabulary(store))


@st.cache_data(max_entries=_WORKED_OUT_AT_ONCE, show_spinner=False)
def _suggestions(store: str, build: str, words: str, kind: str) -> list[str]:
    return _known_words(store, build).suggestions(words, kind or None)


@st.cache_data(max_entries=_WORKED_OUT_AT_ONCE, show_spinner=False)
def _understand(store: str, build: str, case: Case) -> Read:
    try:
        con = _connection(store, build).cursor()
        return Read(_known_words(store, build).understand(con, case))
    except MendstatError as error:
        return Read(refusal=str(error))


# As it is, without a copy for every reader; few, since behind a common symptom of a big firm may stand many different fixes.
@st.cache_resource(max_entries=80, show_spinner=False)
def _fixes(store: str, build: str, understood: Understood) -> Found:
    try:
        return Found(find_fixes(_connection(store, build).cursor(), understood, lean=_lean(store, build)))
    except MendstatError as error:
        return Found(refusal=str(error))


@st.cache_resource(max_entries=2, show_spinner=False)
def _lean(store: str, build: str) -> Weights:
    """Learnt from every fix of the log: once a build, not for every symptom."""
    con = _connection(store, build).cursor()
    return best_weights(con, until=end_of_reports(con))


@st.cache_data(max_entries=4, show_spinner=False)
def _days_with_calls(store: str, build: str) -> list[tuple[date, int]]:
    return days_with_calls(_connection(store, build).cursor())


@st.cache_data(max_entries=20, show_spinner=False)
def _calls(store: str, build: str, day: date) -> tuple[list[Call], list[str]]:
    con = _connection(store, build).cursor()
    some = calls(con, day)
    return some, answers(con, some[:CALLS_ANSWERED])


@st.cache_data(max_entries=_WORKED_OUT_AT_ONCE, show_spinner=False)
def _call(store: str, build: str, job: str) -> Call | None:
    return call_of(_connection(store, build).cursor(), job)


@st.cache_data(max_entries=_WORKED_OUT_AT_ONCE, show_spinner=False)
def _before(store: str, build: str, call: Call) -> Before:
    return before(_connection(store, build).cursor(), call)


@st.cache_data(max_entries=_WORKED_OUT_AT_ONCE, show_spinner=False)
def _bring(store: str, build: str, understood: Understood, van: str | None) -> Bring | None:
    found = _fixes(store, build, understood)
    return None if found.fixes is None else bring(_connection(store, build).cursor(), found.fixes, van)


@st.cache_data(max_entries=_WORKED_OUT_AT_ONCE, show_spinner=False)
def _booking(store: str, build: str, understood: Understood) -> Booked:
    found = _fixes(store, build, understood)
    try:
        if found.fixes is None:
            return Booked(refusal=found.refusal)
        return Booked(time_to_book(_connection(store, build).cursor(), found.fixes))
    except MendstatError as error:
        return Booked(refusal=str(error))


@st.cache_resource(max_entries=4, show_spinner=False)
def _checks(store: str, build: str, words: str) -> CheckTable:  # noqa: ARG001 - the shop's own words as they are now
    return timed_checks(_connection(store, build).cursor(), _vocabulary(store))


@st.cache_data(max_entries=4, show_spinner="Trying it on the later jobs …")
def _back_test(store: str, build: str) -> Tried:
    try:
        con = _connection(store, build).cursor()
        return Tried(back_test(con, vocabulary=_vocabulary(store)))
    except MendstatError as error:
        return Tried(refusal=str(error))


def _vocabulary(store: str) -> Path:
    from pipeline.store.folder import Store

    return Store(Path(store)).vocabulary


@st.cache_data(max_entries=_WORKED_OUT_AT_ONCE, show_spinner="Working it out …")
def _line(store: str, build: str, measure: str, only: dict[str, str], **question: Any) -> Answer:
    from pipeline.measures import Question, evaluate_line

    try:
        con = _connection(store, build).cursor()
        return Answer(evaluate_line(con, measure, Question(**question), only).frame)
    except MendstatError as error:
        return Answer(refusal=str(error))


@st.cache_data(max_entries=2, show_spinner=False)
def _fates(store: str, build: str) -> tuple[tuple[str, str, int], ...]:
    """What became of every row received; the same behind each figure of a build."""
    from pipeline.measures.working import fates_of

    return fates_of(_connection(store, build).cursor())


@st.cache_data(max_entries=20, show_spinner=False)
def _balance(store: str, build: str, **question: Any) -> list[dict[str, Any]]:
    from pipeline.measures import Question
    from pipeline.measures.clean_or_replace import balance_table

    try:
        return balance_table(_connection(store, build).cursor(), Question(**question)).to_dicts()
    except MendstatError:
        return []


def _after_visit(row: dict[str, Any]) -> str:
    """Only what came soon after our own visit says so: a visit of last year is no news."""
    from pipeline.measures.safety_words import after_visit_words

    return after_visit_words(row["days_since_own_visit"]) if row["is_soon_after_own_visit"] else ""


# As it is, without a copy for every page: a network has thousands of reports a year.
@st.cache_resource(max_entries=2, show_spinner=False)
def _pinned(store: str, build: str) -> Pinned:
    from pipeline.measures import evaluate, safety_words

    con = _connection(store, build).cursor()
    try:
        reports = evaluate(con, "safety-reports").to_dicts()
    except MendstatError:
        reports = []
    listed = safety_words.notices(con)
    concerning = [row for row in listed or [] if row["count_machines"] or row["count_jobs_unknown"]]
    # Rows that are all set aside may bear any day; a report without a day is never left out.
    last = _rows(store, build, "select max(last_report_on) from facts.windows")[0][0]
    since = last - timedelta(days=DAYS_PINNED) if last else date.min
    reports = [
        {**row, "after_visit": _after_visit(row)}
        for row in reports
        if row["reported_on"] is None or row["reported_on"] > since
    ]
    return Pinned(
        reports=tuple(reports),
        soon=sum(row["is_soon_after_own_visit"] for row in reports),
        notices=tuple(
            {
                **row,
                "said": safety_words.notice_text(row),
                "concerned": safety_words.concerned_words(row),
                "plate": safety_words.plate_words(row),
            }
            for row in concerning
        ),
        has_notice_list=listed is not None,
        unread_notices=safety_words.unread_notices(con),
        cut_outs=_rows(store, build, "select count(*) from facts.cutouts_without_cause")[0][0],
    )


@st.cache_resource(max_entries=2, show_spinner=False)
def _basis(store: str, build: str) -> Basis:
    return basis_of(_connection(store, build).cursor())


@st.cache_data(max_entries=60, show_spinner="Choosing …")
def _carry(store: str, build: str, money: float | None) -> Carry:
    try:
        return carry(_basis(store, build), money)
    except MendstatError as error:
        return Carry(refusal=str(error))


@st.cache_data(max_entries=4, show_spinner=False)
def _shelf(store: str, build: str) -> Shelf:
    con = _connection(store, build).cursor()
    try:
        return shelf(stores(con, StoresWish()), currency_of(con))
    except MendstatError as error:
        return Shelf(refusal=str(error))


@st.cache_data(max_entries=4, show_spinner=False)
def _news(store: str, build: str) -> News:
    try:
        return News(*summary.news(_connection(store, build).cursor()))
    except MendstatError as error:
        return News(refusal=str(error))


@st.cache_data(max_entries=4, show_spinner=False)
def _month_page(store: str, build: str) -> bytes:
    return summary.page(summary.month(_connection(store, build).cursor())).encode()


@st.cache_data(max_entries=20, show_spinner=False)
def _files(store: str, build: str) -> list[dict[str, Any]]:  # noqa: ARG001 - the build is the cache's key
    from pipeline.load import log_check

    return log_check(Path(store))


@st.cache_data(max_entries=4, show_spinner="Looking at the words …")
def _to_settle(store: str, build: str) -> ToSettle:
    return words_to_settle(_connection(store, build).cursor(), _vocabulary(store), MOST_TO_SETTLE)


@st.cache_data(max_entries=20, show_spinner=False)
def _singling_out(store: str, build: str) -> list[dict[str, Any]]:
    from pipeline.sharing.intruder import singling_out

    return singling_out(_connection(store, build).cursor()).to_dicts()


@st.cache_data(max_entries=20, show_spinner=False)
def _is_sample(store: str, build: str) -> bool:
    from sample_logs import standard_files

    # By name and number of records: a firm's own log.csv does not have as many rows by accident, list by list.
    shipped = {
        (path.name, pl.scan_csv(path, infer_schema=False).select(pl.len()).collect().item())
        for path in standard_files().values()
    }
    return set(_rows(store, build, "select name, rows from received.files")) <= shipped


@st.cache_data(max_entries=100, show_spinner=False)
def _rows(store: str, build: str, sql: str, *values: str) -> list[tuple[Any, ...]]:
    return _connection(store, build).cursor().execute(sql, values).fetchall()
