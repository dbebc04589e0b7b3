"""
Tables and facts made by Apache Spark instead of DuckDB: the same SQL files in the same order, into the same build.

Words, dates and amounts are read by DuckDB either way; what Spark is given are the tables of `normalise` and `settings`.
Each result goes through Parquet into the build, so that every page and figure goes on as it does.
"""

from __future__ import annotations

import importlib.util
import os
import re
import shutil
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import duckdb

from pipeline.errors import UnreadableError, WrongUseError
from pipeline.sql import VIEW, folder_files, run_folder, tables_read

OLDEST_JAVA = 17
MEMORY = "3g"
PARTITIONS = 4
# Where another Spark than one of this machine is to do the work; the store must then lie where all its machines see it.
MASTER = "MENDSTAT_SPARK_MASTER"
RunFolder = Callable[[duckdb.DuckDBPyConnection, str], object]

# Integers that Parquet, or Spark, has no name for.
_NARROWER = {"HUGEINT": "BIGINT", "UHUGEINT": "BIGINT", "UBIGINT": "BIGINT"}


@contextmanager
def engine(name: str, exchange: Path) -> Iterator[RunFolder]:
    """
    What runs the folders of SQL files of a build.

    Parameters
    ----------
    name : str
        duckdb or spark.
    exchange : Path
        Folder for what goes between the engines; made where it is needed, and gone afterwards.

    Raises
    ------
    WrongUseError
        If Spark is asked for and is not there.
    UnreadableError
        If Spark fails.
    """
    if name == "duckdb":
        yield run_folder
        return
    refuse_without_spark()
    exchange = exchange.absolute()
    exchange.mkdir()
    try:
        with _session(exchange) as session:
            yield _Folders(session, exchange).run
    finally:
        shutil.rmtree(exchange, ignore_errors=True)


def refuse_without_spark() -> None:
    """
    Say what is missing before anything is done.

    Raises
    ------
    WrongUseError
        If there is no pyspark, no sqlglot or no Java of at least `OLDEST_JAVA`.
    """
    if any(importlib.util.find_spec(package) is None for package in ("pyspark", "sqlglot")):
        raise WrongUseError("The engine spark needs more packages: pip install 'mendstat[spark]'.")
    found = java_version()
    if found is None or found < OLDEST_JAVA:
        there = "there is none" if found is None else f"this is Java {found}"
        raise WrongUseError(
            f"The engine spark needs Java {OLDEST_JAVA} or newer, and {there}. Install it, or name its folder with JAVA_HOME."
        )


def java_version() -> int | None:
    """Number of the Java that Spark would take; None where there is none."""
    home = os.environ.get("JAVA_HOME")
    java = shutil.which("java", path=str(Path(home) / "bin")) if home else shutil.which("java")
    if java is None:
        return None
    said = subprocess.run([java, "-version"], capture_output=True, text=True, check=False).stderr  # noqa: S603
    found = re.search(r'version "(?:1\.)?(\d+)', said)
    return int(found.group(1)) if found else None


def written_for_spark(text: str) -> str:
    """
    A SQL file as Spark reads it.

    Spark's views have no schema, so that `tables.jobs` is `tables__jobs` there.
    """
    import sqlglot
    from sqlglot import exp

    tree = sqlglot.parse_one(text, read="duckdb")
    for table in list(tree.find_all(exp.Table)):
        if table.db:
            table.set("alias", table.args.get("alias") or exp.TableAlias(this=exp.to_identifier(table.name)))
            table.set("this", exp.to_identifier(_view(f"{table.db}.{table.name}")))
            table.set("db", None)
    for first in list(tree.find_all(exp.ArgMin, exp.ArgMax)):
        # DuckDB leaves out rows where the value itself is null, Spark only those where the order is.
        there = exp.not_(exp.Is(this=first.this.copy(), expression=exp.null()))
        first.set("expression", exp.Case(ifs=[exp.If(this=there, true=first.expression.copy())]))
    return tree.sql(dialect="spark", unsupported_level=sqlglot.ErrorLevel.RAISE)


def _view(table: str) -> str:
    return table.replace(".", "__")


