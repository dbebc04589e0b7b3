"""Answers worked out before anybody taps: those a tap reaches, and the page has nothing left to ask for them."""

import pytest

from dashboards import STORE_VARIABLE, ahead, data
from dashboards.questions import free_or_replace
from pipeline.measures.symptom_words import Case


@pytest.fixture
def real(sample_store, monkeypatch):
    monkeypatch.setenv(STORE_VARIABLE, str(sample_store))
    return data.open_fleet()


def ask_as_the_page(fleet, case):
    understood = fleet.understand(case).understood
    found = fleet.fixes(understood)
    if found.fixes is None:
        return found.refusal
    free_or_replace.ask(fleet, found.fixes)
    return found.fixes.rows, fleet.bring(understood).rows(), fleet.booking(understood)


def test_every_kind_has_its_commonest_before_any_has_its_second(real):
    cases = ahead.commonest(real)
    kinds = real.kinds()
    assert cases[: len(kinds)] == [Case(real.suggestions("", kind)[0], kind) for kind in kinds]
    assert len(set(cases)) == len(cases) <= ahead.MOST


def test_the_page_has_nothing_left_to_ask_for_them(real, monkeypatch):
    first = ahead.commonest(real)[0]
    ahead.answer(real)
    answered = [ask_as_the_page(real, case) for case in ahead.commonest(real)]

    def never(*_args, **_named):
        raise AssertionError("asked again")

    for name in ("find_fixes", "bring", "time_to_book"):
        monkeypatch.setattr(data, name, never)
    monkeypatch.setattr("pipeline.measures.evaluate_with_working", never)
    assert [ask_as_the_page(real, case) for case in ahead.commonest(real)] == answered
    monkeypatch.undo()
    data.st.cache_resource.clear()
    data.st.cache_data.clear()
    assert ask_as_the_page(real, first) == answered[0], "worked out ahead it is the same answer"


def test_it_is_done_once_a_build_beside_the_pages(real):
    done = []

    def work(fleet):
        done.append(fleet.build)

    def refused(_fleet):
        raise data.MendstatError("cannot be read")

    for _ in range(3):
        real.beside(work)
        real.beside(refused)
    for thread in [each for each in data.threading.enumerate() if "work" in each.name]:
        thread.join(10)
    assert done == [real.build]
