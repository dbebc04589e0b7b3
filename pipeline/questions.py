"""A load asks instead of guessing: one question a run, with the exact line that answers it.

Questions are asked in a fixed order: when a problem was reported, what kind of machine it was, what words about
paperwork mean, how columns are written.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pipeline.draft_layout import MARK, Question, draft, free_name, in_words, with_question
from pipeline.errors import CannotAnswerError
from pipeline.intake.layout_files import read_layout
from pipeline.intake.layouts import Layout
from pipeline.intake.taking_in import Plan
from pipeline.open_questions import NewFile, open_questions
from pipeline.recognition.plausible import Plausible
from pipeline.store import atomic
from pipeline.store.folder import Store
from pipeline.store.manifest import ReceivedFile


def ask(
    store: Store, plans: Sequence[Plan], entries: Sequence[ReceivedFile], named: str | None = None
) -> None:
    """
    Ask the first open question of the files that are new, if there is one.

    Parameters
    ----------
    store : Store
        Their rows lie in it; a draft of a layout is written to its folder of layouts.
    plans, entries
        How the files were read, and what was kept of them.
    named : str or None
        The layout that was named for the files, if one was.

    Raises
    ------
    CannotAnswerError
        With the question, and what to write where.
    """
    for entry in entries:
        key = (entry.source_hash, entry.reading_hash)
        plan = next(plan for plan in plans if (plan.source_hash, plan.reading_hash) == key)
        header = plan.transformer.header
        file = NewFile(plan.layout, header.names, entry, Plausible(plan.table, header, store.vocabulary))
        questions = list(open_questions(store, file))
        if questions:
            path = _written_down(store, file, questions)
            raise CannotAnswerError(_in_words(file, questions[0], path, named))


def _written_down(store: Store, file: NewFile, questions: Sequence[Question]) -> Path:
    """The layout in which to answer: a draft of ours, or the shop's own layout."""
    own = _own_path(store, file.layout)
    if own is not None:
        text = own.read_text(encoding="utf-8")
        if text.startswith(MARK):
            for question in questions:
                text = with_question(text, question)
            atomic.write_text(own, text)
        return own
    store.layouts.mkdir(exist_ok=True)
    taken = [path.stem for path in store.layouts.glob("*.toml")]
    name = free_name(file.entry.name, store.layouts, [*taken, file.layout.name])
    path = store.layouts / f"{name}.toml"
    atomic.write_text(path, draft(name, file.layout, file.headers, questions))
    return path


def _own_path(store: Store, layout: Layout) -> Path | None:
    if not layout.is_own:
        return None
    for path in sorted(store.layouts.glob("*.toml")):
        if read_layout(path.read_text(encoding="utf-8"), str(path)).hash == layout.hash:
            return path
    return None


def _in_words(file: NewFile, question: Question, path: Path, named: str | None) -> str:
    again = "give the same command again"
    if named and not file.layout.is_own:
        again += ", this time without --layout"
    first, *lines = in_words(question, path, f"{again}.")
    return "\n".join([f"{file.entry.name}: {first}", *lines])
