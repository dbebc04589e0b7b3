"""Small workbooks for tests, whole and damaged."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable

import xlsxwriter
from xlsxwriter.worksheet import Worksheet

Fill = Callable[[Worksheet, Callable[[str], object]], object]


def book(*sheets: Fill, hidden: tuple[int, ...] = (), **options: object) -> bytes:
    """A workbook; each sheet is filled by a function of the sheet and of a maker of number formats."""
    out = io.BytesIO()
    written = xlsxwriter.Workbook(out, {"in_memory": True, **options})
    for number, fill in enumerate(sheets):
        sheet = written.add_worksheet()
        fill(sheet, lambda code: written.add_format({"num_format": code}))
        if number in hidden:
            sheet.hide()
    written.close()
    return out.getvalue()


def table(*rows: list[object]) -> Fill:
    """Fill a sheet with rows of texts and numbers, from its first cell on."""

    def fill(sheet: Worksheet, _: object) -> None:
        for number, row in enumerate(rows):
            sheet.write_row(number, 0, row)

    return fill


def archive(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in parts.items():
            packed.writestr(name, content)
    return out.getvalue()


def parts_of(content: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def changed(content: bytes, name: str, change: Callable[[bytes], bytes]) -> bytes:
    """The same workbook with one part of the archive changed."""
    parts = parts_of(content)
    return archive(parts | {name: change(parts[name])})
