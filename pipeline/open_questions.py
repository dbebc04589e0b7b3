"""What is open about a new file: what nobody may guess, in the fixed order in which it is asked."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import duckdb

from pipeline.draft_layout import TOP, Answer, Question, quoted
from pipeline.intake.layouts import Layout
from pipeline.intake.scrub import scrub
from pipeline.normalise.column_forms import ALWAYS, ColumnForm, forms_of_file
from pipeline.normalise.evidence import HOURS_TO
from pipeline.normalise.form_words import reading_in_words
from pipeline.normalise.meanings import KIND_UNKNOWN
from pipeline.received_tables import put_received
from pipeline.standard_log import columns_of_kind
from pipeline.store.folder import Store
from pipeline.store.manifest import ReceivedFile
from pipeline.store.opening import CLOSED
from pipeline.vocabulary import normal_form, standard_values, vocabulary
from pipeline.vocabulary.paperwork import is_paperwork

MEMORY = "2GB"
MINUTES_NAMED = re.compile(r"(?<![a-z])min", re.IGNORECASE)
WORDS_NAMED = 12
HEADERS_NAMED = 12
ANY_HEADER = "HEADER"


@dataclass(frozen=True)
class NewFile:
    """A file whose rows were just kept, and how it was read."""

    layout: Layout
    headers: tuple[str, ...]
    entry: ReceivedFile
    # Whether a column of the file (by 0-based position) can be a standard column, as far as its cells show.
    may_be: Callable[[int, str], bool] = field(default=lambda _position, _column: True, compare=False)

    @property
    def recorded(self) -> frozenset[str]:
        """Standard columns that the file says something of, or that a person settled."""
        record = self.layout.record.all_columns if self.layout.record else frozenset()
        return frozenset(self.entry.columns) | frozenset(self.layout.not_recorded) | record


def open_questions(store: Store, file: NewFile) -> Iterator[Question]:
    """Questions about a file whose rows lie in the store, first the one to ask first."""
    spill = store.folder / "fleet-questions.spill"
    config = {**CLOSED, "threads": 2, "memory_limit": MEMORY, "temp_directory": str(spill)}
    with duckdb.connect(config=config) as con:
        con.execute("set TimeZone = 'UTC'")
        put_received(con, store.received, [file.entry], [])
        yield from questions_about(con, store.vocabulary, file)


def questions_about(
    con: duckdb.DuckDBPyConnection, vocabulary_folder: Path, file: NewFile
) -> Iterator[Question]:
    """
    Questions about a file, first the one to ask first.

    Parameters
    ----------
    con : connection
        With received.* of this file.
    vocabulary_folder : Path
        The shop's own words.
    file : NewFile
        How it was read.
    """
    if file.entry.kind == "log" and file.layout.completes is None:
        yield from _reported(file)
        yield from _kind_of_machine(file)
    if "outcome" in file.entry.columns:
        yield from _paperwork(con, vocabulary_folder, file)
    yield from _forms(con, file)


def _reported(file: NewFile) -> Iterator[Question]:
    if "reported_at" in file.recorded:
        return
    asks = "No column says when each problem was reported. Is that day written down in this file?"
    dated = any(column in file.entry.columns for column in columns_of_kind("log", "moment"))
    if not dated:
        asks += " (A row can only be used if it has a date, and no column is read as one.)"
    answers = list(_from_headers(file, "reported_at"))
    if dated:
        never = ", ".join(quoted(column) for column in (*file.layout.not_recorded, "reported_at"))
        means = "no: nobody wrote it down, and figures that need it leave these jobs out"
        answers.append(Answer(TOP, f"not_recorded = [{never}]", means))
    yield Question(asks, tuple(answers))


def _kind_of_machine(file: NewFile) -> Iterator[Question]:
    if "unit_type" in file.recorded:
        return
    one = "no, but all machines in it are of one kind (washer, say: put yours)"
    yield Question(
        "No column says what kind of machine each job was on. Is it written down in this file?",
        (
            *_from_headers(file, "unit_type"),
            Answer("constants", 'unit_type = "washer"', one, own="washer"),
            Answer("constants", f"unit_type = {quoted(KIND_UNKNOWN)}", "no, and nobody knows any more"),
        ),
    )


def _from_headers(file: NewFile, column: str) -> Iterator[Answer]:
    """The columns of the file that nothing is made from yet, each as the line that would use it."""
    names = [
        file.headers[position - 1].strip()
        for position in file.entry.columns_left_out
        if file.headers[position - 1].strip() and file.may_be(position - 1, column)
    ]
    shown = [name for name in names if name and scrub(name) == name][:HEADERS_NAMED]
    for name in shown:
        yield Answer("columns", f"{column} = {quoted(name)}", f"yes, in the column {name}")
    if not shown:
        means = f"yes: put the first line of that column for {ANY_HEADER}"
        yield Answer("columns", f"{column} = {quoted(ANY_HEADER)}", means, own=ANY_HEADER)


def _paperwork(con: duckdb.DuckDBPyConnection, vocabulary_folder: Path, file: NewFile) -> Iterator[Question]:
    words = vocabulary(vocabulary_folder)["outcome"]
    settled = {normal_form(word) for word in file.layout.values.get("outcome", {})}
    sql = "select outcome, count(*) from received.rows where outcome is not null group by all order by 2 desc, 1"
    found: dict[str, tuple[str, int]] = {}
    for word, count in con.execute(sql).fetchall():
        form = normal_form(word)
        if form not in settled and is_paperwork(word, words):
            first, before = found.get(form, (word, 0))
            found[form] = (first, before + count)
    if not found:
        return
    named = list(found.values())[:WORDS_NAMED]
    listed = ", ".join(f"{quoted(word)} ({_rows(count)})" for word, count in named)
    meanings = ", ".join(standard_values("outcome"))
    yield Question(
        f"As the outcome of a visit stands what became of its papers: {listed}. That does not say whether the machine "
        "worked, so none of it counts as fixed. What does each of these words mean in this firm? "
        f"(It may be any of: {meanings}.)",
        tuple(answer for word, _ in found.values() for answer in _meanings(word)),
    )


def _meanings(word: str) -> tuple[Answer, ...]:
    return (
        Answer("values.outcome", f'{quoted(word)} = "unknown"', "it says nothing of the machine", word),
        Answer(
            "values.outcome", f'{quoted(word)} = "fixed"', "it is only written when the machine works", word
        ),
    )


def _forms(con: duckdb.DuckDBPyConnection, file: NewFile) -> Iterator[Question]:
    forms = forms_of_file(con, file.entry.file_no, file.entry.kind, file.layout.forms)
    asked = set()
    for column in forms.values():
        family = "date" if column.kind in ("moment", "day") else column.kind
        # The answer for one column settles the columns beside it that are written alike.
        if column.decision.open and column.decision.is_worth_asking and family not in asked:
            asked.add(family)
            yield _form_question(file, column)
    for column in forms.values():
        is_open = column.name not in ALWAYS and not column.decision.is_proven
        if column.kind == "minutes" and is_open and "minutes" not in asked:
            yield from _whole_hours(con, file, column)


def _whole_hours(con: duckdb.DuckDBPyConnection, file: NewFile, column: ColumnForm) -> Iterator[Question]:
    """Small whole numbers under a header that does not name minutes may be hours."""
    header = file.layout.columns.get(column.name, (column.name,))[0]
    if MINUTES_NAMED.search(header) or column.name not in file.entry.columns:
        return
    number = f'try_cast("{column.name}" as double)'
    sql = f"select median({number}), mode({number}) from received.rows where {number} = floor({number}) and {number} > 0"
    median, usual = con.execute(sql).fetchall()[0]
    if median is None or median > HOURS_TO or column.decision.form != "minutes":
        return
    yield Question(
        f"The column {scrub(header)} holds small whole numbers. Are they minutes or hours?",
        tuple(
            Answer("forms", f"{column.name} = {quoted(form)}", f"{usual:g} is {usual:g} {form}")
            for form in ("minutes", "hours")
        ),
    )


def _form_question(file: NewFile, column: ColumnForm) -> Question:
    readings = {
        form: reading_in_words(column.kind, value)
        for form, value in zip(column.decision.open, column.readings, strict=True)
    }
    header = file.layout.columns.get(column.name, (column.name,))[0]
    return Question(
        f"The column {scrub(header)} can be read in more than one way, and nothing in it decides "
        f"({column.decision.evidence}). What is {quoted(str(column.example))}?",
        tuple(
            Answer("forms", f"{column.name} = {quoted(form)}", f"{column.example} is {words}")
            for form, words in readings.items()
        ),
    )


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count:,} rows"
