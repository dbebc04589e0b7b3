"""A load as a whole: what is kept, what is not, what a second one does."""

from __future__ import annotations

import gzip
import json
from datetime import UTC, datetime
from pathlib import Path

import polars as pl
import pytest

from pipeline import load as loading
from pipeline.errors import CannotAnswerError, UnreadableError
from pipeline.intake.source import Source
from pipeline.load import load, log_check, reread
from pipeline.store.folder import Store

LOG = """job_id,unit_type,unit_id,site_id,postcode,reported_at,finished_at,technician,symptom,part_no,action,outcome,note,customer
J1,washer,M-1,"Quillby, 12 Larkspur Road",QX1 4ZZ,2024-01-02,2024-01-03,Zwirnmann,not draining,10-20,replace,fixed,"key under pot, pump noisy",Quillby
J2,washer,M-1,"Quillby, 12 Larkspur Road",QX1 4ZZ,2024-02-02,2024-02-03,Zwirnmann,"leaks, call Mrs Quillby 07700 900123",10-20,clean,fixed,,Quillby
J3,dryer,M-2,,,2024-03-01,2024-03-02,,noisy,,,fixed
J4,dryer,M-2,n/a,,Quillby,2024-03-02,,noisy,,,fixed,,
"""
SECRETS = ("quillby", "larkspur", "zwirnmann", "900123", "qx1 4", "under pot", "m-1")


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "log.csv").write_text(LOG)
    return tmp_path


def take(folder: Path, *files: Path | Source, **options):
    return load(folder / "store", files or [folder / "log.csv"], key_path=folder / "key", **options)


def rows(folder):
    """Received rows of all active files, without what is keyed by the file."""
    store = Store(folder / "store")
    return [pl.read_parquet(store.received / entry.parquet).to_dicts() for entry in store.manifest.active]


def accounts(folder):
    return [
        {name: row[name] for name in ("file", "received", "used", "repeated", "replaced", "set_aside")}
        for row in log_check(folder / "store")
    ]


def test_every_row_is_accounted_for_with_column_record_and_reason(folder):
    take(folder)
    (account,) = log_check(folder / "store")
    assert (account["received"], account["used"], account["set_aside"]) == (4, 2, 2)
    reasons = {reason["column"]: reason for reason in account["reasons"]}
    assert reasons["row"]["reason"] == "12 fields where the header has 14"
    assert reasons["reported_at"]["records"] == [4]
    assert reasons["reported_at"]["shape"] == "Aaaaaaa"
    assert account["columns_left_out"] == [14]


def test_received_rows_hold_pseudonyms_areas_known_words_and_scrubbed_texts(folder):
    take(folder)
    first, second, short, last = rows(folder)[0]
    assert first["site_id"] == second["site_id"]
    assert (first["postcode"], first["note"], first["source"]) == ("QX1", "noisy", "log")
    assert second["symptom"] == "leaks, call Mrs [removed] [removed]"
    assert (bool(short["row_problem"]), short["job_id"], len(short["row_digest"])) == (True, None, 32)
    assert (last["site_id"], last["reported_at"], last["record"]) == (None, "Aaaaaaa", 4)


def test_nothing_of_anybody_is_in_any_byte_of_the_store(folder):
    take(folder)
    for path in (folder / "store").rglob("*"):
        content = path.read_bytes().lower() if path.is_file() else b""
        assert not [secret for secret in SECRETS if secret.encode() in content]
    assert not [secret for secret in SECRETS if secret in str(rows(folder)).lower()]


def test_loading_the_same_bytes_again_does_nothing_and_says_so(folder):
    take(folder)
    build = Store(folder / "store").current_build()
    (folder / "again.csv.gz").write_bytes(gzip.compress(LOG.encode()))
    report = take(folder, folder / "log.csv", folder / "again.csv.gz")
    assert [file.is_new for file in report.files] == [False, False]
    assert "already loaded" in report.text()
    assert (Store(folder / "store").current_build(), report.was_built) == (build, False)


def test_same_file_twice_in_one_command_is_taken_once(folder):
    report = take(folder, folder / "log.csv", folder / "log.csv")
    assert [file.is_new for file in report.files] == [True, False]
    assert len(accounts(folder)) == 1


@pytest.mark.parametrize("block_bytes", [1, 64, 200])
def test_block_size_changes_no_received_row(folder, tmp_path, block_bytes):
    take(folder)
    other = tmp_path / "other"
    other.mkdir()
    load(other / "store", [folder / "log.csv"], key_path=folder / "key", block_bytes=block_bytes)
    assert rows(folder) == rows(other)


def test_order_of_columns_line_ends_and_encoding_change_no_digest(folder):
    take(folder)
    names = LOG.splitlines()[0].split(",")
    turned = (
        pl.read_csv(LOG.encode(), infer_schema=False, truncate_ragged_lines=True)
        .head(2)
        .select(reversed(names))
    )
    take(folder, Source(Path("turned.csv"), turned.write_csv().replace("\n", "\r\n").encode("utf-8-sig")))
    one, other = rows(folder)
    assert [row["row_digest"] for row in one[:2]] == [row["row_digest"] for row in other]
    assert accounts(folder)[1]["repeated"] == 2


def test_a_question_about_one_file_leaves_the_store_as_it_was(folder):
    (folder / "other.csv").write_text("Auftrag,Kunde\n1,2\n")
    with pytest.raises(CannotAnswerError, match=r"other.csv fits no known layout"):
        take(folder, folder / "log.csv", folder / "other.csv")
    assert Store(folder / "store").manifest.files == ()


