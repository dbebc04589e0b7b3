"""A layout written down for a person to complete: every mapped column, and each open question with its answers as lines."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pipeline.errors import shown
from pipeline.intake.layouts import Layout, comparable
from pipeline.intake.scrub import scrub
from pipeline.standard_log import column_names

MARK = "# Written by mendstat: how the columns of this kind of file are read. Lines after # are not read."
ANSWERS_SHOWN = 12  # of one table, in a message
TOP = ""  # of the file, before its first table


@dataclass(frozen=True)
class Answer:
    """
    One answer to a question: the line to write, in which table of the layout, and what it means in plain words.

    Answers for the same `about` exclude each other. `own` is the word of the line that only stands for one that the person has to say.
    """

    table: str
    line: str
    means: str
    about: str = ""
    own: str = ""

    def with_own(self, word: str) -> Answer:
        """The same answer with the person's own word in its line."""
        return replace(self, line=self.line.replace(quoted(self.own), quoted(word)), own="")

    @property
    def remark(self) -> str:
        """The line with what it means behind it, on one line: a header of a spreadsheet may go over several."""
        return f"{self.line}    # {_on_one_line(self.means)}"


@dataclass(frozen=True)
class Question:
    """What is not known, in plain words, and the answers there can be."""

    asks: str
    answers: tuple[Answer, ...]


def quoted(text: str) -> str:
    """A text as TOML writes it; signs that do not show are written as their numbers."""
    return "".join(
        sign
        if sign.isprintable()
        else f"\\u{ord(sign):04x}"
        if ord(sign) < 1 << 16
        else f"\\U{ord(sign):08x}"
        for sign in json.dumps(text, ensure_ascii=False)
    )


def draft(
    name: str,
    layout: Layout,
    headers: Sequence[str],
    questions: Iterable[Question],
    *,
    remarks: Mapping[str, str] | None = None,
    below: Sequence[str] = (),
) -> str:
    """
    Text of a layout for files with these headers.

    Parameters
    ----------
    name : str
        Of the new layout.
    layout : Layout
        By which the file was read so far.
    headers : sequence of str
        Of the file. One that looks like somebody's name is left out, by its position.
    questions : iterable of Question
        That are open.
    remarks : mapping of str to str, or None
        What to say beside a standard column's line.
    below : sequence of str
        What to say under the columns, a line each.
    """
    beside = {column: f"    # {_one_line(said)}" for column, said in (remarks or {}).items()}
    used = _used(layout, headers)
    needed = [header for named in used.values() for header in named]
    needed += [layout.record.text] if layout.record else []
    there = {comparable(header) for header in headers}
    # A file that has one of these columns is another kind of file: this layout must not swallow it.
    absent = [*layout.absent, *(c for c in column_names(layout.kind) if comparable(c) not in there)]
    parts = [
        MARK,
        f"name = {quoted(name)}",
        f"describes = {quoted(layout.describes if layout.name == name else f'Files like {name}, read as {layout.name} with the answers below.')}",
        f"kind = {quoted(layout.kind)}",
        *([f"source = {quoted(layout.source)}"] if layout.source else []),
        *([f"source_from = {quoted(layout.source_from)}"] if layout.source_from else []),
        *([f"time_zone = {quoted(layout.time_zone)}"] if layout.time_zone else []),
        *([f"technician_from = {quoted(layout.technician_from)}"] if layout.technician_from else []),
        *(["lines_may_repeat = true"] if layout.lines_may_repeat else []),
        f"required = {_list(dict.fromkeys(needed))}",
        *([f"absent = {_list(dict.fromkeys(absent))}"] if absent else []),
        *([f"not_recorded = {_list(layout.not_recorded)}"] if layout.not_recorded else []),
        *([f"split = {_list(layout.split)}"] if layout.split else []),
        "",
        "[columns]",
        *(
            f"{column} = {quoted(named[0]) if len(named) == 1 else _list(named)}{beside.get(column, '')}"
            for column, named in used.items()
        ),
        *_left_out(layout, headers),
        *(f"# {_one_line(line)}" for line in below),
        *_tables(layout),
    ]
    text = "\n".join(parts) + "\n"
    for question in questions:
        text = with_question(text, question)
    return text


def with_question(text: str, question: Question) -> str:
    """A layout's text with a question and its answers, as lines to take the # away from; what is there stays."""
    for table in dict.fromkeys(answer.table for answer in question.answers):
        answers = [a for a in question.answers if a.table == table and f"# {a.line}" not in text]
        if answers:
            lines = [*_comment(question.asks), *(f"# {a.remark}" for a in answers)]
            text = _inserted(text, table, lines)
    return text


