"""Which reader reads a file: by what it holds, not by its name."""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.intake.block import Table
from pipeline.intake.csv_file import CsvFile
from pipeline.intake.json_file import JsonFile
from pipeline.intake.json_values import looks_like_json
from pipeline.intake.source import Source, Survey
from pipeline.intake.text import text_chunks

START = 1 << 12


@dataclass(frozen=True)
class Tables:
    """
    What can be read of a file.

    Attributes
    ----------
    tables : tuple of Table
        The file itself, or the sheets of a workbook.
    hidden : tuple of int
        Numbers of the sheets that are hidden and so not read.
    """

    tables: tuple[Table, ...]
    hidden: tuple[int, ...] = ()


def tables_of(source: Source, survey: Survey) -> Tables:
    """
    Tables of a file.

    Raises
    ------
    UnreadableError
        If a workbook cannot be opened.
    """
    # The readers of packed kinds are imported where they are needed: a CSV file is read as soon without them.
    if survey.form == "workbook":
        from pipeline.intake.workbook import sheets_of

        return Tables(*sheets_of(source, survey))
    if survey.form == "parquet":
        from pipeline.intake.parquet_file import ParquetFile

        return Tables((ParquetFile(source, survey),))
    start = next(text_chunks(source, survey.encoding, START), b"")
    reader = JsonFile if looks_like_json(start) else CsvFile
    return Tables((reader(source, survey),))