def test_lists_are_told_from_logs_by_their_headers_and_the_newest_counts(folder):
    (folder / "parts.csv").write_text("part_no,part_name\n10-20,drain pump\n")
    (folder / "newer.csv").write_text("part_no,part_name\n10-20,drain pump\n10-30,belt\n")
    take(folder, folder / "log.csv", folder / "parts.csv")
    take(folder, parts=folder / "newer.csv")
    assert [(row["file"], row["used"]) for row in accounts(folder)] == [("log.csv", 2), ("newer.csv", 2)]


def test_log_given_as_a_list_is_refused(folder):
    with pytest.raises(CannotAnswerError, match="list of parts"):
        take(folder, parts=folder / "log.csv")


def test_wrong_key_refuses_to_load_and_still_reads(folder):
    take(folder)
    with pytest.raises(UnreadableError, match="key"):
        load(folder / "store", [folder / "log.csv"], key_path=folder / "missing")
    (folder / "wrong").write_text("f" * 64)
    with pytest.raises(UnreadableError, match="not the key"):
        load(folder / "store", [folder / "log.csv"], key_path=folder / "wrong")
    assert accounts(folder)[0]["received"] == 4


def test_load_that_died_between_manifest_and_build_is_finished_by_the_next(folder, monkeypatch):
    take(folder)
    (folder / "more.csv").write_text(LOG.replace("J1", "J9"))
    with monkeypatch.context() as patch:
        patch.setattr(loading, "build", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
        with pytest.raises(KeyboardInterrupt):
            take(folder, folder / "more.csv")
    assert len(accounts(folder)) == 1
    report = take(folder, folder / "more.csv")
    assert (report.files[0].is_new, report.was_built) == (False, True)
    assert [row["file"] for row in accounts(folder)] == ["log.csv", "more.csv"]


def test_read_again_gives_the_same_accounts_from_another_build(folder):
    take(folder)
    before, build = log_check(folder / "store"), Store(folder / "store").current_build()
    (folder / "key").unlink()
    reread(folder / "store")
    assert log_check(folder / "store") == before
    assert Store(folder / "store").current_build() != build


def test_build_answers_without_the_received_files(folder):
    take(folder)
    before = accounts(folder)
    (folder / "store" / "received").rename(folder / "elsewhere")
    assert accounts(folder) == before


def test_missing_received_file_is_named(folder):
    take(folder)
    next((folder / "store" / "received").glob("*.parquet")).unlink()
    with pytest.raises(UnreadableError, match=r"log.csv, is missing.*back-up"):
        reread(folder / "store")
    assert accounts(folder)[0]["received"] == 4


def test_changed_received_file_is_named_and_no_figure_rests_on_it(folder):
    take(folder)
    path = next((folder / "store" / "received").glob("*.parquet"))
    content = path.read_bytes()
    path.write_bytes(content[:40] + bytes([content[40] ^ 1]) + content[41:])
    with pytest.raises(UnreadableError, match=r"log.csv, is damaged.*back-up"):
        reread(folder / "store")


@pytest.mark.parametrize("named", ["", "fleet-gone.duckdb"])
def test_load_mends_a_store_whose_current_build_is_lost(folder, named):
    take(folder)
    (folder / "store" / "current").write_text(named)
    assert take(folder).was_built
    assert accounts(folder)[0]["received"] == 4


def test_nothing_to_read_again_is_said(tmp_path):
    with pytest.raises(CannotAnswerError, match="Nothing is loaded"):
        reread(tmp_path / "store")
    assert not (tmp_path / "store").exists()


def test_header_without_rows_is_an_empty_log(folder):
    (folder / "empty.csv").write_text(LOG.splitlines()[0] + "\n")
    take(folder, folder / "empty.csv")
    assert accounts(folder) == [
        {"file": "empty.csv", "received": 0, "used": 0, "repeated": 0, "replaced": 0, "set_aside": 0}
    ]


def test_file_name_is_scrubbed_before_it_is_kept(folder):
    path = folder / "Mrs Quillby 07700 900123.csv"
    (folder / "log.csv").rename(path)
    assert "Quillby" not in take(folder, path).text()
    assert accounts(folder)[0]["file"] == "Mrs [removed] [removed].csv"


def test_manifest_says_what_was_received_and_how(folder):
    began = datetime.now(UTC).replace(microsecond=0)
    take(folder)
    (entry,) = json.loads((folder / "store" / "received" / "manifest.json").read_text())["files"]
    assert entry["parquet"] == f"{entry['source_hash']}.{entry['reading_hash']}.parquet"
    assert (entry["layout"], entry["rows"], entry["state"], entry["columns_left_out"]) == (
        "standard-log",
        4,
        "active",
        [14],
    )
    assert datetime.fromisoformat(entry["received_at"]) >= began


def test_shop_layout_builds_a_site_from_several_headers_and_names_the_source(folder):
    (folder / "store" / "layouts").mkdir(parents=True)
    (folder / "store" / "layouts" / "ours.toml").write_text(
        'name = "ours"\nsource = "office"\nrequired = ["Job"]\n[columns]\njob_id = "Job"\nunit_type = "Type"\n'
        'reported_at = "Date"\nsite_id = ["Name", "Street"]\n[missing]\nunit_type = ["??"]\n'
    )
    text = "Job,Type,Date,Name,Street\n1,washer,2024-01-02,Quillby,Row\n2,dryer,2024-01-03,QUILLBY,row\n3,??,2024-01-03,Quillby,\n"
    take(folder, Source(Path("jobs.csv"), text.encode()))
    one, two, three = rows(folder)[0]
    assert one["site_id"] == two["site_id"] != three["site_id"]
    assert (one["source"], three["unit_type"]) == ("office", None)
