"""Where pages get their figures: the measures' own answers, once a build, and a new build is seen at once."""

import shutil

import pytest

from dashboards import STORE_VARIABLE, blocks, data, words
from dashboards.questions import accounts, gaps
from pipeline.load import log_check
from pipeline.measures import Question, evaluate


@pytest.fixture
def real(sample_store, monkeypatch):
    monkeypatch.setenv(STORE_VARIABLE, str(sample_store))
    return data.open_fleet()


def test_an_answer_is_the_measures_own_frame(real, sample):
    asked = {"by": ("part_no", "action"), "days": 90, "kind": "same-fault"}
    assert real.ask("repeat-visits", **asked).frame.equals(
        evaluate(sample, "repeat-visits", Question(**asked))
    )


def test_a_refusal_is_a_sentence_and_no_frame(real):
    found = real.ask("part-failure-rate", by=("technician",))
    assert found.refusal.endswith(".")
    assert found.rows == []


def test_a_store_without_a_build_has_no_fleet(tmp_path, monkeypatch):
    for path in (tmp_path, tmp_path / "none"):
        monkeypatch.setenv(STORE_VARIABLE, str(path))
        assert data.open_fleet() is None


def test_kinds_of_machine_stand_with_most_jobs_first(real, sample):
    kinds = real.kinds()
    jobs = dict(
        sample.execute("select unit_type, count(*) from tables.jobs where is_fault group by 1").fetchall()
    )
    assert len(kinds) >= 5
    assert [jobs[kind] for kind in kinds] == sorted((jobs[kind] for kind in kinds), reverse=True)


def test_files_are_accounted_for_as_log_check_does(real, sample_store):
    assert real.files() == log_check(sample_store)
    assert accounts.tell(real.files()).sure.startswith(("Every row is accounted for", "Yes"))


def test_fields_are_counted_as_log_check_counts_them(real, sample_store):
    found = gaps.totals(real.files())
    (log,) = (file for file in log_check(sample_store) if file["kind"] == "log")
    counts = {row["column"]: (row["filled"], row["of"]) for row in log["completeness"]}
    assert found
    assert {column: (filled.filled, filled.of) for column, filled in found.items()} == {
        column: counts[column] for column in found
    }
    assert "installed_on" not in found, "the machine list says it"


def test_a_new_build_is_a_new_fleet(sample_store, tmp_path, monkeypatch):
    copy = tmp_path / "store"
    shutil.copytree(sample_store, copy)
    monkeypatch.setenv(STORE_VARIABLE, str(copy))
    before = data.open_fleet()
    after_build = copy / "fleet-zzz.duckdb"
    shutil.copy(before.build, after_build)
    (copy / "current").write_text("fleet-zzz.duckdb\n")
    after = data.open_fleet()
    assert after.build == str(after_build)
    assert after.kinds() == before.kinds()


def test_the_invented_log_says_that_it_is_invented(real, page):
    assert real.is_sample()
    assert blocks.INVENTED in "\n".join(found.proto.body for found in page("the-log").get("html"))


def test_pages_show_the_samples_own_numbers(real, sample, first_page):
    at = first_page()
    assert not at.exception
    bodies = [found.proto.body for found in at.get("html")]
    row = evaluate(sample, "repeat-visits", Question(days=30, kind="same-fault")).to_dicts()[0]
    assert any(words.counts_of(row) in body for body in bodies)


@pytest.mark.parametrize("path", ["what-the-log-says", "the-log", "how-to-read"])
def test_every_page_runs_on_the_sample(real, page, path):
    assert not page(path).exception


def test_every_kind_of_machine_can_be_chosen(real, first_page):
    at = first_page()
    for kind in real.kinds():
        at.selectbox[0].set_value(kind).run()
        assert not at.exception


def test_a_store_that_cannot_be_read_is_a_sentence_on_the_page(tmp_path, monkeypatch, first_page):
    (tmp_path / "current").write_text("../elsewhere.duckdb\n")
    monkeypatch.setenv(STORE_VARIABLE, str(tmp_path))
    at = first_page()
    assert not at.exception
    assert "names no build of this store" in "\n".join(found.proto.body for found in at.get("html"))
