"""Commands that write a sheet: job-sheet, pocket-sheet, month."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from pipeline.cli.speaking import add_command, add_sheet_command


def add_job_sheet(commands: Any) -> None:
    """Options of `job-sheet`."""
    parser = add_command(
        commands,
        "job-sheet",
        _job_sheet,
        "write the sheet to record jobs on: a page to print, and a workbook with drop-downs that loads as it is",
    )
    parser.add_argument(
        "--output",
        type=Path,
        metavar="FILE",
        help="F.html or F.xlsx (default: both, as job-sheet.html and job-sheet.xlsx in this folder)",
    )


def add_pocket_sheet(commands: Any) -> None:
    """Options of `pocket-sheet`."""
    add_sheet_command(
        commands,
        "pocket-sheet",
        _pocket_sheet,
        "write what usually fixes each symptom to one page for a phone that needs no network",
    )


def add_month(commands: Any) -> None:
    """Options of `month`."""
    add_sheet_command(
        commands,
        "month",
        _month,
        "write the last whole month on one page to print: safety first, comebacks and whose bill, who waits, what pays",
    )


def _job_sheet(options: argparse.Namespace) -> None:
    from pipeline.job_sheet import write_sheets

    for path in write_sheets(options.output):
        print(f"{path} written.")


def _pocket_sheet(options: argparse.Namespace) -> None:
    from pipeline.pocket_sheet import write_pocket_sheet
    from pipeline.store.folder import Store

    path, found = write_pocket_sheet(Store(options.store), options.output)
    print(
        f"{path} written: {len(found.entries)} symptoms by kind of machine. Counts of fewer than ten jobs, and what would tell "
        "them, are left out. Copy it to the phone; print it for one sheet a symptom."
    )


def _month(options: argparse.Namespace) -> None:
    from pipeline.store.folder import Store
    from pipeline.summary import write_month
    from pipeline.summary.telling import danger, worth_a_look

    path, found = write_month(Store(options.store), options.output)
    print(f"{path} written: {found.period.days}, one side of A4. {danger(found)} {worth_a_look(found)[0]}")
