"""The page “Words to settle”: words with what they may mean, answers, and a build that uses them."""

import shutil

import pytest

from dashboards import STORE_VARIABLE, settling
from dashboards.pages import words_to_settle
from pipeline.load import load
from pipeline.settle.proposing import Proposal, ToSettle
from pipeline.settle.unsettled import Word
from pipeline.store.folder import Store

HEADER = "job_id,unit_id,unit_type,reported_at,finished_at,symptom,cause,action,outcome"
LOG = f"{HEADER}\n" + "".join(
    f"J{n},M-{n},washer,2024-01-{n:02},2024-01-{n:02},wont pump water away,lime in it,clean,fixed\n"
    for n in range(1, 8)
)


@pytest.fixture(scope="module")
def loaded(tmp_path_factory):
    folder = tmp_path_factory.mktemp("loaded")
    (folder / "log.csv").write_text(LOG)
    load(folder / "store", [folder / "log.csv"], key_path=folder / "key")
    return folder / "store"


@pytest.fixture
def store(loaded, tmp_path, monkeypatch):
    store = shutil.copytree(loaded, tmp_path / "store")
    monkeypatch.setenv(STORE_VARIABLE, str(store))
    return store


def test_an_answer_is_kept_built_and_gone_from_the_page(store, page):
    seen = page("words-to-settle")
    assert not seen.exception
    assert next(button for button in seen.button if "answer" in button.label).disabled
    pills = {each.label: each for each in seen.get("button_group")}
    assert set(pills) == {"lime in it means", "wont pump water away means"}
    pills["wont pump water away means"].select("not draining").run()
    button = next(button for button in seen.button if "answer" in button.label)
    assert button.label == "Keep 1 answer and build again"
    button.click().run(timeout=120)
    assert not seen.exception
    assert "1 word is settled" in " ".join(each.proto.body for each in seen.get("html"))
    assert len(seen.get("button_group")) == 1
    with Store(store).connect() as con:
        assert con.execute("select distinct symptom from tables.jobs").fetchall() == [("not draining",)]


def test_a_refused_answer_says_why(store):
    kept = settling.keep([("cause", "lime in it", "karma")])
    assert not kept.is_in
    assert "Write one of" in kept.says


def test_nothing_to_settle_is_said():
    nothing = ToSettle((), 0, 0, {}, frozenset(), 0.0, 0.0)
    assert words_to_settle.tell(nothing).sure == "Every word of the log has a settled meaning."


@pytest.mark.parametrize(
    ("meanings", "says"),
    [
        ((), "Nothing that is known is like it."),
        ((("water", 0.64),), "Perhaps water: of ten such proposals about six would be right."),
    ],
)
def test_a_chance_is_said_in_tens(meanings, says):
    assert words_to_settle.proposed(Proposal(Word("cause", "lime", 9, 9), meanings)) == says
