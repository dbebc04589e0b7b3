"""A layout for a file that fits none, with what speaks for each column and what a person has to say."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from pipeline.draft_layout import Answer, Question, quoted
from pipeline.intake.layouts import Layout, RecordText, comparable
from pipeline.intake.scrub import scrub
from pipeline.normalise.forms import TYPED
from pipeline.recognition import shapes
from pipeline.recognition.clues import KINDS
from pipeline.recognition.columns import Column
from pipeline.recognition.deciding import DOUBT, Reading, read_columns
from pipeline.recognition.header_words import tokens, unit_of
from pipeline.recognition.known_words import KnownWords
from pipeline.recognition.records import record_of
from pipeline.recognition.sampling import Sample

COLUMNS_A_QUESTION = 8  # so many columns may cost one question
SPLITTABLE = ("part_no", "part_name", "action", "quantity")
SEVERAL_WORKS = re.compile(r"\s\+\s|\s&\s|;\s|\n|\S \+|\band\b")
OFTEN = 0.004  # share of cells with several works from which on a column is split
HOURS = frozenset(("h", "hr", "hrs", "hour", "hours", "std", "stunden", "uur", "uren", "heure", "heures"))
HOURS_AT_MOST = 10.0  # a median above is minutes, whatever the header says
SIGNS = {"€": "EUR", "eur": "EUR", "euro": "EUR", "£": "GBP", "gbp": "GBP", "usd": "USD", "chf": "CHF"}
# What an address is known by where it has no number, best first.
SITES = (
    ("no:street", "postcode"),
    ("no:street",),
    ("no:name", "no:telephone"),
    ("no:name", "no:email"),
    ("no:name", "postcode"),
    ("no:name",),
    ("no:telephone",),
)
# Names that programs give to sheets, or people to what is no person's.
_SHEET = re.compile(
    r"^(?:sheet|tabelle|blad|feuil|feuille|jobs?|data|log|list|liste|week|kw|woche|q|quarter|spring|summer|autumn|winter|all|old|new)\b",
    re.IGNORECASE,
)
_TWO_PEOPLE = re.compile(r"\s*[&+/]\s*|\s+(?:and|und|en|et)\s+")
# Which question comes first, where not all may be asked.
WEIGHTY = (
    "reported_at",
    "finished_at",
    "outcome",
    "job_id",
    "unit_type",
    "unit_id",
    "serial",
    "action",
    "part_no",
    "part_name",
    "symptom",
)


@dataclass(frozen=True)
class Proposal:
    """
    A layout as it is proposed.

    Attributes
    ----------
    layout : Layout
        The layout.
    readings : tuple of Reading
        What each column is taken for, in the order of the file.
    doubts : tuple of Question
        What a person has to say about columns, the weightiest first.
    sections : tuple of Reading
        What the sections of a text that is the whole record are taken for.
    """

    layout: Layout
    readings: tuple[Reading, ...]
    doubts: tuple[Question, ...]
    sections: tuple[Reading, ...] = ()


def propose(name: str, sample: Sample, columns: Sequence[Column], words: KnownWords) -> Proposal:
    """
    Propose a layout.

    Parameters
    ----------
    name : str
        What to call it.
    sample : Sample
        Of the file.
    columns : sequence of Column
        Its columns.
    words : KnownWords
        The vocabulary.
    """
    text = record_of(columns, words)
    sections = text.sections if text is not None else ()
    # The sections of a text stand beside the other columns: there is only one day of the report.
    others = [each for each in columns if text is None or each is not text.column]
    together = read_columns([*others, *(section.column for section in sections)], words)
    readings = _without_make(tuple(reading for reading in together if reading.column in others))
    usable, doubtful = _usable(readings, sample), [reading for reading in readings if len(reading.rivals) > 0]
    doubts = tuple(_doubts(doubtful, usable))
    asked = {answer.about for question in doubts for answer in question.answers}
    named: dict[str, tuple[str, ...]] = {
        reading.target: (reading.column.header,)
        for reading in usable
        if reading.is_used and reading.column.header not in asked
    }
    named |= _times_of_day(usable, named)
    if "site_id" not in named and not any("site_id" in reading.rivals for reading in doubtful):
        named |= _site(usable)
    layout = Layout(
        name=name,
        describes=f"Files like {sample.name}.",
        kind="log",
        columns=named,
        source=name,
        values=_values(usable, words),
        set_aside={sample.header.names[at].strip(): said for at, said in sample.sums.items()},
        missing=_missing(usable),
        forms=_forms(usable),
        constants=_currency(usable),
        split=_split(usable),
        technician_from="sheet" if "technician" not in named and sheets_are_people(sample, words) else "",
    )
    if text is not None:
        layout = _with_record(layout, text.record)
    every = sorted((*readings, *_of_text(text, sections)), key=lambda reading: reading.column.position)
    return Proposal(layout, tuple(every), doubts, sections)


def sheets_are_people(sample: Sample, words: KnownWords) -> bool:
    """Whether each sheet is named after somebody: neither after a month, a year, a kind of machine nor by the program."""
    titles = [(table.title or "").strip() for table in sample.tables]
    # Two who go together share a sheet: "Bo & Cem", "JB/TK".
    named = [name for title in titles for name in _TWO_PEOPLE.split(title)]
    return len(titles) > 1 and all(
        shapes.PERSON.match(name)
        and not _SHEET.match(name)
        and shapes.day_of(f"1 {name} 2020") is None
        and not words.is_trade(name)
        for name in named
    )


def _without_make(readings: tuple[Reading, ...]) -> tuple[Reading, ...]:
    """
    Readings with the one number of a machine, of which nobody can say whose it is, taken for the machine's own.

    A serial tells machines apart only beside its make.
    """
    numbers = {"unit_id", "serial"}
    open_ones = [reading for reading in readings if {reading.target, *reading.rivals} == numbers]
    if len(open_ones) != 1 or any(reading.target == "make" for reading in readings):
        return readings
    return tuple(
        replace(
            reading,
            target="unit_id",
            rivals=(),
            margin=DOUBT,
            reasons=(*reading.reasons, "without a make no serial number tells machines apart"),
        )
        if reading is open_ones[0]
        else reading
        for reading in readings
    )


def _usable(readings: Sequence[Reading], sample: Sample) -> list[Reading]:
    """Columns that a layout can name: with a header, the first of its name, that is not somebody's name itself."""
    first: dict[str, int] = {}
    for position, header in enumerate(sample.header.names):
        first.setdefault(comparable(header), position)
    return [
        reading
        for reading in readings
        if reading.column.header
        and first[comparable(reading.column.header)] == reading.column.position
        and scrub(reading.column.header) == reading.column.header
    ]


