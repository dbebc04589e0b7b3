"""Results as text: a table to read, or JSON, CSV, Parquet for another program."""

from __future__ import annotations

import io
import json
from datetime import date, datetime
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.errors import UnreadableError

FORMATS = ("table", "json", "csv", "parquet", "xlsx")
# Columns that say the same in every row stand once, under the table.
_BELOW = ("unit", "level", "basis", "from", "complete_to")
LISTED = "report"  # the unit of what is listed one by one
_WIDEST = 36
_FORMULA = r"^[=+@\t\r-]"
NOTES_SHOWN = 2


def render(result: pl.DataFrame, how: str) -> bytes:
    """A result in one of FORMATS; numbers are written the same whatever the machine's locale."""
    if how == "json":
        return json_bytes(result.to_dicts())
    if how == "csv":
        return harmless_in_a_spreadsheet(result).write_csv().encode()
    if how == "parquet":
        buffer = io.BytesIO()
        result.write_parquet(buffer)
        return buffer.getvalue()
    if how == "xlsx":
        book = io.BytesIO()
        harmless_in_a_spreadsheet(result).write_excel(book, autofit=True)
        return book.getvalue()
    return (text_table(result) + "\n").encode()


def harmless_in_a_spreadsheet(result: pl.DataFrame) -> pl.DataFrame:
    """Texts that a spreadsheet would take for a formula get an apostrophe before them; numbers stay numbers."""
    text = pl.col(pl.String)
    return result.with_columns(
        pl.when(text.str.contains(_FORMULA)).then("'" + text).otherwise(text).name.keep()
    )


def json_bytes(rows: list[dict[str, Any]]) -> bytes:
    """A list of objects; null where nothing can be said."""
    return (json.dumps(rows, default=_plain, ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode()


def write(content: bytes, output: Path) -> None:
    """Write a result to a file."""
    try:
        output.write_bytes(content)
    except OSError as error:
        raise UnreadableError(
            f"{output} could not be written ({error.strerror}). Name another file with --output."
        ) from None


def page_path(output: Path | None, usual: str) -> Path:
    """
    Where a page is to be written: as asked for, else under its usual name in this folder.

    Raises
    ------
    UnreadableError
        If it is no .html.
    """
    path = output or Path(usual)
    if path.suffix.lower() not in (".html", ".htm"):
        raise UnreadableError(f"{path} is no page: name a file that ends in .html with --output.")
    return path


def text_table(result: pl.DataFrame) -> str:
    """A frame as a table of text: value with its interval, counts as "x of n", what is the same everywhere below it."""
    if "unit" not in result.columns:
        return _grid(result.columns, [[_cell(cell) for cell in row] for row in result.rows()])
    if result.height and (result["unit"] == LISTED).all():
        return _listing(result)
    notes: dict[str, None] = {}
    rows = [_figure_cells(row, result.columns, notes) for row in result.to_dicts()]
    if not rows:
        return "(no rows)"
    lines = _grid(list(rows[0]), [list(row.values()) for row in rows])
    return "\n".join([lines, *_below(result), *_notes(list(notes))])


def _listing(result: pl.DataFrame) -> str:
    """Things that are listed and not estimated: no value, no counts, only what each one is."""
    shown = result.drop(
        "value", "low", "high", "numerator", "denominator", "level", "sample", "basis", "note", "unit"
    )
    return _grid(shown.columns, [[_cell(cell) for cell in row] for row in shown.rows()])


def _figure_cells(row: dict[str, Any], columns: list[str], notes: dict[str, None]) -> dict[str, str]:
    shown = {name: _cell(row[name]) for name in columns[: columns.index("value")]}
    shown["value"] = _cell(row["value"]) if row["value"] is not None else "too few to say"
    is_told = row["low"] is not None or row["high"] is not None
    shown["likely between"] = f"{_cell(row['low'])} and {_cell(row['high'])}" if is_told else "-"
    # "9 of 14" is a share; a rate or a mean is so much over so much.
    between = "of" if row["unit"].startswith(("share", "probability")) else "/"
    shown["counts"] = f"{_cell(row['numerator'])} {between} {_cell(row['denominator'])}"
    shown["sample"] = row["sample"]
    extras = columns[columns.index("note") + 1 :]
    shown |= {name: _cell(row[name]) for name in extras if name not in _BELOW}
    if row["note"]:
        notes[row["note"]] = None
    return shown


def _notes(notes: list[str]) -> list[str]:
    if len(notes) > NOTES_SHOWN:
        return ["note: differs from row to row; --format csv or json has them"]
    return [f"note: {note}" for note in notes]


def _below(result: pl.DataFrame) -> list[str]:
    lines = []
    for name in _BELOW:
        if name in result.columns:
            values = result[name].unique(maintain_order=True).to_list()
            lines.append(f"{name.replace('_', ' ')}: {', '.join(_cell(value) for value in values)}")
    return lines


def _grid(header: list[str], rows: list[list[str]]) -> str:
    cells = [[name.replace("_", " ") for name in header], *[[cell[:_WIDEST] for cell in row] for row in rows]]
    widths = [max(len(row[at]) for row in cells) for at in range(len(header))]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in cells
    ]
    return "\n".join([lines[0], "  ".join("-" * width for width in widths), *lines[1:]])


def _cell(value: object) -> str:
    if value is None:
        return "-"
    if isinstance(value, float):
        return f"{value:.0f}" if value == round(value) and abs(value) >= 1 else f"{value:.4g}"
    if isinstance(value, datetime):
        return value.isoformat(sep=" ", timespec="minutes").removesuffix(" 00:00")
    return str(value)


def _plain(value: object) -> str:
    if isinstance(value, date | datetime):
        text = value.isoformat()
        return text.removesuffix("T00:00:00")
    raise TypeError(f"{type(value).__name__} has no plain form")
