"""Another key: what belongs together stays together, and the keys of before tell nothing any more."""

import polars as pl
import polars.selectors as cs
import pytest

from pipeline.cli import main
from pipeline.erasing import forget_site
from pipeline.errors import CannotAnswerError, UnreadableError
from pipeline.intake.identity import DOMAINS, identity
from pipeline.load import load, log_check
from pipeline.measures import Question, evaluate
from pipeline.rekeying import forget, rotate
from pipeline.store import corrections
from pipeline.store import key as keys
from pipeline.store.folder import Store

HEAD = "job_id,unit_id,unit_type,site_id,technician,reported_at,finished_at,part_no,action,outcome\n"
FIRST = HEAD + "".join(
    f"{n},M{n % 7},washer,Lane {n % 5},T{n % 2},2026-01-{1 + n % 28:02},2026-01-{1 + n % 28:02},P{n % 3},replace,fixed\n"
    for n in range(40)
)
LATER = HEAD + "".join(
    f"{n},M{n % 7},washer,Lane {n % 5},T{n % 2},2026-02-{1 + n % 28:02},2026-02-{1 + n % 28:02},P{n % 3},replace,fixed\n"
    for n in range(40, 60)
)
LIST = "unit_id,unit_type,site_id\n" + "".join(f"M{n},washer,Lane {n % 5}\n" for n in range(7))


@pytest.fixture
def place(tmp_path):
    for name, text in (("first.csv", FIRST), ("later.csv", LATER), ("machines.csv", LIST)):
        (tmp_path / name).write_text(text)
    load(
        tmp_path / "store",
        [tmp_path / "first.csv"],
        machines=tmp_path / "machines.csv",
        key_path=tmp_path / "key",
    )
    return tmp_path


def silent(_text):
    pass


def figures(place):
    # Machines are added up in another order under another key: the last digits of a sum may differ.
    nearly = cs.float().round_sig_figs(9)
    with Store(place / "store").connect() as con:
        return [
            evaluate(con, name, Question(by=("part_no",))).drop("note").with_columns(nearly).rows()
            for name in ("part-failure-rate", "repeat-visits")
        ]


def machines(place):
    with Store(place / "store").connect() as con:
        return con.execute("select count(*) from tables.machines").fetchone()[0]


def everything_written(store):
    """Texts of all files of a store, received rows and build in clear."""
    texts = [path.read_bytes().decode("latin-1") for path in store.rglob("*") if path.is_file()]
    texts += [pl.read_parquet(path).write_csv() for path in (store / "received").glob("*.parquet")]
    with Store(store).connect() as con:
        for (table,) in con.execute(
            "select '\"' || schema_name || '\".\"' || table_name || '\"' from duckdb_tables()"
        ).fetchall():
            texts.append(con.sql(f"select * from {table}").pl().write_json())
    return "\n".join(texts)


def pseudonym(key, column, text):
    return identity([pl.Series("x", [text])], DOMAINS[column], key).item()


def test_rotated_key_keeps_figures_and_joins(place):
    before = figures(place)
    rotate(place / "store", place / "key", silent)
    assert figures(place) == before
    load(place / "store", [place / "later.csv"], key_path=place / "key")
    assert machines(place) == 7
    assert load(place / "store", [place / "first.csv"], key_path=place / "key").files[0].is_new is False


def test_rows_loaded_before_a_rotation_are_known_again_after_it(place):
    rotate(place / "store", place / "key", silent)
    (place / "longer.csv").write_text(FIRST + LATER.removeprefix(HEAD))
    load(place / "store", [place / "longer.csv"], key_path=place / "key")
    accounts = {row["file"]: row for row in log_check(place / "store")}
    assert accounts["longer.csv"]["repeated"] == 40
    assert accounts["longer.csv"]["used"] == 20


def test_old_key_and_old_pseudonyms_tell_nothing_after_a_rotation(place):
    old = keys.read(place / "key")
    (place / "old").write_text((place / "key").read_text())
    rotate(place / "store", place / "key", silent)
    text = everything_written(place / "store")
    for column, value in (("unit_id", "M1"), ("site_id", "Lane 1"), ("technician", "T1")):
        assert pseudonym(old, column, value) not in text
        assert pseudonym(keys.read(place / "key"), column, value) in text
    with pytest.raises(UnreadableError, match="not the key"):
        load(place / "store", [place / "later.csv"], key_path=place / "old")


def test_key_may_be_rotated_again_and_again(place):
    before = figures(place)
    for _ in range(3):
        rotate(place / "store", place / "key", silent)
    assert len(keys.read(place / "key").wraps) == 3
    assert figures(place) == before
    load(place / "store", [place / "later.csv"], key_path=place / "key")
    assert machines(place) == 7


def test_rotation_stopped_after_the_key_file_can_be_done_again(place):
    keys.extend(place / "key", keys.new_wrap())
    load(place / "store", [place / "later.csv"], key_path=place / "key")
    rotate(place / "store", place / "key", silent)
    assert len(keys.read(place / "key").wraps) == 1
    assert Store(place / "store").manifest.key_check == keys.read(place / "key").check
    assert machines(place) == 7


