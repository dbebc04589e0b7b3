"""
A workbook looked over before it is opened: what it is, how much it unpacks to, which cells are merged.

A workbook is a ZIP archive of XML. Its reader builds every sheet whole and rectangular in memory, so what would be
too much is found here first, in pieces.
"""

from __future__ import annotations

import html
import lzma
import re
import struct
import zipfile
import zlib
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field

from pipeline.errors import UnreadableError
from pipeline.intake.source import CHUNK, Source

MOST_UNPACKED = 1 << 29  # bytes of all parts together
MOST_CELLS = 1 << 24  # of one sheet, the empty ones between the filled ones too

_SHEET = re.compile(rb"<(?:\w+:)?sheet\s[^>]*>")
_ATTRIBUTE = re.compile(rb"""([\w:]+)\s*=\s*["']([^"']*)["']""")
_RELATION = re.compile(rb"<(?:\w+:)?Relationship\s[^>]*>")
_DATE_1904 = re.compile(rb"""date1904\s*=\s*["'](?:1|true)["']""")
# Where a cell is: the letters of its column, and the number of its row.
_COLUMN = re.compile(rb"""\sr=["']([A-Z]{1,3})\d""")
_ROW = re.compile(rb"""\sr=["'][A-Z]{0,3}(\d{1,7})["']""")
# A cell that holds something; a cell that is only coloured closes itself.
_FILLED = re.compile(rb"""<(?:\w+:)?c\s[^>]*?\br=["']([A-Z]{1,3})(\d{1,7})["'](?:[^>]*[^/>])?>""")
# A cell that does not say where it is stands behind the one before it.
_UNPLACED = re.compile(rb"""<(?:\w+:)?c(?=[\s/>])(?![^>]*\sr=)""")
_CELL = re.compile(rb"<(?:\w+:)?c[\s/>]")
_ROW_BEGINS = re.compile(rb"<(?:\w+:)?row[\s/>]")
_MERGED = re.compile(
    rb"""<(?:\w+:)?mergeCell\s[^>]*?ref=["']([A-Z]{1,3})(\d{1,7}):([A-Z]{1,3})(\d{1,7})["']"""
)
# What the archive's reader raises on one that is damaged; it seeks before the file's beginning where sizes are wrong.
_DAMAGE = (
    *(zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, EOFError, OSError),
    *(NotImplementedError, RuntimeError, KeyError, ValueError, OverflowError),
)
_LONGEST_TAG = 512  # bytes that a tag may go on into the next piece

WHAT_ELSE = {
    "content.xml": "is an OpenDocument file; save the sheet as .xlsx or as CSV, then load that.",
    "xl/workbook.bin": "is a binary workbook (.xlsb); save it as .xlsx or as CSV, then load that.",
    "word/document.xml": "is a text document; put the table into a sheet or a CSV file, then load that.",
}


@dataclass
class SheetPart:
    """
    What was seen of one sheet.

    Attributes
    ----------
    name : str
        Of its part in the archive.
    is_hidden : bool
        Whether it is not shown.
    title : str
        As the workbook shows it; it may be somebody's name.
    columns : tuple of int
        First and last 1-based column, those of coloured empty cells too unless that is too much; (0, 0) for none.
    last_row : int
        Likewise.
    merged : list of tuple of int
        First row, first column, last row, last column of cells that are merged downwards.
    has_unplaced : bool
        Whether some cells do not say where they are; they are counted.
    """

    name: str
    is_hidden: bool
    title: str = field(default="", repr=False)
    columns: tuple[int, int] = (0, 0)
    last_row: int = 0
    merged: list[tuple[int, int, int, int]] = field(default_factory=list)
    has_unplaced: bool = False


@dataclass(frozen=True)
class Parts:
    """Sheets of a workbook in their order, and whether it counts its days from 1904."""

    sheets: tuple[SheetPart, ...]
    counts_from_1904: bool


def look_over(source: Source) -> Parts:
    """
    Look a workbook over.

    Raises
    ------
    UnreadableError
        If it is no workbook, is damaged, or unpacks to more than can be held in memory.
    """
    try:
        with source.open() as raw, zipfile.ZipFile(raw) as archive:
            return _look_over(source, archive)
    except _DAMAGE:
        raise damaged(source) from None


def damaged(source: Source) -> UnreadableError:
    """Say that a workbook cannot be read."""
    return UnreadableError(
        f"{source.path} is a workbook, but damaged or cut off. Open it, save it again as .xlsx, then load that."
    )


