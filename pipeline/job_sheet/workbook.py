"""The workbook: one row per line of work, drop-downs of the standard log's own values; `mendstat load` reads it as it is."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from pipeline.standard_log import LOG, Column
from pipeline.vocabulary import is_closed, standard_values
from pipeline.vocabulary.cautions import GENERAL

ROWS = 2000  # that have drop-downs; one van writes fewer lines a year
SHEET, WORDS, HELP = "log", "words", "how to fill it in"
_MOMENT, _DAY, _TEXT = "yyyy-mm-dd hh:mm", "yyyy-mm-dd", "@"
_FORMATS = {
    "moment": _MOMENT,
    "day": _DAY,
    "minutes": "0",
    "count": "0",
    "number": "General",
    "money": "0.00",
}
_FIRST_DAY = date(1980, 1, 1)
_HELP = (
    "One row for each line of work, check or part. Fields of the job and the visit repeat on each of its rows.",
    "Fill in what you know and leave the rest empty: an empty cell says nothing, and that is better than a guess.",
    "Where a cell has a list, choose from it. Cause, mechanism and test run are worth most: no figure can find them later.",
    "Days as 2026-03-04, moments as 2026-03-04 14:05, amounts without tax.",
    "unit_id, serial, site_id and technician are replaced before anything is kept. Write no names, telephone numbers or addresses.",
    "Take it in with: mendstat load job-sheet.xlsx",
    GENERAL,
)


def workbook(rows: Sequence[Mapping[str, Any]] = ()) -> bytes:
    """
    The workbook's content.

    Parameters
    ----------
    rows : sequence of mappings
        Lines already known, by column of the standard log; days and moments as dates, numbers as numbers. Usually none.

    Returns
    -------
    bytes
        A file in the open format for workbooks (ISO/IEC 29500, .xlsx).
    """
    buffer = io.BytesIO()
    # Cells are never guessed at: a text that looks like a number or a formula stays the text it is.
    options = {
        "in_memory": True,
        "strings_to_numbers": False,
        "strings_to_formulas": False,
        "strings_to_urls": False,
    }
    with xlsxwriter.Workbook(buffer, options) as book:
        sheet = book.add_worksheet(SHEET)
        words = book.add_worksheet(WORDS)
        _help(book, book.add_worksheet(HELP))
        _columns(book, sheet)
        for place, column in enumerate(LOG):
            _offer(sheet, words, place, column)
        for number, row in enumerate(rows, start=1):
            _line(sheet, number, row)
        _finish(book, sheet, words)
    return buffer.getvalue()


def _columns(book: Workbook, sheet: Worksheet) -> None:
    for place, column in enumerate(LOG):
        form = book.add_format({"num_format": _FORMATS.get(column.kind, _TEXT)})
        longest = max(map(len, standard_values(column.name)), default=0)
        width = 17 if column.kind == "moment" else max(len(column.name) + 3, min(longest + 2, 26), 11)
        sheet.set_column(place, place, width, form)


def _offer(sheet: Worksheet, words: Worksheet, place: int, column: Column) -> None:
    """A list to choose from, or what the cell may hold."""
    values = standard_values(column.name)
    if values:
        # Without a row of headers: a sheet that has one would be taken in as a log.
        words.write_column(0, place, values)
        name = xl_col_to_name(place)
        rule: dict[str, Any] = {"validate": "list", "source": f"='{WORDS}'!${name}$1:${name}${len(values)}"}
        if is_closed(column.name):
            rule |= {
                "error_title": column.name,
                "error_message": "Choose from the list, or leave the cell empty.",
            }
        else:
            rule["show_error"] = False  # other words are welcome
    elif column.kind in ("moment", "day"):
        rule = {
            "validate": "date",
            "criteria": ">=",
            "value": _FIRST_DAY,
            "error_title": column.name,
            "error_message": "A day such as 2026-03-04"
            + (", or with its time 2026-03-04 14:05." if column.kind == "moment" else "."),
        }
    elif column.kind in ("minutes", "count", "number", "money"):
        rule = {
            "validate": "decimal",
            "criteria": ">=",
            "value": 0,
            "error_title": column.name,
            "error_message": "A number, not below 0.",
        }
        if column.kind == "money":
            # A credit is an amount below nothing.
            rule |= {
                "criteria": "between",
                "minimum": -1_000_000,
                "maximum": 1_000_000,
                "error_message": "An amount without tax.",
            }
            del rule["value"]
    else:
        return
    sheet.data_validation(1, place, ROWS, place, rule)


def _line(sheet: Worksheet, number: int, row: Mapping[str, Any]) -> None:
    for place, column in enumerate(LOG):
        value = row.get(column.name)
        if isinstance(value, datetime | date):
            sheet.write_datetime(number, place, value)
        elif isinstance(value, int | float) and not isinstance(value, bool):
            sheet.write_number(number, place, value)
        elif value is not None:
            sheet.write_string(number, place, str(value))


def _finish(book: Workbook, sheet: Worksheet, words: Worksheet) -> None:
    head = book.add_format({"bold": True, "bottom": 2, "num_format": _TEXT})
    for place, column in enumerate(LOG):
        sheet.write_string(0, place, column.name, head)
    sheet.freeze_panes(1, 1)
    sheet.set_landscape()
    sheet.repeat_rows(0)
    words.set_column(0, len(LOG), 16)
    words.protect()
    sheet.activate()


def _help(book: Workbook, sheet: Worksheet) -> None:
    sheet.set_column(0, 0, 100, book.add_format({"text_wrap": True, "valign": "top"}))
    for number, sentence in enumerate(_HELP):
        sheet.write_string(number, 0, sentence)
