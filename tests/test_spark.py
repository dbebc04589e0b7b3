"""
The engine spark gives the build that DuckDB gives, from the same SQL files.

What Spark would silently take otherwise is held on the written text, in every run. The build itself needs pyspark and
Java: `pytest -m spark` compares it on 100,000 lines, `pytest -m "full and spark"` on 1 million.
"""

from __future__ import annotations

import importlib.util
import re
import shutil
import time
from pathlib import Path

import duckdb
import pytest
import sqlglot
from sqlglot import exp

from pipeline import spark
from pipeline.cli import main
from pipeline.errors import WrongUseError
from pipeline.load import load, reread
from pipeline.sql import load_folder
from pipeline.store.folder import Store
from tests.privacy.searching import holding
from tests.twins.plain_log import PLANTED, write_log

LINES, MANY_LINES = 100_000, 1_000_000
CLOSE = 1e-9  # relative
FILES = [(folder, name, text) for folder in ("tables", "facts") for name, text in load_folder(folder).items()]
needs_spark = pytest.mark.skipif(
    importlib.util.find_spec("pyspark") is None or (spark.java_version() or 0) < spark.OLDEST_JAVA,
    reason="there is no pyspark or no Java 17 here: pip install -e '.[spark]'",
)


@pytest.fixture(params=FILES, ids=lambda file: f"{file[0]}.{file[1]}")
def written(request):
    _, _, text = request.param
    return sqlglot.parse_one(spark.written_for_spark(text), read="spark")


def test_every_table_is_a_view_of_spark_with_the_alias_it_had(written):
    inside = {cte.alias for cte in written.find_all(exp.CTE)}
    for table in written.find_all(exp.Table):
        assert not table.db
        assert table.name in inside or re.fullmatch(r"[a-z]+__\w+", table.name)
        assert table.name in inside or table.alias


@pytest.mark.parametrize("file", FILES, ids=lambda file: f"{file[0]}.{file[1]}")
def test_rows_without_a_value_stand_where_duckdb_puts_them(file):
    # Where nothing is said DuckDB puts them last and Spark first.
    sides = (
        sqlglot.parse_one(file[2], read="duckdb"),
        sqlglot.parse_one(spark.written_for_spark(file[2]), read="spark"),
    )
    first = [[bool(each.args.get("nulls_first")) for each in side.find_all(exp.Ordered)] for side in sides]
    assert first[0] == first[1]


def test_no_percentile_is_taken_and_no_median(written):
    # percentile_cont becomes an approximation, without a word.
    kinds = (exp.PercentileCont, exp.PercentileDisc, exp.ApproxQuantile, exp.Quantile, exp.Median)
    assert not [found.sql() for found in written.find_all(*kinds)]


def test_days_are_counted_between_days(written):
    # Between times DuckDB counts midnights and Spark whole days.
    for difference in written.find_all(exp.DateDiff):
        assert str(difference.args.get("unit") or "DAY").upper() == "DAY"


def test_averages_are_taken_of_doubles():
    # Of decimals Spark gives decimals; of integers both give doubles.
    for _, name, text in FILES:
        for average in sqlglot.parse_one(text, read="duckdb").find_all(exp.Avg):
            assert "decimal" not in average.sql().lower(), name


def test_first_values_are_taken_of_rows_that_have_one(written):
    # DuckDB's min_by leaves out rows whose value is null, Spark's only those whose order is.
    for first in written.find_all(exp.ArgMin, exp.ArgMax):
        assert isinstance(first.expression, exp.Case), first.sql()
        assert first.expression.sql().startswith(f"CASE WHEN NOT {first.this.sql()} IS NULL THEN")


def test_spark_reads_times_as_what_they_are_in_utc():
    source = Path(spark.__file__).read_text(encoding="utf-8")
    for choice in ('"spark.sql.session.timeZone": "UTC"', '"spark.sql.timestampType": "TIMESTAMP_NTZ"'):
        assert choice in source


@pytest.mark.parametrize(
    ("package", "java", "says"),
    [
        (None, 17, r"pip install 'mendstat\[spark\]'"),
        ("there", None, "needs Java 17 or newer, and there is none"),
        ("there", 11, "this is Java 11"),
    ],
)
def test_what_is_missing_is_said_in_one_sentence_before_anything_is_done(monkeypatch, package, java, says):
    monkeypatch.setattr(importlib.util, "find_spec", lambda _name: package)
    monkeypatch.setattr(spark, "java_version", lambda: java)
    with pytest.raises(WrongUseError, match=says):
        spark.refuse_without_spark()