class _Folders:
    """Runs folders with one session of Spark; what was made or handed over is there for the next folder."""

    def __init__(self, session: Any, exchange: Path) -> None:
        self.session = session
        self.exchange = exchange
        self.there: set[str] = set()

    def run(self, con: duckdb.DuckDBPyConnection, folder: str) -> None:
        """As `pipeline.sql.run_folder`."""
        texts, order = folder_files(folder)
        con.execute(f"create schema if not exists {folder}")
        for name in order:
            table, text = f"{folder}.{name}", texts[name]
            for read in sorted(tables_read(con, text) - self.there):
                self._hand_over(con, read)
            try:
                self._make(con, table, text)
            except duckdb.Error:
                raise
            except Exception as error:
                raise UnreadableError(
                    f"Spark could not make {table} ({type(error).__name__}). Everything received is kept, and the last "
                    "build still answers. Run `mendstat reread` without --engine."
                ) from error

    def _hand_over(self, con: duckdb.DuckDBPyConnection, table: str) -> None:
        file = self.exchange / f"{table}.parquet"
        columns = con.execute(f"describe select * from {_quoted(table)}").fetchall()
        cells = ", ".join(f'"{name}"::{_NARROWER.get(kind, kind)} as "{name}"' for name, kind, *_ in columns)
        con.execute(
            f"copy (select {cells} from {_quoted(table)}) to $file (format parquet)", {"file": str(file)}
        )
        self._take(table, file)

    def _take(self, table: str, path: Path) -> None:
        self.session.read.parquet(_address(path)).createOrReplaceTempView(_view(table))
        self.there.add(table)

    def _make(self, con: duckdb.DuckDBPyConnection, table: str, text: str) -> None:
        rows = self.session.sql(written_for_spark(text))
        if VIEW in text:
            con.execute(f"create or replace view {table} as {text}")
            rows.createOrReplaceTempView(_view(table))
            self.there.add(table)
            return
        # The names and types are those that DuckDB would give.
        con.execute(f"create or replace table {table} as select * from ({text}\n) where false")
        made = self.exchange / table
        rows.write.parquet(_address(made))
        if any(made.glob("*.parquet")):
            con.execute(
                f"insert into {table} by name select * from read_parquet($files)",
                {"files": str(made / "*.parquet")},
            )
        self._take(table, made)


def _address(path: Path) -> str:
    # Not `as_uri`: Spark would take its %20 as it stands.
    return f"file://{path}"


def _quoted(table: str) -> str:
    return ".".join(f'"{part}"' for part in table.split("."))


@contextmanager
def _session(exchange: Path) -> Iterator[Any]:
    """Start Spark: nothing of it listens to other machines, and all it writes lies in the exchange folder."""
    from pyspark.sql import SparkSession

    master = os.environ.get(MASTER)
    choices = (
        {"spark.driver.host": "127.0.0.1", "spark.driver.bindAddress": "127.0.0.1"} if not master else {}
    )
    choices |= {
        "spark.master": master or "local[2]",
        "spark.driver.memory": MEMORY,
        "spark.driver.extraJavaOptions": f'-Djava.io.tmpdir="{exchange}"',
        "spark.ui.enabled": "false",
        "spark.ui.showConsoleProgress": "false",
        "spark.local.dir": str(exchange / "spill"),
        "spark.sql.warehouse.dir": str(exchange / "warehouse"),
        "spark.sql.session.timeZone": "UTC",
        # A time of the log has no zone in the tables: it is UTC already.
        "spark.sql.timestampType": "TIMESTAMP_NTZ",
        "spark.sql.parquet.outputTimestampType": "TIMESTAMP_MICROS",
        "spark.sql.shuffle.partitions": str(PARTITIONS),
    }
    builder = SparkSession.builder.appName("mendstat")
    for name, value in choices.items():
        builder = builder.config(name, value)
    try:
        session = builder.getOrCreate()
    except Exception as error:
        raise UnreadableError(
            f"Spark could not be started ({type(error).__name__}). Everything received is kept, and the last build still "
            "answers. Run `mendstat reread` without --engine."
        ) from error
    session.sparkContext.setLogLevel("OFF")
    try:
        yield session
    finally:
        session.stop()
