"""Rows to CSV files."""

from __future__ import annotations

import csv
from pathlib import Path

from pipeline.standard_log import column_names
from sample_logs.jobs import Row


def write_files(files: dict[str, list[Row]], folder: Path) -> None:
    """
    Write one CSV file per kind of file, with the standard headers, UTF-8 and plain line ends.

    Parameters
    ----------
    files : dict of str to list of dict
        Rows by kind of file: log, machines, parts, stock, notices.
    folder : Path
        Made if it is not there; files of the same name are replaced.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for kind, rows in files.items():
        with (folder / f"{kind}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, column_names(kind), lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)
