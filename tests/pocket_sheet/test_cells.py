"""What may be on a pocket sheet: ten jobs or more, nothing to take away, words that somebody settled, no danger."""

from datetime import date, timedelta

import pytest

from pipeline.cli import main
from pipeline.errors import CannotAnswerError
from pipeline.pocket_sheet.cells import Pocket, _cells, _protected, pocket
from pipeline.pocket_sheet.page import content, page
from pipeline.vocabulary.cautions import FIRST, for_work
from tests.builds import built

HEAD = "job_id | unit_id | unit_type | model | symptom | reported_at | finished_at | hands_on_min | part_no | part_name | action | outcome"


def log(*groups):
    """A build from (jobs, kind, model, symptom, part, name, action); a last report far ahead."""
    lines, number = [HEAD], 0
    for jobs, kind, model, symptom, part, name, action in groups:
        for _ in range(jobs):
            number += 1
            day = date(2024, 1, 1) + timedelta(days=number)
            lines.append(
                f"J{number} | M{number} | {kind} | {model} | {symptom} | {day} | {day} | {20 + number % 30} | {part} | {name} | {action} | fixed"
            )
    lines.append("J0 | M0 | dryer | | noisy | 2026-06-20 | 2026-06-20 | 30 | ZZ | belt | replace | fixed")
    return built("\n".join(lines))


PUMP = ("washer", "HW 7", "not draining", "DP-1107", "drain pump")


def numbers(thing):
    """Every number of jobs in some entries."""
    if isinstance(thing, dict):
        return [n for name, value in thing.items() for n in ([value] if name == "jobs" else numbers(value))]
    return [n for each in thing for n in numbers(each)] if isinstance(thing, list) else []


def test_only_counts_of_ten_jobs_or_more_are_shown_to_the_nearest_five():
    found = pocket(
        log(
            (23, *PUMP, "clean"),
            (12, *PUMP, "replace"),
            (9, "washer", "HW 9", "not draining", "DP-1107", "drain pump", "clean"),
        )
    )
    (entry,) = found.entries
    assert [(part["name"], part["jobs"]) for part in entry["parts"]] == [("drain pump DP-1107", 40)]
    assert [(each["action"], each["jobs"]) for each in entry["parts"][0]["actions"]] == [
        ("clean", 30),
        ("replace", 10),
    ]
    assert min(numbers(found.entries)) >= 10


def test_a_small_count_cannot_be_had_by_taking_away():
    jobs = log((30, *PUMP, "clean"), (9, "washer", "HW 9", "not draining", "DP-1107", "drain pump", "clean"))
    (entry,) = pocket(jobs).entries
    # 39 cleaned in all and 30 on one model would tell the 9: one of the two is left out.
    assert not (entry["parts"][0]["jobs"] and entry["models"])


def test_protected_cells_leave_totals_out():
    import polars as pl

    frame = pl.DataFrame(
        {"subject": ["A", "A", "B"], "action": ["replace"] * 3, "model": ["M"] * 3, "jobs": [10, 2, 3]}
    )
    shown = _protected(_cells(frame))
    assert () not in shown
    assert all(cell[0] not in ("part", "model") for cell in shown)


def test_a_symptom_in_words_that_nobody_settled_is_left_out():
    found = pocket(
        log((12, *PUMP, "clean"), (12, "washer", "", "ask for jane miller", "DP-1107", "drain pump", "clean"))
    )
    assert [entry["symptom"] for entry in found.entries] == ["not draining"]


def test_a_symptom_that_tells_of_a_danger_has_no_entry():
    found = pocket(
        log(
            (12, *PUMP, "clean"), (12, "washer", "", "smell of burning", "HE-1", "heating element", "replace")
        )
    )
    assert [entry["symptom"] for entry in found.entries] == ["not draining"]


def test_a_part_known_by_an_unsettled_name_alone_is_not_named():
    found = pocket(
        log((12, *PUMP, "clean"), (12, "washer", "", "not draining", "", "jane's old bracket", "replace"))
    )
    assert "jane" not in page(found)


def test_nothing_of_ten_jobs_is_refused():
    with pytest.raises(CannotAnswerError, match="nothing for a pocket sheet"):
        pocket(log((9, *PUMP, "clean")))


def test_no_machine_job_person_or_address_is_on_the_sheet_of_the_sample(sample):
    text = page(pocket(sample))
    for column in ("machine_no", "job_id", "technician", "site_id", "area"):
        values = sample.execute(
            f"select distinct {column}::varchar from tables.jobs where {column} is not null"
        ).fetchall()
        # A short code may be part of any word; as a value of its own it would stand in quotes.
        assert not [
            value for (value,) in values if f'"{value}"' in text or (len(value) > 6 and value in text)
        ]


def test_the_page_forbids_every_request_and_holds_no_markup_from_the_log(sample):
    found = pocket(sample)
    entry = {**found.entries[0], "symptom": "</script><b>x"}
    text = page(Pocket([entry], found.until))
    assert "default-src 'none'" in text
    assert "http" not in text.replace("http-equiv", "")
    assert "</script><b>x" not in text


def test_cautions_stand_with_every_kind_on_the_sheet(sample):
    found = content(pocket(sample))
    for entry in found["entries"]:
        said = [found["caution_texts"][place] for place in entry["cautions"]]
        assert set(for_work(entry["kind"])) <= set(said)
        assert said[0] == FIRST


def test_two_hundred_symptoms_of_fifty_models_stay_below_three_megabytes(sample):
    found = pocket(sample)
    fullest = max(found.entries, key=lambda entry: len(entry["parts"]))
    models = [{"model": f"Model {n:04}", "parts": fullest["parts"][:1]} for n in range(50)]
    models = [
        {**model, "parts": [{"name": part["name"], "jobs": 10} for part in model["parts"]]}
        for model in models
    ]
    symptoms = [entry["symptom"] for entry in found.entries]
    many = [
        {**fullest, "symptom": symptoms[n % len(symptoms)], "kind": f"kind {n}", "models": models}
        for n in range(200)
    ]
    assert len(page(Pocket(many, found.until)).encode()) < 3_000_000


def test_command_writes_the_sheet_and_the_same_log_gives_the_same_bytes(sample_store, tmp_path, capsys):
    for name in ("one.html", "two.html"):
        assert main(["pocket-sheet", "--store", str(sample_store), "--output", str(tmp_path / name)]) == 0
    assert (tmp_path / "one.html").read_bytes() == (tmp_path / "two.html").read_bytes()
    assert "left out" in capsys.readouterr().out
    assert main(["pocket-sheet", "--store", str(sample_store), "--output", str(tmp_path / "x.pdf")]) == 3


def test_minutes_of_checks_from_the_log_stand_there_where_ten_jobs_have_them_and_without_a_count(sample):
    def said(part):
        steps = [step for entry in pocket(sample).entries for step in entry["checks"]]
        return {step["more"] for step in steps if step["text"].startswith(f"{part}: ")}

    assert any(more.startswith("8 min from the log, 4 min more") for more in said("drain pump"))
    assert said("door lock") == {"3 min, 4 more for: front panel"}
    assert "checks in the log" not in page(pocket(sample))
