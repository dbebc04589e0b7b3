"""Colours can be read, and nothing in the look asks the network for anything."""

import pytest

from dashboards import look


def luminance(colour):
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    """Contrast ratio of the Web Content Accessibility Guidelines 2.2, formula as recalled."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_of_black_on_white_is_21():
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)


@pytest.mark.parametrize("ground", [look.PAPER, look.SHADE, look.WARM])
@pytest.mark.parametrize("text", [look.INK, look.SOFT, look.UNDECIDED, look.TEAL, look.CLAY])
def test_text_can_be_read_on_every_ground(text, ground):
    assert contrast(text, ground) >= 4.5


def test_style_sheet_fetches_nothing():
    assert "url(" not in look.CSS
    assert "@import" not in look.CSS
    assert "http" not in look.CSS
