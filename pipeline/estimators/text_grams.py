"""Short texts as numbers: which words, pairs of words and runs of letters they hold, rare ones counting for more."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy import sparse

# Runs of so many letters inside a word, its borders taken in.
SHORTEST_RUN, LONGEST_RUN = 2, 5


@dataclass(frozen=True)
class Grams:
    """
    One way of cutting texts up, with the weights that some texts gave to the pieces.

    Attributes
    ----------
    places : dict of str to int
        Column of each piece.
    weights : array, shape (pieces,)
        Logarithm of how rare a piece is among the texts, plus 1; inverse document frequency (Salton and Buckley 1988,
        Information Processing & Management 24, 513-523).
    rarest : float
        Weight of a piece that one of the texts held.
    """

    by_letters: bool
    places: dict[str, int]
    weights: np.ndarray
    rarest: float

    def rows(self, texts: Sequence[str]) -> sparse.csr_array:
        """
        Texts as rows of length 1, pieces that are not known counted in; a text without any known piece is a row of zeros.

        Parameters
        ----------
        texts : sequence of str
            Letters and digits in lower case, single spaces between words.

        Returns
        -------
        sparse array, shape (texts, pieces)
        """
        starts, columns, values = [0], [], []
        for text in texts:
            counts = Counter(pieces(text, by_letters=self.by_letters))
            places = np.array([self.places.get(piece, -1) for piece in counts], dtype=np.int64)
            # A piece never met is as rare as one met once: it takes its share of the length, and is like nothing.
            weights = np.where(places >= 0, self.weights[places], self.rarest)
            cells = weights * (1.0 + np.log(np.array(list(counts.values()), dtype=float)))
            cells /= max(float(np.linalg.norm(cells)), 1e-12)
            columns.append(places[places >= 0])
            values.append(cells[places >= 0])
            starts.append(starts[-1] + len(columns[-1]))
        shape = (len(texts), len(self.places))
        if not values:
            return sparse.csr_array(shape)
        return sparse.csr_array(
            (np.concatenate(values), np.concatenate(columns), np.array(starts)), shape=shape
        )


def learn_grams(texts: Sequence[str], *, by_letters: bool) -> Grams:
    """Pieces of some texts and their weights; see `Grams.rows` for what a text is."""
    counts: Counter[str] = Counter()
    for text in texts:
        counts.update(set(pieces(text, by_letters=by_letters)))
    places = {piece: at for at, piece in enumerate(counts)}
    held = np.array(list(counts.values()), dtype=float)
    weights = np.log((1.0 + len(texts)) / (1.0 + held)) + 1.0
    return Grams(by_letters, places, weights, float(np.log((1.0 + len(texts)) / 2.0) + 1.0))


def pieces(text: str, *, by_letters: bool) -> list[str]:
    """Words and pairs of neighbouring words of a text, or runs of letters of its words."""
    words = text.split()
    if not by_letters:
        return words + [f"{one} {other}" for one, other in pairwise(words)]
    return [run for word in words for run in _runs(f" {word} ")]


def _runs(word: str) -> Iterable[str]:
    for length in range(SHORTEST_RUN, min(LONGEST_RUN, len(word)) + 1):
        for at in range(len(word) - length + 1):
            yield word[at : at + length]
