"""Figures of a build that does not hold all that was received say so, on the command line and on every page."""

import shutil

import pytest

from dashboards import STORE_VARIABLE, data
from pipeline import load as loading
from pipeline.behind import behind
from pipeline.cli import main
from pipeline.load import load, reread
from pipeline.store.folder import Store

HEAD = "job_id,unit_id,unit_type,reported_at,finished_at,outcome\n"


def log(folder, name, jobs):
    path = folder / name
    rows = [f"{job},M{job},washer,2026-01-{job:02d},2026-01-{job:02d},fixed\n" for job in jobs]
    path.write_text(HEAD + "".join(rows))
    return path


@pytest.fixture
def stopped(tmp_path, monkeypatch):
    """A store whose second load died when its rows were kept and before they were built."""
    load(tmp_path / "store", [log(tmp_path, "first.csv", range(1, 11))], key_path=tmp_path / "key")

    def dies(*_args):
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(loading, "build", dies)
        with pytest.raises(KeyboardInterrupt):
            load(tmp_path / "store", [log(tmp_path, "second.csv", range(11, 25))], key_path=tmp_path / "key")
    return tmp_path / "store"


def told(path):
    store = Store(path)
    with store.connect() as con:
        return behind(store, con)


def test_a_file_that_is_not_built_yet_is_named_with_its_rows_until_it_is(stopped):
    assert told(stopped).startswith("Received, and not in these figures yet: second.csv (14 rows).")
    assert "mendstat reread" in told(stopped)
    reread(stopped)
    assert told(stopped) == ""


def test_words_that_were_settled_and_not_built_are_told(stopped):
    reread(stopped)
    (stopped / "vocabulary").mkdir(exist_ok=True)
    (stopped / "vocabulary" / "outcome.toml").write_text('[words]\n"done it" = "fixed"\n')
    assert told(stopped).startswith("Corrections or the shop's own words changed after")


def test_commands_say_it_beside_their_answer_and_not_in_it(stopped, capsys):
    for command in (["log-check"], ["measure", "fixed-share", "--format", "json"]):
        assert main([*command, "--store", str(stopped)]) == 0
        said = capsys.readouterr()
        assert "second.csv (14 rows)" in said.err
        assert "second.csv" not in said.out
    reread(stopped)
    main(["measure", "fixed-share", "--store", str(stopped)])
    assert capsys.readouterr().err == ""


def test_pages_say_it_above_their_first_question(stopped, monkeypatch):
    from streamlit.testing.v1 import AppTest

    def page():
        from dashboards import blocks, data

        blocks.title("A page", data.open_fleet())

    monkeypatch.setenv(STORE_VARIABLE, str(stopped))
    assert "second.csv (14 rows)" in data.open_fleet().behind()
    shown = AppTest.from_function(page).run()
    assert any("second.csv (14 rows)" in part.proto.body for part in shown.get("html"))
    shutil.rmtree(stopped / "vocabulary", ignore_errors=True)
