"""Blocks of serials and weeks of making: read while a serial is in memory, never a serial on the disk."""

import csv
from datetime import date

import polars as pl
import pytest

from pipeline.errors import UnreadableError
from pipeline.intake.layout_files import read_layout
from pipeline.intake.serials import blocks, is_pattern, made_weeks
from pipeline.load import load
from pipeline.rekeying import rotate
from pipeline.sharing.intruder import singling_out
from pipeline.sharing.own_log import own_log
from pipeline.store.folder import Store
from tests.intake.reading import KEY

LAYOUT = """
name = "ours"
required = ["unit_type", "serial"]
columns = "standard"
[serial]
block = true
[serial.made_week]
"Orle" = "??YYWW*"
"Quill" = "WWYYYY*"
"""
LIST_LAYOUT = LAYOUT.replace('"ours"', '"our list"\nkind = "machines"\nabsent = ["job_id"]').replace(
    "unit_type", "unit_id"
)
HEAD = [
    "job_id",
    "unit_id",
    "unit_type",
    "make",
    "model",
    "serial",
    "reported_at",
    "finished_at",
    "part_no",
    "action",
    "outcome",
]


def serial(number, block="AB1907"):
    return f"{block}-{number:05}"


def jobs(serials, first=0):
    return [
        [
            f"J{first + n}",
            "",
            "washer",
            "Orle",
            "W 1",
            each,
            "2024-03-04",
            "2024-03-05",
            "P1",
            "replace",
            "fixed",
        ]
        for n, each in enumerate(serials)
    ]


def write(path, head, rows):
    with path.open("w", newline="") as file:
        csv.writer(file).writerows([head, *rows])
    return path


@pytest.fixture
def place(tmp_path):
    """Twelve machines share a block; nine another, of which only the list knows one; a whole block of its own has one."""
    layouts = tmp_path / "store" / "layouts"
    layouts.mkdir(parents=True)
    (layouts / "ours.toml").write_text(LAYOUT)
    (layouts / "list.toml").write_text(LIST_LAYOUT)
    many = [serial(10_000 + n) for n in range(12)]
    few = [serial(20_000 + n, "AB1908") for n in range(8)]
    write(tmp_path / "log.csv", HEAD, jobs([*many, *few, "XZ2011-77777"]))
    listed = [["", "washer", "Orle", "W 1", serial(20_008, "AB1908"), "2019-05-01"]]
    head = ["unit_id", "unit_type", "make", "model", "serial", "installed_on"]
    write(tmp_path / "machines.csv", head, listed)
    return tmp_path


def loaded(place, *more):
    load(
        place / "store",
        [place / "log.csv", *more],
        machines=place / "machines.csv",
        layout=None,
        key_path=place / "key",
    )
    return Store(place / "store")


def machines(store):
    with store.connect() as con:
        return con.sql(
            "select serial_block, made_week, made_on from tables.machines order by machine_no"
        ).pl()


def test_blocks_and_weeks_of_serials_as_written():
    """By hand: the serial without spaces, hyphens and case, without its last three characters."""
    serials = pl.Series("serial", ["AB1907-00123", "ab 1907 00188", "AB1907-01123", "n/a", None, "12", "123"])
    found = blocks(serials, KEY).to_list()
    assert found[0] == found[1] != found[2]
    assert found[3:] == [None] * 4
    assert all(len(each) == 12 for each in found[:3])
    weeks = made_weeks(serials, None, {"": "??YYWW*"})
    assert weeks.to_list() == ["2019-02-11"] * 3 + [None] * 4  # Monday of week 7 of 2019


@pytest.mark.parametrize(
    ("text", "pattern", "monday"),
    [
        ("9952X1", "YYWW*", "1999-12-27"),
        ("2020 53", "YYYYWW", "2020-12-28"),
        ("202153", "YYYYWW", None),  # 2021 had 52 weeks
        ("0720191", "WWYYYY?", "2019-02-11"),
        ("072019", "WWYYYY?", None),  # too short
        ("0720-1912", "WWYYYY?", None),  # 2019 stands where the pattern has 2019, but 2 more follow
        ("AB00YY", "??YYWW", None),
        ("194907", "YYYYWW", None),
    ],
)
def test_week_of_making(text, pattern, monday):
    assert made_weeks(pl.Series("serial", [text]), None, {"": pattern}).item() == monday


def test_makers_have_patterns_of_their_own():
    serials = pl.Series("serial", ["AB190712", "0720191", "0720991", "AB190712"])
    makes = pl.Series("make", [" orle ", "Quill", "Orle", None])
    found = made_weeks(serials, makes, {"Orle": "??YYWW*", "Quill": "WWYYYY?"})
    assert found.to_list() == ["2019-02-11", "2019-02-11", None, None]


def test_a_pattern_holds_nothing_of_a_serial():
    assert is_pattern("??YY?WW*")
    assert not any(
        map(is_pattern, ("AB19YYWW", "YYWW12", "YWW", "YYYYYWW", "WW", "YYWW**", "*YYWW", "", "YYWWYY"))
    )


