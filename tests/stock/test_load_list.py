"""The load list to print: every van's sheet adds up, what is fetched is what the vans lack together."""

import re

import pytest

from pipeline.cli import main
from pipeline.stock.load_list import page
from pipeline.stock.van import van_stock
from pipeline.stock.wish import Wish
from tests.stock import fleets

STOCK = [("van 1", "P00", 3), ("van 2", "P01", 2), ("stores", "P00", 1), ("stores", "P02", 9)]


def sheets(html):
    """Title and rows of each sheet, cells as text."""
    return [
        (
            re.search("<h1>(.*?)</h1>", sheet)[1],
            [
                re.findall("<td[^>]*>(.*?)</td>", row)
                for row in re.findall("<tr>(.*?)</tr>", sheet)
                if "<td" in row
            ],
        )
        for sheet in re.findall("<section>(.*?)</section>", html, re.DOTALL)
    ]


def number(text):
    return 0 if text == "–" else int(text)


@pytest.fixture(scope="module")
def chosen():
    past, prices = fleets.drawn(4, jobs=300)
    return van_stock(fleets.basis(past, prices, STOCK), Wish(budget=200.0))


def test_sheet_of_a_van_ends_at_the_list(chosen):
    found = dict(sheets(page(chosen)))
    assert list(found) == ["Fetch from the stores, for all vans", "van 1", "van 2"]
    listed = {key: int(n) for key, n in zip(chosen.basis.past.keys, chosen.stock, strict=True) if n}
    for van in ("van 1", "van 2"):
        rows = {row[1]: [number(cell) for cell in row[3:]] for row in found[van]}
        assert all(there + put - out == then for there, put, out, then in rows.values())
        assert {part: row[3] for part, row in rows.items() if row[3]} == listed


def test_what_is_fetched_is_what_all_vans_lack_together(chosen):
    keys = chosen.basis.past.keys
    lies = {("van 1", "P00"): 3, ("van 2", "P01"): 2}
    lack = {
        key: sum(int(n) - lies.get((van, key), 0) for van in ("van 1", "van 2"))
        for key, n in zip(keys, chosen.stock, strict=True)
    }
    rows = dict(sheets(page(chosen)))["Fetch from the stores, for all vans"]
    assert {row[1]: number(row[3]) for row in rows} == {key: n for key, n in lack.items() if n > 0}
    assert all(number(row[5]) == max(0, number(row[3]) - number(row[4])) for row in rows)


def test_without_a_stock_list_there_is_one_sheet_and_names_are_escaped():
    past, prices = fleets.drawn(4, jobs=300)
    basis = fleets.basis(past, prices)
    basis.parts.frame[0, "part_name"] = "<b>pump</b>"
    html = page(van_stock(basis, Wish(lines=15)))
    assert [title for title, _ in sheets(html)] == ["Load of each van"]
    assert "<b>" not in html


def test_command_writes_it(sample_store, tmp_path, capsys):
    target = tmp_path / "load.html"
    command = ["van-stock", "--store", str(sample_store), "--load-list"]
    assert main([*command, "--output", str(target)]) == 0
    assert "load.html written" in capsys.readouterr().out
    html = target.read_text(encoding="utf-8")
    assert len(sheets(html)) == 9
    assert "http" not in html
    assert main([*command, "--replay"]) == 2
