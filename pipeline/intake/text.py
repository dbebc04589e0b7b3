"""Bytes of a file as UTF-8 text with plain line ends, piece by piece."""

from __future__ import annotations

import codecs
from collections.abc import Callable, Iterator

from pipeline.intake.source import CHUNK, Source


def text_chunks(
    source: Source, encoding: str, chunk: int = CHUNK, tell: Callable[[int], None] | None = None
) -> Iterator[bytes]:
    r"""
    Text of a file as UTF-8 bytes, without byte order mark, every line end (\r\n, \r) as \n.

    Parameters
    ----------
    source : Source
        The file.
    encoding : str
        As the survey found it.
    chunk : int
        Size of the pieces; nothing may depend on it.
    tell : callable or None
        Told how many bytes of the file as it lies there have been read.
    """
    pieces = source.chunks(chunk, tell)
    if encoding != "utf-8":
        pieces = _recoded(pieces, encoding)
    return _plain_line_ends(_without_mark(pieces))


def _recoded(pieces: Iterator[bytes], encoding: str) -> Iterator[bytes]:
    # Five bytes mean nothing in Windows-1252; a mark of replacement loses no row.
    decoder = codecs.getincrementaldecoder(encoding)(errors="replace")
    for piece in pieces:
        yield decoder.decode(piece).encode()
    yield decoder.decode(b"", final=True).encode()


def _without_mark(pieces: Iterator[bytes]) -> Iterator[bytes]:
    start = b""
    for piece in pieces:
        start += piece
        if len(start) >= len(codecs.BOM_UTF8):
            break
    yield start.removeprefix(codecs.BOM_UTF8)
    yield from pieces


def _plain_line_ends(pieces: Iterator[bytes]) -> Iterator[bytes]:
    held = b""
    for piece in pieces:
        text = held + piece
        held = b""
        if text.endswith(b"\r"):  # half of a line end, perhaps
            text, held = text[:-1], b"\r"
        if b"\r" in text:
            text = text.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        yield text
    if held:
        yield b"\n"
