"""Tables of the pages: plain where a phone has room for all columns, stacked where it has not."""

import pytest

from dashboards import blocks

NARROW = ["part", "put in", "take out"]
WIDE = ["which", "jobs", "mean minutes", "likely from", "to", "half within", "eight in ten within"]


@pytest.mark.parametrize(
    ("header", "row", "stands"),
    [
        (NARROW, ["drain pump", "1", "–"], "figures"),
        (["part", "jobs", "let go", "worth", "days waited"], ["belt", *["1,000"] * 4], "figures"),
        (["part", *["days waited"] * 6], ["belt", *["1,000"] * 6], "figures stacks"),
        (WIDE, ["dishwasher", *["1,000"] * 6], "figures stacks long"),
        (NARROW, ["drain pump", "1", "never in this log, as far as it goes back"], "figures stacks long"),
    ],
)
def test_a_table_is_stacked_only_where_a_phone_has_no_room(header, row, stands):
    assert f'class="{stands}"' in blocks.table(header, [row])


def test_each_cell_says_its_column_and_text_of_the_log_is_no_markup():
    drawn = blocks.table(["part", 'a "b" <i>'], [["<b>pump</b>", "1"]])
    assert 'data-column="a &quot;b&quot; &lt;i&gt;"' in drawn
    assert "<b>" not in drawn
    assert "&lt;b&gt;pump" in drawn


def test_the_number_of_a_part_stays_on_one_line():
    drawn = blocks.table(["part", "jobs"], [["carbon brushes BR-8810", "4"]])
    assert '<span class="unbroken">BR-8810</span>' in drawn
    assert "unbroken" not in blocks.table(["part", "jobs"], [["cut-out, new one fitted", "4"]])
