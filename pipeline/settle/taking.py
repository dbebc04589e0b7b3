"""Answers taken: all of them or none, into the shop's own vocabulary, then everything is built again with them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from pipeline.build import is_current
from pipeline.errors import CannotAnswerError, UnreadableError
from pipeline.intake.scrub import scrub
from pipeline.intake.source import Source
from pipeline.load import build_again
from pipeline.settle.list_file import OWN, YES, Given, found_in, read_list
from pipeline.settle.unsettled import COLUMNS
from pipeline.store import atomic
from pipeline.store.folder import Store
from pipeline.vocabulary import Words, normal_form, vocabulary
from pipeline.vocabulary.nearest import steps_between
from pipeline.vocabulary.own_file import own_path, with_answers

# A new meaning that differs from a known one by so few letters is a slip of the pen.
SLIP = 2
_LONG_ENOUGH = 6
Answers = dict[str, dict[str, str]]  # by column: way of writing to meaning


@dataclass(frozen=True)
class SettleReport:
    """What was taken: words settled, new meanings among them, lines of the list left empty, words that still wait."""

    settled: int
    new: tuple[str, ...]
    empty: int
    waiting: int

    def text(self) -> str:
        """Lines for the user."""
        if not self.settled:
            return "No meaning is filled in; nothing was changed."
        many = "1 word is" if self.settled == 1 else f"{self.settled:,} words are"
        lines = [f"{many} settled, and everything is built again with them."]
        if self.new:
            lines.append(f"New meanings: {', '.join(self.new)}.")
        if self.empty:
            lines.append(f"{self.empty:,} of the list left for another time.")
        lines.append(
            f"{self.waiting:,} still wait (`mendstat settle` lists them)."
            if self.waiting
            else "No word waits any more."
        )
        return "\n".join(lines)


def take_back(
    store_path: Path, source: Path | Source, *, progress: Callable[[str], None] | None = None
) -> SettleReport:
    """
    Take the meanings of a filled-in list, all or none, and build again.

    Parameters
    ----------
    store_path : Path
        The store.
    source : Path or Source
        The list, CSV or .xlsx, also as an office program saved it.
    progress : callable or None
        Told what is being done.

    Raises
    ------
    UnreadableError
        If the list cannot be read or one of its meanings cannot be taken.
    CannotAnswerError
        If nothing was ever received.
    """
    source = source if isinstance(source, Source) else Source(source)
    given = read_list(source)
    store = Store(store_path)
    if not store.manifest.active:
        raise CannotAnswerError(f"Nothing is loaded in {store_path} yet. Run `mendstat load FILE` first.")
    with store.lock():
        store.clear_leftovers()
        known = vocabulary(store.vocabulary)
        answers, new = _answers(given, known, source.path)
        _write(store.vocabulary, answers)
        # Also where nothing is new: an earlier one may have died between its words and its build.
        if not is_current(store, store.manifest):
            build_again(store, progress or _silent)
    settled = sum(len(each) for each in answers.values())
    waiting = found_in(store).total if settled else 0
    return SettleReport(settled, new, sum(not each.meaning for each in given), waiting)


def _answers(
    given: Iterable[Given], known: Mapping[str, Words], path: Path
) -> tuple[Answers, tuple[str, ...]]:
    answers: Answers = defaultdict(dict)
    new: dict[str, None] = {}
    for each in given:
        if not each.meaning:
            continue
        way = normal_form(each.words)
        if each.column not in COLUMNS or not way:
            raise _refusal(
                path, each, "the list names no word of the log", "Leave the words of the list as they are"
            )
        if scrub(each.words) != each.words:
            raise _refusal(
                path,
                each,
                "the word looks as if it named a person, a number or an address, and no word of the log does",
                "Leave the words of the list as they are",
            )
        meaning = _meaning(each, known[each.column], path)
        if answers[each.column].setdefault(way, meaning) != meaning:
            raise _refusal(path, each, "the same word is given two meanings", "Leave one of the two")
        if meaning not in known[each.column].standard:
            new[meaning] = None
    return {column: dict(found) for column, found in answers.items()}, tuple(new)


def _meaning(given: Given, words: Words, path: Path) -> str:
    said = normal_form(given.meaning)
    way = normal_form(given.words)
    if said in (YES, "y"):
        said = normal_form(given.proposed)
        if not said:
            raise _refusal(path, given, "there is no proposal to say yes to", "Write the meaning itself")
    if said == OWN:
        said = way
    known = words.meaning(said)
    if known is not None and said != way:
        return known
    if words.is_closed:
        listed = ", ".join(sorted(words.standard))
        raise _refusal(path, given, "that is no meaning of this column", f"Write one of: {listed}")
    if said != way:
        _refuse_slip(given, said, words, path)
        if not said or scrub(given.meaning) != given.meaning:
            raise _refusal(
                path,
                given,
                "the meaning looks as if it named a person, a number or an address",
                "Name it otherwise",
            )
    return said


def _refuse_slip(given: Given, said: str, words: Words, path: Path) -> None:
    near = [
        meaning
        for meaning in sorted(words.standard)
        if len(said) >= _LONG_ENOUGH and steps_between(said, meaning) <= SLIP
    ]
    if near:
        raise _refusal(
            path,
            given,
            f'there is no such meaning yet, and it is nearly "{near[0]}"',
            f"Write {near[0]}, or another name",
        )


def _write(folder: Path, answers: Answers) -> None:
    """All files are worked out before the first is written."""
    texts = {}
    for column, found in answers.items():
        path = own_path(folder, column)
        try:
            text = path.read_text(encoding="utf-8") if path.exists() else ""
        except (OSError, UnicodeDecodeError):
            raise UnreadableError(f"{path} could not be read. Mend or remove it.") from None
        texts[path] = with_answers(text, column, found)
    folder.mkdir(exist_ok=True)
    for path, text in texts.items():
        atomic.write_text(path, text)


def _refusal(path: Path, given: Given, what: str, remedy: str) -> UnreadableError:
    column = f", column {given.column}" if given.column in COLUMNS else ""
    return UnreadableError(f"{path}, line {given.line}{column}: {what}. {remedy}. Nothing was taken.")


def _silent(_text: str) -> None:
    pass
