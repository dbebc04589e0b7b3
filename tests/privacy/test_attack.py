"""Whatever a firm writes into its log, nobody's name, number, address or way in is written or shown by mendstat again."""

from __future__ import annotations

import contextlib
import csv
import os
import re
import signal
import subprocess
import sys

import pytest
from streamlit.testing.v1 import AppTest

from dashboards import STORE_VARIABLE, upload
from dashboards.pages import PAGES
from pipeline.measures import MEASURES
from pipeline.settle.list_file import HEADER
from tests.faults.limited import limited
from tests.privacy.identifiers import KINDS
from tests.privacy.searching import marks_found, marks_in_folder

# Digests, and the long tails of computed numbers: in both any few digits stand by chance.
CHANCE = re.compile(r"(?=[0-9]*[a-f])[0-9a-f]{12,}|(?<=\.)\d{9,}")
TRIED = 12  # lists given back, each a command
BIG, MEMORY = 200_000, 900 << 20  # rows of a load that is killed; bytes that it is given
QUESTIONS = (
    *((name, "--people") for name in MEASURES),
    *(("fixed-share", "--by", by) for by in ("symptom", "make", "model", "postcode", "fault_code", "source", "outcome", "second_visit_reason")),
    ("part-failure-rate", "--by", "part_no", "--working"),
    ("time-to-fix", "--by", "technician", "--people", "--format", "json"),
)  # fmt: skip


def test_every_kind_of_identifier_is_planted(attack):
    assert {each.kind for each in attack.planted} == set(KINDS)
    there = marks_in_folder(attack.folder / "files", attack.marks)
    assert len(there) > len(attack.loads)
    everywhere = set().union(*there.values())
    assert len(everywhere) > 0.8 * len(attack.marks)


def test_nothing_is_left_of_them_after_the_loads(attack):
    attack.assert_nothing_is_told()


def test_progress_is_shown_and_tells_nothing(attack):
    """The commands ran on a terminal, where a load shows how far it is."""
    assert any("\r" in line or "\x1b[K" in line or "Reading" in line for line in attack.said)
    assert marks_found(attack.said, attack.marks) == set()


def test_no_figure_no_export_and_no_list_tells_them(attack):
    out = attack.written / "work"
    for question in QUESTIONS:
        assert attack.run_here("measure", *question) in (0, 1)
    for kind in ("csv", "json", "parquet"):
        assert attack.run_here("export", "--format", kind, "--output", out / f"log.{kind}") == 0
    attack.run_here("export", "--share", "--format", "csv", "--output", out / "shared.csv")
    assert attack.run_here("log-check", "--format", "json") == 0
    assert attack.run_here("log-check", "--format", "table") == 0
    assert attack.run_here("log-check", "--privacy", "--format", "csv") == 0
    assert attack.run_here("log-check", "--privacy", "--format", "json") == 0
    assert attack.run_here("job-sheet", "--output", out / "job-sheet.xlsx") == 0
    assert attack.run_here("job-sheet", "--output", out / "job-sheet.html") == 0
    assert attack.run_here("pocket-sheet", "--output", out / "pocket.html") in (0, 1)
    assert attack.run_here("month", "--output", out / "month.html") in (0, 1)
    assert attack.run_here("measure", "fixed-share", "--chart", out / "fixed.svg") in (0, 1)
    for words in ("not draining", "leaks and noisy"):
        assert attack.run_here("symptom", words) in (0, 1)
    assert attack.run_here("month", "--output", out / "month.html") in (0, 1)
    assert attack.run_here("van-stock", "--lines", "5") in (0, 1)
    assert attack.run_here("stores") in (0, 1)
    attack.assert_nothing_is_told()


def test_no_list_of_cells_to_mend_tells_them_whatever_is_filled_in(attack):
    to_mend = attack.written / "work" / "to-mend.csv"
    assert attack.run("mend", "--output", to_mend) == 0
    assert attack.run("mend", "--output", to_mend.with_suffix(".xlsx")) == 0
    with to_mend.open(encoding="utf-8-sig", newline="") as file:
        lines = list(csv.DictReader(file))
    assert lines
    # The list that a person filled in is theirs: it lies beside what mendstat wrote.
    filled = attack.folder / "filled.csv"
    texts = [each.text for each in attack.planted if not each.text.replace(" ", "").isdigit()]
    for at, line in enumerate(lines[: len(texts)]):
        with filled.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, list(line))
            writer.writeheader()
            writer.writerow(line | {"value": texts[at]})
        if at < TRIED:
            attack.run_here("mend", filled)
    attack.assert_nothing_is_told()


def test_no_list_of_words_to_settle_tells_them_whatever_is_filled_in(attack):
    to_settle = attack.written / "work" / "to-settle.csv"
    assert attack.run("settle", "--output", to_settle) == 0
    attack.assert_nothing_is_told()
    with to_settle.open(encoding="utf-8-sig", newline="") as file:
        lines = list(csv.DictReader(file))
    # Where every text holds something removed, none is listed.
    lines = lines or [dict.fromkeys(HEADER, "") | {"column": "symptom", "words": "drum sings"}]
    filled = attack.folder / "settled.csv"
    for each in attack.planted[:TRIED]:
        for said in (each.text, f"noisy, {each.said[0]}"):
            for put_in in ({"words": said, "meaning": "noisy"}, {"meaning": said}):
                with filled.open("w", encoding="utf-8", newline="") as file:
                    writer = csv.DictWriter(file, list(lines[0]))
                    writer.writeheader()
                    writer.writerow(lines[0] | put_in)
                attack.run_here("settle", filled)
    attack.assert_nothing_is_told()


