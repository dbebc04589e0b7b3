"""What became of every row, what the rows carry, and what a field that is missing costs."""

from pipeline.log_check.accounts import log_check
from pipeline.log_check.text import as_text

__all__ = ["as_text", "log_check"]
