"""Which class a short text belongs to, learned from texts whose class is known, with chances that hold.

Kernel least squares, one score a class (Rifkin and Lippert 2007, MIT-CSAIL-TR-2007-025): what each known text would be told
without itself comes out of the same solution, so that strength and calibration are chosen on texts that were not learned
from. Chances are a soft maximum over the scores and their logarithms, its two steepnesses fitted on those texts, as a
temperature is (Guo et al. 2017, ICML, arXiv:1706.04599).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import optimize
from scipy.linalg import lapack

from pipeline.estimators.text_grams import Grams, learn_grams

# What likeness is made of: runs of letters, words and their pairs, the number of words (a text of two words says little).
LETTERS, WORDS, LENGTH = 0.7, 0.3, 0.3
_LENGTH_WIDTH = 0.3  # squared, of the logarithm of one plus the number of words
# How much a known text is smoothed towards the others; which of them is taken is decided on texts left out.
STRENGTHS = (0.6, 1.2, 2.4)
_SOFT = 0.05  # a score below that counts as little more than none
_STEEPEST = 40.0
_FLAT = 0.5  # weight of a prior that keeps few texts from being told too surely


@dataclass(frozen=True)
class TextClasses:
    """
    What was learned; see `learn_classes`.

    Attributes
    ----------
    classes : tuple of str
        In the order of the columns of `chances`.
    right, tried : float
        Sum of the weights of known texts whose likeliest class was right without themselves, and of all.
    """

    classes: tuple[str, ...]
    right: float
    tried: float
    _known: tuple[str, ...]
    _grams: tuple[Grams, Grams]
    _factors: np.ndarray  # (known texts, classes)
    _shares: np.ndarray  # (classes,)
    _steepness: np.ndarray  # (2,)

    def chances(self, texts: Sequence[str]) -> np.ndarray:
        """
        Chance of each class for each text.

        Returns
        -------
        array, shape (texts, classes)
            Each row sums to 1.
        """
        likeness = _likeness(self._grams, texts, self._known)
        return _chances(likeness @ self._factors + self._shares, self._steepness)


def learn_classes(known: Mapping[str, Mapping[str, float]]) -> TextClasses:
    """
    Learn from texts whose class is known.

    Parameters
    ----------
    known : mapping of str to mapping of str to float
        By text (letters and digits in lower case, single spaces between words): weight of each class it was given.

    Raises
    ------
    ValueError
        If there are fewer than two texts or two classes.
    """
    texts = tuple(known)
    classes = tuple(sorted({name for given in known.values() for name in given}))
    if len(texts) < 2 or len(classes) < 2:
        raise ValueError(
            f"at least two texts and two classes are needed, but there were {len(texts)} and {len(classes)}"
        )
    given = np.array([[each.get(name, 0.0) for name in classes] for each in known.values()])
    weights = given.sum(axis=1)
    wanted = given / weights[:, None]
    shares = given.sum(axis=0) / given.sum()
    grams = (learn_grams(texts, by_letters=True), learn_grams(texts, by_letters=False))
    likeness = _likeness(grams, texts, texts)
    tried = [_with_strength(strength, likeness, wanted - shares, given) for strength in STRENGTHS]
    _missed, factors, steepness, left_out = min(tried, key=lambda each: each[0])
    scores = wanted - left_out
    first = scores.argmax(axis=1)
    right = float(given[np.arange(len(texts)), first].sum())
    return TextClasses(classes, right, float(weights.sum()), texts, grams, factors, shares, steepness)


def _with_strength(
    strength: float, likeness: np.ndarray, wanted: np.ndarray, given: np.ndarray
) -> tuple[float, np.ndarray, np.ndarray, np.ndarray]:
    """What is missed of the texts left out, and the factors, steepnesses and misses that go with it."""
    weights = given.sum(axis=1)
    factors, left_out = _solved(likeness, wanted, strength / weights)
    steepness, missed = _fitted(given / weights[:, None] - left_out, given)
    return missed, factors, steepness, left_out


def _likeness(grams: tuple[Grams, Grams], texts: Sequence[str], others: Sequence[str]) -> np.ndarray:
    """How alike texts are, shape (texts, others)."""
    total = np.zeros((len(texts), len(others)))
    for cut, weight in zip(grams, (LETTERS, WORDS), strict=True):
        total += weight * (cut.rows(texts) @ cut.rows(others).T).toarray()
    apart = _length(texts)[:, None] - _length(others)[None, :]
    total += LENGTH * np.exp(-(apart**2) / _LENGTH_WIDTH)
    return total


def _length(texts: Sequence[str]) -> np.ndarray:
    lengths: np.ndarray = np.log1p(np.array([len(text.split()) for text in texts], dtype=float))
    return lengths


def _solved(likeness: np.ndarray, wanted: np.ndarray, smoothing: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Factors of the known texts, and by how much each text would be missed if it were left out."""
    matrix = likeness.copy()
    matrix[np.diag_indices_from(matrix)] += smoothing
    half, _ = lapack.dpotrf(matrix, lower=True, overwrite_a=True)
    inverse, _ = lapack.dpotri(half, lower=True, overwrite_c=True)
    inverse = np.tril(inverse) + np.tril(inverse, -1).T
    factors = inverse @ wanted
    return factors, factors / np.diag(inverse)[:, None]


def _logs(scores: np.ndarray) -> np.ndarray:
    logs: np.ndarray = np.log(_SOFT * np.logaddexp(0.0, scores / _SOFT) + 1e-4)
    return logs


def _log_chances(scores: np.ndarray, logs: np.ndarray, steepness: np.ndarray) -> np.ndarray:
    told: np.ndarray = steepness[0] * scores + steepness[1] * logs
    told -= told.max(axis=1, keepdims=True)
    told -= np.log(np.exp(told).sum(axis=1, keepdims=True))
    return told


def _chances(scores: np.ndarray, steepness: np.ndarray) -> np.ndarray:
    chances: np.ndarray = np.exp(_log_chances(scores, _logs(scores), steepness))
    return chances


def _fitted(scores: np.ndarray, given: np.ndarray) -> tuple[np.ndarray, float]:
    """The two steepnesses that make the known classes likeliest, and what is still missed; both at least 0."""
    logs = _logs(scores)

    def missed(steepness: np.ndarray) -> tuple[float, np.ndarray]:
        told = _log_chances(scores, logs, steepness)
        over = np.exp(told) * given.sum(axis=1, keepdims=True) - given
        prior = _FLAT * float(((steepness / 10.0) ** 2).sum())
        slope = np.array([(over * scores).sum(), (over * logs).sum()]) + _FLAT * steepness / 50.0
        return float(-(given * told).sum()) + prior, slope

    found = optimize.minimize(
        missed, np.ones(2), jac=True, method="L-BFGS-B", bounds=[(0.0, _STEEPEST), (0.0, _STEEPEST)]
    )
    return found.x, float(found.fun)
