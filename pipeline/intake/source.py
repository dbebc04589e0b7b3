"""A file's bytes: opened, unpacked, looked over once. Never copied to a disk."""

from __future__ import annotations

import codecs
import gzip
import hashlib
import hmac
import io
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Literal

from pipeline.errors import UnreadableError
from pipeline.store.key import Key

CHUNK = 1 << 22  # bytes read at a time
GZIP_START = b"\x1f\x8b"

# How files begin that are read by readers of their own.
WORKBOOK_START, PARQUET_START = b"PK\x03\x04", b"PAR1"
OLD_OFFICE_START = b"\xd0\xcf\x11\xe0"
# Name of the stream in which an office program keeps a workbook that is locked with a password.
LOCKED = "EncryptedPackage".encode("utf-16-le")

# How files begin that no reader reads, and what to do about them.
STRANGERS = {
    codecs.BOM_UTF32_LE: "is text in UTF-32; save it in UTF-8, then load that.",
    codecs.BOM_UTF32_BE: "is text in UTF-32; save it in UTF-8, then load that.",
    b"%PDF": "is a PDF; export the table as CSV first, then load that.",
    b"BZh": "is packed with bzip2; unpack it first, then load that.",
    b"\x28\xb5\x2f\xfd": "is packed with zstd; unpack it first, then load that.",
    b"\xfd7zXZ": "is packed with xz; unpack it first, then load that.",
    b"PARE": "is an encrypted Parquet file; write it without encryption, then load that.",
    b"PK\x05\x06": "is an empty archive.",
    OLD_OFFICE_START: "is an old spreadsheet (.xls); save it as .xlsx or as CSV, then load that.",
}

Form = Literal["text", "workbook", "parquet"]

BYTE_ORDER_MARKS = {codecs.BOM_UTF8: "utf-8", codecs.BOM_UTF16_LE: "utf-16", codecs.BOM_UTF16_BE: "utf-16"}


@dataclass(frozen=True)
class Source:
    """
    A file to be taken in.

    Attributes
    ----------
    path : Path
        Where it lies; for bytes given in memory, what they are called.
    content : bytes or None
        The bytes, if they never lay on a disk (standard input).
    """

    path: Path
    content: bytes | None = field(default=None, repr=False)

    def open(self) -> IO[bytes]:
        """Open the bytes as they are, without unpacking."""
        if self.content is not None:
            return io.BytesIO(self.content)
        try:
            return self.path.open("rb")
        except IsADirectoryError:
            raise UnreadableError(f"{self.path} is a folder; name the files in it.") from None
        except FileNotFoundError:
            raise UnreadableError(f"{self.path} does not exist. Check the name.") from None
        except OSError as error:
            raise UnreadableError(f"{self.path} could not be opened: {error.strerror}.") from None

    def size(self) -> int:
        """Bytes as they lie there, packed or not."""
        return len(self.content) if self.content is not None else self.path.stat().st_size

    def chunks(self, chunk: int = CHUNK, tell: Callable[[int], None] | None = None) -> Iterator[bytes]:
        """
        Bytes of the file, unpacked, in pieces.

        Parameters
        ----------
        chunk : int
            Size of a piece.
        tell : callable or None
            Told how many bytes of the file as it lies there have been read.
        """
        with self.open() as raw:
            start = raw.read(8)
            raw.seek(0)
            packed = start.startswith(GZIP_START)
            self._refuse_stranger(start)
            # gzip.GzipFile is an IO[bytes] in all but its declared type.
            file: IO[bytes] = gzip.GzipFile(fileobj=raw) if packed else raw  # type: ignore[assignment]
            try:
                while piece := file.read(chunk):
                    yield piece
                    if tell is not None:
                        tell(raw.tell())
            except (EOFError, zlib.error, gzip.BadGzipFile):
                raise UnreadableError(
                    f"{self.path} is packed with gzip, but damaged or cut off. Fetch it again, then load it again."
                ) from None
            except OSError as error:
                raise UnreadableError(
                    f"{self.path} could not be read to its end: {error.strerror}."
                ) from None

    def _refuse_stranger(self, start: bytes) -> None:
        if start.startswith(OLD_OFFICE_START) and self._is_locked():
            raise UnreadableError(
                f"{self.path} is locked with a password; save it without one, then load that."
            )
        for mark, says in STRANGERS.items():
            if start.startswith(mark):
                raise UnreadableError(f"{self.path} {says}")

    def _is_locked(self) -> bool:
        with self.open() as raw:
            return any(LOCKED in piece for piece in iter(lambda: raw.read(CHUNK), b""))


