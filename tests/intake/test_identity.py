"""Identity is cleaned, then replaced by a keyed pseudonym; nothing of it can be read back."""

import base64
import hashlib
import hmac

import polars as pl
import pytest

from pipeline.intake.identity import area, cleaned, identity, keyed_hash
from pipeline.store.key import Key
from tests.intake.reading import KEY


def clean(text):
    return cleaned(pl.Series("x", [text], dtype=pl.String))[0]


def pseudonym(*cells, domain="unit", key=KEY):
    return identity([pl.Series("x", [cell], dtype=pl.String) for cell in cells], domain, key)[0]


def test_keyed_hash_is_hmac_sha_256():
    # RFC 4231 (2005), test case 2, section 4.3.
    found = pl.DataFrame({"x": ["what do ya want for nothing?"]}).select(keyed_hash(pl.col("x"), Key("Jefe")))
    assert found.item() == "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843"


def test_pseudonym_is_the_first_nine_bytes_of_the_hmac_within_its_domain():
    digest = hmac.new(KEY.text.encode(), b"unit:ab12", hashlib.sha256).digest()
    assert pseudonym("AB-12") == base64.urlsafe_b64encode(digest[:9]).decode()
    assert len(pseudonym("AB-12")) == 12


@pytest.mark.parametrize("written", ["AB 12", "ab-12", " Ab‐12 ", "ＡＢ１２", "a b\u00a01 2", "AB–12"])
def test_one_identity_written_in_many_ways_has_one_pseudonym(written):
    assert pseudonym(written) == pseudonym("ab12")


def test_sharp_s_and_its_capitals_are_one():
    assert clean("Weißstraße") == clean("WEISSSTRASSE")


@pytest.mark.parametrize(
    "nothing", ["n/a", "N/A", "na", "NONE", "unknown", "-", "--", "0000", "0", "???", "", " ", None, "/"]
)
def test_what_says_nothing_is_nobody(nothing):
    assert pseudonym(nothing) is None


def test_domains_and_keys_keep_pseudonyms_apart():
    found = {pseudonym("7", domain=domain) for domain in ("unit", "site", "technician")}
    assert len(found | {pseudonym("7", key=Key("f" * 64))}) == 4


def test_identity_of_several_cells_is_all_of_them_together():
    assert pseudonym("Roe", "12 Row") == pseudonym("ROE", "12row") != pseudonym("Roe", None)
    assert pseudonym("a", "b") != pseudonym("ab", None)
    assert pseudonym(None, "n/a") is None


@pytest.mark.parametrize(
    ("postcode", "kept"),
    [
        ("sw1a 1aa", "SW1"),
        ("10115", "101"),
        ("1012 AB", "101"),
        ("75-008", "750"),
        ("n/a", None),
        ("00000", None),
    ],
)
def test_of_a_postcode_only_the_area_is_left(postcode, kept):
    assert area(pl.Series("x", [postcode]))[0] == kept
