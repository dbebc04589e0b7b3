"""The store folder: one writer, leftovers cleared, readers shut in."""

import duckdb
import pytest

from pipeline.errors import CannotAnswerError, UnreadableError
from pipeline.store.folder import Store
from pipeline.store.opening import BUILD_VERSION, open_build, trouble_with_build


@pytest.fixture
def store(tmp_path):
    store = Store(tmp_path / "store")
    store.create()
    return store


def made(store, name):
    with duckdb.connect(store.folder / name) as con:
        con.execute("create table t as select 1 as one")
    return store.folder / name


def test_second_writer_is_refused_until_the_first_has_ended(store):
    with store.lock(), pytest.raises(UnreadableError, match="Another load"), store.lock():
        pass
    with store.lock():
        pass


def test_full_disk_is_one_sentence_and_leaves_the_store_answering(store):
    full = OSError(28, "No space left on device")
    with pytest.raises(UnreadableError, match=r"No space left on device.*still answers"), store.lock():
        raise full
    with store.lock():
        pass


def test_leftovers_of_a_killed_load_are_removed_and_nothing_else(store):
    store.switch(made(store, "fleet-a.duckdb"))
    made(store, "fleet-b.duckdb")
    (store.folder / "fleet-c.duckdb.wal").touch()
    (store.folder / "fleet-c.spill").mkdir()
    (store.folder / "fleet-c.spill" / "piece").touch()
    (store.received / "x.parquet.12.unfinished").touch()
    (store.received / "orphan.parquet").touch()
    (store.folder / "settings.toml").touch()
    store.clear_leftovers()
    assert sorted(path.name for path in store.folder.rglob("*")) == [
        "current",
        "fleet-a.duckdb",
        "received",
        "settings.toml",
    ]


def test_no_build_yet_is_an_answer_and_not_a_fault(store):
    assert store.current_build() is None
    with pytest.raises(CannotAnswerError, match="Nothing is loaded"):
        store.connect()


@pytest.mark.parametrize(
    "named", ["", "../other.duckdb", "fleet-gone.duckdb", "/etc/passwd", "fleet-ü.duckdb"]
)
def test_current_that_names_no_build_of_the_store_is_refused(store, named):
    (store.folder / "current").write_text(named)
    with pytest.raises(UnreadableError, match="names no build"):
        store.current_build()


def test_damaged_build_is_refused_with_a_remedy(store):
    (store.folder / "fleet-a.duckdb").write_bytes(b"no database")
    store.switch(store.folder / "fleet-a.duckdb")
    with pytest.raises(UnreadableError, match="reread"):
        store.connect()


@pytest.mark.parametrize(
    "query",
    [
        "select * from read_csv('/etc/passwd')",
        "copy t to '/tmp/out.csv'",
        "attach '/tmp/other.duckdb'",
        "install excel",
        "set enable_external_access = true",
        "set TimeZone = 'Europe/Paris'",
        "create table u as select 1",
        "delete from t",
    ],
)
def test_reader_reaches_nothing_but_the_build(store, query):
    with open_build(made(store, "fleet-a.duckdb")) as con, pytest.raises(duckdb.Error):
        con.execute(query)


def test_build_may_be_opened_twice_in_one_process(store):
    path = made(store, "fleet-a.duckdb")
    with open_build(path) as one, open_build(path) as other:
        assert (
            one.execute("select one from t").fetchall()
            == other.execute("select one from t").fetchall()
            == [(1,)]
        )
        assert other.execute("select current_setting('TimeZone')").fetchall() == [("UTC",)]


@pytest.mark.parametrize(
    ("version", "made_by"), [(BUILD_VERSION - 1, "an older"), (BUILD_VERSION + 1, "a newer")]
)
def test_build_of_another_version_is_named_with_its_remedy_and_never_asked(store, version, made_by):
    path = made(store, "fleet-a.duckdb")
    with duckdb.connect(path) as con:
        con.execute(f"create schema settings; create table settings.build as select {version} as version")
    store.switch(path)
    with pytest.raises(UnreadableError, match=rf"made by {made_by} version .* `mendstat reread`"):
        store.connect()


def test_build_that_tells_no_version_is_taken_for_an_older_one(store):
    store.switch(made(store, "fleet-a.duckdb"))
    with pytest.raises(UnreadableError, match="an older version"):
        store.connect()


@pytest.mark.parametrize(
    ("error", "says"),
    [
        (duckdb.OutOfMemoryException("x"), "more memory than a command may take"),
        (duckdb.IOException("x"), "mendstat reread"),
        (duckdb.InternalException("x"), "mendstat reread"),
    ],
)
def test_trouble_in_the_middle_of_a_question_is_one_sentence(error, says):
    told = str(trouble_with_build(error))
    assert says in told
    assert told.endswith(".")


def test_a_mistake_of_ours_is_no_trouble_with_the_build():
    assert trouble_with_build(duckdb.BinderException("x")) is None
    assert trouble_with_build(ValueError("x")) is None
