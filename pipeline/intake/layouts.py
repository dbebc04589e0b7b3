"""Layouts: which header of a known kind of file is which column of the standard log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from pipeline.standard_log import column_names


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
        Standard column to the headers it is made from; several only for an identity.
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
    hash: str = ""
    is_own: bool = False

    def fits(self, headers: Sequence[str]) -> bool:
        """Whether a file with these headers is of this layout. Headers are compared without case and outer spaces."""
        there = {comparable(header) for header in headers}
        return (
            all(comparable(header) in there for header in self.required)
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