def _doubts(doubtful: Sequence[Reading], usable: Sequence[Reading]) -> list[Question]:
    """One question for all columns that might change places with each other, or that say the same kind of thing."""
    names = {reading.column.position for reading in usable}
    # What another column is without any doubt is no answer: a layout with both could not be read.
    taken = {reading.target for reading in usable if reading.is_used and not reading.rivals}
    groups: list[tuple[set[str], list[Reading]]] = []
    for reading in (_without(reading, taken) for reading in doubtful):
        if reading.column.position not in names or not reading.rivals:
            continue
        could = {*reading.rivals, *([reading.target] if reading.is_used else [])}
        touching = [group for group in groups if group[0] & could]
        merged = (
            could.union(*(group[0] for group in touching)),
            [r for group in touching for r in group[1]] + [reading],
        )
        groups = [group for group in groups if group not in touching] + [merged]
    groups.sort(key=lambda group: min(WEIGHTY.index(t) if t in WEIGHTY else len(WEIGHTY) for t in group[0]))
    return [_question(readings) for _, readings in groups]


def _without(reading: Reading, taken: set[str]) -> Reading:
    return replace(reading, rivals=tuple(target for target in reading.rivals if target not in taken))


def _question(readings: Sequence[Reading]) -> Question:
    shown = " and ".join(f"column {r.column.position + 1}, {quoted(r.column.header)}" for r in readings)
    answers = tuple(
        Answer(
            "columns",
            f"{target} = {quoted(reading.column.header)}",
            f"column {reading.column.position + 1} is {MEANS.get(target, target)}",
            reading.column.header,
        )
        for reading in readings
        for target in dict.fromkeys((*([reading.target] if reading.is_used else []), *reading.rivals))
    )
    which = "What is it" if len(readings) == 1 else "Which is which"
    return Question(
        f"Nothing in the file decides about {shown}. {which}? (Leave all lines as they are to leave it out.)",
        answers,
    )


