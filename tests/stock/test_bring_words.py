"""What finishes how many jobs, in words: the range holds what is said before it."""

import pytest

from pipeline.stock.bring import Finish
from pipeline.stock.bring_words import finish_words


@pytest.mark.parametrize(
    ("finish", "said"),
    [
        (Finish(0.99, 0.95, 0.999), "over 9 in 10 such jobs (likely 9 to 10)"),
        (Finish(0.01, 0.0, 0.04), "under 1 in 10 such jobs (likely 0 to 1)"),
        (Finish(0.5, 0.3, 0.7), "about 5 in 10 such jobs (likely 3 to 7)"),
    ],
)
def test_a_range_in_tens_holds_its_figure(finish, said):
    assert finish_words(finish, 24) == said
