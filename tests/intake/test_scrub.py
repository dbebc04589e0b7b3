"""What looks like a person, a number to reach one, an address or a way in goes; trade words stay."""

import polars as pl
import pytest

from pipeline.intake import scrub as scrubbing
from pipeline.intake.scrub import REMOVED, scrub, scrubbed
from pipeline.vocabulary import known_terms
from tests.privacy.identifiers import identifiers

# Invented throughout; numbers from the ranges set aside for fiction where a country has one.
IDENTITIES = {
    "jane.roe@post.example": "e-mail",
    "jane(at)post.example": "e-mail",
    "Mrs Quillby": "name",
    "mr quillby": "name",
    "Herr Zwirnmann": "name",
    "Frau van Dorpel": "name",
    "Mevr. Zwaluwe": "name",
    "Miss Quillby": "name",
    "fam. Vraxstra": "name",
    "Familie Zwermink": "name",
    "Mme Quillot": "name",
    "Dr. Quillby": "name",
    "M. Quillot": "name",
    "tenant Jane Quillby": "name",
    "cust: quillby": "name",
    "07700 900123": "telephone",
    "020 7946 0958": "telephone",
    "+44 7700 900123": "telephone",
    "(0151) 496-0123": "telephone",
    "0151/4960123": "telephone",
    "call 496 0123": "telephone",
    "+31 20 555 0100": "telephone",
    "key safe 4711": "access",
    "alarm code is 4711": "access",
    "gate 4711#": "access",
    "4711 for the gate": "access",
    "Schlüsselsafe 4711": "access",
    "key under the blue pot": "access",
    "key is with Quillby": "access",
    "away until 14 June": "absence",
    "im Urlaub bis 3. Mai": "absence",
    "op vakantie tot mei": "absence",
    "en vacances en mai": "absence",
    "12 Larkspur Road": "address",
    "flat 3, 12 Larkspur Close": "address",
    "Zwirnstraße 12a": "address",
    "Zwaluwelaan 7": "address",
    "14 bis rue des Quillots": "address",
    "QX1 4ZZ": "postcode",
    "QX12 ZZZ": "plate",
    "van QX-Z 1234": "plate",
    "account no 12345678": "account",
    "GB33 BUKB 2020 1555 5555 55": "account",
    "4929 1234 5678 9012": "account",
}
SECRETS = (
    "quill",
    "zwirn",
    "dorpel",
    "zwaluwe",
    "jane",
    "900123",
    "7946",
    "0123",
    "555",
    "4711",
    "pot",
    "june",
    "mai",
    "mei",
    "larkspur",
    "12a",
    "qx",
    "12345678",
    "9012",
    "bukb",
)
KEPT = [
    *("E12", "F05", "err 12", "fault code E12", "error code 404", "flashes 6 then 3", "4.2 kohm", "1200 ohm", "door switch 1200 ohm"),
    *("door 230 v", "1400 rpm", "2000 W heater", "pressure 1.5 bar", "123-456 78", "1.23.456-78", "00123456", "12345678", "door seal 12345678"),
    *("pump 12345678 x2", "d/pump", "n/d wtr in btm, trip'd, cust hears hum", "Customer Reports leak", "dr seal worn", "door lock stuck"),
    *("key pad stuck", "alarm sounds", "leaks after 10 min", "drive belt", "close door", "place pump", "2026-03-04 14:05", "04/03/2026", "washer 2000 KG"),
    *("customer use", "owner misuse", "call out", "250 ms pulse", "may miss a step", "safe now", "made safe", "gate valve", "door handle", "back on after reset"),
]  # fmt: skip


@pytest.mark.parametrize("text", IDENTITIES)
@pytest.mark.parametrize("around", ["{}", "not draining, {}, noisy", "noisy; {}"])
def test_identity_in_a_short_text_is_removed(text, around):
    found = scrub(around.format(text)).casefold()
    assert REMOVED in found
    assert not [secret for secret in SECRETS if secret in found]
    assert ("noisy" in found) == ("noisy" in around)


@pytest.mark.parametrize("text", KEPT)
def test_words_and_numbers_of_the_trade_stay(text):
    assert scrub(text) == text


def test_no_known_word_is_taken_for_a_person():
    assert [term for term in known_terms() if scrub(term) != term] == []
    assert [term for term in known_terms() if scrub(term.title()) != term.title()] == []


@pytest.mark.parametrize(
    "text", ["CUST REPORTS LEAK", "TENANT NOT IN", "CUSTOMER SAYS DOOR WILL NOT OPEN", "OWNER CALLED BACK"]
)
def test_capitals_throughout_do_not_make_a_name(text):
    assert scrub(text) == text


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("MRS QUILLBY MACHINE NOISY", "MRS [removed] MACHINE NOISY"),
        ("TENANT JANE QUILLBY SAYS LEAKING", "TENANT [removed] SAYS LEAKING"),
    ],
)
def test_name_in_capitals_ends_where_the_trade_begins(text, left):
    assert scrub(text) == left


@pytest.mark.parametrize("care", ["light", "part", "full"])
def test_column_is_scrubbed_like_each_of_its_texts(care):
    around = ("{}", "not draining, {}, noisy", "noisy ({})", "{} / leaks")
    texts = [form.format(text) for text in (*IDENTITIES, *KEPT) for form in around]
    texts += [text.upper() for text in texts] + [text.lower() for text in texts] + ["", None]
    found = scrubbed(pl.Series("x", texts, dtype=pl.String), care)
    assert found.to_list() == [text and scrub(text, care) for text in texts]


@pytest.mark.parametrize("number", ["481010354757", "0044123", "7700900123", "07700-900", "1234 5678 90"])
def test_number_columns_keep_their_numbers(number):
    assert scrub(number, "light") == number


@pytest.mark.parametrize("text", ["jane.roe@post.example", "Mrs Quillby", "+44 7700 900123", "cust: Quillby"])
def test_number_columns_lose_what_can_be_nothing_else(text):
    assert REMOVED in scrub(text, "light")


def test_name_of_a_part_keeps_its_long_number():
    assert scrub("pump 481010354757", "part") == "pump 481010354757"
    assert scrub("pump 481010354757") == f"pump {REMOVED}"


def test_scrubbing_twice_changes_nothing_more():
    once = {text: scrub(text) for text in IDENTITIES}
    assert {text: scrub(found) for text, found in once.items()} == once


# How somebody's name or number stands in a cell.
AROUND = (
    ("", ""),
    ("pump noisy, ", ""),
    ("", " rang, will not start"),
    ("code ", " on door"),
    ("spoke to ", " & Co"),
)


@pytest.mark.parametrize("care", ["light", "make", "part", "full"])
def test_what_the_quick_looks_pass_by_holds_nothing_that_a_close_look_takes_out(care):
    planted = [one.text for one in identifiers(300, 7)]
    said = [f"{before}{text}{after}" for text in planted for before, after in AROUND]
    written = pl.Series([form(text) for text in said for form in (str, str.lower, str.upper, str.title)])
    passed = set(written) - set(scrubbing._suspicious(written, care))
    assert [text for text in passed if scrub(text, care) != text] == []
