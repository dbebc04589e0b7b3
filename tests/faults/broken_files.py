"""Files that are broken, or made to do harm: each is written by a function of its own."""

from __future__ import annotations

import gzip
import io
import json
import struct
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

import polars as pl

HEADER = "job_id,unit_id,unit_type,reported_at,finished_at,symptom,action,part_no,outcome"
ROW = "J1,U1,washer,2024-01-02,2024-01-03,not draining,replace,100-20,fixed"
MEGABYTE = 1024 * 1024
Write = Callable[[Path], None]
BROKEN: dict[str, Write] = {}


def broken(name: str) -> Callable[[Write], Write]:
    """Register a function that writes a file of that name."""

    def register(write: Write) -> Write:
        BROKEN[name] = write
        return write

    return register


def _text(*lines: str) -> bytes:
    return "\n".join([HEADER, *lines, ""]).encode()


@broken("empty.csv")
def _empty(path: Path) -> None:
    path.write_bytes(b"")


@broken("only a mark of order.csv")
def _only_mark(path: Path) -> None:
    path.write_bytes(b"\xef\xbb\xbf")


@broken("only blanks.csv")
def _only_blanks(path: Path) -> None:
    path.write_bytes(b" \n\n\t\n" * 1000)


@broken("only a header.csv")
def _only_header(path: Path) -> None:
    path.write_bytes(_text())


@broken("utf-16 without a mark.csv")
def _utf_16(path: Path) -> None:
    path.write_bytes(_text(ROW).decode().encode("utf-16-le"))


@broken("utf-32.csv")
def _utf_32(path: Path) -> None:
    path.write_bytes(_text(ROW).decode().encode("utf-32"))


@broken("letters of a mainframe.csv")
def _mainframe(path: Path) -> None:
    path.write_bytes(_text(ROW).decode().encode("cp500"))


@broken("a picture.csv")
def _picture(path: Path) -> None:
    pixels = zlib.compress(bytes(range(256)) * 4000)
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + struct.pack(">I", len(pixels)) + b"IDAT" + pixels)


@broken("one line of 200 MB.csv")
def _one_line(path: Path) -> None:
    with path.open("wb") as file:
        for _ in range(200):
            file.write(b"x" * MEGABYTE)


