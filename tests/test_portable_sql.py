"""The SQL of tables and facts stays in the subset that can be written for another engine."""

import re

import pytest
import sqlglot
from sqlglot import exp

from pipeline.sql import load_folder

FILES = [(folder, name, text) for folder in ("tables", "facts") for name, text in load_folder(folder).items()]
# What is written for Spark without a word and means something else there, or is refused (measured on both engines).
CHANGES_MEANING = re.compile(
    r"\b(percentile_cont|quantile\w*|median|date_sub|datesub|epoch\w*|arg_min|arg_max|unnest|hash|lambda|list_\w+|struct_\w+)\s*[(:]"
)


@pytest.fixture(params=FILES, ids=lambda file: f"{file[0]}.{file[1]}")
def sql_file(request):
    return request.param


def test_there_are_files():
    assert {folder for folder, _, _ in FILES} == {"tables", "facts"}
    assert len(FILES) > 20


def test_file_parses_and_is_written_for_spark(sql_file):
    _, _, text = sql_file
    written = sqlglot.transpile(
        text, read="duckdb", write="spark", unsupported_level=sqlglot.ErrorLevel.RAISE
    )
    assert len(written) == 1
    assert sqlglot.parse_one(written[0], read="spark")


def test_no_function_changes_its_meaning(sql_file):
    _, _, text = sql_file
    code = "\n".join(line.split("--")[0] for line in text.splitlines()).lower()
    assert not CHANGES_MEANING.findall(code)


def test_differences_of_days_are_taken_between_days(sql_file):
    _, _, text = sql_file
    for difference in sqlglot.parse_one(text, read="duckdb").find_all(exp.DateDiff):
        for side in (difference.this, difference.expression):
            assert _is_day(side), side.sql()


def test_tables_are_named_with_their_schema(sql_file):
    _, _, text = sql_file
    tree = sqlglot.parse_one(text, read="duckdb")
    inside = {cte.alias for cte in tree.find_all(exp.CTE)}
    assert not [
        table.sql() for table in tree.find_all(exp.Table) if not table.db and table.name not in inside
    ]


def test_files_keep_to_what_stands_before_them(sql_file):
    folder, _, text = sql_file
    allowed = {
        "tables": {"normalise", "settings", "tables"},
        "facts": {"tables", "facts", "settings", "normalise"},
    }
    schemas = {table.db for table in sqlglot.parse_one(text, read="duckdb").find_all(exp.Table) if table.db}
    assert schemas <= allowed[folder]


def _is_day(side):
    while isinstance(side, (exp.Cast, exp.TsOrDsToDate)):
        if side.is_type("date") or isinstance(side, exp.TsOrDsToDate):
            side = side.this
        else:
            return False
    return side.name.endswith("_on") or side.name == "day_before"
