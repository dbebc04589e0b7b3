"""House notes: short, scrubbed, dated, shown only once approved; what was taught is written down once."""

from datetime import date

import pytest

from pipeline.errors import UnreadableError, WrongUseError
from pipeline.training.house_notes import FILE, add_note, approve, new_note, notes_for, read_notes, remove
from pipeline.training.taught import Taught, add_taught, read_taught

DAY = date(2026, 2, 14)
TIP = "Look for a coin behind the sump before you order a pump."


def test_note_is_shown_only_once_approved(tmp_path):
    note = new_note(TIP, "dishwasher", DAY, symptom="not draining")
    add_note(tmp_path, note)
    assert notes_for(tmp_path, "dishwasher", symptoms=("not draining",)) == ()
    approve(tmp_path, note, DAY)
    (shown,) = notes_for(tmp_path, "dishwasher", symptoms=("not draining",))
    assert (shown.text, shown.written_on, shown.approved_on) == (TIP, "2026-02-14", "2026-02-14")
    assert notes_for(tmp_path, "washer", symptoms=("not draining",)) == ()
    assert notes_for(tmp_path, "dishwasher", symptoms=("noisy",)) == ()


def test_nearest_note_comes_first_and_another_model_sees_none(tmp_path):
    notes = [
        new_note("For all.", "washer", DAY),
        new_note("For the fault.", "washer", DAY, symptom="noisy"),
        new_note("For the model.", "washer", DAY, model="H 7", symptom="noisy"),
    ]
    for note in notes:
        add_note(tmp_path, note)
        approve(tmp_path, note, DAY)
    found = [note.text for note in notes_for(tmp_path, "washer", model="H 7", symptoms=("noisy",))]
    assert found == ["For the model.", "For the fault.", "For all."]
    assert len(notes_for(tmp_path, "washer", model=None, symptoms=("noisy",))) == 2


@pytest.mark.parametrize(
    "text",
    [
        "Ring Mrs Whitcombe before you go, the gate is locked.",
        "Key safe code 4417 at the back door.",
        "Ask at +44 20 7946 0958 for the plan.",
        "Write to jo.bloggs@example.org about it.",
    ],
)
def test_a_person_a_number_or_a_way_in_is_refused_and_nothing_is_kept(tmp_path, text):
    with pytest.raises(WrongUseError, match=r"no note may hold one.*\[removed\]"):
        new_note(text, "washer", DAY)
    assert not (tmp_path / FILE).exists()


def test_long_and_empty_notes_are_refused():
    with pytest.raises(WrongUseError, match="at most 200 characters, and this one has 201"):
        new_note("x" * 201, "washer", DAY)
    assert new_note("x" * 200, "washer", DAY).text == "x" * 200
    with pytest.raises(WrongUseError, match="needs a text"):
        new_note("  ", "washer", DAY)


def test_the_same_note_twice_is_kept_once_and_can_be_taken_away(tmp_path):
    note = new_note(TIP, "dishwasher", DAY)
    add_note(tmp_path, note)
    add_note(tmp_path, new_note(f"  {TIP} ", "dishwasher", date(2026, 3, 1)))
    assert len(read_notes(tmp_path)) == 1
    remove(tmp_path, note)
    assert read_notes(tmp_path) == ()


def test_a_damaged_file_says_so(tmp_path):
    (tmp_path / FILE).write_text("something,else\n")
    with pytest.raises(UnreadableError, match=r"house-notes\.csv is damaged"):
        read_notes(tmp_path)


def test_a_lesson_is_written_down_once(tmp_path):
    one = Taught("2026-02-14", "washer", "DP-1", "drain pump", "clean")
    add_taught(tmp_path, one)
    add_taught(tmp_path, one)
    assert read_taught(tmp_path) == (one,)
    assert one.key == {"unit_type": "washer", "part_no": "DP-1", "part_name": "drain pump", "action": "clean"}
