"""The starter words, and the shop's own laid over them."""

import pytest

from pipeline.errors import UnreadableError
from pipeline.normalise.phrases import pieces, read_phrase
from pipeline.vocabulary import (
    LANGUAGES,
    in_language,
    known_terms,
    normal_form,
    outside_causes,
    safety_words,
    vocabulary,
)

# The values that the standard log names, column by column (the public description of the log).
STANDARD = {
    "job_kind": "fault|planned service|installation|recall work|quote only|workshop",
    "return_reason": "same fault|wrong diagnosis|disturbed by us|faulty new part|use|unrelated",
    "fitting": "freestanding|built-in|stacked",
    "site_kind": "household|letting agent|laundry|café|other",
    "mechanism": "stuck|blocked|worn|cracked or burnt|leaking|electrical|none found",
    "cause": "wear|installation|misuse|water|earlier repair|power|unknown",
    "part_status": "fitted|needed not on van|ordered|taken out again|faulty new|returned",
    "part_source": "genuine|pattern|refurbished|used|customer-supplied",
    "action": "inspect|test|clean|free|clear blockage|descale|adjust|reset|reseat|repair|replace|correct installation|"
    "make safe|advise|refer|none",
    "payer": "customer|maker warranty|insurer|own guarantee|goodwill",
    "outcome": "fixed|temporary|return booked|awaiting customer|no fault found|advised|quote declined|"
    "beyond economic repair|no access|cancelled|referred|made safe|not finished|open|unknown",
}


@pytest.mark.parametrize("column", STANDARD)
def test_standard_values_are_meanings_of_a_closed_list(column):
    words = vocabulary()[column]
    assert words.standard == set(STANDARD[column].split("|"))
    assert words.is_closed
    assert all(words.meaning(value) == value for value in words.standard)


@pytest.mark.parametrize("column", sorted(vocabulary()))
def test_words_are_in_normal_form_and_mean_one_thing(column):
    words = vocabulary()[column]
    assert {normal_form(meaning) for meaning in words.standard} == words.standard
    assert set(words.other.values()) <= words.standard
    assert not words.standard & words.other.keys()
    assert words.outside <= words.standard


@pytest.mark.parametrize(
    ("column", "phrase", "meaning", "rule"),
    [
        ("outcome", "Fixed.", "fixed", "standard value"),
        ("outcome", "  BER ", "beyond economic repair", "vocabulary"),
        ("outcome", "no-access", "no access", "vocabulary"),
        ("outcome", "Closed", "closed", "unsettled"),
        ("outcome", "Paid", "paid", "unsettled"),
        ("outcome", "Invoiced", "invoiced", "unsettled"),
        ("symptom", "Won't drain!", "not draining", "vocabulary"),
        ("symptom", "Sings at  night…", "sings at night...", "own words"),
        ("unit_type", "w/m", "washer", "vocabulary"),
        ("action", "replaced", "replace", "vocabulary"),
        ("part_name", "Ｄrain Pump", "drain pump", "standard value"),
        ("part_name", "Ｄrain of Brass", "drain of brass", "own words"),
        ("symptom", "...", None, "own words"),
    ],
)
def test_phrase_is_read_by_rule(column, phrase, meaning, rule):
    from pipeline.normalise.phrase_reader import NO_WORDS

    found = read_phrase(vocabulary().get(column, NO_WORDS), {}, phrase)
    assert found == (None if meaning is None else meaning.rstrip("."), rule)


def test_no_word_of_paperwork_means_fixed():
    words = vocabulary()["outcome"]
    for word in (
        "closed",
        "invoiced",
        "paid",
        "complete",
        "completed",
        "done",
        "finished",
        "billed",
        "archived",
    ):
        assert words.meaning(word) is None


@pytest.mark.parametrize(
    ("column", "phrase", "meaning"),
    [
        ("symptom", "n/d", "not draining"),
        ("symptom", "wtr in btm", "water left in bottom"),
        ("symptom", "trip'd", "trips supply"),
        ("symptom", "hears hum", "humming"),
        ("symptom", "leaks on run", "leaks while running"),
        ("symptom", "n/h", "not heating"),
        ("symptom", "n/f", "not filling"),
        ("symptom", "n/s", "will not start"),
        ("unit_type", "w/m", "washer"),
        ("unit_type", "d/w", "dishwasher"),
        ("unit_type", "t/d", "dryer"),
        ("unit_type", "f/f", "fridge-freezer"),
        ("part_name", "d/pump", "drain pump"),
        ("part_name", "outlet pump", "drain pump"),
        ("part_name", "pmp drn", "drain pump"),
        ("part_name", "c/pump", "circulation pump"),
        ("part_name", "inlet v/v", "inlet valve"),
        ("part_name", "elem", "heating element"),
        ("part_name", "stat", "thermostat"),
        ("part_name", "p/switch", "pressure switch"),
        ("part_name", "brg", "bearings"),
        ("part_name", "gskt", "gasket"),
        ("part_name", "NTC", "temperature sensor"),
        ("part_name", "cap", "capacitor"),
        # One of several parts until a number tells which.
        ("part_name", "pump", "pump"),
        ("part_name", "board", "board"),
        ("part_name", "module", "module"),
        ("outcome", "NFF", "no fault found"),
        ("outcome", "BER", "beyond economic repair"),
        ("outcome", "o/o", "return booked"),
        ("outcome", "rtn", "return booked"),
        ("action", "p/fit", "replace"),
        ("action", "adv", "advise"),
        ("payer", "FOC", "goodwill"),
        ("payer", "GW", "goodwill"),
    ],
)
def test_shorthand_of_the_trade(column, phrase, meaning):
    assert vocabulary()[column].meaning(normal_form(phrase)) == meaning


