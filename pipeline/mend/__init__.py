"""Mending rows set aside: a list of the cells to mend goes out, and comes back with their values."""

from pipeline.mend.listing import write_list
from pipeline.mend.taking_back import take_back

__all__ = ["take_back", "write_list"]
