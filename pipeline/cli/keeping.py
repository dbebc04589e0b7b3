"""Commands about what is kept: log-check, settle, mend, export, key, forget."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from pipeline.cli.speaking import (
    add_command,
    add_printing,
    print_or_write,
    progress_line,
    say,
    show,
    silent,
    source_of,
)
from pipeline.errors import WrongUseError


def add_log_check(commands: Any) -> None:
    """Options of `log-check`."""
    parser = add_command(commands, "log-check", _log_check, "account for every row of every file taken in")
    parser.add_argument(
        "--privacy",
        action="store_true",
        help="instead, what somebody who knows a little could single out in this store",
    )
    add_printing(parser, default="json")


def add_settle(commands: Any) -> None:
    """Options of `settle`."""
    parser = add_command(
        commands,
        "settle",
        _settle,
        "list the words of the log that nothing gives a meaning, with what each may mean, or take the list back filled in",
    )
    parser.add_argument(
        "file",
        nargs="?",
        type=Path,
        metavar="FILE",
        help="the list with its meanings, CSV or .xlsx; - is standard input; without it the words are listed",
    )
    add_printing(parser)


def add_mend(commands: Any) -> None:
    """Options of `mend`."""
    parser = add_command(
        commands,
        "mend",
        _mend,
        "write the cells of rows set aside to a list, or take the list back filled in",
    )
    parser.add_argument(
        "file",
        nargs="?",
        type=Path,
        metavar="FILE",
        help="the list with its values, CSV or .xlsx; without it one is written",
    )
    parser.add_argument(
        "--output",
        type=Path,
        metavar="FILE",
        help="where to write the list, .csv or .xlsx (default to-mend.csv)",
    )


def add_export(commands: Any) -> None:
    """Options of `export`."""
    parser = add_command(commands, "export", _export, "write the log as it was read, for the firm's own use")
    parser.add_argument(
        "--share",
        action="store_true",
        help="instead, counts that may leave the firm: cells of ten jobs or more, by month",
    )
    add_printing(parser)


def add_key(commands: Any) -> None:
    """Options of `key`."""
    parser = add_command(
        commands, "key", _key, "put another key on the store: rotate keeps joins, forget breaks them"
    )
    parser.add_argument(
        "what",
        choices=("rotate", "forget"),
        help="rotate: a new key, figures and later loads as before; forget: nobody can test any more who is in the store, "
        "and what is loaded later does not join what is there",
    )


def add_forget(commands: Any) -> None:
    """Options of `forget`."""
    parser = add_command(
        commands, "forget", _forget, "erase one customer's address and its machines from the store"
    )
    parser.add_argument(
        "--site", required=True, metavar="ID", help="as your files have it; parts with | between"
    )


def _log_check(options: argparse.Namespace) -> None:
    import polars as pl

    from pipeline.log_check import as_text, log_check
    from pipeline.show import json_bytes

    if options.privacy:
        from pipeline.sharing.intruder import singling_out, singling_out_of_the_share
        from pipeline.store.folder import Store

        with Store(options.store).connect() as con:
            show(singling_out(con).vstack(singling_out_of_the_share(con)), options)
        return
    rows = log_check(options.store)
    if options.format == "json":
        print_or_write(json_bytes(rows), options.output)
        return
    if options.format == "table":
        from pipeline.store.folder import Store
        from pipeline.store.on_disk import on_disk

        told = f"{as_text(rows)}\n{on_disk(Store(options.store)).text()}\n"
        print_or_write(_first_of_all(options.store) + told.encode(), options.output)
        return
    flat = [
        {name: value for name, value in row.items() if not isinstance(value, list | dict)} for row in rows
    ]
    show(pl.DataFrame(flat, infer_schema_length=None), options)


def _first_of_all(store: Path) -> bytes:
    """What stands before everything else: safety reports and notices, where there are any."""
    from pipeline.measures.safety_words import first_of_all
    from pipeline.store.folder import Store

    with Store(store).connect() as con:
        said = first_of_all(con)
    return f"{said}\n\n".encode() if said else b""


def _settle(options: argparse.Namespace) -> None:
    from pipeline.settle import list_file, take_back
    from pipeline.store.folder import Store

    if options.file is not None:
        if options.output is not None:
            raise WrongUseError(
                "settle either writes a list (--output) or takes one back (FILE): name one of the two."
            )
        print(take_back(options.store, source_of(options.file, None), progress=progress_line()).text())
        return
    found = list_file.found_in(Store(options.store))
    sentences = list_file.told(found)
    if options.format == "table" and options.output is not None:
        list_file.write_list(found, options.output)
        print(
            "\n".join([f"{options.output} written.", *sentences, list_file.HOW.format(path=options.output)])
        )
        return
    frame = list_file.frame_of(found)
    if options.format != "table":
        show(frame, options)
        return
    if frame.height:
        sentences.append(
            "To settle them: mendstat settle --output to-settle.csv, or the page “Words to settle”."
        )
    show(frame.head(list_file.SHOWN), options, sentences) if frame.height else print("\n".join(sentences))


def _mend(options: argparse.Namespace) -> None:
    from pipeline.mend import take_back, write_list

    if options.file is None:
        found, path = write_list(options.store, options.output)
        print(found.text(path))
        return
    if options.output is not None:
        raise WrongUseError(
            "mend either writes a list (--output) or takes one back (FILE): name one of the two."
        )
    print(take_back(options.store, options.file, progress=progress_line()).text())


def _export(options: argparse.Namespace) -> None:
    from pipeline.sharing.own_log import own_log
    from pipeline.sharing.shared_cells import shared_export
    from pipeline.store.folder import Store

    with Store(options.store).connect() as con:
        if not options.share:
            show(own_log(con), options)
            return
        shared = shared_export(con)
    show(shared.cells, options)
    if options.output is None:
        say(shared.statement)
    else:
        statement = options.output.with_name(f"{options.output.stem}-statement.txt")
        print_or_write(shared.statement.encode(), statement)
        say(f"What was done to it is written in {statement}.")


def _key(options: argparse.Namespace) -> None:
    from pipeline.rekeying import forget, rotate
    from pipeline.store.key import default_path

    path = options.key or default_path()
    if options.what == "rotate":
        rotate(options.store, path, progress_line() or silent)
        say(f"\nThe store has a new key, in {path}. Make a new back-up of that file, and of the store.")
    else:
        forget(options.store, path, progress_line() or silent)
        say(
            "\nNobody can test any more who is in the store. Remove your older back-ups of it: they still could be tested."
        )


def _forget(options: argparse.Namespace) -> None:
    from pipeline.erasing import forget_site
    from pipeline.store.key import default_path

    rows = forget_site(options.store, options.site, options.key or default_path(), progress_line() or silent)
    say(
        f"\n{rows:,} rows were erased, and everything was built again without them. Erase the address from your own files "
        "and older back-ups too: loading a file that holds it brings it back."
    )
