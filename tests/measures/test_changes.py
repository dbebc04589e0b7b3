"""Changes planted in a drawn firm are told, and nothing else is."""

import csv
from datetime import date, timedelta

import numpy as np
import pytest

from pipeline.errors import CannotAnswerError, WrongUseError
from pipeline.load import load
from pipeline.measures import Question, evaluate
from pipeline.store.folder import Store

START, DAYS, MACHINES, LOT = date(2022, 1, 3), 1100, 500, 60
HEAD = "job_id,job_kind,unit_id,unit_type,make,model,made_on,installed_on,reported_at,finished_at,symptom,part_no,action,outcome"
CHANGED_ON = 800


def day(number):
    return (START + timedelta(days=int(number))).isoformat()


def jobs(rng, *, changed, lot):
    """Rows: each machine's installation, then failures of P1 (from a day on three times as often) and P2 (in the lot five times)."""
    made = np.sort(rng.integers(-700, 300, MACHINES))
    rows = []
    for number in range(MACHINES):
        if lot and number < LOT:
            made[number] = rng.integers(-100, -50)
        installed = int(made[number]) + int(rng.integers(10, 60))
        machine = [f"M{number}", "washer", "Hollen", "H 7", day(made[number]), day(installed)]
        rows.append(
            ["installation", *machine, day(max(installed, 0)), day(max(installed, 0)), "", "", "", "fixed"]
        )
        for part, usual in (("P1", 0.25), ("P2", 0.10)):
            at = float(max(installed, 0))
            while True:
                factor = 5.0 if part == "P2" and lot and number < LOT else 1.0
                later = part == "P1" and changed and at >= CHANGED_ON
                fails = at + rng.exponential(365 / usual / factor / (3.0 if later else 1.0))
                if part == "P1" and changed and at < CHANGED_ON <= fails:
                    at = CHANGED_ON  # from here on the other rate
                    continue
                at = fails
                if at >= DAYS:
                    break
                rows.append(
                    ["fault", *machine, day(at), day(at), f"fault of {part}", part, "replace", "fixed"]
                )
                at += 31
    return [[f"J{number}", *row] for number, row in enumerate(sorted(rows, key=lambda row: row[7]))]


def told(folder, seed, **planted):
    with (folder / "log.csv").open("w", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(HEAD.split(","))
        writer.writerows(jobs(np.random.default_rng(seed), **planted))
    load(folder / "store", [folder / "log.csv"], key_path=folder / "key")
    with Store(folder / "store").connect() as con:
        return evaluate(con, "changes")


def test_planted_change_and_bad_lot_are_told(tmp_path):
    rows = told(tmp_path, 1, changed=True, lot=True)
    found = {
        (row["watched"], row["part_no"]): row
        for row in rows.iter_rows(named=True)
        if row["band"] == "worth a look"
    }
    change = found["failures of a part", "P1"]
    assert (
        START + timedelta(days=CHANGED_ON - 60)
        <= change["first_on"]
        <= START + timedelta(days=CHANGED_ON + 60)
    )
    assert change["told_on"] <= START + timedelta(days=CHANGED_ON + 120)
    assert change["low"] > 1.5
    lot = found["made week", "P2"]
    assert START - timedelta(days=115) <= lot["first_on"]
    assert lot["last_on"] <= START - timedelta(days=30)
    assert lot["value"] > 2
    assert rows["false_alarms_a_year"].drop_nulls().max() <= 1.0


def test_unchanged_firm_is_left_alone(tmp_path):
    rows = told(tmp_path, 2, changed=False, lot=False)
    assert set(rows["band"]) == {"nothing told"}


def test_bad_purchase_is_told_by_the_stock_list(tmp_path):
    rng = np.random.default_rng(7)
    bought = [0, 120, 240, 360, 480]
    rows = []
    for number in range(600):
        fitted = int(rng.integers(5, 600))
        lot = max(day for day in bought if day <= fitted)
        fails = fitted + rng.exponential(60 if lot == 240 else 900)
        machine = [f"M{number}", "washer", "Hollen", "H 7", "", ""]
        rows.append(["fault", *machine, day(fitted), day(fitted), "noisy", "P9", "replace", "fixed"])
        if fails < DAYS:
            rows.append(["fault", *machine, day(fails), day(fails), "noisy", "P9", "clean", "fixed"])
    rows.sort(key=lambda row: row[7])
    with (tmp_path / "log.csv").open("w", newline="") as file:
        csv.writer(file).writerows([HEAD.split(","), *([f"J{n}", *row] for n, row in enumerate(rows))])
    stock = "".join(f"V{n},P9,1,{day(on)}\n" for n, on in enumerate(bought))
    (tmp_path / "stock.csv").write_text(f"place,part_no,quantity,bought_on\n{stock}")
    load(tmp_path / "store", [tmp_path / "log.csv"], stock=tmp_path / "stock.csv", key_path=tmp_path / "key")
    with Store(tmp_path / "store").connect() as con:
        found = evaluate(con, "changes").filter(watched="week of purchase")
    (row,) = found.iter_rows(named=True)
    assert row["first_on"] <= START + timedelta(days=240) <= row["last_on"]
    assert (row["last_on"] - row["first_on"]).days == 6
    assert row["low"] > 2


def test_what_is_watched_is_given(sample):
    with pytest.raises(WrongUseError, match="takes no --by"):
        evaluate(sample, "changes", Question(by=("part_no",)))


def test_short_log_says_how_long_it_must_be(tmp_path):
    (tmp_path / "log.csv").write_text(
        "job_id,unit_id,unit_type,reported_at,finished_at,part_no,action,outcome\n"
        "1,M1,washer,2026-01-01,2026-01-02,P1,replace,fixed\n2,M1,washer,2026-03-01,2026-03-02,P1,replace,fixed\n"
    )
    load(tmp_path / "store", [tmp_path / "log.csv"], key_path=tmp_path / "key")
    with Store(tmp_path / "store").connect() as con, pytest.raises(CannotAnswerError, match="360 days"):
        evaluate(con, "changes")
