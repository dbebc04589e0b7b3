"""The job sheet as a browser prints it."""

import re

import pytest

from pipeline.job_sheet.page import page as sheet

pytestmark = pytest.mark.browser

PRINTED_HEIGHT_MM = 297 - 2 * 8
ROOM_MM = 5  # another sans serif font runs a little longer
MM = 96 / 25.4  # CSS pixels


@pytest.fixture
def opened(chromium):
    page = chromium.new_page(viewport={"width": round(192 * MM), "height": round(PRINTED_HEIGHT_MM * MM)})
    page.set_content(sheet())
    yield page
    page.close()


def test_sheet_prints_on_one_side_of_a4_with_room_to_spare(opened):
    printed = opened.pdf(prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page[^s]", printed)) == 1
    assert re.search(rb"/MediaBox\s*\[0 0 59[456](?:\.\d+)? 84[12](?:\.\d+)?\]", printed)
    opened.emulate_media(media="print")
    height = opened.evaluate("document.body.getBoundingClientRect().height")
    assert height <= (PRINTED_HEIGHT_MM - ROOM_MM) * MM


def test_sheet_can_be_read_at_arms_length(opened):
    """11 pt is the usual size of a form; the foot and the lists under the table may be a little smaller."""
    smallest = opened.evaluate(
        "Math.min(...[...document.querySelectorAll('.tick, b, .write, td, .caution')]"
        ".map(e => parseFloat(getComputedStyle(e).fontSize)))"
    )
    assert smallest >= 9.5 * 96 / 72


def test_sheet_is_no_wider_than_a_phone(opened):
    opened.set_viewport_size({"width": 390, "height": 844})
    assert opened.evaluate("document.documentElement.scrollWidth") == 390
