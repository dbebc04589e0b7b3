"""mendstat van-stock: the list, its limits, what it is held against, and what it refuses."""

import json
from datetime import date, timedelta

import polars as pl
import pytest

from pipeline.cli import main

HEADER = "job_id,unit_id,unit_type,technician,reported_at,started_at,finished_at,part_no,part_name,part_status,action,outcome,second_visit_reason\n"
PARTS = """part_no,part_name,fits,unit_cost,lead_days,replaced_by,volume_l
PUMP-1,drain pump,washer,30.00,2,,1.5
SEAL-2,door seal,washer,12.00,3,,0.5
OLD-3,inlet valve,washer,20.00,3,NEW-3,0.4
NEW-3,inlet valve,washer,22.00,3,,0.4
"""


def log(jobs):
    """One job a day: (part, whether it was there) or None for a job without a part."""
    lines = []
    for at, need in enumerate(jobs):
        day = date(2025, 1, 1) + timedelta(days=at)
        start = f"J{at},U{at},washer,T1,{day},{day}T09:00,{day}T10:00"
        if need is None:
            lines.append(f"{start},,,,adjust,fixed,")
        elif need[1]:
            lines.append(f"{start},{need[0]},,fitted,replace,fixed,")
        else:
            lines.append(f"{start},{need[0]},,needed not on van,inspect,return booked,part not on van")
    return HEADER + "\n".join(lines) + "\n"


STOCK = "van 1,PUMP-1,3,\nvan 1,DEAD-9,1,\nvan 2,SEAL-2,1,\nstores,PUMP-1,9,"
JOBS = [
    ("PUMP-1", True),
    None,
    ("SEAL-2", False),
    None,
    ("PUMP-1", False),
    ("OLD-3", True),
    None,
    ("NEW-3", True),
] * 15


RARE = [*JOBS, ("RARE-1", True), ("RARE-1", True), ("RARE-2", True)]


def load(place, jobs, *, parts=PARTS, stock=""):
    (place / "log.csv").write_text(log(jobs), encoding="utf-8")
    lists = []
    for name, text in (("parts", parts), ("stock", stock and f"place,part_no,quantity,bought_on\n{stock}\n")):
        if text:
            (place / f"{name}.csv").write_text(text, encoding="utf-8")
            lists += [f"--{name}", str(place / f"{name}.csv")]
    options = ["--store", str(place / "store"), "--key", str(place / "key")]
    assert main(["load", str(place / "log.csv"), *lists, *options]) == 0
    return place / "store"


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    """With prices and no stock list."""
    return load(tmp_path_factory.mktemp("prices"), JOBS)


@pytest.fixture(scope="module")
def stocked(tmp_path_factory):
    """With two vans, and parts that hardly any job needs."""
    return load(tmp_path_factory.mktemp("stock"), RARE, stock=STOCK)


@pytest.fixture(scope="module")
def priceless(tmp_path_factory):
    """Without a price."""
    return load(tmp_path_factory.mktemp("priceless"), JOBS, parts="")


@pytest.fixture
def ask(capsys):
    def answer(store, *options):
        capsys.readouterr()
        assert main(["van-stock", "--store", str(store), *options, "--format", "json"]) == 0
        return json.loads(capsys.readouterr().out)

    return answer


def refused(capsys, store, *options):
    """Exit code, and what was said on standard error."""
    capsys.readouterr()
    code = main(["van-stock", "--store", str(store), *options])
    printed = capsys.readouterr()
    assert printed.out == ""
    return code, printed.err


def test_list_follows_the_chain_of_numbers_and_stays_within_the_money(store, ask):
    rows = ask(store, "--budget", "70", "--jobs-between-restocks", "1")
    # One job between two restocks: one of each is enough, and all three cost 64.
    assert [(row["part_no"], row["quantity"], row["cost"]) for row in rows] == [
        ("NEW-3", 1, 22.0),
        ("PUMP-1", 1, 30.0),
        ("SEAL-2", 1, 12.0),
    ]
    # 120 jobs in 120 days, 365.25 a year: of every eight, a pump decides two.
    saved = {row["part_no"]: row["second_trips_saved_per_year"] for row in rows}
    assert saved["PUMP-1"] == pytest.approx(365.25 * 2 / 8, rel=0.02)
    assert saved["SEAL-2"] == pytest.approx(365.25 / 8, rel=0.02)
    assert rows[1]["needed_in_jobs"] == 30
    assert rows[1]["not_there"] == 15


