"""Rows set aside go out as a list and come back mended: all or nothing, nobody's name in it, nothing lost."""

from __future__ import annotations

import csv
import io
import shutil
from datetime import datetime
from pathlib import Path

import fastexcel
import pytest
import xlsxwriter

from pipeline import build as building
from pipeline.cli import main
from pipeline.errors import UnreadableError
from pipeline.load import load, log_check, reread
from pipeline.mend import take_back, write_list
from pipeline.store import corrections
from pipeline.store.folder import Store

HEADER = "job_id,visit_no,unit_id,unit_type,reported_at,finished_at,hands_on_min,part_no,part_cost,symptom,action,outcome"
LOG = f"""{HEADER}
J1,1,M-1,washer,2024-01-02,2024-01-03,40,P1,12.50,noisy,replace,fixed
J2,1,M-2,,next Tuesday,2024-02-03,-5,P1,12.50,noisy,clean,fixed
J3,1,M-3,dryer,2024-03-05,2024-03-01,30,P2,8.00,noisy,replace,fixed
J4,1,M-4,dryer,2024-04-01
,1,M-5,washer,2024-05-01,2024-05-02,20,P1,dear,noisy,clean,fixed
"""


@pytest.fixture(scope="module")
def untouched(tmp_path_factory):
    """A store with the log loaded, for tests that leave it as it is."""
    folder = tmp_path_factory.mktemp("untouched")
    (folder / "log.csv").write_text(LOG)
    load(folder / "store", [folder / "log.csv"], key_path=folder / "key")
    return folder


@pytest.fixture
def folder(untouched, tmp_path):
    return shutil.copytree(untouched, tmp_path / "own")


def listed(folder, name="to-mend.csv"):
    _, path = write_list(folder / "store", folder / name)
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def fill(folder, values, *, name="filled.csv", delimiter=",", encoding="utf-8"):
    """The list, with values by record and column, as some program saved it."""
    rows = listed(folder, "empty.csv")
    for row in rows:
        row["value"] = values.get((int(row["record"]), row["column"]), "")
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), delimiter=delimiter)
    writer.writeheader()
    writer.writerows(rows)
    (folder / name).write_bytes(text.getvalue().encode(encoding))
    return folder / name


def mend(folder, values, **how):
    return take_back(folder / "store", fill(folder, values, **how))


def account(folder):
    (found,) = log_check(folder / "store")
    assert found["received"] == found["used"] + found["repeated"] + found["replaced"] + found["set_aside"]
    return found


def lines(folder, columns):
    with Store(folder / "store").connect() as con:
        rows = con.execute(f"select record, {columns} from normalise.lines").fetchall()
    return {record: values if len(values) > 1 else values[0] for record, *values in rows}


SECOND = {(2, "unit_type"): "washer", (2, "reported_at"): "2024-02-01", (2, "hands_on_min"): "35"}


def test_every_failing_cell_of_a_row_is_listed_and_rows_out_of_joint_are_not(untouched):
    cells = [
        (int(row["record"]), row["column"], row["reason"], row["looks_like"]) for row in listed(untouched)
    ]
    assert cells == [
        (2, "unit_type", "no kind of machine", ""),
        (2, "reported_at", "cannot be read as a date or time", "aaaa Aaaaaaa"),
        (2, "hands_on_min", "negative minutes", "'-9"),
        (3, "reported_at", "finished before reported", "9999-99-99"),
        (3, "finished_at", "finished before reported", "9999-99-99"),
        (5, "job_id", "no job number", ""),
        (5, "part_cost", "cannot be read as an amount", "aaaa"),
    ]


def test_list_names_the_line_of_the_file_and_a_reference_that_stays(folder):
    rows = listed(folder)
    assert [row["line"] for row in rows[:1]] == ["3"]
    assert {row["file"] for row in rows} == {"log.csv"}
    reread(folder / "store")
    assert listed(folder) == rows


def test_list_says_how_many_rows_cannot_be_mended_here(untouched):
    found, path = write_list(untouched / "store", untouched / "to-mend.csv")
    assert (found.mendable, found.others) == (3, 1)
    assert "1 row set aside cannot be mended here" in found.text(path)
    assert "load it again" in found.text(path)


def test_filled_in_list_is_not_overwritten_an_empty_one_is(folder):
    fill(folder, SECOND, name="to-mend.csv")
    with pytest.raises(UnreadableError, match="holds values"):
        write_list(folder / "store", folder / "to-mend.csv")
    fill(folder, {}, name="other.csv")
    write_list(folder / "store", folder / "other.csv")


