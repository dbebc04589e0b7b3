"""Answers worked out before anybody taps: those a tap reaches, and the page has nothing left to ask for them."""

import subprocess
import sys

import pytest

from dashboards import STORE_VARIABLE, ahead, data
from dashboards.beside import Work
from dashboards.questions import free_or_replace
from pipeline.errors import MendstatError
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
    steps = fleet.check_order(found.fixes, understood.unit_type or "").steps
    return found.fixes.rows, steps, fleet.bring(understood).rows(), fleet.booking(understood)


def test_every_kind_has_its_commonest_before_any_has_its_second(real):
    cases = ahead.commonest(real)
    kinds = real.kinds()
    assert cases[: len(kinds)] == [Case(real.suggestions("", kind)[0], kind) for kind in kinds]
    assert len(set(cases)) == len(cases) <= ahead.MOST


def test_the_page_has_nothing_left_to_ask_for_them(real, monkeypatch):
    first = ahead.commonest(real)[0]
    for _ in ahead.answer(real):
        pass
    answered = [ask_as_the_page(real, case) for case in ahead.commonest(real)]

    def never(*_args, **_named):
        raise AssertionError("asked again")

    for name in ("find_fixes", "bring", "time_to_book", "timed_checks"):
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
        yield
        done.append(fleet.build)

    for _ in range(3):
        real.beside(work)
    assert data._beside(str(real.store), real.build, work.__qualname__, None).wait(10)
    assert done == [real.build]


def test_a_step_that_fails_ends_the_work_and_nothing_else():
    done = []

    def steps():
        done.append(1)
        yield
        raise MendstatError("cannot be read")

    assert Work("fails", steps(), (MendstatError,)).wait(10)
    assert done == [1]


PROGRAM = """
import time
from dashboards.beside import Work
def steps():
    for step in range(1000):
        time.sleep(0.05)
        print(step, flush=True)
        yield
Work("long", steps(), ())
"""


def test_the_program_ends_after_the_step_that_is_being_done():
    ended = subprocess.run(
        [sys.executable, "-c", PROGRAM], capture_output=True, text=True, timeout=20, check=False
    )
    assert (ended.returncode, ended.stderr) == (0, "")
    assert len(ended.stdout.split()) < 20
