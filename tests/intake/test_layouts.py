"""Layouts: which file is which, and what a mistake in one says."""

import json
from pathlib import Path

import pytest

from pipeline.errors import CannotAnswerError, UnreadableError, WrongUseError
from pipeline.intake.block import Header
from pipeline.intake.layout_files import known_layouts, read_layout
from pipeline.intake.layouts import Completes, RecordText
from pipeline.intake.recognise import choose_layout
from pipeline.load import _as_it_was, _reading_rules
from pipeline.standard_log import LISTS, column_names

OPEN_REPAIR = {
    "open-repair-v0.1": "id,data_provider,country,language,product_category,brand,model,year_of_manufacture,repair_status,group_identifier,date,problem,",
    "open-repair-v0.2.1": "id,data_provider,country,partner_product_category,product_category,brand,year_of_manufacture,repair_status,repair_barrier_if_end_of_life,group_identifier,event_date,problem",
    "open-repair-v0.3": "id,data_provider,country,partner_product_category,product_category,product_category_id,brand,year_of_manufacture,product_age,repair_status,repair_barrier_if_end_of_life,group_identifier,event_date,problem",
    "open-repair-vacuum-faults": "id_ords,data_provider,country,fault_type_id,fault_type,product_category,brand,repair_status,year_of_manufacture,product_age,event_date,repair_barrier_if_end_of_life,problem",
}
OWN = 'name = "ours"\nsource = "office"\nrequired = ["Job No"]\n[columns]\njob_id = "Job No"\nunit_type = "Type"\nreported_at = "Date"\nsite_id = ["Name", "Postcode"]\n'


def header(text):
    return Header(tuple(text.split(",")), ",")


def chosen(text, **asked):
    return choose_layout("jobs.csv", [header(text)], asked.pop("layouts", known_layouts()), **asked)[0].name


@pytest.mark.parametrize("name", OPEN_REPAIR)
def test_open_repair_files_fit_exactly_their_own_version(name):
    assert chosen(OPEN_REPAIR[name]) == name
    assert [other.name for other in known_layouts().values() if other.fits(OPEN_REPAIR[name].split(","))] == [
        name
    ]


@pytest.mark.parametrize("kind", LISTS)
def test_file_with_every_standard_header_fits_exactly_its_own_layout(kind):
    assert chosen(",".join(column_names(kind))) == f"standard-{kind}"
    assert chosen(",".join(reversed(column_names(kind)))).endswith(kind)


def test_headers_are_compared_without_case_and_outer_spaces():
    assert chosen(" Unit_Type ,REPORTED_AT,") == "standard-log"


def test_log_needs_a_kind_of_machine_and_one_date():
    assert chosen("unit_type,finished_at") == "standard-log"
    for lacking in ("unit_type,job_id", "reported_at,job_id"):
        with pytest.raises(CannotAnswerError, match="fits no known layout"):
            chosen(lacking)


def test_unknown_file_is_answered_with_its_headers_and_what_to_do():
    with pytest.raises(
        CannotAnswerError, match=r"Auftrag, Mrs \[removed\].*it has no column unit_type.*--layout"
    ):
        chosen("Auftrag,Mrs Quillby")


def test_first_row_taken_for_a_header_is_shown_as_shapes_only():
    with pytest.raises(CannotAnswerError, match="Aaaaaaa, 9999-99-99, 9aa") as caught:
        chosen("Quillby,2024-01-02,7pm")
    assert "Quillby" not in str(caught.value)


def test_file_that_fits_several_layouts_asks():
    layouts = known_layouts()
    twin = read_layout(
        'name = "twin"\nrequired = ["unit_type", "reported_at"]\ncolumns = "standard"', "twin.toml"
    )
    with pytest.raises(CannotAnswerError, match="standard-log, twin"):
        chosen("unit_type,reported_at", layouts=layouts | {"twin": twin})


def test_shop_layout_wins_over_a_general_one(tmp_path):
    (tmp_path / "own.toml").write_text(
        OWN.replace("Job No", "job_id").replace("Type", "unit_type").replace("Date", "reported_at")
    )
    assert chosen("job_id,unit_type,reported_at", layouts=known_layouts(tmp_path)) == "ours"


def test_shop_layout_of_the_same_name_replaces_the_shipped_one(tmp_path):
    (tmp_path / "own.toml").write_text(OWN.replace("ours", "standard-log"))
    assert known_layouts(tmp_path)["standard-log"].source == "office"


def test_layout_asked_for_must_exist_and_fit():
    with pytest.raises(WrongUseError, match="No layout is named 'x'"):
        chosen("unit_type,reported_at", wanted="x")
    with pytest.raises(WrongUseError, match="it has no column data_provider"):
        chosen("id,unit_type,reported_at", wanted="open-repair-v0.3")


