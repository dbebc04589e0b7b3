"""
Files of a store whose bytes a failing disk or a stray hand changed: found, named, one sentence, never wrong figures.

Each seed changes one file. Received rows are known by their hash, so that any change of them must be found; what the
shop writes itself is plain text and may become another valid text. Numbers by default are small; `-m full` takes a
thousand, MENDSTAT_DAMAGED_FILES=25000 as many.
"""

from __future__ import annotations

import os
import random
import shutil
from collections.abc import Sequence
from pathlib import Path

import polars.selectors as cs
import pytest

from pipeline.build import check_whole
from pipeline.errors import MendstatError
from pipeline.intake.layout_files import known_layouts
from pipeline.load import load, log_check
from pipeline.measures import Question, evaluate
from pipeline.mend import take_back, write_list
from pipeline.settings import load_settings
from pipeline.store import corrections, manifest
from pipeline.store import key as keys
from pipeline.store.folder import Store
from pipeline.store.manifest import Manifest
from pipeline.vocabulary import vocabulary
from pipeline.vocabulary.own_file import own_words_digest
from sample_logs.exports import layout_files
from tests.faults.dying import Death, Dying
from tests.fuzz.byte_mutations import BINARY, TEXT
from tests.fuzz.checks import INSIDES
from tests.privacy.searching import holding
from tests.twins.plain_log import PLANTED, write_log

FEW, MANY, TOGETHER = 200, 1000, 200
# A manifest or the name of a build that became another valid text: too long a name, another kind, letters in a hash.
ONCE_WRONG = (
    1145,
    1649,
    3265,
    13118,
    16033,
    21777,
    23382,
    24062,
    25089,
    25958,
    26270,
    27550,
    31102,
    31998,
    33801,
)
BUILDS, MANY_BUILDS = 4, 60  # damaged builds, each asked by a process of its own
JOBS, NOT_READ = 60, 2


