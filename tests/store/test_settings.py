"""The shop's choices, or a sentence about the one that is wrong."""

import pytest

from pipeline.errors import UnreadableError
from pipeline.settings import Settings, load_settings


def test_store_without_settings_has_the_defaults(tmp_path):
    assert load_settings(tmp_path) == Settings("UTC", "", 30, 90)


def test_what_is_written_counts_and_the_rest_stays(tmp_path):
    (tmp_path / "settings.toml").write_text('time_zone = "Europe/Paris"\nrepeat_days = 45\n')
    assert load_settings(tmp_path) == Settings(time_zone="Europe/Paris", repeat_days=45)


def test_amounts_may_be_whole_or_not(tmp_path):
    (tmp_path / "settings.toml").write_text('hour_costs = 35\npricing = "flat"\nflat_price = 140.5\n')
    settings = load_settings(tmp_path)
    assert (settings.hour_costs, settings.pricing, settings.flat_price) == (35.0, "flat", 140.5)
    assert settings.customer_day is None


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('time_zone = "Mars"', "IANA"),
        ("time_zone = 1", "must be a str"),
        ('repeat_days = "30"', "must be a int"),
        ("repeat_days = -1", "negative"),
        ("repeat_days = true", "must be a int"),
        ('currency = "Euro"', "ISO 4217"),
        ("hour_costs = 0", "hour_costs must be an amount above 0"),
        ("hour_costs = true", "must be an amount"),
        ("customer_day = -40.0", "must be an amount"),
        ("customer_day = inf", "must be an amount"),
        ('hour_costs = "35"', "such as 35.00"),
        ("flat_price = 14000000", "at most 1,000,000"),
        ('pricing = "cheap"', "itemised, flat, labour credited on return"),
        ('pricing = "flat"', "flat_price is needed too"),
        ("colour = 1", "no setting is named colour"),
        ("x = ", "could not be read"),
    ],
)
def test_wrong_choice_is_named_with_its_rule(tmp_path, text, says):
    (tmp_path / "settings.toml").write_text(text)
    with pytest.raises(UnreadableError, match=says):
        load_settings(tmp_path)