def test_identity_may_be_made_from_several_headers():
    layout = read_layout(OWN, "own.toml")
    assert layout.positions(["Date", "Name", "Postcode", "Job No"])["site_id"] == (1, 2)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("name = ", "is no TOML"),
        ('describes = "x"', "needs a name"),
        ('name = "x"\nkind = "tyres"', "kind must be one of"),
        ('name = "x"\ncolums = "standard"', "no entry 'colums'"),
        ('name = "x"\ntime_zone = "Mars"', "IANA"),
        ('name = "x"\n[columns]\njob = "Job"', "'job' is no column"),
        ('name = "x"\n[columns]\nmake = ["a", "b"]', "only an identity"),
        ('name = "x"\n[values]\noutcome = "fixed"', "values.outcome must be a table"),
        ('name = "x"\nrequired = "id"', "required must be a list"),
        ("name = 3", "name must be a text"),
        ('name = "x"\nnot_recorded = "reported_at"', "not_recorded must be a list"),
        ('name = "x"\nnot_recorded = ["when"]', "not_recorded: 'when' is no column"),
        (OWN + "[constants]\nunit_type = 'washer'", "constants names unit_type, which columns already says"),
        ('name = "x"\n[constants]\nquantity = 1', "constants.quantity must be a text"),
        ('name = "x"\n[set_aside]\nJob = "Total"', "set_aside.'Job' must be a list"),
        (
            'name = "x"\n[forms]\nmake = "day first"',
            "forms.make can be said of a date, a number or an amount",
        ),
        (
            'name = "x"\n[forms]\nreported_at = "backwards"',
            "forms.reported_at must be one of ISO 8601.*'backwards'",
        ),
        (
            'name = "x"\nsplit = ["part_cost"]',
            "split may name part_no, part_name, action, quantity, but not part_cost",
        ),
        ('name = "x"\n[record]\ntext = 3', "record.text must be the header"),
        ('name = "x"\n[record]\ntext = "Entry"', "record needs"),
        ('name = "x"\n[record]\nheader = "Entry"', "record has no entry 'header'"),
        ('name = "x"\n[record]\ntext = "Entry"\ncolumns = ["note"]', "record.columns cannot name note"),
        ('name = "x"\n[record]\ntext = "Entry"\n[record.sections]\nDid = ["deed"]', "'deed' is no column"),
        (
            'name = "x"\n[record]\ntext = "E"\n[record.sections]\nDid = ["action"]\n"did:" = ["finding"]',
            "a word of its own",
        ),
        (
            OWN + '[record]\ntext = "Entry"\ncolumns = ["unit_type"]',
            "record names unit_type, which columns already says",
        ),
        (OWN + '[record]\ntext = "Date"\ncolumns = ["action"]', "no column can be made from it whole"),
        ('name = "x"\n[completes]\nby = ["job_id"]', "completes.layout must be the name"),
        ('name = "x"\n[completes]\nlayout = "y"\nby = ["make"]', "completes.by must be"),
    ],
)
def test_mistake_in_a_layout_names_file_entry_and_rule(text, says):
    with pytest.raises(UnreadableError, match=says) as caught:
        read_layout(text, "own.toml")
    assert "own.toml" in str(caught.value)


EVERYTHING = (
    OWN.replace("[columns]", 'not_recorded = ["finished_at"]\nsplit = ["part_no", "action"]\n[columns]')
    + """
[constants]
make = "Zwirn"
[set_aside]
"Job No" = ["Total"]
[forms]
reported_at = "ISO 8601"
[record]
text = "Entry"
columns = ["outcome"]
[record.sections]
Found = ["finding"]
[completes]
layout = "diary"
by = ["site_id", "finished_at"]
"""
)


def test_layout_says_what_its_file_says():
    layout = read_layout(EVERYTHING, "own.toml")
    assert layout.not_recorded == ("finished_at",)
    assert layout.split == ("part_no", "action")
    assert layout.constants == {"make": "Zwirn"}
    assert layout.set_aside == {"Job No": ("Total",)}
    assert layout.forms == {"reported_at": "ISO 8601"}
    assert layout.record == RecordText("Entry", {"Found": ("finding",)}, ("outcome",))
    assert layout.record.all_columns == {"outcome", "finding"}
    assert layout.completes == Completes("diary", ("site_id", "finished_at"))


def test_file_without_the_text_that_is_the_record_does_not_fit():
    layout = read_layout(EVERYTHING, "own.toml")
    assert layout.fits(["job no", "entry "])
    assert not layout.fits(["job no"])


def test_what_a_build_needs_of_a_layout_outlives_its_file():
    layout = read_layout(EVERYTHING, "own.toml")
    kept = _as_it_was(json.loads(json.dumps(_reading_rules(layout))))
    for name in ("values", "time_zone", "lines_may_repeat", "not_recorded", "forms", "split", "completes"):
        assert getattr(kept, name) == getattr(layout, name)
    # As an earlier version kept it.
    assert _as_it_was({"name": "x", "kind": "log", "values": {}}).completes is None


def test_every_shipped_layout_says_what_it_reads():
    for layout in known_layouts().values():
        assert layout.describes.endswith(".")
        assert layout.source or layout.source_from
        assert Path(f"pipeline/layouts/{layout.name}.toml").exists()
