"""A file that no layout fits yet: each column as a sentence with a choice, rows as they would be read, and the load."""

from __future__ import annotations

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from dashboards import blocks, data, upload, words
from dashboards.data import MendstatError
from dashboards.words import Told
from pipeline.draft_layout import Answer, Question
from pipeline.open_questions import ANY_HEADER
from pipeline.recognition.choosing import choices, proposed_choices
from pipeline.recognition.recognising import Recognised, shown_header

FOUND = "new_file_found"
NOT_SAID = "I do not know yet"
ROWS_SHOWN = 3  # more would not fit beside their names


def render() -> None:
    """Draw the page."""
    blocks.title("A new file", data.open_fleet())
    blocks.ask("What does this file hold?")
    given = st.file_uploader("A log of jobs, as your program writes it")
    if given is None:
        blocks.rests_on(
            f"CSV, a workbook, JSON or Parquet, up to {upload.MOST_MB} MB. It stays in the memory of this machine; nothing of it "
            "is kept before you say so."
        )
        blocks.what_next("Give a file. On the command line the same is: mendstat recognise FILE")
        return
    if given.size > upload.MOST_MB << 20:
        blocks.answer(Told("", f"The file is larger than {upload.MOST_MB} MB."))
        blocks.what_next("Load it on the command line: mendstat recognise FILE, then mendstat load FILE.")
        return
    found = _found(given)
    blocks.answer(Told(_summary(found)))
    answers: list[Answer] = []
    wanted = {} if found.is_known else _columns(found)
    try:
        text, rows, questions = _as_chosen(found, wanted, answers)
    except MendstatError as error:
        blocks.answer(Told("", str(error)))
        return
    blocks.parting()
    blocks.ask("How would its rows be read?")
    first, *others = [row[: 1 + ROWS_SHOWN] for row in rows]
    st.html(blocks.table(first, others))
    blocks.rests_on(
        "Names, numbers of machines and sites, and addresses are replaced before anything is kept."
    )
    _load(found, text, questions, given)


def _found(given: UploadedFile) -> Recognised:
    """What was found out; looked at once for each file given."""
    kept = st.session_state.get(FOUND)
    if kept is None or kept[0] != given.file_id:
        kept = (given.file_id, upload.look_at(given.name, given.getvalue()))
        st.session_state[FOUND] = kept
    found: Recognised = kept[1]
    return found


def _summary(found: Recognised) -> str:
    if found.is_known:
        return f"Its columns are known: it is read by the layout {found.layout_name}."
    used = sum(name != "" for name in proposed_choices(found).values())
    return (
        f"{words.counted(used, 'column', 'columns')} of {len(found.sentences)} would be read. "
        "Look at each, and change what is wrong."
    )


def _columns(found: Recognised) -> dict[int, str]:
    """Each column as a sentence with a choice; gives what is chosen, by position."""
    can_be, proposed = choices(), proposed_choices(found)
    wanted = {}
    readings = found.proposal.readings if found.proposal else ()
    for reading, sentence in zip(readings, found.sentences, strict=False):
        at = reading.column.position
        choice, reason = st.columns((2, 3), vertical_alignment="center")
        label = f"Column {at + 1}, {shown_header(reading.column.header)}"
        if at in proposed:
            wanted[at] = choice.selectbox(
                label,
                list(can_be),
                index=list(can_be).index(proposed[at]),
                format_func=can_be.__getitem__,
                key=f"new_file_column_{at}",
                disabled=not reading.column.header,
            )
        # The label says already which column it is.
        with reason:
            blocks.rests_on(_begun(sentence.removeprefix(f"{label}, ")) if at in proposed else sentence)
    for sentence in found.sentences[len(readings) :]:
        blocks.rests_on(sentence)
    return wanted


def _begun(text: str) -> str:
    return text[:1].upper() + text[1:]


def _as_chosen(
    found: Recognised, wanted: dict[int, str], answers: list[Answer]
) -> tuple[str, list[list[str]], tuple[Question, ...]]:
    """The layout's text, its rows with their header, and what is still open; questions are asked on the way."""
    if found.is_known:
        return "", _table(found), found.questions
    first = upload.chosen(found, wanted, ())
    if first.questions:
        blocks.parting()
        blocks.ask("What does the file not say itself?")
        answers += (answer for question in first.questions for answer in _answers(question))
    last = upload.chosen(found, wanted, answers) if answers else first
    frame = last.rows
    return last.text, [list(frame.columns), *(list(row) for row in frame.rows())], last.questions


def _table(found: Recognised) -> list[list[str]]:
    return [list(found.rows.columns), *(list(row) for row in found.rows.rows())]


def _answers(question: Question) -> list[Answer]:
    """The answers a person chose; of a question about several words one for each."""
    # On the page a column is chosen above, not written into a line.
    offered = [answer for answer in question.answers if answer.own != ANY_HEADER]
    where = (
        ""
        if len(offered) == len(question.answers)
        else " If a column says it, choose so for that column above."
    )
    blocks.rests_on(f"{question.asks}{where}")
    given = []
    for about in dict.fromkeys(answer.about for answer in offered):
        lines = {answer.line: answer for answer in offered if answer.about == about}
        said = st.radio(
            about or "Your answer",
            [NOT_SAID, *lines],
            format_func=lambda line, lines=lines: lines[line].means if line in lines else line,
            key=f"new_file_answer_{question.asks}_{about}",
        )
        if said in lines:
            given += _in_own_words(lines[said], f"new_file_own_{question.asks}_{about}")
    return given


def _in_own_words(answer: Answer, key: str) -> list[Answer]:
    """An answer that needs a word of the person's own, once it is typed; every other as it is."""
    if not answer.own:
        return [answer]
    typed = st.text_input("Your word for it", key=key, placeholder=f"such as {answer.own}").strip()
    return [answer.with_own(typed)] if typed else []


def _load(found: Recognised, text: str, questions: tuple[Question, ...], given: UploadedFile) -> None:
    """The button that writes the layout and loads the file."""
    blocks.parting()
    if questions:
        blocks.what_next("Answer what is open above; then the file can be loaded.")
    label = "Load the file" if found.is_known else "Write the layout and load the file"
    if st.button(label, disabled=bool(questions), type="primary"):
        with st.spinner("Loading"):
            loaded = upload.write_and_load(found, text, given.name, given.getvalue())
        blocks.answer(Told(loaded.says) if loaded.is_in else Told("", loaded.says))
        if loaded.is_in:
            blocks.what_next("Read what the log says now; the page “The log” says what became of each row.")
            blocks.link("What the log says", "")
            blocks.link("The log", "the-log")
    if not found.is_known:
        blocks.rests_on(
            f"The layout is a text file, {found.layout_name}.toml in the store's folder “layouts”; it can be changed there later."
        )