def test_workbook_of_the_list_can_be_filled_in_and_taken_back(folder):
    _, path = write_list(folder / "store", folder / "to-mend.xlsx")
    sheet = fastexcel.read_excel(path).load_sheet(0, header_row=None, dtypes="string").to_polars().rows()
    with xlsxwriter.Workbook(folder / "back.xlsx") as book:
        saved = book.add_worksheet()
        for n, row in enumerate(sheet):
            saved.write_row(n, 0, [cell or "" for cell in row])
            if n and row[4] == "reported_at" and row[2] == "2":
                date = book.add_format({"num_format": "dd/mm/yyyy"})
                saved.write_datetime(n, 7, datetime(2024, 2, 1), date)
            if row[4] == "unit_type":
                saved.write(n, 7, "washer")
            if row[4] == "hands_on_min":
                saved.write_number(n, 7, 35)
    take_back(folder / "store", folder / "back.xlsx")
    assert account(folder)["set_aside"] == 3
    assert lines(folder, "unit_type, cast(reported_on as varchar), hands_on_min")[2] == [
        "washer",
        "2024-02-01",
        35,
    ]


def test_mended_row_is_used_and_received_stays(folder):
    report = mend(folder, SECOND)
    assert (report.cells, report.rows, report.still_mendable, report.still_broken) == (3, 1, 2, 1)
    found = account(folder)
    assert (found["received"], found["used"], found["set_aside"]) == (5, 2, 3)
    assert lines(folder, "unit_type, cast(reported_on as varchar), hands_on_min")[2] == [
        "washer",
        "2024-02-01",
        35,
    ]


def test_dash_empties_a_cell_and_an_empty_value_leaves_it(folder):
    mend(folder, {**SECOND, (2, "hands_on_min"): "-", (5, "job_id"): "J5"})
    assert lines(folder, "hands_on_min, problem_column")[2] == [None, None]
    assert lines(folder, "job_id, problem_column")[5] == ["J5", "part_cost"]
    assert account(folder)["used"] == 2


@pytest.mark.parametrize(
    "how", [{"delimiter": ";"}, {"delimiter": "\t", "encoding": "utf-16"}, {"encoding": "utf-8-sig"}]
)
def test_list_is_read_as_office_programs_save_it(folder, how):
    mend(folder, SECOND, **how)
    assert account(folder)["used"] == 2


@pytest.mark.parametrize(
    ("values", "says"),
    [
        (
            {(2, "reported_at"): "soon, ask Quillby"},
            "column reported_at: the value, which looks like aaaa, aaa Aaaaaaa,",
        ),
        ({(2, "hands_on_min"): "-20"}, "negative minutes"),
        ({(2, "reported_at"): "2999-01-01"}, "dated after the file was received"),
        ({(2, "reported_at"): "2024-02-09"}, "finished before reported"),
        ({(3, "finished_at"): "2024-03-04"}, "finished before reported"),
        ({(2, "unit_type"): "-"}, "no kind of machine"),
        ({(5, "job_id"): "-"}, "no job number"),
        ({(5, "part_cost"): "twelve"}, "12.50"),
    ],
)
def test_value_that_cannot_be_taken_is_refused_and_nothing_is_taken(untouched, values, says):
    build = Store(untouched / "store").current_build()
    with pytest.raises(UnreadableError) as refused:
        mend(untouched, {(5, "job_id"): "J5", **values})
    assert says in str(refused.value)
    assert "filled.csv, line " in str(refused.value)
    assert "Quillby" not in str(refused.value)
    assert Store(untouched / "store").current_build() == build
    assert not (untouched / "store" / "corrections").exists()


def give(folder, *rows):
    (folder / "given.csv").write_text("\n".join(["row,column,value", *rows]) + "\n")
    return take_back(folder / "store", folder / "given.csv")


def test_identity_can_never_be_given(untouched):
    row = listed(untouched)[0]["row"]
    for column in ("unit_id", "site_id", "technician", "serial", "postcode", "note"):
        with pytest.raises(UnreadableError, match="never taken from a list"):
            give(untouched, f"{row},{column},Quillby")


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("{1},hands_on_min,3", ""),
        ("r000000000000-2,hands_on_min,3", "no row of this store"),
        ("{9},hands_on_min,3", "no row of this store"),
        ("{4},hands_on_min,3", "out of joint"),
        ("{2},colour,red", "no column of the standard log"),
        ("{2},hands_on_min,3\n{2},hands_on_min,4", "line 2 gives the same cell another value"),
        ("{2},hands_on_min", "3 fields|2 fields"),
    ],
)
def test_lines_that_mean_no_cell_to_mend(untouched, row, says):
    start = listed(untouched)[0]["row"].split("-")[0]
    row = row.format(*(f"{start}-{n}" for n in range(10)))
    if says:
        with pytest.raises(UnreadableError, match=says):
            give(untouched, row)
    else:
        assert give(untouched, row).used == 1


