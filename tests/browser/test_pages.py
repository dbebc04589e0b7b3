"""Every page in a real browser, on a desk and on a phone: quiet, self-contained, within its width, by keyboard."""

import itertools

import pytest

pytestmark = pytest.mark.browser

SIZES = {"desk": 1280, "phone": 390}
MENU = (
    "What the log says",
    "What pays",
    "What to carry",
    "What does not hold",
    "At the machine",
    "How good the answers are",
    "The log",
    "How to read the figures",
)
# A page that another one leads to.
ELSEWHERE = ("How good the answers are",)
READERS = ("What pays", "What to carry", "What does not hold")
QUESTIONS = {
    "What the log says": "Which parts break down most often?",
    "What pays": "What is new since the last load?",
    "What to carry": "What should be on the van?",
    "What does not hold": "Which repairs come back?",
    "At the machine": "What does the customer see?",
    "How good the answers are": "Would the answers at the machine have been right?",
    "The log": "Did every row of the log come in?",
    "How to read the figures": "How sure is a figure?",
}


@pytest.mark.parametrize("size", ["desk", "phone"])
@pytest.mark.parametrize("title", MENU)
def test_page_opens_quietly_and_asks_nothing_outside(look_at, full, title, size):
    seen = look_at(full, size, title)
    assert seen.page.locator("h1").inner_text() == title
    assert seen.page.locator("h2").first.inner_text() == QUESTIONS[title]
    assert seen.requests
    assert seen.outside() == []
    assert seen.complaints == []


@pytest.mark.parametrize("title", MENU)
def test_nothing_is_wider_than_a_phone(look_at, full, title):
    page = look_at(full, "phone", title).page
    widths = page.evaluate(
        "['html', '[data-testid=stMain]', '[data-testid=stMainBlockContainer]'].map(q => "
        "{ const e = document.querySelector(q); return [e.scrollWidth, e.clientWidth] })"
    )
    assert all(inside <= width for inside, width in widths)
    assert widths[0][1] == 390


@pytest.mark.parametrize("size", ["desk", "phone"])
@pytest.mark.parametrize("path", ["", "what-pays", "what-to-carry", "what-does-not-hold"])
def test_no_table_is_wider_than_its_place(look_at, full, path, size):
    page = look_at(f"{full}/{path}", size).page
    for fold in page.locator("summary", has_text="How was this worked out").all():
        fold.click()
    page.get_by_role("table").first.wait_for()
    wider = page.evaluate(
        "[...document.querySelectorAll('.wide')].filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.innerText)"
    )
    assert wider == []
    assert page.evaluate("document.querySelector('[data-testid=stMain]').scrollWidth") == SIZES[size]


def test_a_cell_bears_the_name_of_its_column_on_a_phone(look_at, full):
    page = look_at(full, "phone").page
    page.locator("summary", has_text="How was this worked out").nth(1).click()
    table = page.locator("table.stacks:visible").first
    table.wait_for()
    cell = table.locator("tbody tr").first.locator("td").nth(1)
    name = table.locator("th").nth(1).text_content()
    assert name
    assert cell.evaluate("e => getComputedStyle(e, '::before').content") == f'"{name}"'
    assert page.get_by_role("columnheader", name=name, exact=True).count() >= 1  # for who does not see it


def test_the_menu_folds_on_a_phone(look_at, full):
    page = look_at(full, "phone").page
    link = page.get_by_role("link", name="The log", exact=True)
    assert right_edge(link) <= 0
    page.get_by_test_id("stExpandSidebarButton").click()
    page.wait_for_timeout(600)
    assert 0 < right_edge(link) <= 390


def right_edge(link):
    box = link.bounding_box()
    return box["x"] + box["width"] if box else 0


def tab_stops(page, most=40):
    stops = []
    for _ in range(most):
        page.keyboard.press("Tab")
        stops.append(
            page.evaluate(
                "(() => { const e = document.activeElement; return e.getAttribute('aria-label') || e.innerText || '' })()"
            )
        )
    return stops