def test_limits_of_room_and_lines_hold(store, ask):
    assert len(ask(store, "--lines", "1")) == 1
    room = {"NEW-3": 0.4, "SEAL-2": 0.5, "PUMP-1": 1.5}
    assert sum(row["quantity"] * room[row["part_no"]] for row in ask(store, "--litres", "1")) <= 1
    assert ask(store, "--budget", "0") == []


def test_parts_too_rare_to_say_are_pooled_in_one_row(stocked, ask):
    rows = ask(stocked, "--budget", "500")
    assert not {"RARE-1", "RARE-2"} & {row["part_no"] for row in rows}
    last = rows[-1]
    assert (last["part_no"], last["part_name"], last["needed_in_jobs"]) == (
        None,
        "2 parts too rare to say",
        3,
    )
    assert last["second_trips_saved_per_year"] is None


def test_stock_list_says_what_to_put_in_and_take_out_of_each_van(stocked, ask):
    options = ("--budget", "70", "--jobs-between-restocks", "1")
    pump = next(row for row in ask(stocked, *options) if row["part_no"] == "PUMP-1")
    assert (pump["on_vans"], pump["put_in"], pump["take_out"]) == (3, 1, 2)
    moves = ask(stocked, *options, "--changes")
    assert {(row["place"], row["part_no"]): (row["put_in"], row["take_out"]) for row in moves} == {
        ("van 1", "PUMP-1"): (0, 2),
        ("van 1", "DEAD-9"): (0, 1),
        ("van 1", "NEW-3"): (1, 0),
        ("van 1", "SEAL-2"): (1, 0),
        ("van 2", "PUMP-1"): (1, 0),
        ("van 2", "NEW-3"): (1, 0),
    }


def test_without_a_limit_the_list_takes_the_money_that_a_van_carries_now(stocked, ask, capsys):
    # Van 1 has three pumps for 90 and a part without a price, which counts as the middle one; van 2 a seal for 12.
    rows = ask(stocked)
    assert 0 < sum(row["cost"] for row in rows) <= (90 + 22 + 12) / 2
    assert main(["van-stock", "--store", str(stocked)]) == 0
    assert "No limit was given: the list takes the money that a van carries now" in capsys.readouterr().out


def test_workbook_and_parquet_hold_the_same_list(store, ask, tmp_path):
    command = ["van-stock", "--store", str(store), "--budget", "100"]
    assert main([*command, "--output", str(tmp_path / "list.xlsx")]) == 0
    assert main([*command, "--format", "parquet", "--output", str(tmp_path / "list.parquet")]) == 0
    numbers = [row["part_no"] for row in ask(store, "--budget", "100")]
    assert pl.read_parquet(tmp_path / "list.parquet")["part_no"].to_list() == numbers
    assert pl.read_excel(tmp_path / "list.xlsx")["part_no"].to_list() == numbers


@pytest.mark.parametrize(
    ("options", "code", "says"),
    [
        (["--budget", "-1"], 2, "--budget must be 0 or more"),
        (["--budget", "nan"], 2, "--budget must be 0 or more"),
        (["--jobs-between-restocks", "0"], 2, "--jobs-between-restocks must be between 1 and 200"),
        (["--changes"], 1, "No place of a stock list is a van"),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_sentence(store, capsys, options, code, says):
    found, said = refused(capsys, store, *options)
    assert found == code
    assert says in said


def test_log_without_parts_says_what_is_missing(tmp_path, capsys):
    code, said = refused(capsys, load(tmp_path, [None] * 20), "--budget", "10")
    assert code == 1
    assert "No attended fault job says which part it needed" in said


def test_money_limits_nothing_where_no_price_is_known(priceless, ask, capsys):
    code, said = refused(capsys, priceless, "--budget", "10")
    assert code == 1
    assert "No price of a part is known" in said
    assert [row["cost"] for row in ask(priceless, "--lines", "2")] == [None, None]
