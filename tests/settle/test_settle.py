"""Words that nothing settles go out with proposals, come back with meanings, and are settled in the next build."""

from __future__ import annotations

import csv
import io
import shutil
import tomllib

import pytest

from pipeline import load as loading
from pipeline import settle
from pipeline.cli import main
from pipeline.errors import UnreadableError
from pipeline.intake.source import Source
from pipeline.load import load
from pipeline.settle import list_file, take_back
from pipeline.settle.unsettled import unsettled
from pipeline.store.folder import Store
from tests.builds import built

HEADER = "job_id,visit_no,unit_id,unit_type,reported_at,finished_at,symptom,finding,cause,action,outcome"
ROWS = [
    *(
        f"J{n},1,M-{n},washer,2024-01-{n:02},2024-01-{n:02},water wont pump away,,,replaced part,fixed"
        for n in range(1, 7)
    ),
    *(
        f"K{n},1,M-{n},washer,2024-02-{n:02},2024-02-{n:02},drum sings,lime all over,limescale in it,clean,fixed"
        for n in range(1, 4)
    ),
    "L1,1,M-1,hair dryer,2024-03-01,2024-03-02,noisy,,wear,clean,sorted it",
    "L2,1,M-2,washer,2024-03-01,2024-03-02,drum smells burning a bit,,wear,clean,sorted it",
]
LOG = "\n".join([HEADER, *ROWS]) + "\n"


@pytest.fixture(scope="module")
def untouched(tmp_path_factory):
    folder = tmp_path_factory.mktemp("untouched")
    (folder / "log.csv").write_text(LOG)
    load(folder / "store", [folder / "log.csv"], key_path=folder / "key")
    return folder


@pytest.fixture
def folder(untouched, tmp_path):
    return shutil.copytree(untouched, tmp_path / "own")


def words_of(folder):
    return {(p.word.column, p.word.words): p for p in list_file.found_in(Store(folder / "store")).proposals}


