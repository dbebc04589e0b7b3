"""The pinned block in a real browser: before the name of the page, open on paper, within a phone's width."""

import pytest

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_block_stands_above_the_name_of_the_page(look_at, sample, size):
    page = look_at(sample, size).page
    block, name = page.locator(".pinned").bounding_box(), page.locator("h1").bounding_box()
    assert block["y"] + block["height"] <= name["y"]
    assert page.locator(".pinned .lead").first.inner_text().startswith("Four safety reports")
    # Most of a phone's screen is left for what comes after.
    assert block["height"] < 480


def test_folds_open_by_keyboard_and_on_paper(look_at, sample):
    page = look_at(sample).page
    hidden = page.get_by_text("serial from ZM1801-000000")
    assert not hidden.is_visible()
    page.emulate_media(media="print")
    assert hidden.is_visible()
    page.emulate_media(media="screen")
    page.locator(".pinned li summary").first.focus()
    page.keyboard.press("Enter")
    assert hidden.is_visible()
