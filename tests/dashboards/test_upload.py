"""A file given to the page “A new file”: recognised in memory, changed by a person, written and loaded by a process of its own."""

import pytest

from dashboards import STORE_VARIABLE, upload
from pipeline.errors import CannotAnswerError
from pipeline.recognition.choosing import proposed_choices
from pipeline.store.folder import Store

HEAD = "Ref;Gerät;Gemeldet am;Fertig am;Telefon;Ergebnis;Kasten\n"
DECIDED = HEAD + "".join(
    f"A{n};{'washer' if n % 2 else 'dryer'};{n + 9}/04/2026;{n + 10}/04/2026;01632 96012{n};fixed;ja\n"
    for n in range(1, 8)
)
OPEN = HEAD + "".join(
    f"A{n * 5 % 7};washer;0{n}/04/2026;0{n + 1}/04/2026;01632 96012{n};fixed;ja\n" for n in range(1, 8)
)


@pytest.fixture
def store(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv(STORE_VARIABLE, str(tmp_path / "store"))
    return tmp_path / "store"


def test_a_file_is_looked_at_in_memory_and_loaded_as_chosen(store):
    content = DECIDED.encode("cp1252")
    found = upload.look_at("jobs.csv", content)
    wanted = proposed_choices(found)
    assert wanted[1] == "unit_type"
    assert not store.exists()
    chosen = upload.chosen(found, {**wanted, 5: ""}, ())
    assert "outcome" not in chosen.rows["column"].to_list()
    chosen = upload.chosen(found, wanted, ())
    assert chosen.questions == ()
    loaded = upload.write_and_load(found, chosen.text, "jobs.csv", content)
    assert loaded.is_in, loaded.says
    with Store(store).connect() as con:
        assert con.execute("select count(*), min(unit_type) from tables.visits, tables.jobs").fetchone() == (
            49,
            "dryer",
        )
    assert upload.look_at("jobs.csv", content).is_known


def test_an_answer_closes_its_question(store):
    found = upload.look_at("jobs.csv", OPEN.encode())
    wanted = proposed_choices(found)
    (question,) = upload.chosen(found, wanted, ()).questions
    answer = next(each for each in question.answers if "day first" in each.line)
    chosen = upload.chosen(found, wanted, (answer,))
    assert chosen.questions == ()
    assert chosen.rows.filter(chosen.rows["column"] == "reported_at")["row 1"].item() == "2026-04-01"


def test_two_columns_cannot_be_what_only_one_is(store):
    found = upload.look_at("jobs.csv", DECIDED.encode())
    with pytest.raises(CannotAnswerError, match="Only one column can be the kind of machine"):
        upload.chosen(found, {**proposed_choices(found), 6: "unit_type"}, ())


def test_what_a_load_refuses_is_said(store):
    found = upload.look_at("jobs.csv", DECIDED.encode())
    chosen = upload.chosen(found, proposed_choices(found), ())
    loaded = upload.write_and_load(found, chosen.text, "jobs.csv", b"a;b\n1;2\n")
    assert not loaded.is_in
    assert "jobs.csv" in loaded.says


def test_a_kind_said_in_ones_own_words_is_loaded_and_no_example_is(store):
    content = "Ref;Gemeldet am;Fertig am;Ergebnis\n" + "".join(
        f"A{n};{n + 9}/04/2026;{n + 10}/04/2026;fixed\n" for n in range(1, 8)
    )
    found = upload.look_at("jobs.csv", content.encode())
    wanted = proposed_choices(found)
    (question,) = upload.chosen(found, wanted, ()).questions
    (example,) = [answer for answer in question.answers if answer.own == "washer"]
    chosen = upload.chosen(found, wanted, [example.with_own("ice maker")])
    assert chosen.questions == ()
    assert "washer" not in chosen.text
    loaded = upload.write_and_load(found, chosen.text, "jobs.csv", content.encode())
    assert loaded.is_in, loaded.says
    assert "mendstat " not in loaded.says
    with Store(store).connect() as con:
        kinds = con.execute("select distinct unit_type from tables.jobs").fetchall()
    assert kinds == [("ice maker",)]