def test_another_store_with_the_same_key_goes_on(place):
    load(place / "other", [place / "first.csv"], key_path=place / "key")
    rotate(place / "store", place / "key", silent)
    load(place / "other", [place / "later.csv"], key_path=place / "key")
    with Store(place / "other").connect() as con:
        assert con.execute("select count(*) from tables.machines").fetchone()[0] == 7
    rotate(place / "other", place / "key", silent)
    load(place / "store", [place / "later.csv"], key_path=place / "key")
    assert machines(place) == 7


def test_forgotten_key_leaves_figures_and_breaks_later_joins(place):
    before, old = figures(place), keys.read(place / "key")
    forget(place / "store", place / "key", silent)
    assert figures(place) == before
    text = everything_written(place / "store")
    for key in (old, *keys.read(place / "key").earlier):
        assert pseudonym(key, "unit_id", "M1") not in text
    load(place / "store", [place / "later.csv"], key_path=place / "key")
    assert machines(place) == 14


def test_key_is_forgotten_without_the_key(place):
    (place / "key").unlink()
    forget(place / "store", place / "key", silent)
    load(place / "store", [place / "later.csv"], key_path=place / "key")
    assert machines(place) == 14


def test_corrections_stay_on_their_rows_through_a_rotation(place):
    store = Store(place / "store")
    row = corrections.reference(store.manifest.files[0].source_hash, 3)
    corrections.keep(store.corrections, [corrections.Correction(row, "part_no", "P9")])
    rotate(place / "store", place / "key", silent)
    with store.connect() as con:
        assert con.execute("select count(*) from tables.lines where part_no = 'P9'").fetchone()[0] == 1


def test_empty_store_has_no_key_to_rotate(tmp_path):
    with pytest.raises(CannotAnswerError, match="Nothing is loaded"):
        rotate(tmp_path / "store", tmp_path / "key", silent)


def test_forgotten_customer_is_nowhere_any_more(place):
    key = keys.read(place / "key")
    gone = pseudonym(key, "site_id", "Lane 1")
    assert gone in everything_written(place / "store")
    rows = forget_site(place / "store", "lane 1", place / "key", silent)
    # 8 of 40 lines of the log and, of 7 machines, numbers 1 and 6
    assert rows == 8 + 2
    text = everything_written(place / "store")
    assert gone not in text
    for name, count in (("first.csv", 32), ("machines.csv", 5)):
        account = next(row for row in log_check(place / "store") if row["file"] == name)
        assert account["received"] == count
    assert pseudonym(key, "site_id", "Lane 2") in text


def test_rows_of_a_forgotten_customers_job_and_machine_go_too(tmp_path):
    log = HEAD + (
        "1,M1,washer,Lane 1,T,2026-01-01,2026-01-01,P,replace,fixed\n"
        "1,M1,washer,,T,2026-01-01,2026-01-01,P,replace,fixed\n"  # the same job, no address on this line
        "2,M1,washer,,T,2026-02-01,2026-02-01,P,replace,fixed\n"  # the same machine, no address
        "3,M2,washer,Lane 1,T,2026-02-01,2026-02-01,P,replace,fixed\n"
        "4,M2,washer,Lane 2,T,2026-03-01,2026-03-01,P,replace,fixed\n"  # that machine moved to somebody else
        "5,M2,washer,,T,2026-04-01,2026-04-01,P,replace,fixed\n"
    )
    (tmp_path / "log.csv").write_text(log)
    load(tmp_path / "store", [tmp_path / "log.csv"], key_path=tmp_path / "key")
    assert forget_site(tmp_path / "store", "Lane 1", tmp_path / "key", silent) == 4
    with Store(tmp_path / "store").connect() as con:
        assert con.execute("select job_id from tables.jobs order by 1").fetchall() == [("4",), ("5",)]


def test_unknown_customer_is_said_without_repeating_the_address(place, capsys):
    options = [
        "forget",
        "--site",
        "Nowhere Street 5",
        "--store",
        str(place / "store"),
        "--key",
        str(place / "key"),
    ]
    assert main(options) == 1
    said = capsys.readouterr().err
    assert "No row of that address" in said
    assert "Nowhere" not in said


def test_corrections_of_erased_rows_go_and_others_stay(place):
    store = Store(place / "store")
    source = store.manifest.files[0].source_hash
    mended = [corrections.Correction(corrections.reference(source, n), "part_no", f"P9{n}") for n in (2, 40)]
    corrections.keep(store.corrections, mended)
    forget_site(place / "store", "Lane 1", place / "key", silent)  # record 2 is job 1, at Lane 1
    assert [each.row for each in corrections.read(store.corrections)] == [mended[1].row]
    with store.connect() as con:
        assert con.execute("select count(*) from tables.lines where part_no = 'P940'").fetchone()[0] == 1
