"""What to bring and how long to book, in words, for the screen of a terminal and for pages alike."""

from __future__ import annotations

import math

from pipeline.measures.time_to_book import Booking
from pipeline.stock.bring import Bring, Finish, Piece

COUNTS_BELOW = 50


def bring_text(found: Bring) -> str:
    """Lines: without a part, each piece with what it adds, what the van lacks."""
    lines = [f"What to bring ({found.level}; {found.jobs} fixes that held):"]
    lines.append(f" no part at all is enough for {finish_words(found.without, found.jobs)}")
    for number, piece in enumerate(found.pieces, start=1):
        where = where_words(piece)
        place = f" ({where})" if where else ""
        lines.append(
            f" {number}. {piece_words(piece)}: then enough for {finish_words(piece.finish, found.jobs)}{place}"
        )
    said = van_words(found)
    return "\n".join([*lines, *([f" {said}"] if said else [])])


def piece_words(piece: Piece) -> str:
    """`1 × drain pump DP-1107`."""
    number = f" {piece.part_no}" if piece.part_no and piece.part_no != piece.part_name else ""
    return f"{piece.quantity} × {piece.part_name}{number}"


def finish_words(finish: Finish, jobs: int) -> str:
    """Counts of ten where few jobs stand behind it, else per cent; always with its range."""
    if jobs < COUNTS_BELOW:
        # Outward, so that the range holds what is said before it; a hair off a whole tenth is that tenth.
        low, high = math.floor(finish.low * 10 + 1e-9), math.ceil(finish.high * 10 - 1e-9)
        return f"{_in_ten(finish.value)} in 10 such jobs (likely {low} to {high})"
    return f"{_percent(finish.value)} of such jobs (likely {_percent(finish.low)} to {_percent(finish.high)})"


def _in_ten(share: float) -> str:
    tenths = round(share * 10)
    return f"about {tenths}" if 0 < tenths < 10 else "over 9" if tenths else "under 1"


def _percent(share: float) -> str:
    """Never all, never none: nobody knows the next job."""
    return "over 99 %" if share > 0.995 else "under 1 %" if share < 0.005 else f"{share * 100:.0f} %"


def where_words(piece: Piece) -> str:
    """Where pieces lie, as the stock list says."""
    said = []
    if piece.on_van is not None:
        said.append("on the van" if not piece.missing else f"{piece.on_van} on the van")
    if piece.in_stores is not None and (piece.on_van is None or piece.missing):
        said.append(f"{piece.in_stores} in the stores" if piece.in_stores else "none in the stores: order it")
    return ", ".join(said)


def van_words(found: Bring) -> str:
    """What the van would do as it is, and what it lacks."""
    if found.van is None or found.with_van is None:
        return ""
    lacking = [f"{piece.missing} × {piece.part_name}" for piece in found.pieces if piece.missing]
    put_in = f"; put in {', '.join(lacking)}" if lacking else "; nothing to put in"
    return f"{found.van} as it is: enough for {finish_words(found.with_van, found.jobs)}{put_in}."


def booking_text(booking: Booking) -> str:
    """Minutes on the machine, without the way there."""
    median, p80 = booking.median, booking.p80
    return (
        f"Book {p80.value:.0f} min on the machine: 8 in 10 are done by then (likely {p80.low:.0f} to {p80.high:.0f}), "
        f"half of them in {median.value:.0f} ({median.low:.0f} to {median.high:.0f}); {booking.jobs} fixed jobs, {booking.level}."
    )