@dataclass(frozen=True)
class Survey:
    """
    What a first pass over a file found.

    Attributes
    ----------
    source_hash : str
        Its keyed hash, by which the store knows it.
    content_hash : str
        The same before the key's wraps, to make hashes of its sheets from. Never to be kept.
    encoding : str
        How its text is written, if it is text.
    size, packed_size : int
        Bytes, unpacked and as they lie there.
    form : str
        What kind of file it is: text, workbook, parquet.
    """

    source_hash: str
    content_hash: str
    encoding: str
    size: int
    packed_size: int
    form: Form = "text"


def survey(source: Source, key: Key, tell: Callable[[int], None] | None = None) -> Survey:
    """
    Read a file once to name it and to learn how it is written.

    Parameters
    ----------
    source : Source
        The file; packed and unpacked forms of the same bytes get the same hash.
    key : Key
        Keys the hash, so that nobody without it can test whether a file they hold was loaded.
    tell : callable or None
        Told how many bytes of the file as it lies there have been read.

    Raises
    ------
    UnreadableError
        If the file cannot be opened or read, is empty, or is of a kind that no reader reads.
    """
    digest = hmac.new(key.text.encode(), b"source:", hashlib.sha256)
    utf8: codecs.IncrementalDecoder | None = codecs.getincrementaldecoder("utf-8")()
    marked = None
    form: Form = "text"
    size = 0
    for piece in source.chunks(tell=tell):
        if not size:
            form = _form(piece)
            marked = next((name for mark, name in BYTE_ORDER_MARKS.items() if piece.startswith(mark)), None)
            _refuse_binary(source, piece, marked, form)
        size += len(piece)
        digest.update(piece)
        utf8 = _still_utf8(utf8, piece) if form == "text" else None
    if not size:
        raise UnreadableError(f"{source.path} is empty.")
    if form != "text" and size != source.size():
        raise UnreadableError(
            f"{source.path} is packed with gzip, but no text ({form}); unpack it first, then load that."
        )
    if utf8 is not None and _still_utf8(utf8, b"", final=True) is None:
        utf8 = None
    # Windows-1252 is what an office program on Windows writes when it does not write UTF-8.
    encoding = marked if marked == "utf-16" else "utf-8" if utf8 is not None else "cp1252"
    content_hash = digest.hexdigest()[:32]
    return Survey(key.wrapped(content_hash), content_hash, encoding, size, source.size(), form)


def _form(start: bytes) -> Form:
    if start.startswith(WORKBOOK_START):
        return "workbook"
    return "parquet" if start.startswith(PARQUET_START) else "text"


def _still_utf8(
    decoder: codecs.IncrementalDecoder | None, piece: bytes, *, final: bool = False
) -> codecs.IncrementalDecoder | None:
    if decoder is None:
        return None
    try:
        decoder.decode(piece, final)
    except UnicodeDecodeError:
        return None
    return decoder


def _refuse_binary(source: Source, start: bytes, marked: str | None, form: Form) -> None:
    # One stray NUL in a text is a damaged row; many at the start are no text at all.
    if form == "text" and marked != "utf-16" and start[:4096].count(b"\0") > 4:
        raise UnreadableError(f"{source.path} is not a text file. Export the table as CSV, then load that.")
