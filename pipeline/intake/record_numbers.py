"""What may be kept of running text as the number of a part."""

from __future__ import annotations

import re

LONGEST = 20
MOST_PLAIN_DIGITS = 10  # a longer run of nothing but digits may be anybody's
_DATE = re.compile(r"(?:19|20)\d\d([-/.])\d{1,2}\1\d{1,2}|\d{1,2}[-/.]\d{1,2}(?:[-/.](?:19|20)?\d\d)?")
_TIME = re.compile(r"\d{1,2}[.:]\d\d")
_AMOUNT = re.compile(
    r"\d+(?:[.,]\d+)?(?:v|volts?|a|ma|w|kw|hz|ohms?|k|kohms?|mm|cm|m|km|ml|l|mins?|h|hrs?|c|f|uf|nf|bar|mbar|psi|kg|g|rpm|pm|am)?"
)


def is_part_number(text: str) -> bool:
    """Whether a word beside the name of a part can be its number: no date, time, reading or telephone number."""
    digits = sum(sign.isdigit() for sign in text)
    if digits < 3 or len(text) > LONGEST or _DATE.fullmatch(text) or _TIME.fullmatch(text):
        return False
    if text.isdigit():
        return 4 <= digits <= MOST_PLAIN_DIGITS and not (digits == MOST_PLAIN_DIGITS and text[0] == "0")
    return not _AMOUNT.fullmatch(text) and not _is_dialled(text, digits)


def looks_like_part_number(text: str) -> bool:
    """Whether a word that stands alone can be nothing but the number of a part: signs or letters, and digits enough."""
    digits = sum(sign.isdigit() for sign in text)
    has_signs = re.search(r"\w[-./]\w", text) is not None
    return is_part_number(text) and has_signs and digits >= 4


def _is_dialled(text: str, digits: int) -> bool:
    """Nothing but digits and signs, beginning with a 0, and as long as a telephone number."""
    return text[0] == "0" and digits >= 10 and not re.search(r"[^\W\d_]", text)
