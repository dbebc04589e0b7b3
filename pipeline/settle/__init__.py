"""Words of the log that nothing settles: what each may mean goes out, a person's answers come back into the shop's vocabulary."""

from pipeline.settle.proposing import ToSettle, words_to_settle
from pipeline.settle.taking import take_back

__all__ = ["ToSettle", "take_back", "words_to_settle"]