def filled(answers, proposed=""):
    """A list with meanings, by column and words."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(list_file.HEADER)
    for (column, words), meaning in answers.items():
        writer.writerow([column, words, "", "", proposed, "", "", meaning])
    return Source(list_file.Path("list.csv"), text.getvalue().encode())


def test_words_stand_by_how_many_jobs_they_hold_and_settled_ones_do_not(untouched):
    found = list_file.found_in(Store(untouched / "store"))
    first = found.proposals[0].word
    assert (first.column, first.words, first.lines, first.jobs) == ("symptom", "water wont pump away", 6, 6)
    words = {(p.word.column, p.word.words) for p in found.proposals}
    assert {("symptom", "drum sings"), ("finding", "lime all over"), ("cause", "limescale in it")} <= words
    assert {("unit_type", "hair dryer"), ("outcome", "sorted it"), ("action", "replaced part")} <= words
    assert not {("symptom", "noisy"), ("action", "clean"), ("cause", "wear"), ("unit_type", "washer")} & words
    assert found.total == len(found.proposals)
    assert found.closed == {"cause", "action", "outcome"}


def test_counts_agree_with_a_plain_count(untouched):
    rows = [row.split(",") for row in ROWS]
    names = HEADER.split(",")
    for proposal in list_file.found_in(Store(untouched / "store")).proposals:
        word = proposal.word
        held = [row for row in rows if row[names.index(word.column)] == word.words]
        assert (word.lines, word.jobs) == (len(held), len({row[0] for row in held}))


def test_proposals_come_with_chances_and_are_the_obvious_ones(untouched):
    words = words_of(untouched)
    first, chance = words["symptom", "water wont pump away"].meanings[0]
    assert first == "not draining"
    assert 0.15 <= chance <= 1
    assert words["cause", "limescale in it"].meanings[0][0] == "water"
    assert words["action", "replaced part"].meanings[0][0] == "replace"
    for proposal in words.values():
        chances = [chance for _, chance in proposal.meanings]
        assert chances == sorted(chances, reverse=True)
        assert sum(chances) <= 1 + 1e-9


def test_what_tells_of_a_danger_is_proposed_as_nothing_harmless(untouched):
    meanings = words_of(untouched)["symptom", "drum smells burning a bit"].meanings
    assert {meaning for meaning, _ in meanings} <= {"smell of burning"}


def test_words_about_papers_are_listed_without_a_proposal():
    con = built(
        """
        job_id | unit_type | reported_at | finished_at | outcome
        J1     | washer    | 2024-01-02  | 2024-01-03  | invoice paid
        J2     | washer    | 2024-01-02  | 2024-01-03  | repaired by us
        """,
        facts=False,
    )
    found = {
        proposal.word.words: proposal.meanings for proposal in settle.words_to_settle(con, None).proposals
    }
    assert found["invoice paid"] == ()
    assert found["repaired by us"][0][0] == "fixed"


def test_answers_stand_in_the_shops_vocabulary_and_the_next_build_uses_them(folder):
    report = take_back(
        folder / "store",
        filled(
            {
                ("symptom", "water wont pump away"): "not draining",
                ("symptom", "drum sings"): "own",
                ("cause", "limescale in it"): "Hard water",
            }
        ),
    )
    assert (report.settled, report.new) == (3, ("drum sings",))
    own = tomllib.loads((folder / "store/vocabulary/symptom.toml").read_text())
    assert own["means"] == {"not draining": ["water wont pump away"], "drum sings": []}
    assert tomllib.loads((folder / "store/vocabulary/cause.toml").read_text())["means"] == {
        "water": ["limescale in it"]
    }
    with Store(folder / "store").connect() as con:
        symptoms = dict(con.execute("select symptom, count(*) from tables.jobs group by 1").fetchall())
        rule = con.execute(
            "select rule, confidence from normalise.meanings where phrase = 'water wont pump away'"
        ).fetchone()
    assert symptoms["not draining"] == 6
    assert rule == ("shop's vocabulary", 1.0)
    assert not {("symptom", "water wont pump away"), ("symptom", "drum sings")} & words_of(folder).keys()
    assert report.waiting == len(words_of(folder))


def test_an_answer_can_be_changed_later(folder):
    take_back(folder / "store", filled({("symptom", "drum sings"): "noisy"}))
    take_back(folder / "store", filled({("symptom", "drum sings"): "humming"}))
    own = tomllib.loads((folder / "store/vocabulary/symptom.toml").read_text())
    assert own["means"] == {"noisy": [], "humming": ["drum sings"]}


def test_yes_takes_the_proposal(folder):
    report = take_back(folder / "store", filled({("finding", "lime all over"): "yes"}, proposed="scale"))
    assert report.settled == 1
    with Store(folder / "store").connect() as con:
        assert con.execute("select count(*) from tables.lines where finding = 'scale'").fetchone() == (3,)


@pytest.mark.parametrize(
    ("answers", "says"),
    [
        ({("cause", "limescale in it"): "karma"}, "no meaning of this column"),
        ({("cause", "limescale in it"): "own"}, "no meaning of this column"),
        ({("symptom", "drum sings"): "not drainng"}, 'nearly "not draining"'),
        ({("symptom", "drum sings"): "ring Mrs Example on 01632 960123"}, "named a person"),
        ({("symptom", "drum sings, Mrs Example rang"): "noisy"}, "word looks as if it named a person"),
        ({("symptom", "drum sings"): "yes"}, "no proposal to say yes to"),
        ({("technician", "x"): "noisy"}, "no word of the log"),
    ],
)
def test_what_cannot_be_taken_is_refused_and_nothing_is_written(folder, answers, says):
    with pytest.raises(UnreadableError, match=says):
        take_back(folder / "store", filled({("symptom", "water wont pump away"): "not draining", **answers}))
    assert not (folder / "store/vocabulary").exists()


def test_a_filled_in_list_is_not_written_over(folder, capsys):
    path = folder / "words.csv"
    store = ["--store", str(folder / "store")]
    assert main(["settle", "--output", str(path), *store]) == 0
    assert main(["settle", "--output", str(path), *store]) == 0
    text = path.read_text(encoding="utf-8-sig")
    path.write_text(
        text.replace("drum sings,3,3", "drum sings,3,3", 1)
        .replace("\n", "noisy\n", 2)
        .replace("meaningnoisy", "meaning")
    )
    assert main(["settle", "--output", str(path), *store]) == 3
    assert "filled in" in capsys.readouterr().err


def test_a_list_goes_out_and_comes_back_as_a_workbook(folder, capsys):
    path = folder / "words.xlsx"
    store = ["--store", str(folder / "store")]
    assert main(["settle", "--output", str(path), *store]) == 0
    assert main(["settle", str(path), *store]) == 0
    assert "nothing was changed" in capsys.readouterr().out


def test_json_holds_numbers_and_null(untouched, capsys):
    import json

    assert main(["settle", "--format", "json", "--store", str(untouched / "store")]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert list(rows[0]) == list(list_file.HEADER[:-1])
    assert rows[0]["jobs"] == 6
    assert 0 < rows[0]["confidence"] <= 1


def test_a_build_that_died_after_the_answers_is_made_at_the_next_load(folder, monkeypatch):
    def dies(*_):
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(settle.taking, "build_again", dies)
        with pytest.raises(KeyboardInterrupt):
            take_back(folder / "store", filled({("symptom", "drum sings"): "noisy"}))
    assert ("symptom", "drum sings") in words_of(folder)
    loading.load(folder / "store", [folder / "log.csv"], key_path=folder / "key")
    assert ("symptom", "drum sings") not in words_of(folder)


def test_a_text_of_which_something_was_removed_is_not_listed():
    con = built(
        """
        job_id | unit_type | reported_at | finished_at | symptom
        J1     | washer    | 2024-01-02  | 2024-01-03  | rings [removed] twice
        J2     | washer    | 2024-01-02  | 2024-01-03  | rings twice
        """,
        facts=False,
    )
    assert [word.words for word in unsettled(con).words] == ["rings twice"]