def _times_of_day(usable: Sequence[Reading], named: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    """Begin and end as a day and times of day in columns of their own."""
    clocks = [
        reading.column for reading in usable if reading.column.time_of_day > 0.9 and not reading.is_used
    ]
    day = next((named[name] for name in ("finished_at", "started_at") if name in named), None)
    dated = next((r.column for r in usable if day and r.column.header == day[0]), None)
    if day is None or dated is None or dated.has_clock > 0.1 or not 1 <= len(clocks) <= 2:
        return {}
    clocks.sort(
        key=lambda column: sorted(shapes.clock_of(text) or 0 for text in column.known[0])[
            len(column.known[0]) // 2
        ]
    )
    ends = ("started_at", "finished_at") if len(clocks) == 2 else ("started_at",)
    return {
        target: (day[0], clock.header)
        for target, clock in zip(ends, clocks, strict=True)
        if target not in named or target == "finished_at"
    }


def _site(usable: Sequence[Reading]) -> dict[str, tuple[str, ...]]:
    """Which address it is, from what tells it where it has no number: replaced like every identity."""
    there: dict[str, str] = {}
    for reading in usable:
        there.setdefault(reading.target, reading.column.header)
    for parts in SITES:
        if all(part in there for part in parts):
            return {"site_id": tuple(there[part] for part in parts)}
    return {}


def _missing(usable: Sequence[Reading]) -> dict[str, tuple[str, ...]]:
    """What stands in dates, numbers and amounts for "nothing known"."""
    found = {}
    for reading in usable:
        if reading.is_used and KINDS[reading.target] in TYPED:
            said = [text for text in reading.column.texts if text.casefold() in shapes.NOTHING_KNOWN]
            if said:
                found[reading.target] = tuple(sorted(said))
    return found


def _values(usable: Sequence[Reading], words: KnownWords) -> dict[str, dict[str, str]]:
    """What yes and no mean in the column that says how visits ended."""
    said = {
        text: means
        for reading in usable
        if reading.target == "outcome"
        for text, means in words.answers_as_outcome(reading.column).items()
    }
    return {"outcome": said} if said else {}


def _forms(usable: Sequence[Reading]) -> dict[str, str]:
    """Hours, where the header says so and the numbers allow it."""
    found = {}
    for reading in usable:
        if KINDS.get(reading.target) == "minutes":
            said = {unit_of(reading.column.header).casefold(), *tokens(reading.column.header)}
            column = reading.column
            if (
                said & HOURS
                and column.number > 0.5
                and column.middle <= HOURS_AT_MOST
                and column.whole > 0.95
            ):
                found[reading.target] = "hours"
    return found


def _currency(usable: Sequence[Reading]) -> dict[str, str]:
    """The currency that a header names, where no column does."""
    if any(reading.target == "currency" for reading in usable):
        return {}
    said = {
        SIGNS[word]
        for reading in usable
        if reading.is_used and KINDS[reading.target] == "money"
        for word in re.findall(r"[€£]|[a-z]+", reading.column.header.casefold())
        if word in SIGNS
    }
    return {"currency": said.pop()} if len(said) == 1 else {}


def _split(usable: Sequence[Reading]) -> tuple[str, ...]:
    """Columns of works, where one of them holds several in a cell."""
    works = {reading.target: reading.column for reading in usable if reading.target in SPLITTABLE}
    several = any(
        column.share(SEVERAL_WORKS.search) > OFTEN for name, column in works.items() if name != "quantity"
    )
    return tuple(name for name in SPLITTABLE if several and name in works)


def _with_record(layout: Layout, record: RecordText) -> Layout:
    told = record.all_columns
    columns = {name: headers for name, headers in layout.columns.items() if name not in told}
    split = tuple(name for name in SPLITTABLE if name in told or name in layout.split)
    return replace(layout, record=record, columns=columns, split=split)


def _of_text(text: object, sections: Sequence[Reading]) -> list[Reading]:
    column = getattr(text, "column", None)
    if column is None:
        return []
    says = (
        f"its text is the whole record, in sections: {', '.join(reading.column.header for reading in sections)}"
        if sections
        else "its text is the whole record"
    )
    return [Reading(column, "record", 5.0, 5.0, (says,))]


MEANS = {
    "job_id": "the number of the job",
    "job_kind": "what kind of job it was",
    "visit_no": "the number of the visit within its job",
    "return_of": "the earlier job that it goes back to",
    "return_reason": "why it came back",
    "unit_id": "the machine's own number",
    "unit_type": "the kind of machine",
    "make": "the make",
    "model": "the model",
    "serial": "the maker's serial number",
    "made_on": "when the machine was made",
    "installed_on": "when the machine was installed",
    "age_years": "the machine's age in years",
    "fitting": "how the machine is fitted in",
    "site_id": "which customer or address it was at",
    "site_kind": "what kind of customer it was",
    "postcode": "the postcode",
    "reported_at": "when the problem was reported",
    "booked_for": "when the visit was booked for",
    "started_at": "when the visit began",
    "finished_at": "when the visit ended",
    "hands_on_min": "how long the work took",
    "travel_min": "how long the way took",
    "technician": "who did the work",
    "symptom": "what the customer complained of",
    "fault_code": "the code that the machine showed",
    "check": "what was checked",
    "check_result": "what the check gave",
    "reading": "what was measured",
    "check_min": "how long the check took",
    "finding": "what was found",
    "mechanism": "how the part failed",
    "cause": "why it failed",
    "part_no": "the number of the part",
    "part_name": "the name of the part",
    "part_status": "where the part stands",
    "part_source": "where the part came from",
    "quantity": "how many parts",
    "part_cost": "what the part cost",
    "action": "what was done",
    "charge": "what was charged in all",
    "callout_charge": "what was charged for coming",
    "labour_charge": "what was charged for work",
    "part_charge": "what was charged for parts",
    "currency": "the currency",
    "payer": "who pays",
    "outcome": "how the visit ended",
    "second_visit_reason": "why a second visit was needed",
    "installation_looked_at": "whether the installation was looked at",
    "advised_not_done": "what was advised but not done",
    "test_run": "whether a test run was made",
    "leak_check": "whether it was checked for leaks",
    "safety_test": "whether a safety test was made",
    "note": "a note",
    "record": "the whole record in one text",
}