def test_every_control_is_reached_by_keyboard(look_at, full):
    stops = "\n".join(tab_stops(look_at(full).page))
    for control in (
        *(title for title in MENU if title not in ELSEWHERE),
        "Kind of machine",
        "the same fault",
        "30 days",
        "hands-on minutes",
        "How was this worked out",
    ):
        assert control in stops


def test_where_the_keyboard_is_can_be_seen(look_at, full):
    page = look_at(full).page
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    style = page.evaluate(
        "(() => { const s = getComputedStyle(document.activeElement); return [s.outlineStyle, s.outlineWidth] })()"
    )
    assert style == ["solid", "3px"]


def test_a_field_that_the_keyboard_is_in_has_a_ring(look_at, full):
    page = look_at(full).page
    page.get_by_role("combobox").focus()
    ring = page.evaluate("getComputedStyle(document.activeElement.parentElement).outline")
    assert "solid 3px" in ring


def test_a_fold_opens_by_keyboard(look_at, full):
    page = look_at(full).page
    page.locator("summary", has_text="How was this worked out").first.focus()
    page.keyboard.press("Enter")
    page.get_by_text("A breakdown is a reported fault").wait_for()
    assert page.get_by_role("table").first.locator("tbody tr").count() == 15


def test_a_filter_moves_the_answer_by_keyboard(look_at, full):
    page = look_at(full).page
    before = page.locator(".answer").first.inner_text()
    page.get_by_role("combobox").focus()
    for key in ("ArrowDown", "ArrowDown", "Enter"):
        page.keyboard.press(key)
    page.wait_for_function("before => document.querySelector('.answer').innerText !== before", arg=before)


def test_every_chart_says_its_finding_to_those_who_do_not_see_it(look_at, full):
    page = look_at(full).page
    page.locator("[data-testid=stVegaLiteChart]:visible").nth(2).wait_for()
    charts = page.locator("[data-testid=stVegaLiteChart]:visible").all()
    assert len(charts) == 3
    assert all("Shown:" in (chart.get_attribute("aria-label") or "") for chart in charts)


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_text_in_charts_is_14_pixels_or_more(look_at, full, size):
    page = look_at(full, size).page
    page.locator("[data-testid=stVegaLiteChart] text").first.wait_for()
    sizes = page.evaluate(
        "[...document.querySelectorAll('[data-testid=stVegaLiteChart] text')].map(e => parseFloat(getComputedStyle(e).fontSize))"
    )
    assert sizes
    assert min(sizes) >= 14


def test_labels_of_a_chart_stay_within_it_on_a_phone(look_at, full):
    page = look_at(full, "phone").page
    right = page.evaluate(
        "Math.max(...[...document.querySelectorAll('[data-testid=stVegaLiteChart] text')].map(e => e.getBoundingClientRect().right))"
    )
    assert right <= 390


@pytest.mark.parametrize("clock", ["minutes", "days", "visits"])
def test_nothing_makes_a_drawing_narrower_on_a_phone(look_at, full, clock):
    page = look_at(full, "phone").page
    page.get_by_role("radio", name=clock, exact=True).click()
    page.wait_for_timeout(1500)
    page.locator("[data-testid=stApp][data-test-script-state=notRunning]").wait_for()
    widths = page.evaluate(
        "[...document.querySelectorAll('[data-testid=stVegaLiteChart] svg .mark-group.role-frame .background')]"
        ".map(e => e.getBoundingClientRect().width).filter(width => width > 0)"
    )
    assert len(widths) >= 3
    assert min(widths) > 300  # those in a fold have its margins


def test_headings_do_not_skip_a_level(look_at, full):
    page = look_at(full).page
    levels = page.evaluate("[...document.querySelectorAll('h1,h2,h3,h4')].map(e => Number(e.tagName[1]))")
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))


