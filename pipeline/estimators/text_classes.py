"""Which class a short text belongs to, learned from texts whose class is known, with chances that hold.

Kernel least squares, one score a class (Rifkin and Lippert 2007, MIT-CSAIL-TR-2007-025): what each known text would be told
without itself comes out of the same solution, so that strength and calibration are chosen on texts that were not learned
from. Chances are a soft maximum over the scores and their logarithms, its two steepnesses fitted on those texts, as a
temperature is (Guo et al. 2017, ICML, arXiv:1706.04599). A text of none of the classes is known by scoring as texts do
whose whole class is left out.
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
_NEVER = -1.0  # score of a class that was never met
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
    is_open: bool
    right: float
    tried: float
    _known: tuple[str, ...]
    _grams: tuple[Grams, Grams]
    _factors: np.ndarray  # (known texts, classes)
    _shares: np.ndarray  # (classes,)
    _steepness: np.ndarray  # (3,): of the scores, of their logarithms, and where "none of them" stands

    def chances(self, texts: Sequence[str]) -> np.ndarray:
        """
        Chance of each class for each text.

        Returns
        -------
        array, shape (texts, classes)
            Each row sums to 1; to less where a text may belong to none of the classes.
        """
        likeness = _likeness(self._grams, texts, self._known)
        told = np.exp(_log_chances(likeness @ self._factors + self._shares, self._steepness, self.is_open))
        chances: np.ndarray = told[:, : len(self.classes)]
        return chances


def learn_classes(known: Mapping[str, Mapping[str, float]], none: float = 0.0) -> TextClasses:
    """
    Learn from texts whose class is known.

    Parameters
    ----------
    known : mapping of str to mapping of str to float
        By text (letters and digits in lower case, single spaces between words): weight of each class it was given.
    none : float
        Share of the texts asked about later that belong to none of the classes, as far as is known; at least 0, below 1.
        What such texts look like is learned from each class as the others see it.

    Raises
    ------
    ValueError
        If there are fewer than two texts or two classes, or the share is out of range.
    """
    texts = tuple(known)
    classes = tuple(sorted({name for given in known.values() for name in given}))
    if len(texts) < 2 or len(classes) < 2:
        raise ValueError(
            f"at least two texts and two classes are needed, but there were {len(texts)} and {len(classes)}"
        )
    if not 0.0 <= none < 1.0:
        raise ValueError(f"none must be at least 0 and below 1, but was {none}")
    given = np.array([[each.get(name, 0.0) for name in classes] for each in known.values()])
    weights = given.sum(axis=1)
    shares = given.sum(axis=0) / given.sum()
    grams = (learn_grams(texts, by_letters=True), learn_grams(texts, by_letters=False))
    likeness = _likeness(grams, texts, texts)
    tried = [_with_strength(strength, likeness, given, none) for strength in STRENGTHS]
    _missed, factors, steepness, scores = min(tried, key=lambda each: each[0])
    first = scores.argmax(axis=1)
    right = float(given[np.arange(len(texts)), first].sum())
    return TextClasses(
        classes, none > 0.0, right, float(weights.sum()), texts, grams, factors, shares, steepness
    )


def _with_strength(
    strength: float, likeness: np.ndarray, given: np.ndarray, none: float
) -> tuple[float, np.ndarray, np.ndarray, np.ndarray]:
    """What is missed of the texts left out, and the factors, steepnesses and scores of left-out texts that go with it."""
    weights = given.sum(axis=1, keepdims=True)
    shares = given.sum(axis=0) / given.sum()
    wanted = given / weights
    factors, inverse = _solved(likeness, wanted - shares, strength / weights[:, 0])
    scores = wanted - factors / np.diag(inverse)[:, None]
    if not none:
        steepness, missed = _fitted(scores, given)
        return missed, factors, steepness, scores
    alien = _without_own_class(wanted, factors, inverse)
    nothing = np.zeros((len(given), 1))
    known_rows = np.hstack([given, nothing]) * (1.0 - none)
    alien_rows = np.hstack([np.zeros_like(given), weights]) * none
    steepness, missed = _fitted(np.vstack([scores, alien]), np.vstack([known_rows, alien_rows]))
    return missed, factors, steepness, scores


def _without_own_class(wanted: np.ndarray, factors: np.ndarray, inverse: np.ndarray) -> np.ndarray:
    """Scores of each text where its class was never met: all texts of the class are left out at once, and the class too."""
    scores = np.empty_like(wanted)
    main = wanted.argmax(axis=1)
    for each in np.unique(main):
        own = np.flatnonzero(main == each)
        scores[own] = wanted[own] - np.linalg.solve(inverse[np.ix_(own, own)], factors[own])
        scores[own, each] = _NEVER
    return scores


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
    """Factors of the known texts, and the inverse that tells what becomes of texts left out."""
    matrix = likeness.copy()
    matrix[np.diag_indices_from(matrix)] += smoothing
    half, _ = lapack.dpotrf(matrix, lower=True, overwrite_a=True)
    inverse, _ = lapack.dpotri(half, lower=True, overwrite_c=True)
    inverse = np.tril(inverse) + np.tril(inverse, -1).T
    factors = inverse @ wanted
    return factors, inverse


def _logs(scores: np.ndarray) -> np.ndarray:
    logs: np.ndarray = np.log(_SOFT * np.logaddexp(0.0, scores / _SOFT) + 1e-4)
    return logs


def _log_chances(scores: np.ndarray, steepness: np.ndarray, is_open: bool) -> np.ndarray:  # noqa: FBT001
    """Logarithms of the chances, shape (texts, classes), with a last column for none of them where that may be."""
    told: np.ndarray = steepness[0] * scores + steepness[1] * _logs(scores)
    if is_open:
        told = np.hstack([told, np.full((len(told), 1), steepness[2])])
    told -= told.max(axis=1, keepdims=True)
    told -= np.log(np.exp(told).sum(axis=1, keepdims=True))
    return told


def _fitted(scores: np.ndarray, given: np.ndarray) -> tuple[np.ndarray, float]:
    """The steepnesses that make the known classes likeliest, and what is still missed; neither is below 0."""
    classes = scores.shape[1]
    is_open = given.shape[1] > classes
    logs = _logs(scores)

    def missed(steepness: np.ndarray) -> tuple[float, np.ndarray]:
        told = _log_chances(scores, steepness, is_open)
        over = np.exp(told) * given.sum(axis=1, keepdims=True) - given
        slope = np.array(
            [
                (over[:, :classes] * scores).sum(),
                (over[:, :classes] * logs).sum(),
                over[:, classes:].sum(),
            ]
        )
        prior = _FLAT * float(((steepness / 10.0) ** 2).sum())
        return float(-(given * told).sum()) + prior, slope + _FLAT * steepness / 50.0

    found = optimize.minimize(
        missed,
        np.array([1.0, 1.0, 0.0]),
        jac=True,
        method="L-BFGS-B",
        bounds=[(0.0, _STEEPEST), (0.0, _STEEPEST), (-_STEEPEST, _STEEPEST)],
    )
    return found.x, float(found.fun)
