"""Lines of an invoice that are no part leave the line without one, and are counted."""

import pytest

from pipeline.errors import UnreadableError
from pipeline.vocabulary.no_parts import no_parts
from tests.builds import built


@pytest.mark.parametrize(
    "text",
    [
        *(
            "LABOUR",
            "Labour 1.5 hrs",
            "labour charge",
            "Call-out",
            "CALL OUT FEE",
            "callout charge (weekend)",
            "Sundries",
            "TRAVEL",
        ),
        *(
            "Parking 4.50",
            "Discount 10%",
            "credit",
            "Credit note",
            "DEPOSIT paid",
            "VAT",
            "VAT @ 20%",
            "Delivery",
            "p&p",
            "N/A",
        ),
        *("Additional hour", "travel time 30 min", "labour & travel", "misc."),
        *("Anfahrt", "Arbeitszeit 1,5 h", "voorrijkosten", "Main d'œuvre", "Déplacement"),
    ],
)
def test_line_that_is_no_part(text):
    assert text in no_parts()


@pytest.mark.parametrize(
    "text",
    [
        "drain pump",
        "travel stop",
        "VAT4471",
        "10-20",
        "credit card reader",
        "lab filter",
        "hose 1.5 m",
        "collection hose",
        "1",
        "",
        "charge",
    ],
)
def test_part_stays_a_part(text):
    assert text not in no_parts()


def test_number_or_name_that_is_no_part_leaves_the_line_without_one():
    con = built(
        """
        job_id | unit_type | reported_at | part_no | part_name       | action
        J1     | washer    | 2026-01-05  | LABOUR  | Labour 1 hr     | replace
        J2     | washer    | 2026-01-05  | 12-34   | sundries        | replace
        J3     | washer    | 2026-01-05  |         | call-out charge |
        J4     | washer    | 2026-01-05  | LABOUR  |                 |
        """
    )
    rows = con.execute(
        "select part_key, part_no, part_name, is_worked_part from tables.lines order by line_no"
    ).fetchall()
    assert rows == [
        (None, None, None, False),
        ("1234", "12-34", None, True),
        (None, None, None, False),
        (None, None, None, False),
    ]
    assert con.execute("select part_key from tables.parts").fetchall() == [("1234",)]
    counted = con.execute("select * from normalise.no_parts order by all").fetchall()
    assert counted == [
        ("part_name", "Labour 1 hr", 1),
        ("part_name", "call-out charge", 1),
        ("part_name", "sundries", 1),
        ("part_no", "LABOUR", 2),
    ]


def test_shops_own_words_are_no_parts_either(tmp_path):
    (tmp_path / "no_parts.toml").write_text('words = ["Kilometergeld"]\n', encoding="utf-8")
    assert "kilometergeld 12 km" in no_parts(tmp_path)
    assert "labour" in no_parts(tmp_path)
    (tmp_path / "no_parts.toml").write_text('[means]\n"x" = ["y"]\n', encoding="utf-8")
    with pytest.raises(UnreadableError, match=r"no_parts\.toml could not be read"):
        no_parts(tmp_path)