@broken("a row of 200 MB.csv")
def _one_row(path: Path) -> None:
    with path.open("wb") as file:
        file.write(_text(ROW) + b"J2,")
        for _ in range(200):
            file.write(b"pump, " * (MEGABYTE // 6))
        file.write(b"\n" + ROW.replace("J1", "J3").encode())


@broken("a quote never closed.csv")
def _open_quote(path: Path) -> None:
    rows = "\n".join(ROW.replace("1", str(n), 2) for n in range(2, 200_000))
    path.write_bytes(_text('J1,U1,"washer,2024-01-02,2024-01-03,not draining', rows))


@broken("100,000 columns.csv")
def _columns(path: Path) -> None:
    names = ",".join(f"column {n}" for n in range(100_000))
    path.write_text(f"{HEADER},{names}\n" + f"{ROW},{',' * 99_999}\n" * 5)


@broken("100,000 columns without names.csv")
def _nameless(path: Path) -> None:
    path.write_text(HEADER + "," * 100_000 + "\n" + ROW + "," * 100_000 + "\n")


@broken("zero bytes.csv")
def _zero_bytes(path: Path) -> None:
    path.write_bytes(
        _text(ROW, ROW.replace("J1", "J2").replace("washer", "wa\0sher"), "\0" * 100, ROW.replace("J1", "J3"))
    )


@broken("formulas.csv")
def _formulas(path: Path) -> None:
    path.write_bytes(_text(ROW.replace("not draining", '"=HYPERLINK(""http://example.invalid"",""x"")"')))


@broken("the same header twice.csv")
def _same_header(path: Path) -> None:
    path.write_text(f"{HEADER},symptom,job_id\n{ROW},noisy,J9\n")


@broken("cut off.csv.gz")
def _cut_off(path: Path) -> None:
    path.write_bytes(gzip.compress(_text(*[ROW] * 5000))[:-40])


@broken("text called packed.csv.gz")
def _not_packed(path: Path) -> None:
    path.write_bytes(_text(ROW))


@broken("two gigabytes of nothing.csv.gz")
def _packed_zeros(path: Path) -> None:
    with gzip.open(path, "wb", compresslevel=1) as file:
        for _ in range(2048):
            file.write(b"\0" * MEGABYTE)


@broken("not closed.json")
def _open_json(path: Path) -> None:
    path.write_text('[{"job_id": "J1", "unit_type": "washer"')


@broken("10,000 deep.json")
def _deep(path: Path) -> None:
    path.write_text('[{"job_id": ' + "[" * 10_000 + "]" * 10_000 + "}]")


@broken("10,000 deep in a record.jsonl")
def _deep_line(path: Path) -> None:
    good = json.dumps(dict(zip(HEADER.split(","), ROW.split(","), strict=True)))
    path.write_text(good + "\n" + '{"job_id": ' + '{"a":' * 10_000 + "1" + "}" * 10_000 + "}\n")


@broken("numbers without end.jsonl")
def _numbers(path: Path) -> None:
    good = dict(zip(HEADER.split(","), ROW.split(","), strict=True))
    lines = [json.dumps(good | {"symptom": value}) for value in (10**400, float("inf"), float("nan"))]
    path.write_text(
        "\n".join([json.dumps(good), *lines, json.dumps(good)[:-1] + ', "extra": ' + "9" * MEGABYTE + "}"])
    )


@broken("lists in lists.jsonl")
def _lists(path: Path) -> None:
    many = [{"part_no": str(n)} for n in range(2000)]
    path.write_text(json.dumps({"job_id": "J1", "parts": many, "visits": many, "works": many}))


@broken("no parquet.parquet")
def _no_parquet(path: Path) -> None:
    path.write_bytes(_text(ROW))


def _parquet() -> bytes:
    rows = [ROW.replace("J1", f"J{n}").split(",") for n in range(2000)]
    buffer = io.BytesIO()
    pl.DataFrame(rows, schema=HEADER.split(","), orient="row").write_parquet(buffer)
    return buffer.getvalue()


@broken("cut off.parquet")
def _cut_parquet(path: Path) -> None:
    path.write_bytes(_parquet()[:-500])


@broken("a foot longer than the file.parquet")
def _long_foot(path: Path) -> None:
    path.write_bytes(_parquet()[:-8] + struct.pack("<I", 0x7FFFFFFF) + b"PAR1")


@broken("a foot of other bytes.parquet")
def _strange_foot(path: Path) -> None:
    content = bytearray(_parquet())
    length = struct.unpack("<I", content[-8:-4])[0]
    for at in range(len(content) - 8 - length, len(content) - 8):
        content[at] ^= 0x55
    path.write_bytes(content)


@broken("rows it has not.parquet")
def _boasting(path: Path) -> None:
    """Every number in the foot that looks like the count of rows made as large as it can be."""
    content = _parquet()
    length = struct.unpack("<I", content[-8:-4])[0]
    foot = content[-8 - length : -8]
    # 2,000 as Parquet's foot holds it (zigzag, seven bits a byte), and 8,191 in as many bytes.
    boast = foot.replace(b"\xa0\x1f", b"\xfe\x7f")
    path.write_bytes(content[: -8 - length] + boast + content[-8:])


def _book() -> dict[str, bytes]:
    namespace = b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
    relations = b'xmlns="http://schemas.openxmlformats.org/package/2006/relationships"'
    office = b"http://schemas.openxmlformats.org/officeDocument/2006/relationships"
    kinds = b"application/vnd.openxmlformats-officedocument.spreadsheetml."
    cells = b"".join(
        b"<row r='%d'>%s</row>"
        % (
            n,
            b"".join(b"<c t='inlineStr'><is><t>%s</t></is></c>" % cell.encode() for cell in line.split(",")),
        )
        for n, line in enumerate((HEADER, ROW), 1)
    )
    return {
        "[Content_Types].xml": b'<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
        b'<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        b'<Override PartName="/xl/workbook.xml" ContentType="' + kinds + b'sheet.main+xml"/>'
        b'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="' + kinds + b'worksheet+xml"/></Types>',
        "_rels/.rels": b"<Relationships " + relations + b'><Relationship Id="r1" Type="' + office + b'/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": b"<workbook " + namespace + b' xmlns:r="' + office + b'"><sheets><sheet name="Log" sheetId="1" r:id="r1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": b"<Relationships " + relations + b'><Relationship Id="r1" Type="' + office + b'/worksheet" Target="worksheets/sheet1.xml"/></Relationships>',
        "xl/worksheets/sheet1.xml": b"<worksheet " + namespace + b"><sheetData>" + cells + b"</sheetData></worksheet>",
    }  # fmt: skip


def _pack(path: Path, parts: dict[str, bytes]) -> None:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as book:
        for name, content in parts.items():
            book.writestr(name, content)


@broken("no book.xlsx")
def _no_book(path: Path) -> None:
    path.write_bytes(_text(ROW))


@broken("cut off.xlsx")
def _cut_book(path: Path) -> None:
    _pack(path, _book())
    path.write_bytes(path.read_bytes()[:-100])


@broken("with a password.xlsx")
def _locked_book(path: Path) -> None:
    path.write_bytes(bytes.fromhex("d0cf11e0a1b11ae1") + bytes(4096))


@broken("an archive of pictures.xlsx")
def _archive(path: Path) -> None:
    _pack(path, {"one.png": b"\x89PNG"})


@broken("two gigabytes in a sheet.xlsx")
def _bomb(path: Path) -> None:
    parts = _book()
    head, tail = parts["xl/worksheets/sheet1.xml"].split(b"</sheetData>")
    row = b"<row><c t='inlineStr'><is><t>" + b"x" * 1000 + b"</t></is></c></row>"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as book:
        for name, content in parts.items():
            if not name.endswith("sheet1.xml"):
                book.writestr(name, content)
        with book.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as sheet:
            sheet.write(head)
            for _ in range(2048):
                sheet.write(row * (MEGABYTE // len(row)))
            sheet.write(b"</sheetData>" + tail)


@broken("words that grow.xlsx")
def _laughing(path: Path) -> None:
    """Entities that stand for entities: a reader that puts them in needs gigabytes."""
    parts = _book()
    entities = b'<!ENTITY a0 "ha">' + b"".join(
        b'<!ENTITY a%d "%s">' % (n, b"&a%d;" % (n - 1) * 10) for n in range(1, 12)
    )
    sheet = parts["xl/worksheets/sheet1.xml"].replace(b"washer", b"&a11;")
    parts["xl/worksheets/sheet1.xml"] = b"<?xml version='1.0'?><!DOCTYPE x [" + entities + b"]>" + sheet
    _pack(path, parts)


@broken("as large as a sheet may be.xlsx")
def _wide_claim(path: Path) -> None:
    parts = _book()
    parts["xl/worksheets/sheet1.xml"] = parts["xl/worksheets/sheet1.xml"].replace(
        b"<sheetData>", b'<dimension ref="A1:XFD1048576"/><sheetData>'
    ).replace(b"</sheetData>", b"<row r='1048576'><c r='XFD1048576'><v>1</v></c></row></sheetData>")  # fmt: skip
    _pack(path, parts)


@broken("formulas.xlsx")
def _formula_book(path: Path) -> None:
    parts = _book()
    parts["xl/worksheets/sheet1.xml"] = parts["xl/worksheets/sheet1.xml"].replace(
        b"<c t='inlineStr'><is><t>washer</t></is></c>", b"<c><f>CMD()</f></c>"
    )
    _pack(path, parts)