def test_other_file_is_no_list(untouched):
    with pytest.raises(UnreadableError, match="no list of cells to mend"):
        take_back(untouched / "store", untouched / "log.csv")


def test_words_that_are_given_lose_what_looks_like_somebody(folder):
    mend(folder, {**SECOND, (2, "unit_type"): "washer of Mrs Quillby, call 07700 900123"})
    text = "".join(path.read_text() for path in (folder / "store" / "corrections").iterdir())
    assert "[removed]" in text
    assert "Quillby" not in text
    assert "900123" not in text


def test_later_corrections_win_and_none_is_overwritten(folder):
    mend(folder, SECOND)
    row = next(row for row in listed(folder) if row["record"] == "3")["row"].replace("-3", "-2")
    give(folder, f"{row},hands_on_min,50")
    assert lines(folder, "hands_on_min")[2] == 50
    assert [path.name for path in sorted((folder / "store" / "corrections").iterdir())] == [
        "0001.csv",
        "0002.csv",
    ]


def test_corrections_survive_reading_again_and_the_same_file_loaded_again(folder):
    mend(folder, SECOND)
    before = account(folder)
    reread(folder / "store")
    assert account(folder) == before
    assert not load(folder / "store", [folder / "log.csv"], key_path=folder / "key").was_built
    assert account(folder) == before


def test_corrections_survive_a_newer_reading_of_the_same_source(folder):
    mend(folder, SECOND)
    layouts = folder / "store" / "layouts"
    layouts.mkdir()
    columns = "\n".join(f'{name} = "{name}"' for name in HEADER.split(",") if name != "symptom")
    (layouts / "ours.toml").write_text(f'name = "ours"\nrequired = ["job_id"]\n[columns]\n{columns}\n')
    load(folder / "store", [folder / "log.csv"], layout="ours", key_path=folder / "key")
    found = account(folder)
    assert (found["layout"], found["used"], found["set_aside"]) == ("ours", 2, 3)


def test_changed_corrections_are_built_at_the_next_load(folder):
    mend(folder, SECOND)
    (folder / "store" / "corrections" / "0001.csv").unlink()
    assert not building.is_current(Store(folder / "store"), Store(folder / "store").manifest)
    assert load(folder / "store", [folder / "log.csv"], key_path=folder / "key").was_built
    assert account(folder)["set_aside"] == 4


def test_damaged_corrections_are_named(folder):
    mend(folder, SECOND)
    (folder / "store" / "corrections" / "0001.csv").write_text("row,column,value\nr1,hands_on_min\n")
    with pytest.raises(UnreadableError, match=r"0001.csv is damaged in line 2.*back-up"):
        reread(folder / "store")


def test_column_that_may_not_be_given_counts_for_nothing_in_the_corrections_either(folder):
    row = listed(folder)[0]["row"]
    corrections.keep(folder / "store" / "corrections", [corrections.Correction(row, "unit_id", "M-1")])
    before = lines(folder, "unit_id")
    reread(folder / "store")
    assert lines(folder, "unit_id") == before


def test_rows_of_a_list_beside_the_log_can_be_mended(folder):
    (folder / "parts.csv").write_text("part_no,part_name,unit_cost\nP1,drain pump,dear\nP2,belt,8.00\n")
    load(folder / "store", [], parts=folder / "parts.csv", key_path=folder / "key")
    assert [(row["column"], row["line"]) for row in listed(folder) if row["file"] == "parts.csv"] == [
        ("unit_cost", "")
    ]
    rows = listed(folder)
    give(folder, f"{rows[-1]['row']},unit_cost,12.50")
    assert log_check(folder / "store")[1]["set_aside"] == 0
    with Store(folder / "store").connect() as con:
        assert con.execute("select unit_cost_minor from normalise.parts_list order by record").fetchall() == [
            (1250,),
            (800,),
        ]


def test_identical_rows_that_are_mended_differently_are_two_rows(tmp_path):
    row = ",1,M-5,washer,2024-05-01,2024-05-02,20,P1,1,noisy,clean,fixed\n"
    (tmp_path / "log.csv").write_text(f"{HEADER}\n{row}{row}{row}")
    load(tmp_path / "store", [tmp_path / "log.csv"], key_path=tmp_path / "key")
    mend(tmp_path, {(1, "job_id"): "J1", (2, "job_id"): "J2", (3, "job_id"): "J2"})
    found = account(tmp_path)
    assert (found["used"], found["repeated"], found["set_aside"]) == (2, 1, 0)


