"""Seeded mutations of the bytes of a file."""

from __future__ import annotations

import gzip
import io
import random
import zipfile
from collections.abc import Callable

from tests.fuzz.cases import Case, case_of_bytes, case_of_packed
from tests.fuzz.samples import Sample

Mutate = Callable[[random.Random, bytes], bytes]

SIGNS = (
    b'"',
    b'""',
    b"'",
    b"\r",
    b"\n",
    b"\r\n",
    b"\n\n\n",
    b"\0",
    b",",
    b";",
    b"\t",
    b"\\",
    b"\x1a",
    b"\x0c",
    b"\x85",
)
INVALID = (
    b"\xff",
    b"\xc3",
    b"\xed\xa0\x80",
    b"\xf5\x80\x80\x80",
    b"\xc0\xaf",
    b"\xe2\x82",
    b"\x81\x8d\x8f\x90\x9d",
)
MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff", b"\0\0\xfe\xff")
HUGE = (
    b"9" * 400,
    b"-" + b"9" * 30,
    b"1e999",
    b"0." + b"0" * 300 + b"1",
    b"18446744073709551616",
    b"0x7fffffffffffffff",
)
STARTS = (
    b"{",
    b"[",
    b"[]",
    b"PK\x03\x04",
    b"PAR1",
    b"\x1f\x8b",
    b"%PDF",
    b"\xd0\xcf\x11\xe0",
    b"sep=;\n",
    b"#",
    b" ",
    b"\n",
)


def _at(rng: random.Random, data: bytes) -> int:
    return rng.randint(0, len(data))


def _range(rng: random.Random, data: bytes, most: int = 400) -> tuple[int, int]:
    start = _at(rng, data)
    return start, min(len(data), start + rng.randint(1, most))


def flip(rng: random.Random, data: bytes) -> bytes:
    """Change one bit of some bytes."""
    changed = bytearray(data)
    for _ in range(rng.randint(1, 4)):
        if changed:
            changed[rng.randrange(len(changed))] ^= 1 << rng.randrange(8)
    return bytes(changed)


def insert_bytes(rng: random.Random, data: bytes) -> bytes:
    """Put random bytes somewhere."""
    at = _at(rng, data)
    return data[:at] + rng.randbytes(rng.randint(1, 12)) + data[at:]


def insert_sign(rng: random.Random, data: bytes) -> bytes:
    """Put a sign that means something somewhere."""
    at = _at(rng, data)
    return data[:at] + rng.choice((*SIGNS, *INVALID, *MARKS, *HUGE)) + data[at:]


def insert_quotes(rng: random.Random, data: bytes) -> bytes:
    """Put quotation marks somewhere, most often where a field begins or ends."""
    for _ in range(rng.randint(1, 3)):
        at = _at(rng, data)
        near = max(data.find(sign, at) for sign in (b",", b";", b"\t", b"\n"))
        at = near + rng.randint(0, 1) if near >= 0 and rng.random() < 0.8 else at
        data = data[:at] + b'"' + data[at:]
    return data


def delete(rng: random.Random, data: bytes) -> bytes:
    """Take a piece out."""
    start, end = _range(rng, data)
    return data[:start] + data[end:]


def delete_line_end(rng: random.Random, data: bytes) -> bytes:
    """Join two lines."""
    at = data.find(b"\n", _at(rng, data))
    return data if at < 0 else data[:at] + data[at + 1 :]


def duplicate(rng: random.Random, data: bytes) -> bytes:
    """Repeat a piece."""
    start, end = _range(rng, data, 3000)
    return data[:end] + data[start:end] + data[end:]


def move(rng: random.Random, data: bytes) -> bytes:
    """Take a piece out and put it somewhere else."""
    start, end = _range(rng, data)
    rest = data[:start] + data[end:]
    at = _at(rng, rest)
    return rest[:at] + data[start:end] + rest[at:]


def truncate(rng: random.Random, data: bytes) -> bytes:
    """Cut the end off."""
    return data[: _at(rng, data)]


def overwrite(rng: random.Random, data: bytes) -> bytes:
    """Put the same byte over a piece."""
    start, end = _range(rng, data, 60)
    return data[:start] + rng.choice((b"\0", b" ", b'"', b"\xff", b"9", b"\n")) * (end - start) + data[end:]


def start_with(rng: random.Random, data: bytes) -> bytes:
    """Put a mark, or how another kind of file begins, at the start."""
    return rng.choice((*MARKS, *STARTS)) + data


def end_with(rng: random.Random, data: bytes) -> bytes:
    """Put something at the end."""
    return data + rng.choice((*SIGNS, *INVALID, b"\n\n\n", b"\x1a", b'"' * 3, b"\0" * 600, b"Total;;;\n"))


def recode(rng: random.Random, data: bytes) -> bytes:
    """Write the text another way."""
    text = data.decode("utf-8", errors="replace")
    return text.encode(rng.choice(("utf-16", "utf-16-le", "cp1252", "utf-8-sig", "utf-32")), errors="replace")


def other_line_ends(rng: random.Random, data: bytes) -> bytes:
    """Write all line ends another way, or some."""
    plain = data.replace(b"\r\n", b"\n")
    if rng.random() < 0.5:
        return plain.replace(b"\n", rng.choice((b"\r\n", b"\r", b"\n\n", b"\n\r")))
    lines = plain.split(b"\n")
    return b"".join(line + rng.choice((b"\n", b"\r\n", b"\r")) for line in lines)


TEXT: tuple[Mutate, ...] = (
    flip, insert_bytes, insert_sign, insert_sign, insert_quotes, insert_quotes, delete, delete_line_end, duplicate, move,
    truncate, overwrite, start_with, end_with, recode, other_line_ends,
)  # fmt: skip
BINARY: tuple[Mutate, ...] = (
    flip, flip, insert_bytes, delete, duplicate, move, truncate, overwrite, end_with, insert_sign,
)  # fmt: skip


def mutated_bytes(sample: Sample, rng: random.Random, seed: int) -> Case:
    """A sample with one to three mutations of its bytes."""
    content = sample.content
    if sample.form == "packed" and rng.random() < 0.5:
        done, text = _done(rng, gzip.decompress(content), TEXT)
        return case_of_packed(sample, f"{sample.name} bytes {seed}: {done}, packed", text)
    if sample.form == "workbook" and rng.random() < 0.6:
        name, done, content = _with_part_mutated(rng, content)
        return case_of_bytes(sample, f"{sample.name} bytes {seed}: {done} in {name}", content)
    done, content = _done(rng, content, TEXT if sample.form in ("delimited", "json") else BINARY)
    return case_of_bytes(sample, f"{sample.name} bytes {seed}: {done}", content)


def _done(rng: random.Random, data: bytes, every: tuple[Mutate, ...]) -> tuple[str, bytes]:
    chosen = [rng.choice(every) for _ in range(rng.choice((1, 1, 1, 2, 3)))]
    for mutate in chosen:
        data = mutate(rng, data)
    return ", ".join(mutate.__name__ for mutate in chosen), data


def _with_part_mutated(rng: random.Random, content: bytes) -> tuple[str, str, bytes]:
    """A workbook of which one part of the archive is mutated, so that its sums are right."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    name = rng.choice([name for name in parts if name.startswith("xl/")])
    done, parts[name] = _done(rng, parts[name], TEXT)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for each, part in parts.items():
            archive.writestr(each, part)
    return name, done, out.getvalue()
