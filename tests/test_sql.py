"""The runner of SQL files: order by what is read, mistakes named by file."""

import duckdb
import pytest

from pipeline import sql
from pipeline.sql import SqlFileError, load_folder, run_folder, run_order, tables_read

GRAIN = "-- One row per thing.\n"


@pytest.fixture
def con():
    with duckdb.connect() as connection:
        yield connection


@pytest.fixture(autouse=True)
def _fresh():
    """What other tests have made ready does not count here, and what is drawn here does not count for them."""
    sql.folder_files.cache_clear()
    yield
    sql.folder_files.cache_clear()


def folder(monkeypatch, **texts):
    monkeypatch.setattr(sql, "load_folder", lambda _: {name: GRAIN + text for name, text in texts.items()})


def test_every_file_says_what_one_row_is():
    for name in ("tables", "facts"):
        assert all(text.startswith("-- One row per ") for text in load_folder(name).values())


def test_tables_read_are_found_in_ctes_subqueries_and_joins(con):
    text = """
    with a as (select * from tables.one), b as (select * from a where x in (select x from facts.two))
    select * from b join normalise.three using (x) where exists (select 1 from settings."values")
    qualify row_number() over (order by x) = 1
    """
    assert tables_read(con, text) == {"tables.one", "facts.two", "normalise.three", "settings.values"}


def test_tables_run_after_those_they_read(con, monkeypatch):
    folder(monkeypatch, a="select x + 1 as x from tables.b", b="select x from tables.c", c="select 1 as x")
    assert run_folder(con, "tables") == ["c", "b", "a"]
    assert con.execute("select x from tables.a").fetchall() == [(2,)]


def test_circle_is_an_error_that_names_the_files(con):
    with pytest.raises(
        SqlFileError, match=r"tables/a\.sql reads tables/b\.sql|tables/b\.sql reads tables/a\.sql"
    ):
        run_order(con, "tables", {"a": "select * from tables.b", "b": "select * from tables.a"})


def test_table_without_schema_or_file_is_refused(con):
    with pytest.raises(SqlFileError, match="without naming its schema"):
        tables_read(con, "select * from lines")
    with pytest.raises(SqlFileError, match=r"no file"):
        run_order(con, "tables", {"a": "select * from tables.gone"})


@pytest.mark.parametrize("text", ["select from where", "drop table tables.a", "create table x as select 1"])
def test_what_is_no_query_is_refused(con, text):
    with pytest.raises(SqlFileError):
        tables_read(con, text)


def test_file_without_grain_is_refused(monkeypatch, tmp_path):
    (tmp_path / "facts").mkdir()
    (tmp_path / "facts" / "loose.sql").write_text("select 1", encoding="utf-8")
    monkeypatch.setattr(sql.resources, "files", lambda _: tmp_path)
    with pytest.raises(SqlFileError, match=r"facts/loose\.sql"):
        load_folder("facts")


def test_every_sql_file_is_named_in_a_test_of_its_folder():
    from pathlib import Path

    for name in ("tables", "facts"):
        written = "\n".join(
            path.read_text(encoding="utf-8") for path in (Path(__file__).parent / name).glob("test_*.py")
        )
        assert not [table for table in load_folder(name) if f"{name}.{table}" not in written]