@pytest.fixture(scope="module")
def scene(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store with everything in it that a back-up must hold."""
    folder = tmp_path_factory.mktemp("scene")
    write_log(folder / "first.csv", JOBS, seed=1)
    lines = (folder / "first.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    at = lines[0].split(",").index("reported_at")
    for number in range(1, NOT_READ + 1):
        cells = lines[number].split(",")
        # The address is quoted and holds a comma.
        place = next(n for n, cell in enumerate(cells) if n >= at and cell.startswith("202") and "T" in cell)
        lines[number] = ",".join([*cells[:place], "soon", *cells[place + 1 :]])
    (folder / "first.csv").write_text("".join(lines), encoding="utf-8")
    store = Store(folder / "store")
    store.layouts.mkdir(parents=True)
    for name, path in layout_files().items():
        shutil.copy(path, store.layouts / f"{name}.toml")
    store.vocabulary.mkdir()
    (store.vocabulary / "outcome.toml").write_text('"not fixed" = ["quote declined"]\n')
    (store.folder / "settings.toml").write_text('repeat_days = 60\ncurrency = "EUR"\n')
    load(store.folder, [folder / "first.csv"], key_path=folder / "key")
    write_list(store.folder, folder / "list.csv")
    text = (folder / "list.csv").read_text(encoding="utf-8").splitlines()
    assert len(text) == NOT_READ + 1
    (folder / "list.csv").write_text("\n".join([text[0], *(f"{line}2023-01-01" for line in text[1:]), ""]))
    take_back(store.folder, folder / "list.csv")
    return folder


def kept_files(folder: Path) -> list[Path]:
    """Everything that cannot be made again, and the key; each kind as often as another, however many files it has."""
    store = Store(folder / "store")
    kinds = [
        sorted(store.received.glob("*.parquet")),
        [store.manifest_path],
        sorted(store.corrections.glob("*.csv")),
        sorted(store.layouts.glob("*.toml"))[:1],
        sorted(store.vocabulary.glob("*.toml")),
        [store.folder / "settings.toml"],
        [store.folder / "current"],
        [folder / "key"],
    ]
    assert all(kinds)
    return [files[0] for files in kinds]


def read_all(folder: Path) -> None:
    """Read everything that a load and a build read before they touch a row."""
    store = Store(folder / "store")
    received = store.manifest
    load_settings(store.folder)
    known_layouts(store.layouts)
    vocabulary(store.vocabulary)
    own_words_digest(store.vocabulary)
    for entry in received.active:
        check_whole(store.received / entry.parquet, entry)
    corrections.placed(corrections.read(store.corrections), received.active)
    keys.key_for(received.key_check, folder / "key")
    store.current_build()


def damage(path: Path, draw: random.Random) -> tuple[str, bytes]:
    """Change some bytes of a file; says how, and gives what it held."""
    held = path.read_bytes()
    mutate = draw.choice(BINARY if path.suffix == ".parquet" else TEXT)
    path.write_bytes(mutate(draw, held))
    return f"{path.name}: {mutate.__name__}", held


def what_is_wrong(folder: Path, path: Path, held: bytes, before: Manifest) -> str | None:
    """What must not be about how a damaged file was taken."""
    is_changed = path.read_bytes() != held
    try:
        read_all(folder)
    except MendstatError as error:
        return what_is_wrong_with(str(error))
    except Exception as error:  # noqa: BLE001  any other end is what is looked for
        return f"ends in {type(error).__name__}: {str(error)[:300]}"
    if is_changed and path.suffix == ".parquet":
        return "a change of received rows was not found"
    if path.name == "manifest.json" and manifest.read(path) != before:
        return "another manifest was taken for the one that was written"
    return None


def what_is_wrong_with(said: str) -> str | None:
    """What a user must not read."""
    if INSIDES.search(said.replace("JSONDecodeError", "")) or not said.rstrip().endswith((".", "?")):
        return f"no sentence for a user: {said[:300]!r}"
    return f"names somebody: {said[:300]!r}" if PLANTED[0] in said else None


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """A few files, or many with -m full."""
    is_full = metafunc.config.getoption("markexpr") == "full"
    if "damaged_build" in metafunc.fixturenames:
        numbers = range(MANY_BUILDS if is_full else BUILDS)
        marked = [pytest.param(n, marks=[pytest.mark.full] * is_full) for n in numbers]
        metafunc.parametrize("damaged_build", marked)
    if "seeds" in metafunc.fixturenames:
        many = int(os.environ.get("MENDSTAT_DAMAGED_FILES", str(MANY))) if is_full else FEW
        ranges = [range(start, min(many, start + TOGETHER)) for start in range(0, many, TOGETHER)]
        drawn = [pytest.param(each, marks=[pytest.mark.full] * is_full, id=str(each)) for each in ranges]
        metafunc.parametrize("seeds", [*drawn, pytest.param(ONCE_WRONG, id="once wrong")])


def test_damaged_file_is_found_and_named_or_is_another_valid_text(
    scene: Path, tmp_path: Path, seeds: Sequence[int]
) -> None:
    folder = shutil.copytree(scene, tmp_path / "copy")
    files, before = kept_files(folder), Store(folder / "store").manifest
    wrong = []
    for seed in seeds:
        path = files[seed % len(files)]
        done, held = damage(path, random.Random(f"damage {seed}"))
        found = what_is_wrong(folder, path, held, before)
        wrong += [f"{seed} {done}: {found}"] if found else []
        path.write_bytes(held)
    assert not wrong, "\n".join(wrong)
    read_all(folder)


def test_damaged_received_file_is_named_by_a_reread_and_everything_loaded_still_answers(
    scene: Path, tmp_path: Path, warm: Dying
) -> None:
    folder = shutil.copytree(scene, tmp_path / "copy")
    store = Store(folder / "store")
    before = answers(store)
    (path,) = store.received.glob("*.parquet")
    held = path.read_bytes()
    flipped = bytearray(held)
    flipped[len(held) // 2] ^= 1
    write_log(folder / "later.csv", 20, seed=2, prefix="K")
    for content in (held[:-1], held[: len(held) // 2], b"", bytes(flipped)):
        path.write_bytes(content)
        assert_named(warm.run(["reread", "--store", store.folder], tmp_path / "said"), path, "is damaged")
        assert answers(store)[0] == before[0]
    more = ["load", folder / "later.csv", "--key", folder / "key", "--store", store.folder]
    assert_named(warm.run(more, tmp_path / "said"), path, "is damaged")
    assert answers(store)[0] == before[0]
    path.unlink()
    assert_named(warm.run(["reread", "--store", store.folder], tmp_path / "said"), path, "is missing")
    path.write_bytes(held)
    died = warm.run(more, tmp_path / "said")
    assert died.code == 0, died.said
    assert sum(account["received"] for account in log_check(store.folder)) == JOBS + 20
    assert answers(store)[0] != before[0]
    assert holding(store.folder, PLANTED) == []
    assert not [
        each for each in store.folder.rglob("*") if "unfinished" in each.name or each.suffix == ".spill"
    ]


def assert_named(died: Death, path: Path, what: str) -> None:
    """Refused in one sentence that names the file and the remedy."""
    assert died.code == 3, died.said
    (sentence,) = [line for line in died.said.splitlines() if line.startswith("mendstat: ")]
    for word in (path.name, what, "back-up"):
        assert word in sentence


def test_damaged_build_answers_rightly_or_says_how_it_is_made_again(
    scene: Path, tmp_path: Path, warm: Dying, damaged_build: int
) -> None:
    folder = shutil.copytree(scene, tmp_path / "copy")
    store = Store(folder / "store")
    measure = ["measure", "fixed-share", "--by", "unit_type", "--store", store.folder]
    right = warm.run(measure, tmp_path / "said")
    build = store.current_build()
    assert build is not None
    draw = random.Random(f"build {damaged_build}")
    content = bytearray(build.read_bytes())
    if damaged_build % 3 == 0:
        content = content[: draw.randrange(len(content))]
    else:
        for _ in range(1 if damaged_build % 3 == 1 else 200):
            content[draw.randrange(len(content))] ^= 1 << draw.randrange(8)
    build.write_bytes(content)
    found = warm.run(measure, tmp_path / "said")
    assert "Traceback" not in found.said
    if found.code == 0:
        assert found.said == right.said
    else:
        assert found.code == 3, found.said
        assert "mendstat reread" in found.said
    assert warm.run(["reread", "--store", store.folder], tmp_path / "said").code == 0
    assert warm.run(measure, tmp_path / "said").said == right.said


def answers(store: Store) -> list[object]:
    """Figures and accounts as a store gives them now."""
    with store.connect() as con:
        found = evaluate(con, "fixed-share", Question(by=("unit_type",)))
    accounts = log_check(store.folder)
    for account in accounts:
        assert account["received"] == sum(
            account[each] for each in ("used", "repeated", "replaced", "set_aside")
        )
    return [found.with_columns(cs.float().round_sig_figs(9)).to_dicts(), accounts]
