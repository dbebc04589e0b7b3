"""The teaching sheet stands for itself and hides nothing it was given."""

from pipeline.training.sheet import Sheet, sheet_page
from pipeline.vocabulary.cautions import AFTER_WORK, GENERAL


def test_sheet_escapes_and_needs_nothing_from_outside():
    page = sheet_page(
        Sheet("A <b>", ["Sharp."], ["Back & again"], ["Pump: 3 of 4"], ["Look"], "From the log.")
    )
    assert "A &lt;b&gt;" in page
    assert "Back &amp; again" in page
    assert not any(mark in page for mark in ("http", "src=", "<script", "@import"))
    assert page.index("Sharp.") < page.index("What goes wrong")
    assert GENERAL[:20] in sheet_page(Sheet("A", [], [], [], [], ""))
    assert all(line in page for line in AFTER_WORK)


def test_what_is_not_known_has_no_heading():
    page = sheet_page(Sheet("A", [], ["Back"], [], [], ""))
    assert "What holds" not in page
    assert "Check in this order" not in page
