"""The pocket sheet in a real browser with the network off: search, answer, danger, age, paper."""

import json

import pytest

from pipeline.pocket_sheet.cells import pocket
from pipeline.pocket_sheet.page import content, page
from pipeline.vocabulary.dangers import dangers_of
from pipeline.vocabulary.nearest import nearest

pytestmark = pytest.mark.browser

TYPED = [
    "not drainng", "wont drane", "n/d", "pumt nich ab", "läuft kein wasser", "geen watr", "lekt", "fuite d'eau", "ne chaufe pas", "nois",
    "icng up", "leeks on floor", "gläser schmutzig", "coffe too coarse", "glases not clen", "not", "x", "draait niet",
]  # fmt: skip
TOLD = [
    "not draining", "smells of burning", "no burning smell now", "shock absorber worn", "gives a shock", "riecht nach gas", "Gasgeruch",
    "smells strongly of gas", "odeur de brûlé", "flood switch", "water came through the ceiling", "trips the breaker",
]  # fmt: skip


@pytest.fixture(scope="module")
def found(sample_store):
    from pipeline.store.folder import Store

    with Store(sample_store).connect() as con:
        return pocket(con)


@pytest.fixture(scope="module")
def sheet(found, tmp_path_factory):
    path = tmp_path_factory.mktemp("sheet") / "sheet.html"
    path.write_text(page(found), encoding="utf-8")
    return path


@pytest.fixture
def opened(chromium, sheet):
    context = chromium.new_context(viewport={"width": 390, "height": 844}, locale="en-GB")
    context.set_offline(True)
    shown = context.new_page()
    shown.asked, shown.complaints = [], []
    shown.on("request", lambda request: shown.asked.append(request.url))
    shown.on("console", lambda said: shown.complaints.append(said.text))
    shown.on("pageerror", lambda error: shown.complaints.append(str(error)))
    shown.goto(sheet.as_uri())
    yield shown
    assert shown.complaints == []
    assert shown.asked == [sheet.as_uri()]
    context.close()


def test_misspelled_words_in_four_languages_lead_to_the_answer(opened):
    for typed, symptom in (
        ("not drainng", "Not draining"),
        ("pumt nich ab", "Not draining"),
        ("geen watr", "Not filling"),
        ("ne chaufe pas", "Not heating"),
    ):
        opened.fill("#field", typed)
        assert opened.locator(".hit").first.inner_text().startswith(symptom)
    opened.locator(".hit").first.click()
    texts = opened.locator("article").inner_text()
    # The heading: a caution above the answer begins with the same words.
    assert (
        texts.index("Isolate the electricity") < texts.index("shown here") < texts.index("After the work\n")
    )
    assert opened.evaluate("document.documentElement.scrollWidth") <= 390


def test_the_search_is_the_same_as_that_of_the_pages(opened, found):
    data = content(found)
    ways = dict(data["wordings"])
    here = opened.evaluate("typed => typed.map(t => nearest(t, data.wordings, 6))", TYPED)
    assert here == [nearest(typed, ways) for typed in TYPED]


def test_dangers_are_read_as_everywhere_else(opened):
    import polars as pl

    here = opened.evaluate("told => told.map(t => dangersIn(t, data.danger))", TOLD)
    there = dangers_of(pl.Series(TOLD)).to_list()
    assert here == [text.split("; ") if text else [] for text in there]


@pytest.mark.parametrize(
    "told",
    [
        "not draining and smells of burning",
        "burning smell but not now",
        "riecht verbrannt",
        "ruikt naar gas",
        "choc électrique",
    ],
)
def test_a_danger_stops_and_names_no_part(opened, told):
    opened.fill("#field", told)
    assert opened.locator(".stop").is_visible()
    assert opened.locator(".hit, article").count() == 0
    assert "Make safe and stop" in opened.locator("#result").inner_text()


def test_a_kind_named_in_the_words_is_the_kind_that_is_shown(opened):
    opened.fill("#field", "washer not draining")
    assert "washer" in opened.locator(".hit small").first.inner_text()
    assert opened.locator(".hit").count() < 6


def test_targets_are_big_and_reached_by_keyboard(opened):
    sizes = opened.evaluate(
        "[...document.querySelectorAll('button, input, summary')].map(e => e.getBoundingClientRect().height)"
    )
    assert min(sizes) >= 44
    opened.keyboard.press("Tab")
    assert opened.evaluate("document.activeElement.id") == "field"


def test_an_old_sheet_says_so_and_a_fresh_one_does_not(chromium, found, tmp_path):
    fresh = content(found)
    for days, is_old in ((10, False), (200, True)):
        context = chromium.new_context(viewport={"width": 390, "height": 844})
        shown = context.new_page()
        shown.add_init_script(f"Date.now = () => Date.parse('{fresh['to']}T12:00:00Z') + {days} * 864e5;")
        (tmp_path / "s.html").write_text(page(found), encoding="utf-8")
        shown.goto((tmp_path / "s.html").as_uri())
        assert shown.locator("#old").is_visible() == is_old
        context.close()


def test_paper_has_one_sheet_a_symptom_or_only_the_open_one(opened, found):
    def sheets():
        opened.emulate_media(media="print")
        opened.evaluate("window.dispatchEvent(new Event('beforeprint'))")
        count = opened.locator("#print article").count()
        assert opened.locator("#print .caution").count() == count
        assert not opened.locator("#field").is_visible()
        opened.evaluate("window.dispatchEvent(new Event('afterprint'))")
        opened.emulate_media(media="screen")
        return count

    assert (
        sheets() == len(json.loads(opened.locator("#data").text_content())["entries"]) == len(found.entries)
    )
    opened.locator(".hit").first.click()
    assert sheets() == 1
    assert opened.pdf(format="A4").count(b"/Type /Page\n") <= 2
