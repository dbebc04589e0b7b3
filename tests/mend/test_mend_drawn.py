"""Whatever is mended: every row has one fate, and only mended rows, or rows of the same job, change theirs."""

from __future__ import annotations

import csv
import io
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pipeline.load import load, log_check
from pipeline.mend import take_back, write_list
from pipeline.store.folder import Store

HEADER = ("job_id", "visit_no", "unit_type", "reported_at", "finished_at", "hands_on_min", "outcome")
GOOD = {
    "job_id": "J9",
    "unit_type": "dryer",
    "reported_at": "2024-01-01",
    "finished_at": "2024-06-01",
    "hands_on_min": "7",
}

rows = st.lists(
    st.tuples(
        st.sampled_from(("J1", "J1", "J2", "J3", "")),
        st.sampled_from(("1", "2", "")),
        st.sampled_from(("washer", "washer", "")),
        st.sampled_from(("2024-01-05", "2024-01-05", "2024-02-01", "soon", "")),
        st.sampled_from(("2024-01-09", "2024-01-09", "2024-01-02", "later", "")),
        st.sampled_from(("20", "-3", "half")),
        st.sampled_from(("fixed", "open")),
    ),
    min_size=1,
    max_size=8,
)


def fates(store):
    """Fate, job and what is wrong of each row, by file and record."""
    sql = """select fates.file_no, fates.record, fates.fate, lines.job_id from tables.fates
        join normalise.lines as lines on lines.row_no = fates.row_no"""
    with Store(store).connect() as con:
        return {(file, record): (fate, job) for file, record, fate, job in con.execute(sql).fetchall()}


@settings(max_examples=8, suppress_health_check=[HealthCheck.too_slow])
@given(files=st.lists(rows, min_size=1, max_size=2), data=st.data())
def test_rows_add_up_and_only_mended_rows_or_their_jobs_change_their_fate(files, data):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for number, drawn in enumerate(files):
            (folder / f"{number}.csv").write_text("\n".join(",".join(row) for row in (HEADER, *drawn)) + "\n")
        load(folder / "store", [folder / f"{n}.csv" for n in range(len(files))], key_path=folder / "key")
        before = fates(folder / "store")
        write_list(folder / "store", folder / "list.csv")
        listed = list(csv.DictReader(io.StringIO((folder / "list.csv").read_text(encoding="utf-8-sig"))))
        by_row = {}
        for row in listed:
            by_row.setdefault(row["row"], []).append(row)
        mended = set()
        for cells in by_row.values():
            # All cells of a row or none: a mended cell beside a broken one may break a rule, and is refused then.
            if data.draw(st.booleans()):
                mended.add((int(cells[0]["file"][0]) + 1, int(cells[0]["record"])))
                for cell in cells:
                    cell["value"] = GOOD[cell["column"]]
        with (folder / "list.csv").open("w") as file:
            writer = csv.DictWriter(
                file, ("row", "file", "record", "line", "column", "reason", "looks_like", "value")
            )
            writer.writeheader()
            writer.writerows(listed)
        take_back(folder / "store", folder / "list.csv")
        after = fates(folder / "store")
        for account in log_check(folder / "store"):
            parts = [account[name] for name in ("used", "repeated", "replaced", "set_aside")]
            assert account["received"] == sum(parts)
        assert after.keys() == before.keys()
        jobs = {after[row][1] for row in mended}
        changed = {row for row in after if after[row] != before[row]}
        assert all(row in mended or after[row][1] in jobs for row in changed)
        assert not [row for row in mended if after[row][0] == "set aside"]
