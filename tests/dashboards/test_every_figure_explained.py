"""Of every figure a statistician finds what stands behind it, and whoever owns the shop one sentence that says what it means."""

import re
from html import escape

import pytest

from dashboards import workings
from pipeline.measures import MEASURES, Question, evaluate_with_working

ASKED = {
    "technicians": Question(people=True),
    "clean-or-replace": Question(hour_costs=35.0, customer_day=40.0),
    "fix-payoff": Question(hour_costs=35.0),
}
# Words of the trade of statistics, which an owner need not know.
NOT_FOR_OWNERS = re.compile(
    r"exposure|censor|index job|funnel|estimat|interval|probabilit|competing|cohort|confidence|incidence|aalen|ratio\b",
    re.IGNORECASE,
)


@pytest.fixture(scope="module", params=sorted(MEASURES))
def explained(request, sample):
    name = request.param
    working = evaluate_with_working(sample, name, ASKED.get(name))[1]
    return MEASURES[name], working, workings.as_html([working])


def entry(html, name):
    """What the fold says under a word."""
    found = re.search(rf"<dt>{name}[^<]*</dt><dd>(.*?)</dd>", html, re.DOTALL)
    assert found, name
    return found[1]


def test_a_statistician_finds_definition_population_window_n_interval_censoring_and_reference(explained):
    measure, working, html = explained
    assert entry(html, "Definition") == escape(measure.definition)
    assert entry(html, "Population") == escape("; ".join(working.population))
    assert working.population
    window = entry(html, "Window")
    is_listed_whole = measure.name == "safety-reports" and window == "everything received, whatever its day"
    assert is_listed_whole or re.fullmatch(r"\d{4}-\d\d-\d\d.* up to, and without, \d{4}-\d\d-\d\d.*", window)
    assert re.match(r"[\d,]+ rows?\b", entry(html, "n"))
    assert entry(html, "Followed") == escape(measure.followed)
    interval = entry(html, "Interval")
    assert interval.startswith("95 %. ")
    assert escape(measure.source) in interval
    # A reference has an author's year; reports that are only listed need none, and say so.
    assert re.search(r"\(\d{4}\)", measure.source) or "Listed, not estimated" in measure.source


def test_what_is_followed_says_what_ends_it(explained):
    followed = explained[0].followed
    assert re.search(
        r"censored|as they stand|end of the window|so far|no part of|nothing is followed|reported in the window",
        followed,
    )


def test_an_owner_finds_one_sentence_in_plain_words(explained):
    measure, _, html = explained
    meaning = measure.meaning
    assert f"<p>{escape(meaning)}</p>" in html
    assert meaning.endswith(".")
    assert ". " not in meaning
    assert not NOT_FOR_OWNERS.search(meaning)
    assert len(meaning.split()) <= 32


def test_the_command_line_says_the_same(explained):
    measure, working, _ = explained
    text = working.text()
    for said in (
        measure.meaning,
        measure.definition,
        measure.followed,
        measure.source,
        working.window_text,
        f"n: {working.size}",
    ):
        assert said in text
