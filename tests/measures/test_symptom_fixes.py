"""What usually fixes a symptom and holds: by hand on small logs, by brute force on the sample."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from pipeline.cli import main
from pipeline.errors import CannotAnswerError
from pipeline.estimators.back_off import something_else
from pipeline.load import load
from pipeline.measures import symptom_words
from pipeline.measures.symptom_fixes import find_fixes, symptom_fixes
from pipeline.measures.symptom_jobs import jobs_in, minutes_in, symptom_jobs, symptom_minutes
from pipeline.measures.symptom_weights import USUAL_EVEN, USUAL_OF_KIND, Weights, weights_of
from pipeline.measures.symptom_words import Case, KnownWords, understand
from pipeline.store.folder import Store

HEAD = "job_id,unit_id,unit_type,model,fault_code,symptom,reported_at,finished_at,hands_on_min,part_no,part_name,action,finding,outcome\n"


@pytest.fixture
def log(tmp_path):
    """Load lines of (machine, kind, model, code, symptom, day, part, action, finding); a last report far ahead."""

    def make(*jobs):
        rows = [
            f"{n},{unit},{kind},{model},{code},{symptom},{day},{day},{30 + n},{part},{part},{action},{finding},fixed\n"
            for n, (unit, kind, model, code, symptom, day, part, action, finding) in enumerate(jobs, start=1)
        ]
        rows.append("999,Z,dryer,,,noisy,2026-06-20,2026-06-20,30,ZZ,ZZ,replace,,fixed\n")
        (tmp_path / "log.csv").write_text(HEAD + "".join(rows))
        load(tmp_path / "store", [tmp_path / "log.csv"], key_path=tmp_path / "key")
        return Store(tmp_path / "store").connect()

    return make


def job(  # noqa: PLR0917 -- columns of a log, most of them usual
    n,
    part="P1",
    action="replace",
    kind="washer",
    model="",
    code="",
    symptom="not draining",
    day=None,
    finding="",
):
    return (f"M{n}", kind, model, code, symptom, day or f"2026-01-{1 + n % 28:02}", part, action, finding)


def asked(con, words="not draining", **rest):
    return symptom_fixes(con, understand(con, Case(words, **rest)))


def test_counts_are_of_fixes_that_did_not_come_back(log):
    jobs = [job(n) for n in range(6)] + [job(6, "P2", "clean"), job(7, "P2", "clean")]
    # Machine 7 is back with the same symptom within 90 days: its cleaning did not hold, the second fix did.
    con = log(*jobs, job(7, "P1", "replace", day="2026-02-20"))
    rows = asked(con, unit_type="washer")
    assert [(row["part_no"], row["action"], row["count"], row["of"]) for row in rows[:-1]] == [
        ("P1", "replace", 7, 8),
        ("P2", "clean", 1, 8),
    ]
    assert rows[-1]["part_no"] is None
    assert rows[-1]["part_name"] == "something else"
    assert sum(row["probability"] for row in rows) == pytest.approx(1)


def test_chances_are_those_of_the_formula(log):
    con = log(*[job(n) for n in range(6)], *[job(n, "P2", "clean") for n in range(6, 10)])
    rows = asked(con, unit_type="washer")
    root = [6.5 / 11, 4.5 / 11]
    kappa, even = USUAL_OF_KIND, USUAL_EVEN
    total = 10 + kappa + 2 * even
    kind = [(6 + kappa * root[0] + even) / total, (4 + kappa * root[1] + even) / total]
    other = something_else(0, 10)
    assert [row["probability"] for row in rows] == pytest.approx([*(p * (1 - other) for p in kind), other])


def test_minutes_are_those_of_the_fix(log):
    con = log(*[job(n) for n in range(5)])
    assert asked(con)[0]["hands_on_median_min"] == 33


def test_parts_come_by_their_total_and_actions_beneath(log):
    con = log(
        *[job(n, "A", "replace") for n in range(4)],
        *[job(n, "B", "clean") for n in range(4, 7)],
        *[job(n, "B", "replace") for n in range(7, 10)],
    )
    assert [(row["part_no"], row["action"]) for row in asked(con)[:-1]] == [
        ("B", "clean"),
        ("B", "replace"),
        ("A", "replace"),
    ]


def test_works_done_together_are_one_set(tmp_path):
    line = "{n},M{n},washer,,,not draining,2026-01-0{n},2026-01-0{n},30,{part},{part},{action},,fixed\n"
    works = [
        (1, "P1", "replace"),
        (1, "P2", "clean"),
        (2, "P1", "replace"),
        (3, "P2", "clean"),
        (3, "P1", "replace"),
    ]
    (tmp_path / "log.csv").write_text(HEAD + "".join(line.format(n=n, part=p, action=a) for n, p, a in works))
    load(tmp_path / "store", [tmp_path / "log.csv"], key_path=tmp_path / "key")
    with Store(tmp_path / "store").connect() as con:
        rows = asked(con)
    assert [(row["part_no"], row["action"], row["count"], row["of"]) for row in rows[:-1]] == [
        ("P1 + P2", "clean + replace", 2, 3),
        ("P1", "replace", 1, 3),
    ]


def test_cause_outside_the_machine_is_a_fix_of_its_own(log):
    outside = [job(n, "", "correct installation", finding="drain hose kinked") for n in range(3)]
    rows = asked(log(*outside, *[job(n) for n in range(3, 5)]))
    assert (rows[0]["part_no"], rows[0]["part_name"], rows[0]["action"]) == (
        None,
        "drain hose kinked",
        "correct installation",
    )


def test_code_is_conditioned_on_and_an_unknown_one_is_left_out(log):
    con = log(*[job(n, "A", code="E1") for n in range(10)], *[job(n, "B", code="E2") for n in range(10, 20)])
    assert asked(con, unit_type="washer", code="e1")[0]["part_no"] == "A"
    assert asked(con, unit_type="washer", code="E2")[0]["part_no"] == "B"
    assert asked(con, unit_type="washer", code="X9") == asked(con, unit_type="washer")


def test_recent_fixes_are_said_to_be_not_yet_proven(log):
    con = log(*[job(n) for n in range(3)], *[job(n, day="2026-06-10") for n in range(3, 5)])
    assert (asked(con)[0]["count"], asked(con)[0]["not_yet_proven"]) == (5, 2)


@pytest.mark.parametrize(
    "words",
    ["not draining", "Will not drain!", "customer says it is not draining and leaks", "won't drain, noisy"],
)
def test_any_wording_is_read(log, words):
    con = log(job(1))
    assert "not draining" in understand(con, Case(words)).symptoms


def test_misspelled_words_and_other_languages_are_read(log):
    con = log(job(1), job(2, symptom="not filling"))
    for words in (
        "not drainng",
        "nt draining",
        "not drai",
        "pumpt nicht ab",
        "pompt niet af",
        "ne vidange pas",
        "ne vidnage pas",
    ):
        assert understand(con, Case(words)).symptoms == ("not draining",), words


def test_what_was_typed_is_met_with_the_nearest_symptoms_of_that_kind_of_machine(log):
    con = log(job(1), job(2), job(3, symptom="not filling"), job(4, kind="dryer", symptom="not heating"))
    assert KnownWords.of(con).suggestions("") == ["not draining", "noisy", "not filling", "not heating"]
    assert KnownWords.of(con).suggestions("not", "washer") == ["not draining", "not filling"]
    assert KnownWords.of(con).suggestions("heatng") == ["not heating"]


def test_a_rare_text_is_found_where_it_is_typed_in_full_and_is_not_looked_through(log, monkeypatch):
    monkeypatch.setattr(symptom_words, "MOST_LOOKED_THROUGH", 2)
    common = [job(n) for n in range(3)] + [job(n, symptom="not filling") for n in (3, 4)]
    con = log(*common, job(5, symptom="clunks on tuesdays"))
    known = KnownWords.of(con)
    assert list(known.symptoms) == ["not draining", "not filling"]
    assert known.suggestions("clunks on tues") == []
    assert known.understand(con, Case("Clunks on Tuesdays")).symptoms == ("clunks on tuesdays",)
    with pytest.raises(CannotAnswerError, match="No job in the log shows"):
        known.understand(con, Case("clunks on sundays"))


def test_a_symptom_that_the_log_does_not_have_is_not_taken_for_another(log):
    con = log(job(1, symptom="not cooling"))
    with pytest.raises(CannotAnswerError, match="Nearest: not cooling"):
        understand(con, Case("not turning"))


def test_counts_are_given_for_the_model_and_for_the_kind(log):
    con = log(*[job(n, model="A1") for n in range(4)], *[job(n, model="B2") for n in range(4, 10)])
    fixes = find_fixes(con, understand(con, Case("not draining", "washer", "a1")))
    assert fixes.counts_by_level("P1") == [("model A1", 4, 4), ("washer", 10, 10)]
    assert len(fixes.weights) == len(fixes.rows)


def test_a_part_known_by_its_name_alone_is_called_by_it(tmp_path):
    (tmp_path / "log.csv").write_text(
        HEAD + "1,M1,washer,,,noisy,2026-01-01,2026-01-01,30,,odd bracket,replace,,fixed\n"
    )
    load(tmp_path / "store", [tmp_path / "log.csv"], key_path=tmp_path / "key")
    with Store(tmp_path / "store").connect() as con:
        assert asked(con, "noisy")[0]["part_name"] == "odd bracket"


@pytest.mark.parametrize(
    "words",
    [
        "smell of burning",
        "no burning smell now, not draining",
        "gives a shock",
        "not draining, smelt of gas but not now",
        "flooded yesterday, dry now, not draining",
    ],
)
def test_danger_stops_and_names_no_part(log, words):
    con = log(job(1))
    rows = asked(con, words)
    assert list(rows[0]) == ["stop"]
    assert len(rows) == 1
    assert "Make safe and stop" in rows[0]["stop"]
    assert "P1" not in rows[0]["stop"]


@pytest.mark.parametrize("more", [[], ["--bring"], ["--on-van", "drain pump"]])
@pytest.mark.parametrize("shape", ["json", "table"])
def test_command_stops_at_a_danger_whatever_else_is_asked(sample_store, capsys, more, shape):
    asking = ["symptom", "not draining, burning smell but not now", "--type", "washer", "--format", shape]
    assert main([*asking, *more, "--store", str(sample_store)]) == 0
    told = capsys.readouterr()
    assert "Make safe and stop" in told.out
    for word in ("pump", "DP-1107", "Book", "check"):
        assert word not in told.out + told.err


def test_unknown_words_and_kinds_are_said_with_what_there_is(log):
    con = log(job(1))
    with pytest.raises(CannotAnswerError, match=r"commonest symptoms are: .*not draining"):
        asked(con, "xyz")
    with pytest.raises(CannotAnswerError, match=r"kind of machine .*it has .*washer"):
        asked(con, unit_type="spaceship")


def test_counts_on_the_sample_are_those_of_a_plain_count(sample):
    rows = asked(sample, "not filling", unit_type="dishwasher")
    end = sample.execute("select reports_complete_to from facts.windows").fetchone()[0]
    jobs = sample.execute(
        """
        select j.job_no, r.next_is_same_fault and r.days_to_next <= 90,
            (select list(distinct p.part_no) from facts.job_parts w join tables.parts p using (part_key) where w.job_no = j.job_no),
            (select list(w.action) from facts.job_parts w where w.job_no = j.job_no),
            exists (select 1 from facts.outside_causes o where o.job_no = j.job_no)
        from tables.jobs j join tables.job_symptoms s using (job_no) left join facts.repeats r using (job_no)
        where s.symptom = 'not filling' and j.unit_type = 'dishwasher' and j.is_index and j.finished_on < $1
        """,
        [end],
    ).fetchall()
    held = [
        (parts, actions) for _, back, parts, actions, outside in jobs if not back and parts and not outside
    ]
    first = next(row for row in rows if row["part_no"] == "FM-2041" and row["action"] == "replace")
    assert first["count"] == sum(parts == ["FM-2041"] and actions == ["replace"] for parts, actions in held)
    assert sum(row["count"] for row in rows) == rows[0]["of"]


def test_jobs_still_holding_weigh_less_than_those_that_held(sample):
    case = understand(sample, Case("not filling", "dishwasher"))
    jobs = symptom_jobs(sample, case.symptoms, until=date(2026, 1, 1)).jobs
    each = pl.col("weight") / pl.col("jobs")
    assert jobs.select(each.is_between(0, 1).all()).item()
    assert jobs.filter(~pl.col("came_back") & (pl.col("is_proven"))).select((each == 1).all()).item()


def test_jobs_that_agree_are_one_row_and_each_still_counts(sample):
    asked_for, until = ("not filling", "not draining"), date(2026, 1, 1)
    found = symptom_jobs(sample, asked_for, until=until, with_needs=True)
    jobs, minutes = sample.execute(
        """select count(*), list(hands_on_min order by hands_on_min) filter (hands_on_min is not null)
        from tables.jobs where is_index and finished_on < $until and job_no in (
            select job_no from tables.job_symptoms where list_contains($asked, symptom))
        and job_no in (select job_no from facts.symptom_works where subject is not null)""",
        {"asked": list(asked_for), "until": until},
    ).fetchall()[0]
    assert found.jobs.height < jobs_in(found.jobs) == jobs
    assert sorted(minutes_in(symptom_minutes(sample, asked_for, until=until))) == pytest.approx(minutes)
    told = sum(row["jobs"] for row in found.jobs.to_dicts() if row["needs"])
    assert 0 < told < jobs


def drawn(rng, chances_by_group, jobs=600, column="model", symptoms=1):
    """Fixes counted: models (or kinds) in turn, the fix drawn by the chances of its own."""
    known = {"unit_type": "washer", "fault_code": None, "model": None, "action": "replace"}
    rows = []
    for n in range(jobs):
        group, symptom = divmod(n % (len(chances_by_group) * symptoms), symptoms)
        at = int(rng.choice(3, p=chances_by_group[group]))
        told = {"symptom": f"S{symptom}", "subject": "ABC"[at], "period": max(0, n * 5 // jobs - 1)}
        rows.append(known | {column: f"{column}{group}"} | told)
    schema = dict.fromkeys((*known, "symptom", "subject"), pl.String) | {"period": pl.Int64}
    frame = pl.DataFrame(rows, schema=schema)
    return frame.group_by(pl.all(), maintain_order=True).agg(pl.len().cast(pl.Float64).alias("weight"))


def test_models_that_differ_lean_little_on_the_kind_and_alike_ones_much():
    rng = np.random.default_rng(4)
    apart = weights_of(drawn(rng, [[0.9, 0.05, 0.05], [0.05, 0.9, 0.05]] * 20))
    alike = weights_of(drawn(rng, [[0.5, 0.3, 0.2]] * 40))
    assert apart.finer < Weights().finer < alike.finer


def test_kinds_that_differ_lean_little_on_all_kinds_and_alike_ones_much():
    rng = np.random.default_rng(5)
    apart = weights_of(drawn(rng, [[0.9, 0.05, 0.05], [0.05, 0.05, 0.9]] * 20, column="unit_type"))
    alike = weights_of(drawn(rng, [[0.5, 0.3, 0.2]] * 40, column="unit_type"))
    assert apart.kind < alike.kind


def test_chances_of_many_fixes_that_are_much_alike_are_drawn_together():
    rng = np.random.default_rng(6)
    symptoms = 12
    alike = weights_of(drawn(rng, [[0.34, 0.33, 0.33]], 480, "unit_type", symptoms))
    lopsided = weights_of(drawn(rng, [[0.98, 0.01, 0.01]], 480, "unit_type", symptoms))
    assert alike.even > lopsided.even


def test_few_fixes_choose_no_weight():
    assert weights_of(drawn(np.random.default_rng(1), [[0.9, 0.05, 0.05]], jobs=40)) == Weights()


def test_command_prints_json_with_the_entries_of_the_book(sample_store, capsys):
    import json

    arguments = [
        "symptom",
        "not filling",
        "--type",
        "dishwasher",
        "--format",
        "json",
        "--store",
        str(sample_store),
    ]
    assert main(arguments) == 0
    rows = json.loads(capsys.readouterr().out)
    keys = {"part_no", "part_name", "action", "probability", "low", "high", "count", "of"}
    assert keys | {"hands_on_median_min", "hands_on_p80_min"} <= set(rows[0])
    assert rows[-1]["part_name"] == "something else"
    assert sum(row["probability"] for row in rows) == pytest.approx(1)


def test_command_says_cautions_before_the_answer(sample_store, capsys):
    assert main(["symptom", "not filling", "--type", "dishwasher", "--store", str(sample_store)]) == 0
    said = capsys.readouterr().err
    assert said.startswith("Isolate the electricity")
    assert "Understood as: not filling, dishwasher" in said
