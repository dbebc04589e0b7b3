"""What was found out about a new file, as text for a terminal."""

from __future__ import annotations

from pathlib import Path

import polars as pl

from pipeline.draft_layout import in_words
from pipeline.recognition.recognising import Recognised

WIDEST = 22


def told(found: Recognised) -> str:
    """Each column as a sentence, the first rows as they would be read, and the questions."""
    head = (
        f"{found.file} is read by the layout {found.layout_name} already."
        if found.is_known
        else f"{found.file} fits no known layout. This is what it seems to hold:"
    )
    sheets = ", ".join(str(sheet) for sheet in found.other_sheets)
    more = [f"Not looked at, because their columns are others: sheet {sheets}."] if sheets else []
    return "\n".join(
        [
            head,
            "",
            *found.sentences,
            *more,
            "",
            "The first rows as they would be read:",
            "",
            _grid(found.rows),
        ]
    )


def answer_in(found: Recognised, path: Path, load: str) -> str:
    """Where the layout stands, what to answer in it, and the command that then loads the file."""
    if not found.questions:
        return f"\nThe layout is written in {path}. Look it over, change what is wrong, then: {load}"
    return "\n".join(
        [
            "",
            *(
                line
                for question in found.questions
                for line in (*in_words(question, path, f"then: {load}"), "")
            ),
        ]
    )


def _grid(rows: pl.DataFrame) -> str:
    cells = [list(rows.columns), *([_short(cell) for cell in row] for row in rows.rows())]
    widths = [max(len(row[n]) for row in cells) for n in range(rows.width)]
    return "\n".join(
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in cells
    )


def _short(cell: str) -> str:
    text = " ".join(cell.split())
    return text if len(text) <= WIDEST else f"{text[: WIDEST - 1]}…"
