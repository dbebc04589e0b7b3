"""The manifest lists what was received; what it cannot vouch for it refuses in one sentence."""

import json
from dataclasses import replace

import pytest

from pipeline.errors import UnreadableError
from pipeline.store import manifest as manifests
from pipeline.store.manifest import Manifest, ReceivedFile

FILE = ReceivedFile(
    load=1, file_no=1, kind="log", name="log.csv", source_hash="s1", reading_hash="r1", parquet="s1.r1.parquet",
    parquet_sha256="0", layout="standard-log", layout_hash="l1", reader_version=1, key_id="k", rows=3,
    columns=("job_id",), columns_left_out=(2,), received_at="2026-03-01T00:00:00Z",
)  # fmt: skip


def again(load, **changes):
    return replace(FILE, load=load, file_no=load, **changes)


def states(received):
    return [(entry.file_no, entry.state) for entry in received.files]


def test_manifest_comes_back_as_it_was_written(tmp_path):
    written = replace(Manifest().with_files([FILE]), key_check="c", layouts={"l1": {"name": "standard-log"}})
    manifests.write(written, tmp_path / "manifest.json")
    assert manifests.read(tmp_path / "manifest.json") == written
    assert list(tmp_path.iterdir()) == [tmp_path / "manifest.json"]


def test_no_manifest_is_an_empty_store(tmp_path):
    empty = manifests.read(tmp_path / "manifest.json")
    assert (empty.active, empty.next_load, empty.next_file_no) == ((), 1, 1)


def test_logs_add_up():
    received = Manifest().with_files([FILE]).with_files([again(2, source_hash="s2")])
    assert states(received) == [(1, "active"), (2, "active")]
    assert (received.next_load, received.next_file_no) == (3, 3)


def test_same_bytes_read_in_another_way_supersede_their_first_reading():
    received = Manifest().with_files([FILE]).with_files([again(2, reading_hash="r2")])
    assert states(received) == [(1, "superseded"), (2, "active")]


def test_of_a_list_the_newest_load_counts():
    received = Manifest().with_files([again(1, kind="parts"), again(2, source_hash="s2")])
    assert states(received.with_files([again(3, kind="parts", source_hash="s3")])) == [
        (1, "superseded"),
        (2, "active"),
        (3, "active"),
    ]


def test_digest_changes_with_what_was_received():
    received = Manifest().with_files([FILE])
    assert (
        len(
            {
                Manifest().digest(),
                received.digest(),
                received.with_files([again(2, source_hash="s2")]).digest(),
            }
        )
        == 3
    )
    assert received.digest() == Manifest().with_files([FILE]).digest()


@pytest.mark.parametrize(
    "text",
    ["", "{", "[]", "{}", '{"store_version": 1, "files": [{}]}', '{"store_version": 1, "files": [], "x": 1}'],
)
def test_damaged_manifest_is_refused_with_a_remedy(tmp_path, text):
    (tmp_path / "manifest.json").write_text(text)
    with pytest.raises(UnreadableError, match=r"damaged.*back-up"):
        manifests.read(tmp_path / "manifest.json")


def test_store_of_a_later_version_is_refused(tmp_path):
    (tmp_path / "manifest.json").write_text(json.dumps({"store_version": 99, "files": []}))
    with pytest.raises(UnreadableError, match="later mendstat"):
        manifests.read(tmp_path / "manifest.json")


def test_any_change_of_what_was_written_is_found(tmp_path):
    path = tmp_path / "manifest.json"
    manifests.write(Manifest().with_files([FILE]), path)
    text = path.read_text()
    for old, new in (('"rows": 3', '"rows": 4'), ('"kind": "log"', '"kind": "Log"'), ("s1.r1", "../s1")):
        path.write_text(text.replace(old, new))
        with pytest.raises(UnreadableError, match=r"damaged.*back-up"):
            manifests.read(path)


def test_manifest_of_an_earlier_version_has_no_hash_and_is_read(tmp_path):
    written = Manifest().with_files([FILE])
    (tmp_path / "manifest.json").write_text(manifests.to_text(written))
    assert manifests.read(tmp_path / "manifest.json") == written
