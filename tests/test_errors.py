"""What is quoted of a file in a message cannot steer a terminal, nor spoil what is written for an answer."""

import tomllib

import pytest

from pipeline.draft_layout import Answer, Question, quoted, with_question
from pipeline.errors import CannotAnswerError, UnreadableError
from pipeline.load import load


def test_message_shows_no_sign_that_a_terminal_obeys(tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("job,\x1b[2Jwhen,\u202ewhat\x7f,ma\x00de\n1,2,3,4\n", encoding="utf-8")
    with pytest.raises(CannotAnswerError) as refused:
        load(tmp_path / "store", [log], key_path=tmp_path / "key")
    assert "[2Jwhen" in str(refused.value)
    assert all(sign.isprintable() or sign == "\n" for sign in str(refused.value))
    assert str(UnreadableError("two\nlines\t.")) == "two\nlines ."


@pytest.mark.parametrize("text", ["a\nb", 'a"b\\', "\x7f\x85\u2028\u202e", "\U000e0001", "é 洗"])
def test_any_text_is_written_so_that_toml_reads_it(text):
    assert tomllib.loads(f"x = {quoted(text)}") == {"x": text}
    assert quoted(text).isprintable()


def test_header_over_several_lines_leaves_a_draft_that_can_be_read():
    header = 'Rang\r\non "x" = [\x7f'
    question = Question(
        f"Is it {header}?", (Answer("columns", f"reported_at = {quoted(header)}", f"yes, {header}"),)
    )
    text = with_question('name = "log"\n[columns]\nunit_type = "Kind"\n', question)
    assert tomllib.loads(text)["columns"] == {"unit_type": "Kind"}
    line = next(line for line in text.split("\n") if line.startswith("# reported_at"))
    assert tomllib.loads(line.removeprefix("# ")) == {"reported_at": header}
