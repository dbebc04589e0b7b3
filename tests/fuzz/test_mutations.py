"""
Mutated files never end in a traceback or a hang, their rows add up, and only what was touched is set aside.

Every case is found again by its seed: `case_of(seed)`. `-m full` examines ten thousand; MENDSTAT_MUTATED_FILES=25000 reads
as many more, from MENDSTAT_MUTATED_FROM=10000 on, without building from them.
"""

from __future__ import annotations

import os
import resource
import sys
from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.errors import CannotAnswerError, UnreadableError
from tests.fuzz import byte_mutations, cell_mutations, plain
from tests.fuzz.cases import Case, case_of_bytes
from tests.fuzz.cell_mutations import Grid, case_of_grid
from tests.fuzz.checks import what_is_wrong
from tests.fuzz.examining import examined, only_read_through
from tests.fuzz.mutations import case_of
from tests.fuzz.samples import samples
from tests.fuzz.taking import Outcome

SEEDS, MANY_SEEDS, TOGETHER = 50, 10_000, 50
ONLY_READ, FIRST_ONLY_READ = 20, 10_000
MOST_MEMORY = 1 << 30  # bytes of the process that reads them all, so of each file
EXAMPLES = 6  # files, each of several mutations
ALWAYS_LOADED = 0.5  # share of the seeded files, by far exceeded


def pieces(count: int) -> list[range]:
    return [range(start, min(count, start + TOGETHER)) for start in range(0, count, TOGETHER)]


def assert_all_right(cases: list[Case]) -> Counter[tuple[str, str]]:
    wrong, counts = examined(cases)
    assert not wrong, "\n".join(wrong)
    return counts


@pytest.mark.parametrize("seeds", pieces(SEEDS), ids=str)
def test_seeded_mutations(seeds):
    counts = assert_all_right([case_of(seed) for seed in seeds])
    loaded = sum(count for (_, fate), count in counts.items() if fate == "loaded")
    assert loaded > ALWAYS_LOADED * counts.total()


# A book whose archive tells wrong sizes; a record of two rows with a NUL in what they share; a header over two lines; one of
# forty thousand letters.
ONCE_WRONG = (1463, 1718, 5463, 202496)


def test_mutations_that_once_broke_something():
    assert_all_right([case_of(seed) for seed in ONCE_WRONG])


@pytest.mark.full
@pytest.mark.parametrize("seeds", pieces(MANY_SEEDS)[SEEDS // TOGETHER :], ids=str)
def test_many_seeded_mutations(seeds):
    assert_all_right([case_of(seed) for seed in seeds])


def pytest_generate_tests(metafunc):
    """A few files that are only read, or many with -m full."""
    if "only_read_seeds" in metafunc.fixturenames:
        is_full = metafunc.config.getoption("markexpr") == "full"
        many = int(os.environ.get("MENDSTAT_MUTATED_FILES", "1000")) if is_full else ONLY_READ
        first = int(os.environ.get("MENDSTAT_MUTATED_FROM", FIRST_ONLY_READ))
        found = [range(first + each.start, first + each.stop) for each in pieces(many)]
        marked = [pytest.param(each, marks=[pytest.mark.full] * is_full, id=str(each)) for each in found]
        metafunc.parametrize("only_read_seeds", marked)


def test_many_mutated_files_are_read_or_refused_in_seconds_and_a_gigabyte(only_read_seeds):
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    wrong, kept = only_read_through([case_of(seed) for seed in only_read_seeds])
    assert not wrong, "\n".join(wrong)
    assert kept > ALWAYS_LOADED * len(only_read_seeds)
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    kilobytes = most // (1024 if sys.platform == "darwin" else 1)
    # Tests before these may have taken more; then at least these took no more than those.
    assert kilobytes * 1024 <= MOST_MEMORY or most == before


edits = st.tuples(st.integers(0, 12_000), st.integers(0, 40), st.binary(max_size=8))


@settings(max_examples=EXAMPLES, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.lists(edits, min_size=1, max_size=3), min_size=4, max_size=4))
def test_any_bytes_anywhere(drawn):
    sample = samples()["comma.csv"]
    cases = []
    for number, of_file in enumerate(drawn):
        content = sample.content
        for at, gone, new in of_file:
            content = content[:at] + new + content[at + gone :]
        cases.append(case_of_bytes(sample, f"drawn bytes {number}", content))
    assert_all_right(cases)


places = st.tuples(st.integers(0, 59), st.integers(0, 52), st.text(st.characters(codec="utf-8"), max_size=20))


@settings(max_examples=EXAMPLES, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.lists(places, min_size=1, max_size=4), min_size=4, max_size=4), st.booleans())
def test_any_text_in_any_cell(drawn, is_json):
    sample = samples()["flat.jsonl" if is_json else "comma.csv"]
    cases = []
    for number, of_file in enumerate(drawn):
        rows = [list(row) for row in sample.rows]
        grid = Grid(list(sample.header), rows, False, is_json, [False] * len(rows))
        for row, column, text in of_file:
            grid.rows[row][column] = text
            grid.touched[row] = True
        cases.append(case_of_grid(sample, f"drawn cells {number}", grid))
    assert_all_right(cases)


