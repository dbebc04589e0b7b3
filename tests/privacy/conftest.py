"""One attack for all tests of this folder: sixty identifiers, or five hundred with -m full."""

from __future__ import annotations

import pytest

from tests.privacy.attacking import Attack
from tests.privacy.identifiers import identifiers
from tests.privacy.planting import plant, store_layouts

FEW, MANY = 60, 500
SEED = 20261126


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    if "attack" in metafunc.fixturenames:
        is_full = "full" in metafunc.config.getoption("markexpr")
        count = pytest.param(MANY, marks=pytest.mark.full) if is_full else FEW
        metafunc.parametrize("attack", [count], indirect=True, scope="package")


@pytest.fixture(scope="package")
def attack(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Attack:
    """Everything loaded once, on a terminal."""
    folder = tmp_path_factory.mktemp("attack")
    found = Attack(folder, identifiers(request.param, SEED))
    for name in ("work", "tmp", "home", "store"):
        (found.written / name).mkdir(parents=True)
    found.loads = plant(folder / "files", found.planted, SEED)
    for load in found.loads:
        store_layouts(found.store, load.layouts)
        lists = [part for kind, path in load.lists.items() for part in (f"--{kind}", path)]
        assert found.run("load", *load.files, *lists) == 0, "\n".join(found.said[-5:])
    return found
