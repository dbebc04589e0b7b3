"""The replay: a list chosen on the past only, played on what came after; the promise holds the next period."""

import json

import numpy as np
import pytest

from pipeline.cli import main
from pipeline.estimators.prediction import next_share
from pipeline.planning.replay import Wanted, finished_first, tours
from pipeline.stock.history import History
from pipeline.stock.replay import KNEW, NOW, THIS, USED, last_jobs, replay, rows, sentence
from pipeline.stock.van import van_stock
from pipeline.stock.wish import Wish
from tests.stock import fleets

WISH = Wish(budget=150.0, jobs_between_restocks=4)


def played(past, prices, stock=(), wish=WISH):
    return replay(van_stock(fleets.basis(past, prices, stock), wish))


def every_second_job_needs_a_pump(jobs=400):
    """Jobs in turn: a pump, nothing; the only first visits that fail for another reason are every tenth."""
    need = np.arange(0, jobs, 2)
    one = np.ones(len(need), dtype=np.int64)
    return History(
        np.arange(jobs) * fleets.DAYS // jobs,
        np.zeros(jobs, dtype=np.int64),
        np.ones(jobs, dtype=np.bool_),
        np.arange(jobs) % 10 != 0,
        need,
        one * 0,
        one,
        one > 0,
        ["PUMP"],
        fleets.DAYS,
        fleets.bounds(),
        np.full(jobs, np.nan),
    )


def test_replay_of_an_example_worked_by_hand():
    # Tours of four jobs need two pumps, and money is for one: the first pump of each tour is there, the second not. Of
    # ten jobs one fails for another reason. Half of all need a pump, of which half find one.
    found = played(
        every_second_job_needs_a_pump(),
        [30.0],
        [("van 1", "PUMP", 2)],
        Wish(budget=40.0, jobs_between_restocks=4),
    )
    assert found.cost[THIS] == 30.0
    table = {row["stock"]: row for row in rows(found, priced=True).to_dicts()}
    jobs = table[THIS]["jobs"]
    assert jobs == table[NOW]["jobs"] == pytest.approx(200, abs=1)
    assert table[THIS]["value"] == pytest.approx(0.5 + 0.25 - 0.05, abs=0.02)
    assert table[NOW]["value"] == pytest.approx(0.9, abs=0.01)
    assert table[THIS]["jobs_with_parts"] == pytest.approx(100, abs=1)
    assert table[THIS]["low"] < table[THIS]["value"] < table[THIS]["high"]
    assert sentence(found).startswith(f"With this list {last_jobs(found)[0]} of your last 100 jobs")


def test_list_of_an_origin_knows_nothing_of_what_came_after():
    past, prices = fleets.drawn(1)
    first = played(past, prices)
    # Whatever the last months need, what was chosen before them and played before them stays.
    late = past.day[past.job] >= first.origins[-1]
    other = History(**{**past.__dict__, "part": np.where(late, (past.part + 7) % len(past.keys), past.part)})
    again = played(other, prices)
    for name in (THIS, USED):
        assert first.counts(name)[0][:-1].tolist() == again.counts(name)[0][:-1].tolist()


@pytest.mark.parametrize("seed", range(2))
def test_no_list_passes_the_one_that_knew_the_future(seed):
    past, prices = fleets.drawn(seed)
    found = played(past, prices)
    assert len(found.periods) >= 4
    assert (found.counts(KNEW)[0] >= found.counts(THIS)[0]).all()
    assert (found.counts(KNEW)[0] >= found.counts(USED)[0]).all()


def test_list_does_better_than_the_most_used_parts_on_most_fleets():
    better = 0
    for seed in range(3):
        found = played(*fleets.drawn(seed + 20, jobs=300))
        better += found.counts(THIS)[0].sum() >= found.counts(USED)[0].sum()
    assert better >= 2


def holds(seed):
    """Whether the promise made from the first seven eighths of a log holds for the last eighth."""
    past, prices = fleets.drawn(seed, jobs=800)
    cut = fleets.DAYS * 7 // 8
    known = past.between(0, cut)
    chosen = van_stock(fleets.basis(known, prices), WISH)
    promise = replay(chosen)
    after = past.between(cut, fleets.DAYS)
    done = finished_first(
        tours(after.van, 4),
        Wanted(after.job, after.part, after.pieces),
        chosen.stock,
        after.parts_decide & after.needed_fix,
    )
    found = next_share(*promise.counts(THIS), after.jobs)
    return found.low - 1e-9 <= done.mean() <= found.high + 1e-9


def test_promise_holds_on_a_few_fleets():
    # Of six at 95 %, fewer than five would come three times in a hundred.
    assert sum(holds(seed) for seed in range(6)) >= 5


@pytest.mark.full
def test_promise_holds_on_a_thousand_fleets():
    # Both runs of 500 that were ever made: 486 and 479 held.
    seeds = [*range(1000, 1500), *range(5000, 5500)]
    assert 0.93 <= np.mean([holds(seed) for seed in seeds]) <= 0.97


def test_log_that_is_too_short_is_refused(tmp_path, capsys):
    lines = "\n".join(
        f"J{n},U{n},washer,2026-01-{n + 1:02d},2026-01-{n + 1:02d}T10:00,P1,replace,fixed" for n in range(28)
    )
    (tmp_path / "log.csv").write_text(
        f"job_id,unit_id,unit_type,reported_at,finished_at,part_no,action,outcome\n{lines}\n",
        encoding="utf-8",
    )
    place = ["--store", str(tmp_path / "store"), "--key", str(tmp_path / "key")]
    assert main(["load", str(tmp_path / "log.csv"), *place]) == 0
    assert main(["van-stock", "--lines", "3", "--replay", *place]) == 1
    assert "The log is too short" in capsys.readouterr().err


def test_command_prints_the_stocks_side_by_side(sample_store, capsys):
    capsys.readouterr()
    command = ["van-stock", "--store", str(sample_store), "--budget", "600", "--replay"]
    assert main([*command, "--format", "json"]) == 0
    listed = json.loads(capsys.readouterr().out)
    assert [row["stock"] for row in listed] == [THIS, NOW, USED, KNEW]
    assert all(row["low"] <= row["value"] <= row["high"] for row in listed)
    assert all(row["finished_with_parts"] <= row["jobs_with_parts"] <= row["jobs"] for row in listed)
    assert main(command) == 0
    said = capsys.readouterr().out
    assert "of your last 100 jobs that needed a fix would have ended at the first visit" in said
    assert "What was used depended on what the van carried then" in said