def in_words(question: Question, path: Path, then: str) -> list[str]:
    """
    Lines that ask a question: what, and which line to write where.

    Parameters
    ----------
    question : Question
        The question.
    path : Path
        The layout in which to answer.
    then : str
        What to do after that, to its last sign: "load the file."
    """
    is_ours = path.read_text(encoding="utf-8").startswith(MARK)
    how = (
        f'The answers stand in {path} already: open it in a text editor, take the "# " away in front of the line that is true'
        if is_ours
        else f"Open {path} in a text editor and write the line that is true"
    )
    each = ", for each word one" if any(answer.about for answer in question.answers) else ""
    lines = [question.asks, f"{how}{each}, save it, and {then}"]
    for table in dict.fromkeys(answer.table for answer in question.answers):
        lines.append(f"    under [{table}]:" if table else "    above the first line in brackets:")
        ready = [f"        {a.remark}" for a in question.answers if a.table == table]
        # A screen holds so many; all of them stand in a draft of ours, nowhere in a layout of the shop's.
        shown = ANSWERS_SHOWN if is_ours else len(ready)
        lines += ready[:shown]
        if len(ready) > shown:
            lines.append(f"        … and {len(ready) - ANSWERS_SHOWN} more, which stand there too.")
    return lines


def with_answer(text: str, answer: Answer) -> str:
    """A layout's text with the line of an answer in it; the line it answers by comes out of its comment."""
    if f"# {answer.remark}" in text:
        return text.replace(f"# {answer.remark}", answer.remark, 1)
    return _inserted(text, answer.table, [answer.line])


def _comment(asks: str) -> list[str]:
    return [
        f"# QUESTION: {_on_one_line(asks)}",
        '# Take the "# " away in front of the line that is true, then load again:',
    ]


def _on_one_line(text: str) -> str:
    return " ".join(shown(text).split())


def _inserted(text: str, table: str, lines: Sequence[str]) -> str:
    rows = text.rstrip("\n").split("\n")
    heads = [n for n, row in enumerate(rows) if re.match(r"\s*\[", row)]
    if table == TOP:
        at = heads[0] if heads else len(rows)
        return "\n".join([*rows[:at], *lines, "", *rows[at:]]) + "\n"
    head = next((n for n in heads if rows[n].split("#")[0].strip() == f"[{table}]"), None)
    if head is None:
        return "\n".join([*rows, "", f"[{table}]", *lines]) + "\n"
    # Under the lines that stand there already.
    end = next((n for n in heads if n > head), len(rows))
    while not rows[end - 1].strip():
        end -= 1
    return "\n".join([*rows[:end], *lines, *rows[end:]]) + "\n"


def _used(layout: Layout, headers: Sequence[str]) -> dict[str, tuple[str, ...]]:
    """Headers as the file has them, by standard column; without those that may be somebody's name."""
    found = {
        column: tuple(headers[place].strip() for place in places)
        for column, places in layout.positions(headers).items()
    }
    return {column: named for column, named in found.items() if all(scrub(name) == name for name in named)}


def _left_out(layout: Layout, headers: Sequence[str]) -> list[str]:
    kept = _used(layout, headers)
    return [
        f"# {column}: column {places[0] + 1} of the file, whose header may be somebody's name and is not written here"
        for column, places in layout.positions(headers).items()
        if column not in kept
    ]


def _tables(layout: Layout) -> list[str]:
    tables: dict[str, Mapping[str, Any]] = {
        "constants": layout.constants,
        "forms": layout.forms,
        "missing": layout.missing,
        "set_aside": layout.set_aside,
        **{f"values.{column}": words for column, words in layout.values.items()},
        **_record(layout),
    }
    lines = []
    for name, entries in tables.items():
        if entries:
            lines += ["", f"[{name}]", *(f"{_key(key)} = {_value(value)}" for key, value in entries.items())]
    return lines


def _record(layout: Layout) -> dict[str, Mapping[str, Any]]:
    if layout.record is None:
        return {}
    whole = {"columns": layout.record.columns} if layout.record.columns else {}
    tables: dict[str, Mapping[str, Any]] = {"record": {"text": layout.record.text, **whole}}
    return tables | ({"record.sections": layout.record.sections} if layout.record.sections else {})


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _key(text: str) -> str:
    return text if re.fullmatch(r"[A-Za-z0-9_-]+", text) else quoted(text)


def _value(value: str | Sequence[str]) -> str:
    return quoted(value) if isinstance(value, str) else _list(value)


def _list(texts: Iterable[str]) -> str:
    return f"[{', '.join(quoted(text) for text in texts)}]"


def free_name(file_name: str, folder: Path, taken: Iterable[str]) -> str:
    """A name for a layout, after the file it was written for, that no layout and no file of the folder has."""
    stem = re.sub(r"\.(csv|xlsx|xlsm|parquet|jsonl?|ndjson|gz)\b", "", scrub(file_name), flags=re.IGNORECASE)
    stem = re.sub(r"[^\w]+", "-", stem.casefold()).strip("-") or "log"
    used = set(taken)
    names = (stem if n == 1 else f"{stem}-{n}" for n in range(1, len(used) + 1000))
    return next(name for name in names if name not in used and not (folder / f"{name}.toml").exists())
