"""Lists for vans with different work: each gets its own parts, vans with the same work the same."""

import json
from dataclasses import replace

import numpy as np
import pytest

from pipeline.cli import main
from pipeline.errors import CannotAnswerError
from pipeline.stock.each_van import each_van, each_van_rows
from pipeline.stock.replay import OWN, THIS, replay
from pipeline.stock.van import van_stock
from pipeline.stock.wish import Wish
from tests.stock import fleets

WISH = Wish(budget=120.0, jobs_between_restocks=4)


def two_trades(seed=1):
    """Parts of even numbers are needed by one van's jobs alone, those of odd numbers by the other's."""
    past, prices = fleets.drawn(seed, jobs=800)
    mine = past.part % 2 == past.van[past.job]
    return (
        replace(
            past, job=past.job[mine], part=past.part[mine], pieces=past.pieces[mine], there=past.there[mine]
        ),
        prices,
    )


def test_vans_of_two_trades_carry_their_own_parts():
    past, prices = two_trades()
    choices = {found.van: found for found in each_van(fleets.basis(past, prices), WISH)}
    for van in (0, 1):
        carried = np.flatnonzero(choices[van].stock)
        assert len(carried)
        assert (carried % 2 == van).all()
        assert choices[van].cost <= 120.0
        assert choices[van].share(choices[van].tour.finished(choices[van].chosen)) <= 1.0


def test_vans_of_the_same_trade_carry_nearly_the_same():
    choices = each_van(fleets.basis(*fleets.drawn(2, jobs=800)), WISH)
    first, second = (found.stock > 0 for found in choices)
    assert (first != second).sum() <= 2


def test_own_lists_do_better_where_the_work_differs():
    past, prices = two_trades()
    played = replay(van_stock(fleets.basis(past, prices), WISH), each_van=True)
    assert played.counts(OWN)[0].sum() > 1.05 * played.counts(THIS)[0].sum()
    assert played.stocks[0] == THIS


def test_rows_say_whose_they_are_and_count_that_vans_jobs():
    past, prices = two_trades()
    rows = each_van_rows(each_van(fleets.basis(past, prices), WISH), {"T0": "washer 100%", "T1": "oven 100%"})
    assert set(rows["van"]) == {"T0", "T1"}
    first = rows.filter(van="T0").row(0, named=True)
    part = past.keys.index(first["part_no"])
    assert first["needed_in_jobs"] == ((past.part == part) & (past.van[past.job] == 0)).sum()
    assert first["work"] == "washer 100%"


def test_nobody_with_enough_jobs_is_refused():
    past, prices = fleets.drawn(3, jobs=60, vans=6)
    with pytest.raises(CannotAnswerError, match="No technician has 20"):
        each_van(fleets.basis(past, prices), WISH)


def test_command_lists_each_van(sample_store, capsys):
    capsys.readouterr()
    command = ["van-stock", "--store", str(sample_store), "--budget", "300", "--each-van"]
    assert main([*command, "--format", "json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    cost = {}
    for row in rows:
        cost[row["van"]] = cost.get(row["van"], 0) + row["cost"]
    assert len(cost) == 8
    assert max(cost.values()) <= 300
    assert main([*command, "--changes"]) == 2
    assert "nobody knows" in capsys.readouterr().err