def test_another_key_brings_none_of_them_back(attack):
    assert attack.run("key", "rotate") == 0
    attack.assert_nothing_is_told()


def test_what_is_asked_or_refused_tells_none_of_them(attack):
    """Files of which nothing fits, with people in headers, in the first row, in words of paperwork, in dates."""
    folder = attack.folder / "refused"
    folder.mkdir()
    person, number = attack.planted[0].text, attack.planted[1].text
    files = {
        "headers.csv": f"{person},{number},x\n1,2,3\n",
        "no header.csv": f"J1,{person},{number},2025-03-04\nJ2,{person},{number},2025-03-05\n",
        "asked.csv": f"job_id,unit_type,{person},{number},outcome\nJ1,washer,{number},{person},closed by {person}\n",
        "words.csv": f"job_id,unit_type,reported_at,outcome,{person}\nJ1,washer,2025-03-04,invoiced {person},{number}\n",
        "dates.csv": f"job_id,unit_type,reported_at\nJ1,washer,{person}\nJ2,washer,03/04/2025\nJ3,washer,{number}\n",
        f"{person} broken.csv": f'job_id,unit_type,reported_at\n"J1,washer,{person}\n',
        f"{person}.xlsx": "no workbook",
        f"{person}.parquet": "no table",
        f"{person}.jsonl": '{"name": "' + person + '", "phone": \n',
    }
    for name, text in files.items():
        path = folder / name.replace("/", " ")
        path.write_text(text, encoding="utf-8")
        before = len(attack.said)
        attack.run_here("load", path)
        attack.run_here("load", path, "--layout", "standard-log")
        attack.run_here("recognise", path)
        # The path is the user's own and is said back to them; what stands in the file is not.
        said = [line.replace(str(path), "").replace(path.name, "") for line in attack.said[before:]]
        attack.said[before:] = said
    attack.assert_nothing_is_told()


def test_a_file_given_to_the_page_is_told_of_without_them(attack, monkeypatch):
    monkeypatch.setenv(STORE_VARIABLE, str(attack.store))
    for path in (load.files[0] for load in attack.loads[::2]):
        found = upload.look_at(path.name, path.read_bytes())
        asked = [
            part
            for question in found.questions
            for part in (question.asks, *(a.line + a.means for a in question.answers))
        ]
        cells = [str(cell) for row in found.rows.rows() for cell in row]
        assert (
            marks_found([found.file, found.layout_name, *found.sentences, *asked, *cells], attack.marks)
            == set()
        )
    attack.assert_nothing_is_told()


@pytest.mark.parametrize("seconds", [1.5, 2.5, None])
def test_a_load_killed_half_way_leaves_none_of_them(attack, tmp_path, seconds):
    """Killed after some seconds, or by the little memory that it is given."""
    made, big = tmp_path / "written", tmp_path / "big.csv"
    for name in ("work", "tmp", "home"):
        (made / name).mkdir(parents=True)
    header, *rows = attack.loads[0].files[0].read_text(encoding="utf-8").splitlines()
    big.write_text("\n".join([header, *rows * (BIG // len(rows))]), encoding="utf-8")
    store = ("--store", str(made / "store"), "--key", str(made / "home" / "key"))
    child = subprocess.Popen(
        limited(
            [sys.executable, "-m", "pipeline.cli", "load", str(big), *store],
            memory=MEMORY if seconds is None else None,
        ),
        cwd=made / "work",
        env=attack.environment() | {"TMPDIR": str(made / "tmp"), "POLARS_TEMP_DIR": str(made / "tmp")},
        start_new_session=True,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
    with contextlib.suppress(subprocess.TimeoutExpired):
        child.wait(seconds or 60)
    if child.poll() is None:
        os.killpg(child.pid, signal.SIGKILL)
    assert child.wait() != 0
    assert marks_in_folder(made, attack.marks) == {}


@pytest.mark.parametrize("path", [page.path for page in PAGES])
def test_no_page_shows_them(attack, path, monkeypatch):
    monkeypatch.setenv(STORE_VARIABLE, str(attack.store))

    def script(wanted: str) -> None:
        from dashboards.pages import PAGES

        next(found for found in PAGES if found.path == wanted).render()

    at = AppTest.from_function(script, args=(path,), default_timeout=120).run()
    assert not at.exception
    sent = [part.decode("utf-8", "ignore") for element in elements(at.main) for part in element.split(b"\0")]
    assert "What to do next" in "".join(sent)
    assert marks_found(map(without_chance, sent), attack.marks) == set()


def without_chance(sent: str) -> str:
    """What a page sends, without digests and decimals beyond what anybody writes."""
    return CHANCE.sub(" ", sent)


def elements(block) -> list[bytes]:
    """All that a page sends, element by element, as it goes over the line."""
    found = []
    for child in getattr(block, "children", {}).values():
        if getattr(child, "proto", None) is not None:
            found.append(child.proto.SerializeToString())
        found += elements(child)
    return found