def test_command_writes_the_list_and_takes_it_back(folder, monkeypatch, capsys):
    monkeypatch.chdir(folder)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(folder / "config"))
    assert main(["mend", "--store", "store"]) == 0
    assert "to-mend.csv: 7 cells to mend in 3 rows" in capsys.readouterr().out
    assert main(["mend", str(fill(folder, SECOND)), "--store", "store"]) == 0
    assert "3 cells of 1 row mended" in capsys.readouterr().out
    assert main(["mend", str(fill(folder, {(3, "finished_at"): "soon"})), "--store", "store"]) == 3
    assert "Nothing was taken" in capsys.readouterr().err
    assert main(["mend", "filled.csv", "--output", "x.csv", "--store", "store"]) == 2
    assert main(["mend", "missing.csv", "--store", "store"]) == 3


def test_nothing_personal_is_in_a_list(tmp_path):
    text = LOG.replace("job_id,", "job_id,technician,customer,").replace("J2,", "J2,Zwirnmann,Quillby,")
    text = text.replace("next Tuesday", "Quillby 07700 900123")
    (tmp_path / "log.csv").write_text(text)
    load(tmp_path / "store", [tmp_path / "log.csv"], key_path=tmp_path / "key")
    _, path = write_list(tmp_path / "store", tmp_path / "to-mend.csv")
    content = Path(path).read_text().lower()
    assert "aaaaaaa 99999 999999" in content
    assert not [name for name in ("quillby", "900123", "zwirnmann", "m-2") if name in content]


FORMED = """job_id;unit_type;reported_at;finished_at;part_no;part_cost;action;outcome
J1;washer;25/01/2024;26/01/2024;P1;1.234,50;replace;fixed
J2;washer;soon;04/02/2024;P1;dear;replace;fixed
J3;washer;05/02/2024;28/02/2024;P1;12,50;replace;fixed
"""


@pytest.fixture
def formed(tmp_path):
    """A log with its days first and decimal commas."""
    (tmp_path / "log.csv").write_text(FORMED)
    load(tmp_path / "store", [tmp_path / "log.csv"], key_path=tmp_path / "key")
    return tmp_path


@pytest.mark.parametrize(
    ("date", "amount"),
    [("2024-02-03", "1234.50"), ("03/02/2024", "1.234,50"), ("2024-02-03 00:00:00", "1234,5")],
)
def test_value_is_read_as_iso_or_in_the_form_of_its_column_and_kept_as_iso(formed, date, amount):
    before = lines(formed, "reported_on, finished_on, part_cost_minor")
    mend(formed, {(2, "reported_at"): date, (2, "part_cost"): amount})
    after = lines(formed, "cast(reported_on as varchar), cast(finished_on as varchar), part_cost_minor")
    assert after[2] == ["2024-02-03", "2024-02-04", 123450]
    assert lines(formed, "reported_on, finished_on, part_cost_minor")[3] == before[3]
    text = (formed / "store" / "corrections" / "0001.csv").read_text()
    assert "2024-02-03" in text
    assert "1234.5" in text
    assert account(formed)["used"] == 3


def test_amount_that_the_column_reads_otherwise_is_asked_back(formed):
    with pytest.raises(
        UnreadableError, match=r"can be read as 1\.234 or as 1234|can be read as 1234 or as 1\.234"
    ):
        mend(formed, {(2, "part_cost"): "1.234"})


def test_office_date_in_an_iso_column_is_read_only_where_it_can_be_one_day(folder):
    with pytest.raises(UnreadableError, match=r"can be read as 2024-0[23]-0[23] or as 2024-0[23]-0[23]"):
        mend(folder, {**SECOND, (2, "reported_at"): "03/02/2024"})
    mend(folder, {**SECOND, (2, "reported_at"): "31/01/2024"})
    assert lines(folder, "cast(reported_on as varchar)")[2] == "2024-01-31"


def test_mended_cell_of_a_list_is_iso_whatever_form_its_column_has(formed):
    (formed / "machines.csv").write_text(
        "unit_id,unit_type,installed_on\nM-1,washer,25/01/2020\nM-2,washer,soon\nM-3,washer,28/02/2020\n"
    )
    load(formed / "store", [], machines=formed / "machines.csv", key_path=formed / "key")
    row = next(row["row"] for row in listed(formed) if row["file"] == "machines.csv")
    give(formed, f"{row},installed_on,2020-03-04")
    with Store(formed / "store").connect() as con:
        found = con.execute(
            "select cast(installed_on as varchar) from normalise.machine_list order by record"
        ).fetchall()
    assert found == [("2020-01-25",), ("2020-03-04",), ("2020-02-28",)]