def _look_over(source: Source, archive: zipfile.ZipFile) -> Parts:
    names = set(archive.namelist())
    if "xl/workbook.xml" not in names:
        says = next(
            (says for name, says in WHAT_ELSE.items() if name in names),
            "is an archive; unpack it first, then load the files in it.",
        )
        raise UnreadableError(f"{source.path} {says}")
    if sum(part.file_size for part in archive.infolist()) > MOST_UNPACKED:
        raise UnreadableError(
            f"{source.path} unpacks to more than {MOST_UNPACKED >> 20} MB; save its sheets as CSV, then load those."
        )
    book = archive.read("xl/workbook.xml")
    sheets = tuple(_sheets(book, archive))
    seen = {sheet.name: sheet for sheet in sheets}
    if not seen or not names.issuperset(seen):
        raise damaged(source)
    # Every part is unpacked once: a damaged one, or one that is longer than it says, shows here.
    for part in archive.infolist():
        pieces = _pieces(archive, part.filename)
        if part.filename in seen:
            _look_at(seen[part.filename], pieces)
        else:
            deque(pieces, maxlen=0)
    for sheet in sheets:
        if sheet.has_unplaced:
            _count_cells(sheet, _pieces(archive, sheet.name))
        # Coloured empty cells are no part of what is read, but only a slower look tells them from the others.
        if not sheet.has_unplaced and (sheet.merged or sheet.last_row * _width(sheet) > MOST_CELLS):
            _look_closely_at(sheet, _pieces(archive, sheet.name))
    _refuse_too_much(source, sheets)
    return Parts(sheets, _DATE_1904.search(book) is not None)


def _pieces(archive: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    with archive.open(name) as file:
        while piece := file.read(CHUNK):
            yield piece


def _sheets(book: bytes, archive: zipfile.ZipFile) -> Iterator[SheetPart]:
    relations = dict(_relations(archive.read("xl/_rels/workbook.xml.rels")))
    for tag in _SHEET.findall(book):
        attributes = {name.rpartition(b":")[2]: value for name, value in _ATTRIBUTE.findall(tag)}
        name = relations.get(attributes.get(b"id", b""), "")
        title = html.unescape(attributes.get(b"name", b"").decode(errors="replace"))
        yield SheetPart(name, attributes.get(b"state", b"visible") != b"visible", title)


def _relations(text: bytes) -> Iterator[tuple[bytes, str]]:
    for tag in _RELATION.findall(text):
        attributes = dict(_ATTRIBUTE.findall(tag))
        target = attributes.get(b"Target", b"").decode(errors="replace")
        yield attributes.get(b"Id", b""), target[1:] if target.startswith("/") else f"xl/{target}"


def _look_at(sheet: SheetPart, pieces: Iterator[bytes]) -> None:
    columns: set[bytes] = set()
    for text in _overlapping(pieces):
        columns.update(_COLUMN.findall(text))
        sheet.has_unplaced = sheet.has_unplaced or _UNPLACED.search(text) is not None
        sheet.last_row = max(sheet.last_row, _largest(_ROW.findall(text)))
        sheet.merged += [
            (int(top), _column(left), int(bottom), _column(right))
            for left, top, right, bottom in _MERGED.findall(text)
            if top != bottom
        ]
    sheet.columns = _reach(columns)


def _look_closely_at(sheet: SheetPart, pieces: Iterator[bytes]) -> None:
    columns: set[bytes] = set()
    sheet.last_row = 0
    for text in _overlapping(pieces):
        cells = _FILLED.findall(text)
        columns.update(letters for letters, _ in cells)
        sheet.last_row = max(sheet.last_row, _largest([number for _, number in cells]))
    sheet.columns = _reach(columns)


def _count_cells(sheet: SheetPart, pieces: Iterator[bytes]) -> None:
    """Reach of a sheet in which cells stand one behind the other: from the first column, as many as its longest row has."""
    rows = longest = 0
    open_row = 0
    for text in pieces:
        first, *others = [len(_CELL.findall(row)) for row in _ROW_BEGINS.split(text)]
        rows += len(others)
        longest = max([longest, open_row + first, *others])
        open_row = others[-1] if others else open_row + first
    sheet.columns = (1, max(sheet.columns[1], longest))
    sheet.last_row = max(sheet.last_row, rows)


def _overlapping(pieces: Iterator[bytes]) -> Iterator[bytes]:
    """Pieces that begin with the end of the one before, so that every tag is whole in one of them."""
    rest = b""
    for piece in pieces:
        text = rest + piece
        yield text
        rest = text[-_LONGEST_TAG:]


def _largest(numbers: list[bytes]) -> int:
    """Largest of many numbers; only the longest of them are compared."""
    longest = max(map(len, numbers), default=0)
    return int(max((number for number in numbers if len(number) == longest), default=b"0"))


def _reach(columns: set[bytes]) -> tuple[int, int]:
    places = [_column(letters) for letters in columns]
    return min(places, default=0), max(places, default=0)


def _width(sheet: SheetPart) -> int:
    return sheet.columns[1] - sheet.columns[0] + 1


def _column(letters: bytes) -> int:
    """
    Number of a column.

    >>> _column(b"A"), _column(b"XFD")
    (1, 16384)
    """
    number = 0
    for letter in letters:
        number = 26 * number + letter - 64
    return number


def _refuse_too_much(source: Source, sheets: tuple[SheetPart, ...]) -> None:
    for number, sheet in enumerate(sheets, start=1):
        if sheet.last_row * _width(sheet) > MOST_CELLS:
            raise UnreadableError(
                f"{source.path}, sheet {number}: its cells reach over {sheet.last_row:,} rows and {_width(sheet):,} "
                "columns, more than can be held in memory. Delete what stands far from the table, or save the sheet "
                "as CSV, then load that."
            )
