"""A new file: what its columns are, how its rows would be read, what must be asked, and the layout that says so."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from pipeline.draft_layout import Question, draft, free_name, quoted
from pipeline.errors import UnreadableError
from pipeline.intake.layout_files import known_layouts, read_layout
from pipeline.intake.layouts import Layout
from pipeline.intake.recognise import choose_layout, looks_like_data
from pipeline.intake.scrub import scrub
from pipeline.intake.source import Source
from pipeline.intake.typed import shape
from pipeline.recognition.columns import columns_of
from pipeline.recognition.deciding import SURE, Reading
from pipeline.recognition.known_words import KnownWords
from pipeline.recognition.proposing import COLUMNS_A_QUESTION, MEANS, Proposal, propose
from pipeline.recognition.rows_read import read_rows
from pipeline.recognition.sampling import Sample, take_sample, throwaway_key
from pipeline.store import atomic
from pipeline.store.folder import Store

WHY_NOT = {
    "no:name": "names of people are not kept",
    "no:telephone": "telephone numbers are not kept",
    "no:email": "e-mail addresses are not kept",
    "no:street": "addresses are not kept",
    "no:access": "nobody's way in is kept",
    "no:paper": "papers say nothing of the machine",
    "no:tax": "amounts are read without tax",
    "no:row": "it only counts the rows",
    "no:distance": "distances are not used",
}
# Under the columns of a proposed layout, where some were left out because nothing says what they are.
USE_A_COLUMN = (
    "To use a column that is left out, write what it is in front of its name, in a line of its own under [columns]: "
    'finding = "its name". The README lists what a column may be.'
)
LIKELY = 0.8


@dataclass(frozen=True)
class Recognised:
    """
    What was found out about a file.

    Attributes
    ----------
    file : str
        What it is called: scrubbed.
    layout_name : str
        Of the layout that is proposed, or that the file has already.
    sentences : tuple of str
        One for each column, in the order of the file.
    rows : frame
        The first rows as they would be read; identities as "[replaced]".
    questions : tuple of Question
        What a person has to say first.
    text : str
        The layout, as TOML; "" where the file has one already.
    other_sheets : tuple of int
        Sheets of a workbook that are not like the others.
    proposal, sample : Proposal, Sample or None
        What stands behind it.
    """

    file: str
    layout_name: str
    sentences: tuple[str, ...]
    rows: pl.DataFrame
    questions: tuple[Question, ...]
    text: str
    other_sheets: tuple[int, ...] = ()
    proposal: Proposal | None = None
    sample: Sample | None = None

    @property
    def is_known(self) -> bool:
        """Whether the file has a layout already; then nothing is proposed."""
        return not self.text


def recognise(source: Source, store_folder: Path) -> Recognised:
    """
    Find out what an unknown file's columns are.

    Parameters
    ----------
    source : Source
        The file; nothing of it is written anywhere.
    store_folder : Path
        A store, whose layouts and words are known already; it need not exist.

    Raises
    ------
    UnreadableError
        If the file or a layout of the store cannot be read.
    CannotAnswerError
        If the file has no line of column names.
    """
    store, key = Store(store_folder), throwaway_key()
    layouts = known_layouts(store.layouts)
    sample = take_sample(source, key)
    known = _known(sample, layouts)
    if known is not None:
        read = read_rows(sample, known, key, store.vocabulary)
        said = tuple(_known_sentences(sample, known))
        return Recognised(sample.name, known.name, said, read.shown, read.questions, "", sample.other_sheets)
    taken = [*layouts, *(path.stem for path in store.layouts.glob("*.toml"))]
    name = free_name(sample.name, store.layouts, taken)
    columns = columns_of(sample)
    proposal = propose(name, sample, columns, KnownWords(store.vocabulary))
    read = read_rows(sample, proposal.layout, key, store.vocabulary)
    filled = sum(column.filled > 0 for column in columns)
    most = max(1, filled // COLUMNS_A_QUESTION)
    questions = (*read.questions, *proposal.doubts)[:most]
    sentences = sentences_of(proposal)
    remarks = {r.target: _remark(r) for r in proposal.readings if r.target in proposal.layout.columns}
    below = [
        said for r, said in zip(proposal.readings, sentences, strict=False) if not _is_mapped(r, proposal)
    ]
    if any(not _is_mapped(r, proposal) and r.column.filled and not r.target for r in proposal.readings):
        below.append(USE_A_COLUMN)
    text = draft(name, proposal.layout, sample.header.names, questions, remarks=remarks, below=below)
    return Recognised(
        file=sample.name,
        layout_name=name,
        sentences=sentences,
        rows=read.shown,
        questions=questions,
        text=text,
        other_sheets=sample.other_sheets,
        proposal=proposal,
        sample=sample,
    )


def write_layout(found: Recognised, store_folder: Path, output: Path | None = None) -> Path:
    """
    Write a proposed layout where the next load finds it, or to another file.

    Raises
    ------
    UnreadableError
        If it cannot be written, or would not be a layout.
    """
    return write_text(found.text, found.layout_name, store_folder, output)


def write_text(text: str, name: str, store_folder: Path, output: Path | None = None) -> Path:
    """Write the text of a layout, as `write_layout` does."""
    read_layout(text, name)
    path = output or Store(store_folder).layouts / f"{name}.toml"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        atomic.write_text(path, text)
    except OSError as error:
        raise UnreadableError(
            f"{path} could not be written ({error.strerror}). Name another file with --output."
        ) from None
    return path


def _known(sample: Sample, layouts: Mapping[str, Layout]) -> Layout | None:
    """The layout that the file has already, if one fits it to the letter."""
    if not any(layout.fits(sample.header.names) for layout in layouts.values()):
        return None
    return choose_layout(sample.name, [sample.header], layouts)[0]


def sentences_of(proposal: Proposal) -> tuple[str, ...]:
    """One sentence for each column, in the order of the file, and one for the names of sheets where they say something."""
    said = tuple(_sentence(reading, proposal) for reading in proposal.readings)
    sheets = (
        "The name of each sheet is who did the work (technician): it looks like somebody's, and no column says it. Likely.",
    )
    return said + (sheets if proposal.layout.technician_from else ())


def shown_header(header: str) -> str:
    """A header for a sentence: scrubbed, because it may itself be a name."""
    if not header.strip():
        return "without a name"
    return quoted(shape(header) if looks_like_data([header]) else scrub(header)[:60])


def _sentence(reading: Reading, proposal: Proposal) -> str:
    called = f"Column {reading.column.position + 1}, {shown_header(reading.column.header)},"
    made = [name for name, headers in proposal.layout.columns.items() if reading.column.header in headers]
    return f"{called} {_says(reading, proposal, made)}"


def _says(reading: Reading, proposal: Proposal, made: list[str]) -> str:
    why = f": {_why(reading)}" if reading.reasons else ""
    if reading.target == "record":
        return f"is the whole record of a visit{why}."
    if any(answer.about == reading.column.header for q in proposal.doubts for answer in q.answers):
        could = dict.fromkeys(MEANS[name] for name in (reading.target, *reading.rivals) if name in MEANS)
        return f"is left out until you say what it is: it could be {' or '.join(could)}."
    if reading.target in made:
        return f"is {MEANS[reading.target]} ({reading.target}){why}. {_how_sure(reading)}"
    if made:
        return f"helps to tell {MEANS[made[0]]} ({made[0]}){why}."
    if reading.is_used and scrub(reading.column.header) != reading.column.header:
        return f"could be {MEANS[reading.target]}, but its header looks like somebody's name, which no layout may hold: give the column another header."
    return f"is left out: {_why_left_out(reading)}."


def _why_left_out(reading: Reading) -> str:
    if not reading.column.filled:
        return "nothing stands in it"
    if reading.target in WHY_NOT:
        return f"{WHY_NOT[reading.target]}{f' ({_why(reading)})' if reading.reasons else ''}"
    return "neither its header nor what stands in it says what it is"


def _is_mapped(reading: Reading, proposal: Proposal) -> bool:
    return any(reading.column.header in headers for headers in proposal.layout.columns.values())


def _why(reading: Reading) -> str:
    return "; ".join(reading.reasons)


def _how_sure(reading: Reading) -> str:
    if reading.weight >= SURE and reading.margin >= LIKELY:
        return "Sure."
    return "Likely." if reading.margin >= LIKELY else "A guess: look at it."


def _remark(reading: Reading) -> str:
    return f"column {reading.column.position + 1}: {_why(reading)}. {_how_sure(reading)}"


def _known_sentences(sample: Sample, layout: Layout) -> Iterator[str]:
    places = layout.positions(sample.header.names)
    for at, header in enumerate(sample.header.names):
        made = [name for name, positions in places.items() if at in positions]
        says = (
            f"is {' and '.join(f'{MEANS.get(name, name)} ({name})' for name in made)}"
            if made
            else "is left out"
        )
        yield f"Column {at + 1}, {shown_header(header)}, {says}."
