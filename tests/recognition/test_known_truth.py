"""Files with headers that stand on no list, of firms drawn with fresh seeds: columns and values held against the known truth."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

import pytest

from pipeline.intake.layout_files import read_layout
from pipeline.intake.source import Source
from pipeline.recognition.header_words import is_listed
from pipeline.recognition.proposing import COLUMNS_A_QUESTION
from pipeline.recognition.recognising import recognise
from pipeline.recognition.rows_read import read_lines
from pipeline.recognition.sampling import take_sample, throwaway_key
from pipeline.vocabulary import normal_form, vocabulary
from sample_logs.simulate import simulate
from tests.recognition.drawn_files import IDENTITIES, MOMENTS, STYLES, Drawn, draw, invented
from tests.recognition.held_out_headers import HELD_OUT
from tests.recognition.other_headers import OTHER

MACHINES = 150
SEEDS = (7101,)
MANY_SEEDS = range(83150, 83170)
COLUMNS_RIGHT, VALUES_RIGHT = 0.95, 0.99


class Score:
    """Columns and values that are right, of how many; questions asked, and of which columns of how many."""

    def __init__(self):
        self.columns, self.values, self.questions, self.wrong = Counter(), Counter(), Counter(), []

    def share(self, counted):
        return counted[True] / counted.total()

    def __str__(self):
        return (
            f"columns {self.columns[True]} of {self.columns.total()} = {self.share(self.columns):.4f}; values "
            f"{self.values[True]} of {self.values.total()} = {self.share(self.values):.4f}; "
            f"{self.questions['asked']} questions on {self.questions['columns']} columns; wrong: {self.wrong}"
        )


def judge(score: Score, drawn: Drawn, store) -> None:
    found = recognise(Source(drawn.path), store)
    layout = found.proposal.layout
    made = {}
    for column, headers in layout.columns.items():
        for header in headers:
            made.setdefault(header, set()).add(column)
    told = {word: set(columns) for word, columns in layout.record.sections.items()} if layout.record else {}
    assert layout.technician_from == ("sheet" if drawn.style == "sheets" else "")
    right = set()
    for header, target in {**drawn.truth, **drawn.sections}.items():
        got = told.get(header, set()) if header in drawn.sections else made.get(header, set())
        is_right = _is_right(target, got, layout)
        score.columns[is_right] += 1
        if is_right:
            right.add(target)
        else:
            score.wrong.append((drawn.path.name, header, target, sorted(got)))
    # Nothing in these files is ambiguous: every question is one too many, and counts as a column that is wrong.
    columns = len(drawn.truth) + len(drawn.sections)
    score.columns[False] += len(found.questions)
    score.questions.update(asked=len(found.questions), columns=columns)
    assert len(found.questions) <= max(1, columns // COLUMNS_A_QUESTION)
    _judge_values(score, drawn, read_layout(found.text, "proposed"), right & {*_value_columns(drawn)}, store)


def _is_right(target, got, layout):
    if target == "record":
        return layout.record is not None
    if target.startswith("no:"):
        return got <= {"site_id"}
    return target in got


def _value_columns(drawn):
    return [
        target
        for target in {**drawn.truth, **drawn.sections}.values()
        if target and not target.startswith("no:") and target != "record"
    ]


def _judge_values(score, drawn, layout, right, store):
    """Values of columns rightly told: as the standard row has them; a column that was not told was counted already."""
    sample = take_sample(Source(drawn.path), throwaway_key())
    lines = read_lines(sample, layout, throwaway_key(), store / "vocabulary")
    rows = lines.filter(lines["row_problem"].is_null()).to_dicts()
    assert len(rows) == len(drawn.rows)
    for expected, line in zip(drawn.rows, rows, strict=True):
        for column in right:
            value = _expected(column, expected, drawn)
            if value is not None:
                same = _same(column, value, line[column])
                score.values[same] += 1
                if not same and len(score.wrong) < 60:
                    score.wrong.append((drawn.path.name, column, value, line[column]))


def _expected(column, row, drawn):
    value = row[column]
    if not value or (drawn.parts_together and column in ("part_no", "part_name", "action", "finding")):
        return None
    if column in MOMENTS:
        at = datetime.fromisoformat(value)
        return at.replace(hour=0, minute=0) if drawn.days_only else at
    # As the standard log would be read: some of its words are other ways of writing.
    words = vocabulary().get(column)
    return (words.meaning(normal_form(value)) if words else None) or value


def _same(column, value, read):
    if read is None or column in IDENTITIES:
        return read is not None
    if column in MOMENTS:
        return read == value
    if (
        column in ("hands_on_min", "travel_min", "quantity")
        or column == "charge"
        or column.endswith(("_cost", "_charge"))
    ):
        return abs(float(read) - float(value)) < 0.005
    return str(read).casefold() == value.casefold()


def measured(seeds, folder, ways=lambda _seed: OTHER, *, machines=MACHINES, styles=STYLES):
    score = Score()
    for seed in seeds:
        rows = simulate(seed=seed, machines=machines)["log"]
        for style in styles:
            drawn = draw(style, seed, rows, folder, ways(seed))
            assert not [header for header in (*drawn.truth, *drawn.sections) if is_listed(header)]
            judge(score, drawn, folder / "store")
    print(score)
    return score


def holds(score, values=20_000):
    assert score.share(score.columns) >= COLUMNS_RIGHT, score
    assert score.share(score.values) >= VALUES_RIGHT, score
    assert score.values.total() > values


def test_columns_and_values_of_drawn_files_are_those_of_the_truth(tmp_path):
    holds(measured(SEEDS, tmp_path))


def test_headers_that_are_no_words_leave_the_cells_to_say_it(tmp_path):
    styles = ("german", "visits", "json")
    holds(measured(SEEDS, tmp_path, invented, machines=100, styles=styles), values=8_000)


@pytest.mark.full
@pytest.mark.parametrize(
    "ways", [lambda _: OTHER, lambda _: HELD_OUT, invented], ids=["other", "held out", "invented"]
)
def test_columns_and_values_of_many_drawn_files_are_those_of_the_truth(tmp_path, ways):
    holds(measured(MANY_SEEDS, tmp_path, ways))
