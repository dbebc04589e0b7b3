"""Files are opened, unpacked and decoded, or refused in one sentence."""

import gzip
from pathlib import Path

import pytest

from pipeline.errors import UnreadableError
from pipeline.intake.source import Source, survey
from pipeline.intake.tables import tables_of
from pipeline.intake.text import text_chunks
from tests.intake.reading import KEY, header_of, records_of, tables_in

TEXT = "one,two\ncafé,naïve €\n"


def in_memory(content):
    return Source(Path("some.csv"), content)


def text_of(content, chunk):
    source = in_memory(content)
    return b"".join(text_chunks(source, survey(source, KEY).encoding, chunk)).decode()


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("chunk", [1, 3, 1 << 20])
def test_text_is_the_same_in_every_encoding(encoding, chunk):
    assert text_of(TEXT.encode(encoding), chunk) == TEXT


@pytest.mark.parametrize("chunk", [1, 2, 7, 1 << 20])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_may_end_in_any_usual_way(end, chunk):
    assert text_of(TEXT.replace("\n", end).encode(), chunk) == TEXT


def test_one_letter_that_is_no_utf8_late_in_the_file_settles_the_encoding():
    content = b"one,two\n" + b"a,b\n" * 2_000_000 + "é,x\n".encode("cp1252")
    assert survey(in_memory(content), KEY).encoding == "cp1252"


def test_letter_cut_in_two_between_reads_is_still_utf8():
    content = b"a" * ((1 << 22) - 1) + "é\n".encode()
    assert survey(in_memory(content), KEY).encoding == "utf-8"


def test_packed_file_reads_like_the_plain_one_and_has_its_hash():
    plain, packed = in_memory(TEXT.encode()), in_memory(gzip.compress(TEXT.encode()))
    assert survey(plain, KEY).source_hash == survey(packed, KEY).source_hash
    assert records_of(gzip.compress(TEXT.encode())) == records_of(TEXT.encode())


def test_hash_of_a_file_needs_the_key():
    other = type(KEY)("f" * 64)
    assert survey(in_memory(b"x"), KEY).source_hash != survey(in_memory(b"x"), other).source_hash


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "is empty"),
        (b"%PDF-1.7", "PDF"),
        (b"\0\1\2\0\0\0\0\0\0\0", "not a text file"),
        (gzip.compress(b"one,two\n" * 5000, mtime=0)[:-20], "damaged or cut off"),
        (b"\x1f\x8bnot gzip at all", "damaged or cut off"),
    ],
)
def test_what_is_no_table_is_refused_in_one_sentence(content, says):
    with pytest.raises(UnreadableError, match=says):
        survey(in_memory(content), KEY)


@pytest.mark.parametrize("content", [b"\n\n  \n", b"\xef\xbb\xbf", b"\xef\xbb\xbf\n"])
def test_file_without_a_header_is_refused(content):
    (table,) = tables_in(content)
    with pytest.raises(UnreadableError, match="no header row"):
        table.headers()


def test_missing_file_and_folder_are_named(tmp_path):
    with pytest.raises(UnreadableError, match="does not exist"):
        survey(Source(tmp_path / "gone.csv"), KEY)
    with pytest.raises(UnreadableError, match="is a folder"):
        survey(Source(tmp_path), KEY)


def test_byte_order_mark_is_no_part_of_the_first_header():
    assert header_of(TEXT.encode("utf-8-sig")).names == ("one", "two")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"\xd0\xcf\x11\xe0" + bytes(3000), r"old spreadsheet \(\.xls\); save it as \.xlsx or as CSV"),
        (b"\xd0\xcf\x11\xe0" + bytes(900) + "EncryptedPackage".encode("utf-16-le"), "locked with a password"),
        (gzip.compress(b"PK\x03\x04rest", mtime=0), "packed with gzip, but no text"),
        (gzip.compress(b"PAR1rest", mtime=0), "packed with gzip, but no text"),
        ("one,two\n1,2\n".encode("utf-32"), "UTF-32; save it in UTF-8"),
    ],
)
def test_tables_of_another_kind_are_refused_with_what_to_do(content, says):
    with pytest.raises(UnreadableError, match=says):
        survey(in_memory(content), KEY)


def test_very_many_columns_are_read():
    wide = ",".join(f"c{n}" for n in range(5000)) + "\n" + ",".join(["x"] * 5000)
    assert records_of(wide.encode())[0].cells == ("x",) * 5000


def test_what_a_file_is_called_does_not_matter():
    source = Source(Path("log.xlsx"), b"one;two\n1;2\n")
    (table,) = tables_of(source, survey(source, KEY)).tables
    assert table.headers()[0].names == ("one", "two")
