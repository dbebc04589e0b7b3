"""Our k and l against pycanon's, on tables drawn at random."""

import csv
from pathlib import Path

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.sharing.anonymity import k_anonymity, l_diversity
from tests.sharing.test_anonymity import DIVERSITY, SWEENEY

pycanon = pytest.importorskip("pycanon.anonymity")
pytestmark = pytest.mark.oracle
ROWS = st.lists(st.tuples(*[st.sampled_from("abc")] * 3, st.sampled_from("xyz")), min_size=1, max_size=40)


@given(ROWS)
def test_k_and_l_agree_with_a_second_implementation(rows):
    records = pl.DataFrame(rows, schema=["one", "two", "three", "sensitive"], orient="row")
    known = ["one", "two", "three"]
    other = records.to_pandas()
    assert k_anonymity(records, known) == pycanon.k_anonymity(other, known)
    assert l_diversity(records, known, "sensitive") == pycanon.l_diversity(other, known, ["sensitive"])


@pytest.mark.parametrize(
    ("text", "known", "sensitive"),
    [
        (SWEENEY, ["race", "birth", "gender", "zip"], "problem"),
        (DIVERSITY, ["zip", "age", "nationality"], "condition"),
    ],
)
def test_k_and_l_of_published_tables_agree_too(text, known, sensitive):
    records = pl.DataFrame(list(csv.DictReader(text.splitlines())))
    other = records.to_pandas()
    assert k_anonymity(records, known) == pycanon.k_anonymity(other, known)
    assert l_diversity(records, known, sensitive) == pycanon.l_diversity(other, known, [sensitive])


def test_k_and_l_of_rows_of_the_sample_log_agree_too():
    """Rows as somebody might hand them on: kind of machine, month and fault, and how it ended."""
    log = pl.read_csv(Path(__file__).parents[2] / "sample_logs/standard/log.csv", infer_schema=False)
    records = log.select(
        "unit_type",
        pl.col("reported_at").str.head(7).alias("month"),
        "symptom",
        pl.col("outcome").fill_null("-"),
    ).fill_null("-")
    known = ["unit_type", "month", "symptom"]
    other = records.to_pandas()
    assert k_anonymity(records, known) == pycanon.k_anonymity(other, known)
    assert l_diversity(records, known, "outcome") == pycanon.l_diversity(other, known, ["outcome"])
