"""The same log as CSV, Parquet, workbook and JSON lines is the same log."""

from pathlib import Path

import polars as pl
import pytest

from pipeline.intake.source import Source
from pipeline.load import load, log_check
from pipeline.measures import Question, evaluate
from pipeline.store.folder import Store
from sample_logs import standard_files
from tests.intake.four_formats import as_json_lines, as_parquet, as_workbook, typed_rows

QUESTIONS = {
    "part-failure-rate": Question(by=("part_no",)),
    "repeat-visits": Question(by=("part_no", "action")),
    "time-to-fix": Question(by=("unit_type", "part_no")),
}
NAMES = ("log.parquet", "log.xlsx", "log.jsonl")
LISTS = {kind: path for kind, path in standard_files().items() if kind != "log"}


@pytest.fixture(scope="session")
def in_other_formats():
    rows = typed_rows(standard_files()["log"].read_text(encoding="utf-8"))
    written = (as_parquet(rows), as_workbook(rows), as_json_lines(rows))
    return {name: Source(Path(name), content) for name, content in zip(NAMES, written, strict=True)}


def received(store: Path) -> pl.DataFrame:
    (entry,) = [entry for entry in Store(store).manifest.active if entry.kind == "log"]
    return pl.read_parquet(Store(store).received / entry.parquet)


def figures(store: Path) -> dict[str, pl.DataFrame]:
    with Store(store).connect() as con:
        return {name: evaluate(con, name, question) for name, question in QUESTIONS.items()}


@pytest.fixture(scope="session")
def expected(sample_store):
    return received(sample_store), figures(sample_store)


@pytest.fixture(scope="session", params=NAMES)
def other_store(request, tmp_path_factory, in_other_formats, sample_store):
    folder = tmp_path_factory.mktemp("other")
    load(folder / "store", [in_other_formats[request.param]], **LISTS, key_path=sample_store.parent / "key")
    return folder / "store"


def test_rows_have_equal_digests_and_figures_are_equal(other_store, expected):
    rows, answers = expected
    other = received(other_store)
    assert other["row_digest"].to_list() == rows["row_digest"].to_list()
    assert other["row_problem"].null_count() == other.height == 6166
    for name, answer in figures(other_store).items():
        assert answer.equals(answers[name]), name
        assert (answer["sample"] == "enough").sum() >= 20, name


def test_typed_values_are_equal(other_store, sample_store):
    query = "select * from tables.lines order by all"
    with Store(sample_store).connect() as one, Store(other_store).connect() as other:
        assert one.sql(query).pl().equals(other.sql(query).pl())


def test_all_in_one_store_change_nothing_and_count_as_repeated(
    in_other_formats, sample_store, expected, tmp_path
):
    files = [standard_files()["log"], *in_other_formats.values()]
    load(tmp_path / "store", files, **LISTS, key_path=sample_store.parent / "key")
    for name, answer in figures(tmp_path / "store").items():
        assert answer.equals(expected[1][name]), name
    first, *later = [row for row in log_check(tmp_path / "store") if row["kind"] == "log"]
    assert [row["file"] for row in later] == ["log.parquet", "log.xlsx, sheet 2", "log.jsonl"]
    (own,) = [row for row in log_check(sample_store) if row["kind"] == "log"]
    assert first["used"] == own["used"]
    assert [(row["received"], row["repeated"], row["used"]) for row in later] == [(6166, 6166, 0)] * 3
