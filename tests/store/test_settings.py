"""The shop's choices, or a sentence about the one that is wrong."""

import pytest

from pipeline.errors import UnreadableError
from pipeline.settings import Settings, load_settings


def test_store_without_settings_has_the_defaults(tmp_path):
    assert load_settings(tmp_path) == Settings("UTC", "", 30, 90)


def test_what_is_written_counts_and_the_rest_stays(tmp_path):
    (tmp_path / "settings.toml").write_text('time_zone = "Europe/Paris"\nrepeat_days = 45\n')
    assert load_settings(tmp_path) == Settings(time_zone="Europe/Paris", repeat_days=45)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('time_zone = "Mars"', "IANA"),
        ("time_zone = 1", "must be a str"),
        ('repeat_days = "30"', "must be a int"),
        ("repeat_days = -1", "negative"),
        ("repeat_days = true", "must be a int"),
        ('currency = "Euro"', "ISO 4217"),
        ("colour = 1", "no setting is named colour"),
        ("x = ", "could not be read"),
    ],
)
def test_wrong_choice_is_named_with_its_rule(tmp_path, text, says):
    (tmp_path / "settings.toml").write_text(text)
    with pytest.raises(UnreadableError, match=says):
        load_settings(tmp_path)