def test_command_names_what_is_missing_and_the_last_build_still_answers(
    sample_store, tmp_path, monkeypatch, capsys
):
    store = Store(shutil.copytree(sample_store, tmp_path / "store"))
    before = store.current_build()
    monkeypatch.setattr(spark, "java_version", lambda: None)
    assert main(["reread", "--engine", "spark", "--store", str(store.folder)]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "needs" in said
    assert store.current_build() == before


TRAPS = """-- One row per group: what the two engines would not do alike by themselves.
select
    grp,
    date_diff('day', cast(from_on as date), cast(to_on as date)) as days,
    min_by(word, row_no) as first_word,
    max_by(word, row_no) as last_word,
    sum(row_no) as added,
    avg(cast(amount as double)) as average,
    count(*) filter (where word is null) as wordless,
    min(seen_at) as first_at
from settings.trap
group by grp, from_on, to_on
qualify row_number() over (order by min(word), grp) <= 3
"""


@needs_spark
@pytest.mark.spark
def test_traps_of_the_two_engines_give_the_same_rows_in_a_folder_with_a_blank(tmp_path, monkeypatch):
    texts = {
        "trap": TRAPS,
        "seen": "-- One row per group. " + spark.VIEW + "\nselect * from traps.trap where days > 0",
    }
    files = (texts, ["trap", "seen"])
    monkeypatch.setattr(spark, "folder_files", lambda _folder: files)
    monkeypatch.chdir(tmp_path)
    Path("a store").mkdir()
    found = {}
    for name in ("duckdb", "spark"):
        with duckdb.connect() as con:
            con.execute("set TimeZone = 'UTC'")
            con.execute("create schema settings")
            con.execute(
                "create table settings.trap as select * from (values "
                "('a', 1, null, timestamp '2024-03-30 23:30', timestamp '2024-04-01 00:10', 1.10, timestamp '2024-03-31 02:30'), "
                "('a', 2, 'noisy', timestamp '2024-03-30 23:30', timestamp '2024-04-01 00:10', 2.25, null), "
                "('b', 3, null, timestamp '1969-12-31 23:59', timestamp '1970-01-01 00:01', null, null), "
                "('c', 4, 'é', timestamp '2024-01-01', timestamp '2024-01-01', 0.3, timestamp '2024-01-01')"
                ") t(grp, row_no, word, from_on, to_on, amount, seen_at)"
            )
            if name == "spark":
                with spark.engine(name, Path("a store/x.exchange")) as run:
                    run(con, "traps")
            else:
                con.execute("create schema traps")
                for table, kind in (("trap", "table"), ("seen", "view")):
                    con.execute(f"create {kind} traps.{table} as {texts[table]}")
            rows = con.execute("select * from traps.trap order by grp").fetchall()
            found[name] = (con.execute("describe traps.trap").fetchall(), rows)
            assert con.execute("select count(*) from traps.seen").fetchall() == [(2,)]
    assert found["spark"] == found["duckdb"]
    assert [row[:4] for row in found["spark"][1]] == [
        ("a", 2, "noisy", "noisy"), ("b", 1, None, None), ("c", 0, "é", "é"),
    ]  # fmt: skip
    assert list(Path("a store").iterdir()) == []
    assert [path.name for path in tmp_path.iterdir()] == ["a store"]


@needs_spark
@pytest.mark.spark
@pytest.mark.parametrize(
    "jobs", [LINES, pytest.param(MANY_LINES, marks=pytest.mark.full)], ids=lambda jobs: f"{jobs:,} lines"
)
def test_both_engines_give_the_same_build(tmp_path, jobs):
    write_log(tmp_path / "log.csv", jobs)
    store = Store(tmp_path / "store")
    load(store.folder, [tmp_path / "log.csv"], key_path=tmp_path / "key")
    builds = {}
    for engine in ("duckdb", "spark"):
        began = time.monotonic()
        reread(store.folder, engine_name=engine)
        print(f"{engine}: {time.monotonic() - began:.0f} s for {jobs:,} lines")
        builds[engine] = tmp_path / f"{engine}.duckdb"
        shutil.copy(store.current_build(), builds[engine])
    assert not differences(builds["duckdb"], builds["spark"])
    left = [path.name for path in store.folder.iterdir()]
    assert not [name for name in left if name.endswith((".exchange", ".spill"))]
    assert holding(store.folder, PLANTED) == []


def differences(ours: Path, theirs: Path) -> list[str]:
    """Tables of two builds that are not equal: rows as sets with their number, doubles within `CLOSE`."""
    with duckdb.connect() as con:
        for name, path in (("a", ours), ("b", theirs)):
            con.execute(f"attach '{path}' as {name} (read_only)")
        names = "select schema_name, table_name from duckdb_tables() where database_name = $1 order by all"
        tables = con.execute(names, ["a"]).fetchall()
        assert tables == con.execute(names, ["b"]).fetchall()
        return [
            f"{schema}.{table}: {found}"
            for schema, table in tables
            if (schema, table) != ("settings", "build") and (found := _difference(con, schema, table))
        ]


def _difference(con: duckdb.DuckDBPyConnection, schema: str, table: str) -> str:
    described = [con.execute(f'describe {side}."{schema}"."{table}"').fetchall() for side in "ab"]
    columns, others = ([(name, kind) for name, kind, *_ in side] for side in described)
    if columns != others:
        return "other columns or types"
    exact = [f'"{name}"' for name, kind in columns if kind != "DOUBLE"] or ["1"]
    doubles = [f'"{name}"' for name, kind in columns if kind == "DOUBLE"]
    rows = [f'select {", ".join(exact)} from {side}."{schema}"."{table}"' for side in "ab"]
    unlike = con.execute(
        f"select count(*) from (({rows[0]} except all {rows[1]}) union all ({rows[1]} except all {rows[0]}))"
    ).fetchall()[0][0]
    if unlike or not doubles:
        return f"{unlike} rows" if unlike else ""
    order = ", ".join([*exact, *(f"round({name}, 3)" for name in doubles)])
    sides = [
        f'(select row_number() over (order by {order}) as place, {", ".join(doubles)} from {side}."{schema}"."{table}") as {side}'
        for side in "ab"
    ]
    apart = " or ".join(
        f"(a.{name} is null) <> (b.{name} is null) or abs(a.{name} - b.{name}) > {CLOSE} * abs(a.{name})"
        for name in doubles
    )
    count = con.execute(f"select count(*) from {sides[0]} join {sides[1]} using (place) where {apart}")
    found = count.fetchall()[0][0]
    return f"{found} rows with other doubles" if found else ""
