"""Answers put into the shop's own vocabulary files: everything else there stays, and nothing is written that says otherwise."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.errors import UnreadableError
from pipeline.vocabulary import normal_form
from pipeline.vocabulary.own_file import own_words_digest, with_answers

WRITTEN = """\
# Ours.
closed = false

[means]   # what we say
"noisy" = [
    "sings",  # the drum ["sings"]
    "roars",
]
'dead' = ["gone [off]"]

[more]
kept = 1
"""


def test_a_new_file_says_what_it_is():
    text = with_answers("", "symptom", {"sings": "noisy", "drum rings": "drum rings"})
    assert text.startswith("# The shop's own words for symptom")
    assert tomllib.loads(text) == {"means": {"noisy": ["sings"], "drum rings": []}}


def test_what_stands_there_stays():
    text = with_answers(WRITTEN, "symptom", {"flat": "dead", "drips": "leaks"})
    assert "# Ours." in text
    assert '"sings",  # the drum ["sings"]' in text
    found = tomllib.loads(text)
    assert found["means"] == {"noisy": ["sings", "roars"], "dead": ["gone [off]", "flat"], "leaks": ["drips"]}
    assert found["more"] == {"kept": 1}


def test_an_answer_already_there_changes_nothing():
    assert with_answers(WRITTEN, "symptom", {"sings": "noisy"}) == WRITTEN


def test_a_changed_answer_leaves_its_old_meaning():
    found = tomllib.loads(with_answers(WRITTEN, "symptom", {"roars": "dead"}))
    assert found["means"] == {"noisy": ["sings"], "dead": ["gone [off]", "roars"]}


@pytest.mark.parametrize("text", ['means = { noisy = ["sings"] }\n', 'means.noisy = ["sings"]\n', "[means\n"])
def test_a_file_written_another_way_is_refused_and_not_damaged(text):
    with pytest.raises(UnreadableError):
        with_answers(text, "symptom", {"roars": "noisy"})


words = st.text(min_size=1, max_size=12).map(normal_form).filter(bool)


@given(st.dictionaries(words, words, max_size=6), st.dictionaries(words, words, max_size=6))
def test_whatever_the_words_each_way_has_the_meaning_it_was_given_last(first, second):
    try:
        text = with_answers(with_answers("", "symptom", first), "symptom", second)
    except UnreadableError:
        # A sign that TOML cannot hold: refused, not mangled.
        assert any(
            not sign.isprintable()
            for way in (*first, *second, *first.values(), *second.values())
            for sign in way
        )
        return
    means = tomllib.loads(text).get("means", {})
    for way, meaning in {**first, **second}.items():
        if way != meaning:
            assert [each for each, ways in means.items() if way in ways] == [meaning]


def test_the_digest_knows_a_change(tmp_path):
    assert own_words_digest(tmp_path / "none") == ""
    (tmp_path / "symptom.toml").write_text("[means]\n")
    first = own_words_digest(tmp_path)
    (tmp_path / "symptom.toml").write_text('[means]\n"a" = []\n')
    assert "" != first != own_words_digest(tmp_path)
