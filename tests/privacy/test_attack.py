"""Whatever a firm writes into its log, nobody's name, number, address or way in is written or shown by mendstat again."""

from __future__ import annotations

import contextlib
import csv
import io
import os
import resource
import signal
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from dashboards import STORE_VARIABLE, upload
from dashboards.pages import PAGES
from pipeline.cli import main
from pipeline.measures import MEASURES
from tests.privacy.identifiers import KINDS, Identifier, identifiers
from tests.privacy.planting import Load, plant, store_layouts
from tests.privacy.searching import marks_found, marks_in_folder

FEW, MANY = 60, 500
TRIED = 12  # lists given back, each a command
BIG, MEMORY = 200_000, 900 << 20  # rows of a load that is killed; bytes that it is given
SEED = 20261126
QUESTIONS = (
    *((name, "--people") for name in MEASURES),
    *(("fixed-share", "--by", by) for by in ("symptom", "make", "model", "postcode", "fault_code", "source", "outcome", "second_visit_reason")),
    ("part-failure-rate", "--by", "part_no", "--working"),
    ("time-to-fix", "--by", "technician", "--people", "--format", "json"),
)  # fmt: skip


@dataclass
class Attack:
    """What was planted, where mendstat wrote, and all that it said."""

    folder: Path
    planted: list[Identifier]
    loads: list[Load] = field(default_factory=list)
    said: list[str] = field(default_factory=list)

    @property
    def marks(self) -> set[str]:
        return {mark for each in self.planted for mark in each.marks}

    @property
    def written(self) -> Path:
        """Every place that mendstat may write to."""
        return self.folder / "written"

    def run(self, *arguments: object) -> int:
        """A command in a process of its own, whose every place to write to is ours."""
        store = ("--store", self.written / "store", "--key", self.written / "home" / "key")
        done = subprocess.run(
            [sys.executable, "-m", "pipeline.cli", *map(str, (*arguments, *store))],
            cwd=self.written / "work",
            env=self.environment(),
            capture_output=True,
        )
        self.said += (done.stdout + b"\n" + done.stderr).decode("utf-8", "replace").splitlines()
        return done.returncode

    def run_here(self, *arguments: object) -> int:
        """A command in this process, which is quicker: for those that only read."""
        told = io.StringIO()
        store = ("--store", self.written / "store", "--key", self.written / "home" / "key")
        with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
            code = main([str(part) for part in (*arguments, *store)])
        self.said += told.getvalue().splitlines()
        return code

    def environment(self) -> dict[str, str]:
        """Environment of a process that finds no other folder than ours."""
        places = {
            "TMPDIR": "tmp",
            "POLARS_TEMP_DIR": "tmp",
            "HOME": "home",
            "XDG_CONFIG_HOME": "home",
            "XDG_CACHE_HOME": "home",
        }
        ours = {name: str(self.written / folder) for name, folder in places.items()}
        return {**os.environ, **ours, "PYTHONPATH": str(Path.cwd())}


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Sixty identifiers, or five hundred with -m full."""
    if "attack" in metafunc.fixturenames:
        is_full = metafunc.config.getoption("markexpr") == "full"
        count = pytest.param(MANY, marks=pytest.mark.full) if is_full else FEW
        metafunc.parametrize("attack", [count], indirect=True, scope="module")


@pytest.fixture(scope="module")
def attack(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Attack:
    """Everything loaded, asked, exported, mended and shown once."""
    folder = tmp_path_factory.mktemp("attack")
    found = Attack(folder, identifiers(request.param, SEED))
    for name in ("work", "tmp", "home", "store"):
        (found.written / name).mkdir(parents=True)
    found.loads = plant(folder / "files", found.planted, SEED)
    for load in found.loads:
        store_layouts(found.written / "store", load.layouts)
        lists = [part for kind, path in load.lists.items() for part in (f"--{kind}", path)]
        assert found.run("load", *load.files, *lists) == 0, "\n".join(found.said[-5:])
    return found


def assert_nothing_is_told(attack: Attack) -> None:
    assert marks_in_folder(attack.written, attack.marks) == {}
    assert marks_found(attack.said, attack.marks) == set()


def test_every_kind_of_identifier_is_planted(attack):
    assert {each.kind for each in attack.planted} == set(KINDS)
    there = marks_in_folder(attack.folder / "files", attack.marks)
    assert len(there) > len(attack.loads)
    everywhere = set().union(*there.values())
    assert len(everywhere) > 0.8 * len(attack.marks)


def test_nothing_is_left_of_them_after_the_loads(attack):
    assert_nothing_is_told(attack)


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
    assert attack.run_here("job-sheet", "--output", out / "job-sheet.xlsx") == 0
    assert_nothing_is_told(attack)


def test_no_list_of_cells_to_mend_tells_them_whatever_is_filled_in(attack):
    to_mend = attack.written / "work" / "to-mend.csv"
    assert attack.run("mend", "--output", to_mend) == 0
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
    assert_nothing_is_told(attack)


def test_another_key_brings_none_of_them_back(attack):
    assert attack.run("key", "rotate") == 0
    assert_nothing_is_told(attack)


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
    assert_nothing_is_told(attack)


def test_a_file_given_to_the_page_is_told_of_without_them(attack, monkeypatch):
    monkeypatch.setenv(STORE_VARIABLE, str(attack.written / "store"))
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
    assert_nothing_is_told(attack)


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
        [sys.executable, "-m", "pipeline.cli", "load", str(big), *store],
        cwd=made / "work",
        env=attack.environment() | {"TMPDIR": str(made / "tmp"), "POLARS_TEMP_DIR": str(made / "tmp")},
        start_new_session=True,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        preexec_fn=little_memory if seconds is None else None,  # noqa: PLW1509 -- the child sets its limit and nothing else
    )
    with contextlib.suppress(subprocess.TimeoutExpired):
        child.wait(seconds or 60)
    if child.poll() is None:
        os.killpg(child.pid, signal.SIGKILL)
    assert child.wait() != 0
    assert marks_in_folder(made, attack.marks) == {}


def little_memory() -> None:
    """In the child: too little private memory for the load to end."""
    resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, MEMORY))


@pytest.mark.parametrize("path", [page.path for page in PAGES])
def test_no_page_shows_them(attack, path, monkeypatch):
    monkeypatch.setenv(STORE_VARIABLE, str(attack.written / "store"))

    def script(wanted: str) -> None:
        from dashboards.pages import PAGES

        next(found for found in PAGES if found.path == wanted).render()

    at = AppTest.from_function(script, args=(path,), default_timeout=120).run()
    assert not at.exception
    sent = [part.decode("utf-8", "ignore") for element in elements(at.main) for part in element.split(b"\0")]
    assert "What to do next" in "".join(sent)
    assert marks_found(sent, attack.marks) == set()


def elements(block) -> list[bytes]:
    """All that a page sends, element by element, as it goes over the line."""
    found = []
    for child in getattr(block, "children", {}).values():
        if getattr(child, "proto", None) is not None:
            found.append(child.proto.SerializeToString())
        found += elements(child)
    return found