def test_on_paper_there_is_no_menu_and_nothing_is_cut_off(look_at, full):
    page = look_at(full).page
    page.emulate_media(media="print")
    assert not page.locator("header").first.is_visible()
    assert not page.get_by_role("combobox").is_visible()
    assert (
        page.evaluate("getComputedStyle(document.querySelector('[data-testid=stMain]')).overflowY")
        == "visible"
    )
    assert len(page.pdf(format="A4")) > 20_000


@pytest.mark.parametrize("title", MENU)
def test_an_empty_store_says_what_to_do(look_at, empty, title):
    seen = look_at(empty, "phone", title)
    assert "No log loaded yet. Run: mendstat load FILE" in seen.page.get_by_test_id("stMain").inner_text()
    assert seen.outside() == []
    assert seen.complaints == []


@pytest.mark.parametrize(
    ("path", "title"),
    [
        ("", MENU[0]),
        ("what-the-log-says", MENU[0]),
        ("at-the-machine", "At the machine"),
        ("how-to-read", "How to read the figures"),
    ],
)
def test_a_page_opens_by_its_own_address(look_at, empty, path, title):
    page = look_at(f"{empty}/{path}").page
    assert page.locator("h1").inner_text() == title
    assert page.title() == f"{title} · mendstat"
    assert not page.get_by_role("dialog").is_visible()


def test_what_the_data_cannot_answer_is_said_below_what_it_can(look_at, refused):
    seen = look_at(refused)
    assert seen.page.locator("h2").first.inner_text() == "How many jobs end fixed?"
    assert seen.page.locator("dd", has_text="no identity").count() == 3
    assert seen.complaints == []


@pytest.mark.parametrize("size", ["desk", "phone"])
@pytest.mark.parametrize("title", MENU)
def test_pages_over_the_sample_open_quietly(look_at, sample, title, size):
    seen = look_at(sample, size, title)
    assert seen.page.locator("h2").first.inner_text() == QUESTIONS[title]
    assert seen.page.evaluate("document.querySelector('[data-testid=stMain]').scrollWidth") == SIZES[size]
    assert seen.outside() == []
    assert seen.complaints == []


def test_the_sample_says_that_it_is_invented(look_at, sample):
    assert look_at(sample).page.get_by_text("The log of an invented firm").is_visible()


@pytest.mark.parametrize("title", READERS)
def test_labels_on_the_readers_pages_stay_within_a_phone_and_are_14_pixels_or_more(look_at, sample, title):
    page = look_at(sample, "phone", title).page
    found = page.evaluate(
        "[...document.querySelectorAll('[data-testid=stVegaLiteChart] text')].map(e => "
        "[e.getBoundingClientRect().right, parseFloat(getComputedStyle(e).fontSize)])"
    )
    assert found
    assert max(right for right, _ in found) <= 390
    assert min(size for _, size in found) >= 14


def test_technician_gets_the_answer_with_two_taps(look_at, sample):
    page = look_at(f"{sample}/at-the-machine", "phone").page
    page.get_by_text("washer", exact=True).first.click()
    page.get_by_text("Seen most often on a washer").wait_for()
    page.get_by_text("not draining", exact=True).first.click()
    page.locator("ol.fixes li").first.wait_for(timeout=20_000)
    assert page.locator("h2").first.inner_text() == "Not draining"
    assert "rain pump" in page.locator(".answer").inner_text()
    assert page.evaluate("document.querySelector('[data-testid=stMain]').scrollWidth") == 390


def test_a_booked_call_gives_its_answer_with_one_tap(look_at, sample):
    page = look_at(f"{sample}/at-the-machine", "phone").page
    page.get_by_role("button", name="J26-03961").click()
    page.locator("ol.fixes li").first.wait_for(timeout=20_000)
    page.get_by_text("This machine before").wait_for(timeout=20_000)
    assert page.locator("h2").first.inner_text() == "Not washing"
    caution, answer = page.locator(".caution").first, page.locator(".answer").first
    assert caution.bounding_box()["y"] < answer.bounding_box()["y"]
    assert page.evaluate("document.querySelector('[data-testid=stMain]').scrollWidth") == 390


