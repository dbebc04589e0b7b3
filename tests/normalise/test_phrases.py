"""Phrases read many at a time mean what each means alone."""

import polars as pl
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from pipeline.normalise.phrases import pieces, read_phrase, read_phrases
from pipeline.vocabulary import normal_form, normal_forms, vocabulary

SHOP = {"symptom.toml": '[means]\n"clanks" = ["clank noise"]\n"leaking" = ["weeping"]\n'}
SAID = {"pumpt niet af": "not draining", "n/a": "", "leak": "noisy"}
KNOWN = (
    "leak",
    "Not-draining",
    "weeping",
    "clank noise",
    "WATER  LEFT in bottom.",
    "pumpt niet af",
    "N/A",
    "",
    "..",
    "e 18/20",
)
texts = st.one_of(
    st.text(max_size=12),
    st.sampled_from(KNOWN),
    st.builds("{}{}{}".format, st.sampled_from(("", " ", "\x1c", "(", "ﬀ")), st.sampled_from(KNOWN), st.sampled_from(("", "!", " ß", "\t_"))),
)  # fmt: skip


@given(st.lists(texts, unique=True))
@example(["İ", "ẞ", "\x1fleak\x1f", "a\x1db", "(leak)", "K"])
def test_normal_forms_of_many_are_those_of_each(some):
    assert normal_forms(pl.Series(some, dtype=pl.String)).to_list() == [normal_form(text) for text in some]


@pytest.fixture(scope="module")
def words(tmp_path_factory):
    folder = tmp_path_factory.mktemp("vocabulary")
    for name, text in SHOP.items():
        (folder / name).write_text(text, encoding="utf-8")
    return vocabulary(folder)


@pytest.mark.parametrize("column", ["symptom", "outcome"])
@given(some=st.lists(texts, unique=True))
def test_phrases_of_many_mean_what_each_means(words, column, some):
    found = read_phrases(words[column], SAID, pl.Series(some, dtype=pl.String))
    assert found.get_column("phrase").to_list() == some
    assert found.select("meaning", "rule").rows() == [read_phrase(words[column], SAID, text) for text in some]


@given(st.lists(st.text("ab;\x1c\n ", min_size=1, max_size=8), unique=True, max_size=5))
def test_cells_are_taken_apart_as_one_cell_is(cells):
    from pipeline.normalise.meanings import _taken_apart

    frame = pl.DataFrame({"layout": "a", "cell": cells}, schema={"layout": pl.String, "cell": pl.String})
    apart = (
        _taken_apart(frame)
        .group_by("cell", maintain_order=True)
        .agg(pl.col("phrase").unique(maintain_order=True))
    )
    assert dict(apart.rows()) == {cell: found for cell in cells if (found := pieces(cell))}
