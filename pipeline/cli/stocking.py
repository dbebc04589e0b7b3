"""Commands about van and stores: van-stock, stores, toss."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from pipeline.cli.speaking import add_command, add_printing, print_or_write, progress_line, show, silent
from pipeline.errors import WrongUseError


def add_van_stock(commands: Any) -> None:
    """Options of `van-stock`."""
    from pipeline.stock.wish import USUAL_JOBS

    parser = add_command(
        commands,
        "van-stock",
        _van_stock,
        "choose what a van should carry, so that as many jobs as possible end at the first visit",
    )
    parser.add_argument("--budget", type=float, metavar="M", help="money that one van's stock may cost")
    parser.add_argument("--litres", type=float, metavar="L", help="room that it may take")
    parser.add_argument("--lines", type=int, metavar="N", help="different parts at most")
    parser.add_argument(
        "--jobs-between-restocks",
        type=int,
        default=USUAL_JOBS,
        metavar="N",
        help=f"attended fault jobs of one van, with or without a part (default {USUAL_JOBS})",
    )
    parser.add_argument(
        "--replay",
        action="store_true",
        help="instead, what this list would have done on months it did not know, beside others",
    )
    parser.add_argument(
        "--changes",
        action="store_true",
        help="instead, what to put in and take out of each van of the stock list",
    )
    parser.add_argument(
        "--load-list",
        action="store_true",
        help="instead, write sheets to print, one a van, with boxes to tick (--output F.html, default load-list.html)",
    )
    parser.add_argument(
        "--each-van",
        action="store_true",
        help="a list for each van (technician of the log) by its own work; with --replay, what they would have done",
    )
    add_printing(parser)


def add_stores(commands: Any) -> None:
    """Options of `stores`."""
    parser = add_command(
        commands,
        "stores",
        _stores,
        "say how many of each part to keep in the stores, what was waited for and what to let go",
    )
    parser.add_argument(
        "--ready-rate",
        type=float,
        default=0.95,
        metavar="R",
        help="how often a piece shall be there when the next one is needed (default 0.95)",
    )
    parser.add_argument("--short-cost", type=float, metavar="C", help="instead, what one missing piece costs")
    parser.add_argument(
        "--last-time-buy",
        default="",
        metavar="PART",
        help="instead, how many of a part to buy that can soon be had no more",
    )
    parser.add_argument(
        "--years",
        type=int,
        default=10,
        metavar="N",
        help="last-time buy: how long it has to last (default 10)",
    )
    parser.add_argument(
        "--over-cost",
        type=float,
        metavar="C",
        help="last-time buy: what a piece costs that is never used (default: its price)",
    )
    add_printing(parser)


def add_toss(commands: Any) -> None:
    """Options of `toss`."""
    parser = add_command(
        commands,
        "toss",
        _toss,
        "let chance choose between cleaning and replacing where you are undecided, and say when enough is known",
    )
    parser.add_argument("--part", required=True, metavar="P", help="number of the part")
    parser.add_argument(
        "--job", default="", metavar="J", help="number of the job, so that it can be followed"
    )
    add_printing(parser)


def _van_stock(options: argparse.Namespace) -> None:
    from pipeline.show import write
    from pipeline.stock import each_van, load_list, replay
    from pipeline.stock.van import basis_of, changes, van_stock
    from pipeline.stock.van_rows import notes, rows
    from pipeline.stock.wish import Wish
    from pipeline.store.folder import Store

    if options.changes + options.replay + options.load_list > 1:
        raise WrongUseError("van-stock takes one of --replay, --changes and --load-list.")
    if options.each_van and (options.changes or options.load_list):
        raise WrongUseError(
            "--each-van cannot be held against the stock list: which technician drives which of its vans, nobody knows."
        )
    wish = Wish(options.budget, options.litres, options.lines, options.jobs_between_restocks)
    progress = progress_line() or silent
    progress("Reading what jobs needed")
    with Store(options.store).connect() as con:
        basis = basis_of(con)
        work = each_van.work_of(con) if options.each_van else {}
    if options.each_van and not options.replay:
        choices = each_van.each_van(basis, wish, progress_line())
        listed = each_van.each_van_rows(choices, work)
        show(listed.drop("why") if options.format == "table" else listed, options, each_van.notes(choices))
        return
    progress("Choosing what to carry")
    found = van_stock(basis, wish)
    if options.replay:
        played = replay.replay(found, each_van=options.each_van, progress=progress_line())
        said = [replay.sentence(played), *replay.basis_words(found.basis, played)]
        show(replay.rows(played, priced=found.basis.parts.has_costs), options, said)
    elif options.load_list:
        path = options.output or Path("load-list.html")
        write(load_list.page(found).encode(), path)
        print(f"{path} written: print it, a sheet a van.")
    elif options.changes:
        show(changes(found), options)
    else:
        listed = rows(found)
        # On a screen the numbers say why; the words are for whoever reads the list elsewhere.
        show(listed.drop("why") if options.format == "table" else listed, options, notes(found))


def _stores(options: argparse.Namespace) -> None:
    from pipeline.stock import last_buy
    from pipeline.stock.stores import stores
    from pipeline.stock.stores_rows import ON_A_SCREEN
    from pipeline.stock.stores_wish import StoresWish
    from pipeline.stock.stores_words import notes
    from pipeline.store.folder import Store

    wish = StoresWish(options.ready_rate, options.short_cost)
    with Store(options.store).connect() as con:
        if options.last_time_buy:
            bought = last_buy.last_buy(con, options.last_time_buy, options.years, wish, options.over_cost)
            show(bought.frame, options, last_buy.notes(bought))
            return
        found = stores(con, wish)
    frame = found.frame.select(ON_A_SCREEN) if options.format == "table" else found.frame
    show(frame, options, notes(found))


def _toss(options: argparse.Namespace) -> None:
    import polars as pl

    from pipeline.trial import toss

    tossed = toss(options.store, options.part.strip(), options.job.strip())
    if options.format == "table":
        print_or_write("".join(f"{sentence}\n" for sentence in tossed.said).encode(), options.output)
    else:
        show(pl.DataFrame([tossed.row]), options)
