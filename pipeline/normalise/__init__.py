"""Phrases and written forms to meanings and typed values, each with the rule that read it."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import duckdb

from pipeline.normalise.areas import read_areas
from pipeline.normalise.column_forms import FileForms, choose_forms
from pipeline.normalise.dangers import read_dangers
from pipeline.normalise.files import LayoutReading, number_files
from pipeline.normalise.job_numbers import number_jobs
from pipeline.normalise.lines import read_lines
from pipeline.normalise.lists import read_lists
from pipeline.normalise.meanings import read_meanings
from pipeline.normalise.nothing_charged import count_nothing_charged
from pipeline.normalise.part_groups import read_part_groups
from pipeline.normalise.part_numbers import part_keys, read_part_numbers
from pipeline.normalise.phrase_reader import PhraseReader
from pipeline.normalise.pieces import read_pieces
from pipeline.normalise.row_problems import list_problems
from pipeline.normalise.serials import read_serials
from pipeline.normalise.tables import store_rows, text_columns
from pipeline.settings import Settings
from pipeline.vocabulary import outside_causes, vocabulary
from pipeline.vocabulary.function_groups import function_groups
from pipeline.vocabulary.no_parts import no_parts

__all__ = ["LayoutReading", "run"]


def run(
    con: duckdb.DuckDBPyConnection,
    settings: Settings,
    layouts: Mapping[str, LayoutReading],
    vocabulary_folder: Path | None = None,
    forms: Mapping[int, FileForms] | None = None,
) -> None:
    """
    Create the schema normalise from received.*.

    Parameters
    ----------
    con : connection
        Holds received.rows, received.files and, where loaded, received.machines, .parts, .stock, .notices.
        Its TimeZone must be UTC.
    settings : Settings
        Time zone and currency where a file names none.
    layouts : mapping of str to layout
        By the name in received.files.layout; a layout that is missing here says nothing.
    vocabulary_folder : Path or None
        The shop's own vocabulary, which wins over the starter words.
    forms : mapping or None
        By file number and column, where it is decided already; else the rows decide.
    """
    con.execute("create schema if not exists normalise")
    number_files(con, settings, layouts)
    words = vocabulary(vocabulary_folder)
    reader = PhraseReader(layouts, words, no_parts(vocabulary_folder))
    read_meanings(con, reader)
    keys = part_keys(con, reader.no_parts)
    read_pieces(con, layouts, reader, keys)
    read_dangers(con)
    outside = ({"meaning": meaning} for meaning in sorted(outside_causes(vocabulary_folder)))
    store_rows(con, "outside_causes", text_columns("meaning"), outside)
    read_part_numbers(con, words["unit_type"], keys)
    read_part_groups(con, function_groups(vocabulary_folder), words["part_name"])
    number_jobs(con)
    read_areas(con)
    read_serials(con)
    forms = choose_forms(con, layouts) if forms is None else forms
    count_nothing_charged(con, forms)
    read_lines(con, settings, layouts, forms)
    read_lists(con, settings, forms)
    list_problems(con)
