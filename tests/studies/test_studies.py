"""
Figures on simulated firms whose truth is known: the likely range holds it as often as it says, and `enough` means enough.

By default every cell is run with a few replicates, which shows that it runs and is not far off; `-m full` runs 2,000 a cell and holds
each to what is asked: exact ranges 94.5 % everywhere; others 92 to 98.5 % in every cell with an effective sample of 20 or more,
and 94 to 96.5 % on average. `EXCEPTIONS` are the cells that do not reach it, with the reason.
"""

from functools import cache

import numpy as np
import pytest

from tests.studies.cells import SEED, all_cells
from tests.studies.exceptions import EXCEPTIONS
from tests.studies.run import REPLICATES, RESULTS, kept, name_of
from tests.studies.scoring import line

CELLS = {cell.id: cell for cell in all_cells()}
FEW, FEWER = 24, 6  # replicates by default; where machines are many
EXACT, LOWEST, HIGHEST, MEAN = 94.5, 92.0, 98.5, (94.0, 96.5)
N_EFF = 20
# Where enough is printed in fewer than one firm in ten, it is there by a high count that chance gave, and leans with it.
SELDOM = 0.1


def percent(share):
    return 100 * share


@cache
def full(cell_id):
    cell = CELLS[cell_id]
    return cell.run(REPLICATES * cell.more, SEED)


def exception(cell):
    return next((EXCEPTIONS[words] for words in EXCEPTIONS if words in cell.id), None)


def test_every_cell_has_a_name_of_its_own():
    assert len(CELLS) == sum(1 for _ in all_cells())


def test_a_few_firms_of_every_cell_are_not_far_off():
    held = []
    for cell in CELLS.values():
        got = cell.run(FEWER if "national" in cell.name else FEW, SEED)
        if not got.reps:
            # Refused in every one of the few firms: one van has too few old machines.
            assert cell.section == 3, cell.id
            assert "one van" in cell.name, cell.id
            continue
        assert np.isfinite([got.truth, got.n_eff, got.bias]).all(), cell.id
        assert 0 <= got.coverage <= 1
        if got.counts_for_average() and not exception(cell):
            held.append(got.coverage)
    # The mean of some 100 cells of 24 replicates is known to about half a point.
    assert len(held) > 80
    assert 0.925 < np.mean(held) < 0.975


def test_every_exception_names_cells_that_there_are():
    for words in EXCEPTIONS:
        assert any(words in cell_id for cell_id in CELLS), words


def test_the_table_holds_every_cell():
    assert set(kept(RESULTS)) == {(str(cell.section), cell.figure, cell.name) for cell in CELLS.values()}


@pytest.mark.full
@pytest.mark.study
@pytest.mark.parametrize("cell", CELLS.values(), ids=CELLS)
def test_ranges_hold_the_truth_as_often_as_they_say(cell):
    got = full(cell.id)
    excused = exception(cell)
    if cell.kind == "exact":
        assert percent(got.coverage) >= EXACT
    elif cell.kind == "other" and excused:
        # An exception is held to what was seen, so that it neither hides something worse nor outlives its reason.
        assert excused.low - 0.75 <= percent(got.coverage) <= excused.high + 0.75
    elif cell.kind == "other" and got.n_eff >= N_EFF:
        assert LOWEST <= percent(got.coverage) <= HIGHEST


@pytest.mark.full
@pytest.mark.study
@pytest.mark.parametrize("cell", CELLS.values(), ids=CELLS)
def test_enough_is_said_only_where_the_range_holds(cell):
    got = full(cell.id)
    if cell.kind == "other" and got.share_enough >= SELDOM:
        # Of the few replicates that were enough, chance alone takes some.
        slack = 100 * 1.64 * (0.92 * 0.08 / (got.share_enough * got.reps)) ** 0.5
        assert percent(got.coverage_enough) >= LOWEST - slack


@pytest.mark.full
@pytest.mark.study
def test_on_average_ranges_hold_what_they_say():
    scores = [full(cell_id) for cell_id in CELLS]
    average = np.mean([percent(got.coverage) for got in scores if got.counts_for_average()])
    assert MEAN[0] <= average <= MEAN[1]


@pytest.mark.full
@pytest.mark.study
def test_the_table_is_what_the_study_gives():
    written = kept(RESULTS)
    for cell_id in CELLS:
        row = line(full(cell_id))
        assert written[name_of(row)] == row
