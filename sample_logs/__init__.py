"""A made-up repair firm with known truth, and the generator that wrote it."""
