"""Our k and l against pycanon's, on tables drawn at random."""

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.sharing.anonymity import k_anonymity, l_diversity

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
