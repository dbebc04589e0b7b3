"""The wheel carries what it needs: it runs outside the checkout, in a folder that holds nothing else."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


def run(*command: str, **options) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(command, capture_output=True, text=True, check=False, **options)
    assert done.returncode == 0, done.stderr
    return done


@pytest.fixture(scope="module")
def installed(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    wheel = ("wheel", "--quiet", "--no-deps", "--no-build-isolation", "--wheel-dir", str(folder), str(ROOT))
    run(sys.executable, "-m", "pip", *wheel)
    (path,) = folder.glob("*.whl")
    target = folder / "site"
    run(sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--target", str(target), str(path))
    return target


def test_wheel_runs_the_demo_outside_the_checkout(installed, tmp_path):
    environment = {
        **os.environ,
        "PYTHONPATH": str(installed),
        "XDG_CONFIG_HOME": str(tmp_path / "config"),
        "PYTHONSAFEPATH": "1",
    }
    done = run(sys.executable, "-m", "pipeline.cli", "demo", "--no-dashboard", cwd=tmp_path, env=environment)
    for name in ("part-failure-rate", "repeat-visits", "time-to-fix"):
        assert f"\n{name}\n" in done.stdout


def test_wheel_carries_sql_vocabulary_layouts_samples_and_type_marker(installed):
    for pattern in (
        "pipeline/tables/*.sql",
        "pipeline/facts/*.sql",
        "pipeline/vocabulary/*.toml",
        "pipeline/layouts/*.toml",
        "sample_logs/layouts/*.toml",
    ):
        here = {path.name for path in ROOT.glob(pattern)}
        assert here
        assert {path.name for path in installed.glob(pattern)} == here
    assert (installed / "sample_logs/standard/log.csv").is_file()
    assert (installed / "pipeline/py.typed").is_file()
