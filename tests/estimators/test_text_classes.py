"""Classes of short texts: what is learned, what is left out, chances that hold, texts of no class."""

import numpy as np
import pytest

from pipeline.estimators import text_classes
from pipeline.estimators.text_classes import learn_classes
from pipeline.estimators.text_grams import learn_grams, pieces

KNOWN = {
    "pump blocked": {"pump": 1.0},
    "pump not running": {"pump": 1.0},
    "pump hums": {"pump": 2.0},
    "door stuck": {"door": 1.0},
    "door will not open": {"door": 1.0},
    "door lock broken": {"door": 1.0},
    "fan slow": {"fan": 1.0},
    "fan stuck": {"fan": 1.0},
}


def test_words_pairs_and_runs_of_letters():
    assert pieces("pump hums", by_letters=False) == ["pump", "hums", "pump hums"]
    assert pieces("ab", by_letters=True) == [" a", "ab", "b ", " ab", "ab ", " ab "]


def test_rows_are_of_length_one_and_what_is_not_known_takes_its_share():
    grams = learn_grams(["pump hums", "pump stuck"], by_letters=False)
    rows = grams.rows(["pump hums", "pump xyz", "xyz", ""]).toarray()
    lengths = np.linalg.norm(rows, axis=1)
    assert lengths[0] == pytest.approx(1.0)
    assert 0.0 < lengths[1] < 1.0
    assert lengths[2:].tolist() == [0.0, 0.0]


def test_chances_are_those_of_all_classes_and_sum_to_one():
    learned = learn_classes(KNOWN)
    chances = learned.chances(["pump stuck fast", "the door", "zzz", ""])
    assert learned.classes == ("door", "fan", "pump")
    assert chances.sum(axis=1) == pytest.approx(np.ones(4))
    assert [learned.classes[at] for at in chances[:2].argmax(axis=1)] == ["pump", "door"]


def test_where_a_text_may_belong_to_none_something_is_left_for_that():
    learned = learn_classes(KNOWN, none=0.5)
    chances = learned.chances(["pump blocked again", "qqq xxx"])
    assert (chances.sum(axis=1) < 1.0).all()
    assert chances[0].sum() > chances[1].sum()


@pytest.mark.parametrize("strength", text_classes.STRENGTHS)
def test_what_a_text_is_told_without_itself_is_what_a_fit_without_it_tells(strength):
    texts = list(KNOWN)
    given = np.array([[KNOWN[text].get(name, 0.0) for name in ("door", "fan", "pump")] for text in texts])
    grams = tuple(learn_grams(texts, by_letters=letters) for letters in (True, False))
    likeness = text_classes._likeness(grams, texts, texts)
    weights, shares = given.sum(axis=1), given.sum(axis=0) / given.sum()
    wanted = given / weights[:, None]
    _, _, _, scores = text_classes._with_strength(strength, likeness, given, 0.0)
    for left in range(len(texts)):
        kept = np.arange(len(texts)) != left
        matrix = likeness[np.ix_(kept, kept)] + strength * np.diag(1.0 / weights[kept])
        alone = likeness[left, kept] @ np.linalg.solve(matrix, wanted[kept] - shares) + shares
        assert scores[left] == pytest.approx(alone)


def test_what_a_text_is_told_where_its_class_was_never_met():
    texts = list(KNOWN)
    given = np.array([[KNOWN[text].get(name, 0.0) for name in ("door", "fan", "pump")] for text in texts])
    grams = tuple(learn_grams(texts, by_letters=letters) for letters in (True, False))
    likeness = text_classes._likeness(grams, texts, texts)
    weights, shares = given.sum(axis=1), given.sum(axis=0) / given.sum()
    wanted = given / weights[:, None]
    factors, inverse = text_classes._solved(likeness, wanted - shares, 1.2 / weights)
    scores = text_classes._without_own_class(wanted, factors, inverse)
    fans, kept = slice(6, 8), slice(0, 6)
    matrix = likeness[kept, kept] + 1.2 * np.diag(1.0 / weights[kept])
    alone = likeness[fans, kept] @ np.linalg.solve(matrix, wanted[kept] - shares) + shares
    assert scores[fans][:, [0, 2]] == pytest.approx(alone[:, [0, 2]])
    assert (scores[fans][:, 1] == text_classes._NEVER).all()


def test_the_same_is_learned_twice():
    one, other = (learn_classes(KNOWN, 0.3).chances(["pump noisy"]) for _ in range(2))
    assert (one == other).all()


@pytest.mark.parametrize("none", [-0.1, 1.0])
def test_a_share_out_of_range_is_refused(none):
    with pytest.raises(ValueError, match="at least 0 and below 1"):
        learn_classes(KNOWN, none)


def test_one_class_is_not_enough():
    with pytest.raises(ValueError, match="two classes"):
        learn_classes({"a": {"x": 1.0}, "b": {"x": 1.0}})
