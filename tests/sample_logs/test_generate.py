"""The committed files are what the generator writes, and nothing else."""

import csv
import io

import pytest

from pipeline.standard_log import column_names
from sample_logs import KINDS, standard_files
from sample_logs.generate import main
from sample_logs.simulate import make_firm, simulate


def test_committed_files_are_what_the_generator_writes_byte_for_byte(tmp_path):
    main(["--out", str(tmp_path)])
    for kind, path in standard_files().items():
        assert (tmp_path / f"{kind}.csv").read_bytes() == path.read_bytes(), kind


@pytest.mark.parametrize("kind", KINDS)
def test_headers_are_the_standard_ones(kind):
    with standard_files()[kind].open(encoding="utf-8", newline="") as file:
        assert tuple(next(csv.reader(file))) == column_names(kind)


def test_another_seed_is_another_firm(tmp_path):
    main(["--seed", "7", "--machines", "200", "--out", str(tmp_path)])
    first = (tmp_path / "log.csv").read_bytes()
    main(["--seed", "8", "--machines", "200", "--out", str(tmp_path)])
    assert (tmp_path / "log.csv").read_bytes() != first


def test_a_small_firm_comes_as_plain_rows():
    files = simulate(seed=3, machines=100)
    assert len(files["machines"]) == 100
    assert all(isinstance(value, str) for row in files["log"] for value in row.values())
    assert 100 < len(files["log"]) < 600


def test_a_machine_is_the_same_whatever_was_simulated_before():
    make_firm(1, 50)
    assert make_firm(2, 50).files == make_firm(2, 50).files


def test_reading_a_written_file_gives_the_rows_back(tmp_path):
    main(["--seed", "3", "--machines", "100", "--out", str(tmp_path)])
    text = (tmp_path / "log.csv").read_text(encoding="utf-8")
    assert list(csv.DictReader(io.StringIO(text))) == simulate(3, 100)["log"]
