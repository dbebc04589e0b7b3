"""Which files are read, in which order, and what their layouts say about them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

import duckdb

from pipeline.normalise import mended
from pipeline.settings import Settings
from pipeline.standard_log import LISTS, received_names

# Rows are numbered through all files in load order; a file may hold so many records.
RECORDS_A_FILE = 10_000_000_000


class Completing(Protocol):
    """Whose visits the rows of a layout say more about."""

    @property
    def layout(self) -> str:
        """Name of the layout of those visits."""

    @property
    def by(self) -> tuple[str, ...]:
        """What both have in common: job_id, or site_id and a moment."""


class LayoutReading(Protocol):
    """What normalising needs to know of a layout."""

    @property
    def values(self) -> Mapping[str, Mapping[str, str]]:
        """Meaning of the file's own words, by column."""

    @property
    def time_zone(self) -> str | None:
        """IANA name; None for the setting of the store."""

    @property
    def lines_may_repeat(self) -> bool:
        """Whether identical lines inside one file are all meant."""

    @property
    def split(self) -> tuple[str, ...]:
        """Columns whose cells may hold several works."""

    @property
    def completes(self) -> Completing | None:
        """The visits that the rows say more about, where they are no visits of their own."""

    @property
    def forms(self) -> Mapping[str, str]:
        """Written forms that a person named, by column."""

    @property
    def not_recorded(self) -> tuple[str, ...]:
        """Columns that nobody ever wrote down, as a person said."""


def number_files(
    con: duckdb.DuckDBPyConnection, settings: Settings, layouts: Mapping[str, LayoutReading]
) -> None:
    """
    Create normalise.files: one row per received file.

    The place of a file in the order is that of its load, never a file time. Files that complete the visits of others
    come after all those: what a visit's own rows say was said first.
    """
    _complete_lists(con)
    mended.complete(con)
    con.execute(
        "create or replace temp table layouts_known (layout varchar, time_zone varchar, lines_may_repeat boolean, "
        "completes varchar, completes_by varchar)"
    )
    for name, layout in layouts.items():
        completes = layout.completes
        con.execute(
            "insert into layouts_known values ($1, $2, $3, $4, $5)",
            [
                *(name, layout.time_zone, layout.lines_may_repeat),
                *((completes.layout, completes.by[-1]) if completes else (None, None)),
            ],
        )
    con.execute(
        """
        create or replace table normalise.files as
        select
            files.file_no, files.load_no, files.kind, coalesce(files.layout, '') as layout,
            row_number() over (
                order by layouts_known.completes is not null, files.load_no, files.file_no
            ) as file_order,
            -- The layout whose visits its rows complete, and the last of the columns they are matched by.
            layouts_known.completes,
            layouts_known.completes_by,
            coalesce(nullif(layouts_known.time_zone, ''), $zone) as time_zone,
            coalesce(layouts_known.lines_may_repeat, false) as lines_may_repeat,
            coalesce(files.has_job_id, false) as has_job_id,
            cast(timezone(coalesce(nullif(layouts_known.time_zone, ''), $zone), timezone('UTC', files.received_at)) as date) as received_on
        from received.files as files
        left join layouts_known on layouts_known.layout = files.layout
        """,
        {"zone": settings.time_zone},
    )
    con.execute("drop table layouts_known")


def _complete_lists(con: duckdb.DuckDBPyConnection) -> None:
    """A list that was never loaded is an empty table."""
    for kind in LISTS:
        if kind != "log":
            columns = ", ".join(f'"{name}" varchar' for name in received_names(kind))
            con.execute(
                f"create table if not exists received.{kind} "
                f"(file_no integer, record bigint, row_digest varchar, row_problem varchar, {columns})"
            )
