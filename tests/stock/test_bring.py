"""What to bring: counted by hand on small logs, from the van's stock, by the number of the machine's own family."""

import json

import pytest

from pipeline.cli import main
from pipeline.errors import CannotAnswerError
from pipeline.load import load
from pipeline.measures.symptom_fixes import find_fixes
from pipeline.measures.symptom_words import Case, understand
from pipeline.measures.time_to_book import time_to_book
from pipeline.stock.bring import bring
from pipeline.stock.bring_words import bring_text
from pipeline.store.folder import Store

HEAD = "job_id,unit_id,unit_type,make,model,symptom,reported_at,finished_at,hands_on_min,part_no,part_name,quantity,action,outcome\n"
PUMP, SEAL = ("P1", "drain pump"), ("S1", "door seal")


@pytest.fixture
def shop(tmp_path):
    """Load jobs of (model, [(part, action, quantity), …]); a last report far ahead; stock lines of (place, part, quantity)."""

    def make(jobs, stock=()):
        folder = tmp_path / str(len(jobs))
        folder.mkdir()
        lines = [
            f"{n},M{n},washer,Zed,{model},not draining,2026-01-{1 + n % 28:02},2026-01-{1 + n % 28:02},{20 + n},"
            f"{part[0]},{part[1]},{quantity},{action},fixed\n"
            for n, (model, works) in enumerate(jobs, start=1)
            for part, action, quantity in works
        ]
        lines.append("999,Z,dryer,,,noisy,2026-06-20,2026-06-20,30,ZZ,belt,1,replace,fixed\n")
        (folder / "log.csv").write_text(HEAD + "".join(lines))
        lists = {}
        if stock:
            text = "place,part_no,quantity,bought_on\n" + "".join(
                f"{a},{b},{c},2026-01-01\n" for a, b, c in stock
            )
            (folder / "stock.csv").write_text(text)
            lists["stock"] = folder / "stock.csv"
        load(folder / "store", [folder / "log.csv"], key_path=tmp_path / "key", **lists)
        return Store(folder / "store").connect()

    return make


def asked(con, model="", van=None):
    return bring(con, find_fixes(con, understand(con, Case("not draining", "washer", model))), van)


def test_what_was_freed_needs_no_part_and_what_needs_two_needs_both(shop):
    jobs = [("A 1", [(PUMP, "clean", 1)])] * 8 + [("A 1", [(PUMP, "replace", 1)])] * 6
    jobs += [("A 1", [(PUMP, "replace", 1), (SEAL, "replace", 2)])] * 6
    found = asked(shop(jobs))
    assert [(piece.part_no, piece.quantity) for piece in found.pieces] == [("P1", 1), ("S1", 2)]
    # 8, 14 and 20 of 20, other kinds of machine leaning little and needs never seen a little more.
    assert found.without.value == pytest.approx(8 / 20, abs=0.03)
    assert found.pieces[0].finish.value == pytest.approx(14 / 20, abs=0.03)
    assert found.pieces[1].finish.value == pytest.approx(20 / 20, abs=0.03)
    for finish in (found.without, *(piece.finish for piece in found.pieces)):
        assert finish.low <= finish.value <= finish.high


def test_the_van_and_the_stores_are_looked_into(shop):
    jobs = [("A 1", [(PUMP, "replace", 1)])] * 10 + [("A 1", [(SEAL, "replace", 2)])] * 10
    con = shop(jobs, [("van 1", "P1", 2), ("van 1", "S1", 1), ("stores", "S1", 5)])
    found = asked(con, van="VAN 1")
    pump, seal = found.pieces[0], found.pieces[1]
    assert (pump.on_van, pump.missing, seal.on_van, seal.missing, seal.in_stores) == (2, 0, 1, 1, 5)
    assert found.with_van.value == pytest.approx(pump.finish.value)
    assert "put in 1 × door seal" in bring_text(found)
    assert asked(con).pieces[0].on_van is None
    with pytest.raises(CannotAnswerError, match="no van “van 9”; its vans are: van 1"):
        asked(con, van="van 9")


def test_without_a_stock_list_nothing_is_said_of_the_van(shop):
    found = asked(shop([("A 1", [(PUMP, "replace", 1)])] * 5))
    assert (found.vans, found.pieces[0].on_van, found.pieces[0].in_stores) == ((), None, None)


def test_the_number_is_that_of_the_machines_own_family(shop):
    other, mine = ("P2", "drain pump"), ("P1", "drain pump")
    jobs = [("B 5", [(other, "replace", 1)])] * 12 + [("A 1", [(mine, "replace", 1)])] * 3
    jobs += [("A 9", [(PUMP, "clean", 1)])] * 2
    con = shop(jobs)
    # Every pump of the other family stands for one of this: its own model first, then a model of its family.
    assert [piece.part_no for piece in asked(con, "A 1").pieces] == ["P1"]
    assert [piece.part_no for piece in asked(con, "A 9").pieces] == ["P1"]
    assert [piece.part_no for piece in asked(con, "B 5").pieces] == ["P2"]
    assert {piece.part_no for piece in asked(con).pieces} == {"P1", "P2"}


def test_time_to_book_is_the_middle_and_eight_in_ten(shop):
    con = shop([("A 1", [(PUMP, "replace", 1)])] * 21)
    booking = time_to_book(con, find_fixes(con, understand(con, Case("not draining", "washer"))))
    assert (booking.median.value, booking.p80.value, booking.jobs) == (31, 37, 21)
    few = shop([("A 1", [(PUMP, "replace", 1)])] * 4)
    with pytest.raises(CannotAnswerError, match="Only 4 fixed jobs"):
        time_to_book(few, find_fixes(few, understand(few, Case("not draining", "washer"))))


def test_command_gives_the_list_as_rows_and_says_it_below_the_answer(sample_store, capsys):
    asking = ["symptom", "not filling", "--type", "dishwasher", "--store", str(sample_store)]
    assert main([*asking, "--bring", "--van", "van K1", "--format", "json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert [(row["part_no"], row["quantity"]) for row in rows] == [(None, 0), ("FM-2041", 1), ("IV-3302", 1)]
    assert rows[0]["value"] < rows[1]["value"] < rows[2]["value"]
    assert main(asking) == 0
    said = capsys.readouterr().out
    assert said.index("What to bring") > said.index("In which order to check")
    assert "8 in 10 are done by then" in said
