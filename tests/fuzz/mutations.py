"""A mutated file for each number: the same number, the same bytes."""

from __future__ import annotations

import random
from dataclasses import replace

from tests.fuzz.byte_mutations import mutated_bytes
from tests.fuzz.cases import Case
from tests.fuzz.cell_mutations import mutated_cells
from tests.fuzz.samples import samples


def case_of(seed: int) -> Case:
    """The case of a seed: samples take turns, half of the mutations are of bytes and half of cells."""
    every = list(samples().values())
    sample = every[seed % len(every)]
    rng = random.Random(f"mendstat {seed}")
    mutate = mutated_cells if seed // len(every) % 2 else mutated_bytes
    return replace(mutate(sample, rng, seed), seed=seed)