def test_samples_are_used_whole():
    bases = [case_of_bytes(sample, name, sample.content) for name, sample in samples().items()]
    known = [case for case in bases if case.rows is not None]
    assert all(case.rows == len(case.sample.rows) for case in known if case.sample.header != ("job",))
    assert not any(case.touched for case in known)
    assert not any(case.may_ask for case in known)
    counts = assert_all_right([replace(case, touched=frozenset(), may_be_refused=False) for case in bases])
    assert counts.total() == len(bases)
    assert {fate for _, fate in counts} == {"loaded"}


def test_same_seed_is_the_same_bytes_and_every_mutation_comes_up():
    cases = [case_of(seed) for seed in range(3 * SEEDS)]
    assert [case_of(seed).content for seed in range(0, 3 * SEEDS, 17)] == [
        case.content for case in cases[::17]
    ]
    done = " ".join(case.what for case in cases)
    every = (*byte_mutations.TEXT, *cell_mutations.MUTATIONS)
    assert not [mutate.__name__ for mutate in every if mutate.__name__ not in done]
    assert any(case.sample.people for case in cases)


@pytest.mark.parametrize(
    ("text", "records"),
    [
        ('a,b\n1,2\n\n3,"4\n5"\n', ["a,b", "1,2", '3,"4\n5"']),
        ('a,b\n1,"2\n3,4\n', ["a,b", '1,"2', "3,4"]),
        ('a,b\n1,"2"x\n3,4', ["a,b", '1,"2"x', "3,4"]),
        ('a,b\n1,2"\n3,""\n', ["a,b", '1,2"', '3,""']),
        ('a,b\n"1""\n",2\n', ["a,b", '"1""\n",2']),
    ],
)
def test_records_by_hand(text, records):
    assert plain.records_of(text, ",") == records


@pytest.mark.parametrize(
    ("line", "rows"),
    [
        ("{}", 1),
        ('{"a": {"b": 1}}', 1),
        ('{"a": [{"b": 1}, {"b": [{}, {}]}], "c": [1, 2]}', 3),
        ('{"a": 1, "a": 2}', 1),
        ('{"a": [', 1),
        ("[1]", 1),
    ],
)
def test_rows_of_a_line_of_json_by_hand(line, rows):
    assert plain.rows_in(line) == rows


def test_what_must_not_be_is_noticed():
    sample = samples()["comma.csv"]
    case = Case(sample, "by hand", b"", 2, frozenset({1}), may_be_refused=False)
    sample = replace(sample, rows=sample.rows[:2])
    case = replace(case, sample=sample)
    good = Outcome(
        case, None, 2, {1: ("set aside", "unit_type", "no kind of machine"), 2: ("used", None, None)}
    )
    assert not what_is_wrong(good)
    assert what_is_wrong(replace(good, received=3))
    assert what_is_wrong(replace(good, received=1, fates={1: good.fates[1]}))
    assert what_is_wrong(replace(good, fates={1: good.fates[2], 2: good.fates[1]}))
    assert what_is_wrong(replace(good, received=0, fates={}))
    someone = min(sample.people)
    for said in ("KeyError: x in Traceback.", f"The column {someone} cannot be read.", "is no sentence"):
        assert what_is_wrong(Outcome(replace(case, may_be_refused=True), UnreadableError(said)))
    assert what_is_wrong(Outcome(case, UnreadableError("log.csv is damaged.")))
    asked = Outcome(replace(case, rows=60, touched=frozenset({1})), CannotAnswerError("What is it?. "))
    assert what_is_wrong(asked)
