"""mendstat toss: the next assignment, kept as text; the same job gets the same; what is decided, refused or broken."""

import json

import pytest

from pipeline.cli import main
from pipeline.planning.tossing import assignments
from pipeline.trial import record

HEADER = "job_id,unit_id,unit_type,reported_at,finished_at,outcome,symptom,part_no,part_name,action,part_cost,charge,payer,hands_on_min,travel_min"


def row(job, unit, on, **cells):
    given = {"action": "clean", "part_no": "DP-1", "part_name": "drain pump", "charge": "110", **cells}
    given |= {"job_id": job, "unit_id": unit, "unit_type": "washer", "reported_at": on, "finished_at": on}
    given |= {"outcome": "fixed", "symptom": "not draining", "payer": "customer", "hands_on_min": "30"}
    given |= {"travel_min": "25", "part_cost": "38" if given["action"] == "replace" else ""}
    return ",".join(given[name] for name in HEADER.split(","))


def log():
    rows = [row(f"C{at}", f"U{at}", "2025-01-05") for at in range(12)]
    rows += [row(f"R{at}", f"V{at}", "2025-01-05", action="replace", charge="150") for at in range(12)]
    rows += [row("L", "L", "2025-01-05", action="replace", part_name="door lock", part_no="DL-1")]
    # Other work goes on, so that all were followed for a year.
    rows += [
        row(f"Z{at}", f"Z{at}", f"2025-{at:02}-20", part_name="filter", part_no="FI-1") for at in range(1, 13)
    ]
    return "\n".join([HEADER, *rows]) + "\n"


@pytest.fixture
def store(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    (tmp_path / "log.csv").write_text(log(), encoding="utf-8")
    assert main(["load", "log.csv"]) == 0
    capsys.readouterr()
    return tmp_path / "mendstat-store"


def tossed(capsys, *more):
    assert main(["toss", "--part", "dp 1", "--format", "json", *more]) == 0
    return json.loads(capsys.readouterr().out)[0]


def test_tosses_are_those_of_the_seed_and_the_same_job_gets_the_same_again(store, capsys):
    given = [tossed(capsys, "--job", f"J{at}") for at in range(9)]
    trial = record.read(store / "trials" / "DP1.toml")
    assert [one["fix"] for one in given] == assignments(trial.seed, 9)
    assert [one["number"] for one in given] == list(range(1, 10))
    again = tossed(capsys, "--job", "J3")
    assert (again["number"], again["fix"]) == (4, given[3]["fix"])
    assert len(record.read(store / "trials" / "DP1.toml").jobs) == 9


@pytest.mark.parametrize("job", ["Callum Quillby", "Mrs Quillby", "07700 900123"])
def test_somebody_in_place_of_a_job_is_refused_and_not_kept(store, capsys, job):
    assert main(["toss", "--part", "DP-1", "--job", job]) == 2
    assert "Give the job's number" in capsys.readouterr().err
    assert not (store / "trials").exists()


def test_what_is_said_names_fix_caution_and_state(store, capsys):
    assert main(["toss", "--part", "DP-1"]) == 0
    said = capsys.readouterr().out
    assert "Toss 1 for drain pump DP-1: " in said
    assert "prove it dead first" in said
    assert "Not decided yet. It rests on returns alone" in said
    assert "No job was named" in said


def test_followed_jobs_are_counted_and_decide(store, capsys):
    path = store / "trials" / "DP1.toml"
    # The twelve cleaned and the twelve replaced jobs of the log were tossed: none is back, so a line far to one side decides.
    tossed(capsys)
    trial = record.read(path)
    words = assignments(trial.seed, 30)
    pools = {"clean": [f"C{at}" for at in range(12)], "replace": [f"R{at}" for at in range(12)]}
    jobs = tuple(pools[word].pop() if pools[word] else "" for word in words)
    record.write(path, record.Trial(trial.part, trial.seed, record.Line(0.6, 0.4), trial.rests_on, jobs))
    found = tossed(capsys, "--job", "next")
    assert (found["cleaned"], found["cleaned_back"], found["replaced"], found["replaced_back"]) == (
        12,
        0,
        12,
        0,
    )
    assert (found["verdict"], found["fix"], found["not_yet_followed"]) == ("clean", None, 6)
    assert main(["toss", "--part", "DP-1"]) == 0
    assert "Decided: cleaning is the better one. No more tosses are needed." in capsys.readouterr().out


def test_line_is_worked_out_from_what_a_job_leaves_and_stays(store, capsys):
    (store / "settings.toml").write_text("hour_costs = 30.0\n")
    assert main(["reread"]) == 0
    capsys.readouterr()
    # Cleaning leaves 110 - 27.50, replacing 112 - 27.50; no return was seen, so returns cost nothing that the log knows.
    first = tossed(capsys)
    assert first["rests_on"] == "returns alone: a return costs nothing as the log has it"
    (store / "settings.toml").write_text("hour_costs = 60.0\n")
    assert tossed(capsys)["line_base"] == first["line_base"]


@pytest.mark.parametrize(
    ("part", "code", "says"),
    [("DL-1", 1, "keeps people safe"), ("XX-9", 2, 'No part "XX-9"')],
)
def test_safety_parts_and_unknown_parts_are_refused(store, capsys, part, code, says):
    assert main(["toss", "--part", part]) == code
    assert says in capsys.readouterr().err
    assert not (store / "trials").exists()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda text: "base = ", "could not be read"),
        (lambda text: text.replace("seed = ", "seed = 1"), "not those of its seed"),
    ],
)
def test_trial_changed_by_hand_is_refused(store, capsys, change, says):
    for _ in range(12):
        tossed(capsys)
    path = store / "trials" / "DP1.toml"
    path.write_text(change(path.read_text()))
    assert main(["toss", "--part", "DP-1"]) == 3
    assert says in capsys.readouterr().err
