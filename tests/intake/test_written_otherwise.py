"""What people write in a hurry is found too, and ordinary words that look like it are not taken for it."""

import polars as pl
import pytest

from pipeline.intake.scrub import REMOVED, scrub, scrubbed
from pipeline.intake.written_otherwise import MAY_BE_WRITTEN_OTHERWISE, WRITTEN_OTHERWISE

HURRIED = (
    *("call back on 555 0123", "ze9 9zz", "ze99zz", "ZE99ZZ", "m0 9zz", "at ZE9X9ZZ", "1012ab", "ab12cde", "reg ab12 cde"),
    *("dob 12/03/1961", "born 12.3.1961", "born 12 March 1961", "visa ending 1234", "NI QQ123456C", "MAC 00:1A:2B:3C:4D:5E"),
    *("51.5074, -0.1278", "///zwirn.quill.larkspur", "Flat 3, Larkspur House", "at 14 Larkspur", "am larkspurstraße 14"),
    *("alarm 1 2 3 4", "alarm code: 1-2-3-4", "ks 4711", "c4711y on gate", "neighbour at no 14 has key", "wlan pw hunter22"),
    *("hols til 14th", "out all day Wednesday", "back 12 May", "back Monday", "away from Monday", "away 12-20 May"),
    *("spoke with quillan", "J.S.", "Sig. Quillan", "Family Quillan", "Fam. Quillan", "family van den Quillan"),
)  # fmt: skip
ORDINARY = (
    # Published repair records showed these to be taken for somebody or for a day of absence.
    *("snoer wil niet meer naar binnen", "deksel wil niet open", "Ne fonctionne plus depuis 6 ans", "per ongeluk gevallen", "ik ben de code kwijt"),
    *("anders werkt het wel", "Li-ion cellen defect", "CD's stuck", "DVDs skip", "CD-speler hapert", "Hedge Trimmer", "Digital Compact Camera"),
    *("Battery Charger", "Garden Shredder not starting", "Mouse sander, sander from skip", "handle has rusted away from the frame"),
    *("cable pulled away from the plug", "cuts out after 1/2 hour", "cuts out after 30/60 seconds", "Foutcode E4", "Wind Shield", "Disc Brakes"),
    *("he moved it and it leaks", "taken away for repair", "at 3 Bar", "no 2 Burner", "back plate loose", "out on Max", "flash code 2 1 3 1"),
    *("error e12 3rd time", "U8 2nd fault", "A.C. supply", "O.K. on test", "unit 3 not cooling", "spoke to manufacturer", "owner has lost the key pad"),
    *("1400rpm", "2000w", "1000ma", "2200uf", "WM1400", "gas mark 6", "fam size drum", "4700 PF"),
)  # fmt: skip


@pytest.mark.parametrize("text", HURRIED)
def test_forms_of_a_hurry_are_removed(text):
    for around in ("{}", "noisy, {}", "{}; leaks"):
        left = scrub(around.format(text))
        assert REMOVED in left
        assert "quill" not in left.casefold()
        assert "larkspur" not in left.casefold()
        assert "4711" not in left


def test_in_names_of_parts_they_are_removed_but_for_what_a_part_may_be_numbered():
    kept = [text for text in HURRIED if REMOVED not in scrub(f"drain pump, {text}", "part")]
    assert set(kept) <= {"ze9 9zz", "ze99zz", "ZE99ZZ", "m0 9zz", "at ZE9X9ZZ", "1012ab", "ab12cde"}


@pytest.mark.parametrize("text", ORDINARY)
def test_ordinary_words_stay(text):
    assert scrub(text) == text


def test_a_column_of_them_is_scrubbed_like_each():
    texts = [f"noisy, {text}" for text in (*HURRIED, *ORDINARY)]
    assert scrubbed(pl.Series(texts)).to_list() == [scrub(text) for text in texts]


@pytest.mark.parametrize("text", HURRIED)
def test_no_form_is_passed_by_at_a_glance(text):
    if any(form.search(text) for form in WRITTEN_OTHERWISE["full"]):
        assert MAY_BE_WRITTEN_OTHERWISE.search(text)


@pytest.mark.parametrize(
    ("cell", "kept"),
    [
        ("Callum Quillby", REMOVED),
        ("tenant Callum Quillby", f"tenant {REMOVED}"),
        ("Callum Quillby desk lamp", "Callum Quillby desk lamp"),
        ("Callum Callum", "Callum Callum"),
        ("Zwirnox Callum", "Zwirnox Callum"),
    ],
)
def test_a_make_called_like_a_person_is_a_thing_where_words_of_things_stand_beside_it(cell, kept):
    assert scrub(cell, "make") == kept


def test_what_a_person_settled_in_the_layout_stays():
    cells = pl.Series(["Callum Quillby", "Jane Quillby"])
    assert scrubbed(cells, "make", {"callum quillby"}).to_list() == ["Callum Quillby", REMOVED]