def test_a_check_that_is_tapped_moves_the_order_and_a_fold_draws_its_chart_when_it_is_opened(look_at, sample):
    page = look_at(f"{sample}/at-the-machine", "phone").page
    page.get_by_text("dishwasher", exact=True).first.click()
    page.get_by_text("Seen most often on a dishwasher").wait_for()
    page.get_by_text("not filling", exact=True).first.click()
    expected = page.locator("p.rests", has_text="Expected:")
    expected.wait_for(timeout=20_000)
    before = expected.inner_text()
    page.get_by_text("machine already out", exact=True).click()
    page.wait_for_function(
        "said => [...document.querySelectorAll('p.rests')].some(p => p.innerText.startsWith('Expected:') && p.innerText !== said)",
        arg=before,
        timeout=20_000,
    )
    assert page.get_by_test_id("stVegaLiteChart").count() == 0
    page.locator("summary", has_text="Does it hold?").click()
    page.get_by_test_id("stVegaLiteChart").first.wait_for(timeout=20_000)
    assert page.locator("h2").first.inner_text() == "Not filling"


@pytest.mark.parametrize("typed", ["not filin", "geen water", "n/f"])
def test_ten_typed_letters_are_enough_and_need_no_key_more(look_at, sample, typed):
    assert len(typed) <= 10
    page = look_at(f"{sample}/at-the-machine", "phone").page
    page.get_by_role("textbox").first.click()
    page.keyboard.type(typed)
    page.locator("ol.fixes li").first.wait_for(timeout=20_000)
    assert page.get_by_text("read as not filling").is_visible()


def test_a_danger_typed_stops_the_page(look_at, full):
    page = look_at(full, "desk", "At the machine").page
    page.get_by_role("textbox").first.click()
    page.keyboard.type("not draining")
    page.locator("ol.fixes li").first.wait_for(timeout=20_000)
    page.keyboard.type(" and a burning smell")
    page.locator(".stop").wait_for(timeout=20_000)
    page.locator("ol.fixes").wait_for(state="detached")
    assert page.get_by_test_id("stVegaLiteChart").count() == 0


def test_safety_reports_stand_first_on_the_sample(look_at, sample):
    page = look_at(sample, "desk", "What pays").page
    pinned = page.locator(".pinned")
    assert "afety report" in pinned.inner_text()
    assert pinned.bounding_box()["y"] < page.locator("h2").first.bounding_box()["y"]


def test_months_not_yet_known_say_so_on_a_phone(look_at, sample):
    page = look_at(sample, "phone", "What pays").page
    words = page.locator("[data-testid=stVegaLiteChart] text", has_text="not yet known").first
    box = words.bounding_box()
    assert box["x"] + box["width"] <= 390


@pytest.mark.parametrize("form", ["SVG", "PNG", "CSV"])
def test_a_chart_is_taken_along_with_one_click(look_at, full, form):
    page = look_at(full).page
    with page.expect_download(timeout=30_000) as waiting:
        page.get_by_role("button", name=form, exact=True).first.click()
    assert waiting.value.suggested_filename == f"mendstat-chart.{form.lower()}"
    assert waiting.value.path().stat().st_size > 100


@pytest.mark.parametrize("size", ["desk", "phone"])
def test_all_that_stands_behind_a_figure_is_folded_below_it(look_at, sample, size):
    page = look_at(sample, size).page
    page.locator("summary", has_text="How was this worked out").first.click()
    fold = page.locator("details.working").first
    page.wait_for_timeout(800)  # the fold around it is still opening
    fold.locator("summary").first.press("Enter")
    facts = ("Definition", "Population", "Window", "Followed", "Interval", "Rows received", "Fingerprint")
    for said in facts:
        fold.locator("dt", has_text=said).first.wait_for()
    fold.get_by_text("The queries, with their values").first.press("Enter")
    fold.get_by_text("facts.part_fits").first.wait_for()
    assert page.evaluate("document.querySelector('[data-testid=stMain]').scrollWidth") == SIZES[size]
