"""Words of the log that nothing gives a meaning: what each may mean, a tap to say so, and a build that uses it."""

from __future__ import annotations

from html import escape

import streamlit as st

from dashboards import blocks, data, settling, words
from dashboards.words import Told
from pipeline.settle.list_file import OWN
from pipeline.settle.proposing import Proposal, ToSettle

AT_ONCE = 12
ITS_OWN, ANOTHER = "a meaning of its own", "another meaning …"
ALL_FIELDS = "every field"
KEPT, SHOWN, FIELD = "settle_kept", "settle_shown", "settle_field"
FIELDS = {"unit_type": "kind of machine"}


def render() -> None:
    """Draw the page."""
    fleet = data.open_fleet()
    blocks.title("Words to settle", fleet)
    if fleet is None:
        blocks.empty()
        return
    kept = st.session_state.pop(KEPT, None)
    found = fleet.to_settle()
    blocks.ask("Which words does nothing settle yet?")
    blocks.answer(tell(found))
    if not found.proposals:
        _say_kept(kept)
        blocks.what_next("Nothing here. After the next load, look again.")
        return
    listed = _of_field(found)
    shown = st.session_state.get(SHOWN, AT_ONCE)
    answers = [answer for proposal in listed[:shown] if (answer := _ask(proposal, found)) is not None]
    if len(listed) > shown and st.button(f"Show {min(AT_ONCE, len(listed) - shown)} more"):
        st.session_state[SHOWN] = shown + AT_ONCE
        st.rerun()
    blocks.parting()
    # Where the button is that was pressed, and so are the eyes.
    _say_kept(kept)
    _keep(answers)
    blocks.rests_on(_how_to_read(found))
    blocks.what_next(
        "Begin at the top: a few words often bring in most of the jobs. Leave what you are not sure of; it stays as it is "
        "written. As a list for a spreadsheet: mendstat settle --output to-settle.csv"
    )


def tell(found: ToSettle) -> Told:
    """How many wait, and what the first would bring in."""
    if not found.proposals:
        return Told("Every word of the log has a settled meaning.")
    first = found.proposals[0].word
    many = words.counted(found.total, "word or phrase has", "words or phrases have")
    return Told(
        f"{many} no settled meaning, in {words.counted(found.lines, 'line', 'lines')} of the log. "
        f"The first, “{first.words}”, stands in {words.counted(first.jobs, 'job', 'jobs')}."
    )


def proposed(proposal: Proposal) -> str:
    """What a word may mean, in words."""
    if not proposal.meanings:
        return "Nothing that is known is like it."
    meaning, chance = proposal.meanings[0]
    return f"Perhaps {meaning}: of ten such proposals about {words.spelled(max(1, round(chance * 10)))} would be right."


def _of_field(found: ToSettle) -> list[Proposal]:
    fields = list(dict.fromkeys(proposal.word.column for proposal in found.proposals))
    if len(fields) == 1:
        return list(found.proposals)
    wanted = st.selectbox("Field", [ALL_FIELDS, *fields], format_func=_field, key=FIELD)
    return [proposal for proposal in found.proposals if wanted in (ALL_FIELDS, proposal.word.column)]


def _field(column: str) -> str:
    return FIELDS.get(column, column)


def _ask(proposal: Proposal, found: ToSettle) -> tuple[str, str, str] | None:
    """One word with its choices; what was chosen, if anything."""
    word = proposal.word
    st.html(
        f'<div class="field word"><div class="head"><strong>{escape(word.words)}</strong>'
        f'<span class="soft">{escape(_field(word.column))}, {words.counted(word.jobs, "job", "jobs")}</span></div>'
        f'<p class="rests">{escape(proposed(proposal))}</p></div>'
    )
    is_open = word.column not in found.closed
    near = [meaning for meaning, _chance in proposal.meanings]
    key = f"settle_{word.column}_{word.words}"
    tapped = st.pills(
        f"{word.words} means",
        [*near, *([ITS_OWN] if is_open else []), ANOTHER],
        key=key,
        label_visibility="collapsed",
    )
    if tapped is None:
        return None
    if tapped == ANOTHER:
        tapped = st.selectbox(
            f"Meaning of “{word.words}”",
            found.meanings[word.column],
            index=None,
            key=f"{key}_other",
            placeholder="type or choose" if is_open else "choose",
            accept_new_options=is_open,
        )
    if not tapped:
        return None
    return word.column, word.words, OWN if tapped == ITS_OWN else str(tapped)


def _say_kept(kept: settling.Kept | None) -> None:
    """What became of the answers just given."""
    if kept is not None:
        blocks.answer(Told(kept.says) if kept.is_in else Told("", kept.says))


def _keep(answers: list[tuple[str, str, str]]) -> None:
    label = f"Keep {words.counted(len(answers), 'answer', 'answers')} and build again"
    if st.button(label, disabled=not answers, type="primary"):
        with st.spinner("Building again"):
            st.session_state[KEPT] = settling.keep(answers)
        st.rerun()
    blocks.rests_on(
        "Answers are kept as text in the store's folder “vocabulary”; they win over the words that come with mendstat, "
        "and can be changed there or here later."
    )


def _how_to_read(found: ToSettle) -> str:
    tried = ""
    if found.tried:
        tried = (
            f" Tried on {words.whole(found.tried)} wordings that are settled, each left out in turn, the first proposal was "
            f"right for {words.percent(found.right / found.tried)}."
        )
    return (
        "Each word stands with the jobs that hold it, most first. A proposal comes from how words that are settled are "
        f"written, and allows for words that are none of them.{tried} What tells of a danger is never proposed as something "
        "harmless, and stays reported whatever is answered here."
    )
