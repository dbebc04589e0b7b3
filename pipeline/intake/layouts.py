"""Layouts: which header of a known kind of file is which column of the standard log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pipeline.intake.serials import SerialRule
from pipeline.standard_log import column_names


@dataclass(frozen=True)
class RecordText:
    """
    One text that is the whole record, as in a notebook.

    Attributes
    ----------
    text : str
        Its header.
    sections : mapping of str to tuple of str
        Word that opens a section of the text to the standard columns read from that section.
    columns : tuple of str
        Standard columns read from the whole text, by their known words.
    """

    text: str
    sections: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    columns: tuple[str, ...] = ()

    @property
    def all_columns(self) -> frozenset[str]:
        """Every standard column that something of the text is read for."""
        return frozenset(self.columns).union(*self.sections.values())


@dataclass(frozen=True)
class Completes:
    """
    The visits of another file that the rows of this one say more about; they are no visits of their own.

    Attributes
    ----------
    layout : str
        Name of the layout of those visits.
    by : tuple of str
        Standard columns whose values are the same in both: job_id, or site_id and a day.
    """

    layout: str
    by: tuple[str, ...]


@dataclass(frozen=True)
class Layout:
    """
    How one kind of file is laid out.

    Attributes
    ----------
    name, describes : str
        What it is called, and one sentence on the files it reads.
    kind : str
        log, machines, parts, stock or notices.
    columns : mapping of str to tuple of str
        Standard column to the headers it is made from; several only for an identity, or for a moment of its day and its
        time.
    source, source_from : str
        Who numbers the jobs: a fixed word, the value under a header, or both together. A job is keyed by source
        and number.
    required, one_of, absent : tuple of str
        Headers a file of this layout has; of which it has at least one; and none of which it has.
    missing : mapping of str to tuple of str
        What stands for "nothing known", by standard column.
    values : mapping of str to mapping
        Meaning of the file's own words, by standard column.
    lines_may_repeat : bool
        Whether identical lines inside one file are all meant.
    time_zone : str or None
        IANA name of the zone of moments without one; None for the store's setting.
    not_recorded : tuple of str
        Standard columns that nobody ever wrote down, as a person said.
    constants : mapping of str to str
        Value that every row of such a file has, as if it stood in a cell, by standard column.
    set_aside : mapping of str to tuple of str
        Words in a cell, by header, that mark a row that is no line of work, such as a total.
    forms : mapping of str to str
        Written form decided by a person, by standard column: a name in pipeline/normalise/forms.py.
    split : tuple of str
        Standard columns whose cells may hold several works.
    record : RecordText or None
        The text that is the whole record, if there is one.
    completes : Completes or None
        The visits of another file that the rows say more about.
    serial : SerialRule or None
        What is read from a serial before it is replaced: its block, the week of making.
    technician_from : str
        "sheet" where each sheet of a workbook is one technician's; "" otherwise.
    hash : str
        Fingerprint of the layout file.
    is_own : bool
        Whether the shop wrote it.
    """

    name: str
    describes: str
    kind: str
    columns: Mapping[str, tuple[str, ...]]
    source: str = ""
    source_from: str = ""
    required: tuple[str, ...] = ()
    one_of: tuple[str, ...] = ()
    absent: tuple[str, ...] = ()
    missing: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    values: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    lines_may_repeat: bool = False
    time_zone: str | None = None
    not_recorded: tuple[str, ...] = ()
    constants: Mapping[str, str] = field(default_factory=dict)
    set_aside: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    forms: Mapping[str, str] = field(default_factory=dict)
    split: tuple[str, ...] = ()
    record: RecordText | None = None
    completes: Completes | None = None
    serial: SerialRule | None = None
    technician_from: str = ""
    hash: str = ""
    is_own: bool = False

    def fits(self, headers: Sequence[str]) -> bool:
        """Whether a file with these headers is of this layout. Headers are compared without case and outer spaces."""
        there = {comparable(header) for header in headers}
        required = (*self.required, *((self.record.text,) if self.record else ()))
        return (
            all(comparable(header) in there for header in required)
            and (not self.one_of or any(comparable(header) in there for header in self.one_of))
            and not any(comparable(header) in there for header in self.absent)
        )

    def positions(self, headers: Sequence[str]) -> dict[str, tuple[int, ...]]:
        """
        Where the standard columns stand in a file.

        Returns
        -------
        dict of str to tuple of int
            0-based positions by standard column, in the standard order; columns the file lacks are left out. Of
            two equal headers the first is meant.
        """
        at: dict[str, int] = {}
        for position, header in enumerate(headers):
            at.setdefault(comparable(header), position)
        found = {
            column: tuple(
                at[comparable(header)] for header in self.columns[column] if comparable(header) in at
            )
            for column in column_names(self.kind)
            if column in self.columns
        }
        return {column: places for column, places in found.items() if places}

    def source_position(self, headers: Sequence[str]) -> int | None:
        """Where the header stands that names the source of each row."""
        wanted = comparable(self.source_from)
        return next((n for n, header in enumerate(headers) if wanted and comparable(header) == wanted), None)


def comparable(header: str) -> str:
    """A header as it is compared."""
    return " ".join(header.split()).casefold()