@pytest.mark.parametrize("phrase", ["N/A", "W/O", "C/B", "U/S", "done"])
def test_shorthand_that_means_several_things_is_not_settled(phrase):
    settling = {
        column for column, words in vocabulary().items() if words.meaning(normal_form(phrase)) is not None
    }
    # Whether something was done is all that a column of yes and no asks.
    assert settling <= {"yes_no"}


# The trade's list of faults in how a machine was put in, each in words of its own.
INSTALLATION_FAULTS = (
    "drain hose without high loop|no air gap|disposer knock-out plug left in|drain hose kinked|hose pushed too far into standpipe|"
    "standpipe too low|standpipe too high|tap part closed|hose filter blocked|no inlet pressure|wrong inlet pressure|not level|"
    "transit bolts left|vent duct crushed|vent duct too long|ventilation gap blocked|shared circuit|undersized circuit|"
    "reversed hot and cold|softener wrong|machine moved with oil not settled"
)


@pytest.mark.parametrize("phrase", INSTALLATION_FAULTS.split("|"))
def test_fault_of_the_installation_lies_outside_the_machine(phrase):
    assert vocabulary()["finding"].meaning(phrase) in outside_causes()


def test_layout_speaks_about_its_own_file_first():
    assert read_phrase(vocabulary()["outcome"], {"fixed": "temporary"}, "Fixed") == ("temporary", "layout")


def test_cell_may_hold_several_symptoms():
    assert pieces("not draining; noisy ;; not draining") == ["not draining", "noisy"]


def test_shops_own_words_win(tmp_path):
    (tmp_path / "outcome.toml").write_text(
        '[means]\n"temporary" = ["fixed", "Up and running"]\n', encoding="utf-8"
    )
    (tmp_path / "advised_not_done.toml").write_text('[means]\n"new hose" = ["hose"]\n', encoding="utf-8")
    words = vocabulary(tmp_path)
    assert words["outcome"].meaning("fixed") == "temporary"
    assert words["outcome"].meaning("up and running") == "temporary"
    assert words["outcome"].meaning("mended") == "fixed"
    assert words["advised_not_done"].meaning("hose") == "new hose"
    assert vocabulary()["outcome"].meaning("fixed") == "fixed"


@pytest.mark.parametrize(
    "text", ["means = 3", "[means", '[means]\n"a" = "b"', '[means]\n"a" = ["x"]\n"b" = ["X"]']
)
def test_own_file_that_cannot_be_read_is_named(tmp_path, text):
    (tmp_path / "cause.toml").write_text(text, encoding="utf-8")
    with pytest.raises(UnreadableError, match=r"cause\.toml"):
        vocabulary(tmp_path)


def test_terms_for_notes_come_longest_first_and_hold_traps():
    terms = known_terms()
    assert list(map(len, terms)) == sorted(map(len, terms), reverse=True)
    assert {"no leak", "leak", "not draining", "burning smell"} <= set(terms)
    assert min(map(len, terms)) >= 4


def test_bare_smell_and_tripping_are_no_danger():
    phrases = {phrase for phrases in safety_words().values() for phrase in phrases}
    assert phrases.isdisjoint({"smell", "smells", "trips the breaker", "trips supply"})
    assert set(safety_words()) == {"shock", "smoke", "fire", "gas", "flood", "burning smell"}


def test_what_lies_outside_the_machine_is_named():
    assert {"drain hose without rise", "installation", "misuse"} <= outside_causes()
    assert outside_causes().isdisjoint({"wear", "bearings worn", "earlier repair"})


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_word_of_another_language_means_what_its_file_says(language):
    for column, means in in_language(language)["means"].items():
        words = vocabulary()[column]
        for meaning, ways in means.items():
            assert {words.meaning(normal_form(way)) for way in ways} == {meaning}, (column, meaning)


@pytest.mark.parametrize(
    ("column", "phrase", "meaning"),
    [
        ("outcome", "Gerät läuft", "fixed"),
        ("outcome", "wacht op onderdeel", "return booked"),
        ("outcome", "Pièce commandée", "return booked"),
        ("action", "ausgetauscht", "replace"),
        ("action", "ontkalkt", "descale"),
        ("action", "Nettoyé", "clean"),
        ("part_name", "Laugenpumpe", "drain pump"),
        ("part_name", "koolborstels", "carbon brushes"),
        ("part_name", "joint de porte", "door seal"),
        ("symptom", "pumpt nicht ab", "not draining"),
        ("symptom", "lekt", "leaks"),
        ("symptom", "ne chauffe pas", "not heating"),
        # Bare words that may be one of several parts stay so in every language.
        ("part_name", "Pumpe", "pump"),
        ("part_name", "klep", "valve"),
        ("part_name", "moteur", "motor"),
    ],
)
def test_words_of_the_trade_in_german_dutch_and_french(column, phrase, meaning):
    assert vocabulary()[column].meaning(normal_form(phrase)) == meaning


@pytest.mark.parametrize(
    "phrase",
    [
        *("no leak", "leaked last year", "leckt nicht", "war früher undicht", "letztes jahr undicht"),
        *(
            "lekt niet",
            "geen lekkage",
            "lekte vorig jaar",
            "ne fuit pas",
            "pas de fuite",
            "fuyait l'an dernier",
        ),
    ],
)
def test_what_is_denied_or_was_so_once_is_no_symptom(phrase):
    words = vocabulary()["symptom"]
    assert words.meaning(normal_form(phrase)) is None
    assert normal_form(phrase) in words.ignored


def test_a_short_word_that_english_has_too_is_not_read_out_of_a_note():
    assert {"sent", "tape", "lek", "laut"}.isdisjoint(known_terms())
    assert "pumpt nicht ab" in known_terms()