def test_ten_machines_are_needed_for_a_block(place):
    found = machines(loaded(place))
    assert sorted(found["serial_block"].value_counts()["count"].to_list()) == [10, 12]
    assert found.filter(serial_block="other blocks").height == 10
    assert set(found["made_week"]) == {date(2019, 2, 11), date(2019, 2, 18), date(2020, 3, 9)}
    assert found["made_on"].equals(found["made_week"].rename("made_on"))


def test_a_later_file_fills_a_block_up(place):
    more = write(place / "more.csv", HEAD, jobs([serial(20_009, "ab 1908")], first=50))
    found = machines(loaded(place, more))
    assert found["serial_block"].n_unique() == 3
    assert found.filter(serial_block="other blocks").height == 1


def test_no_serial_and_no_block_is_on_the_disk(place):
    store = loaded(place)
    written = b"".join(path.read_bytes() for path in store.folder.rglob("*") if path.is_file())
    rows = "".join(pl.read_parquet(path).write_csv() for path in store.received.glob("*.parquet"))
    with store.connect() as con:
        for schema, table in con.execute("select schema_name, table_name from duckdb_tables()").fetchall():
            rows += con.sql(f'select * from "{schema}"."{table}"').pl().write_json()
    everything = written.decode("latin-1").lower() + rows.lower()
    for text in ("ab1907", "ab1908", "xz2011", "77777", "10003", "20008"):
        assert text not in everything
    assert "2019-02-11" in rows


def test_rotated_key_keeps_blocks_together(place):
    store = loaded(place)
    before = machines(store)
    held = pl.concat([pl.read_parquet(path) for path in store.received.glob("*.parquet")], how="diagonal")
    rotate(place / "store", place / "key", lambda _text: None)
    again = pl.concat([pl.read_parquet(path) for path in store.received.glob("*.parquet")], how="diagonal")
    assert not set(held["serial_block"]) & set(again["serial_block"])
    more = write(place / "more.csv", HEAD, jobs([serial(10_500), serial(20_009, "AB1908")], first=50))
    load(place / "store", [more], key_path=place / "key")
    after = machines(store)
    counts = after["serial_block"].value_counts()["count"].to_list()
    assert after.height == before.height + 2
    # The machine that the later file adds to the nine makes a block of them.
    assert sorted(counts) == [1, 10, 13]


def test_week_after_the_first_report_is_no_week_of_making(place):
    write(place / "log.csv", HEAD, jobs([serial(1, "AB3007")]))
    assert None in machines(loaded(place))["made_week"].to_list()


def test_what_a_plate_adds_counts_as_singling_out(place):
    with loaded(place).connect() as con:
        looks = singling_out(con)["knows"].to_list()
        assert "area, kind, month, make, block of serials, week of making" in looks
        log = own_log(con)
    assert {"serial_block", "made_week"} <= set(log.columns)
    assert log["serial_block"].n_unique() == 2


def test_without_a_rule_nothing_is_read(place):
    (place / "store/layouts/ours.toml").unlink()
    (place / "store/layouts/list.toml").unlink()
    found = machines(loaded(place))
    assert found["serial_block"].null_count() == found["made_week"].null_count() == found.height


RULE = 'name = "x"\nkind = "{kind}"\n{columns}[serial]\n{rule}\n'


@pytest.mark.parametrize(
    ("rule", "says"),
    [
        ("", "serial needs block = true"),
        ("block = false", "serial needs block = true"),
        ("block = 3", "serial.block must be true or false"),
        ("blocks = true", "serial has no entry 'blocks'; it has block, made_week"),
        ('made_week = "AB19YYWW"', "serial.made_week must be a pattern over the serial"),
        ("made_week = 3", "serial.made_week must be a pattern"),
        ('[serial.made_week]\n"Orle" = "YWW"', "serial.made_week.'Orle' must be a pattern"),
        ('[serial.made_week]\n"Orle" = "YYWW"\n"orle " = "WWYY"', "must name each make once"),
    ],
)
def test_bad_rule_is_one_sentence(rule, says):
    with pytest.raises(UnreadableError, match=r"^ours\.toml: ") as told:
        read_layout(RULE.format(kind="log", columns="", rule=rule), "ours.toml")
    assert says in str(told.value)
    assert "\n" not in str(told.value)


def test_a_rule_needs_a_serial():
    without = '[columns]\njob_id = "Job"\n'
    with pytest.raises(UnreadableError, match="needs one header that the column serial"):
        read_layout(RULE.format(kind="log", columns=without, rule="block = true"), "x")
    several = '[columns]\nserial = ["Plate", "No"]\n'
    with pytest.raises(UnreadableError, match="needs one header that the column serial"):
        read_layout(RULE.format(kind="log", columns=several, rule="block = true"), "x")
    with pytest.raises(UnreadableError, match="a log or a list of machines only"):
        read_layout(RULE.format(kind="stock", columns="", rule="block = true"), "x")
