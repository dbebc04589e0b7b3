"""The shop's own vocabulary files: answers are put into them, and everything else that stands there stays as it is."""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from copy import deepcopy
from pathlib import Path
from typing import Any

from pipeline.errors import UnreadableError
from pipeline.vocabulary import normal_form

_HEAD = "# The shop's own words for {column}: each line is a meaning, then other ways of writing it. They win over mendstat's.\n"
_MEANS = re.compile(r"^[ \t]*\[[ \t]*means[ \t]*\][ \t]*(?:#.*)?$", re.MULTILINE)
_TABLE = re.compile(r"^[ \t]*\[", re.MULTILINE)
_ENTRY = re.compile(
    r"""^[ \t]*(?P<key>"(?:[^"\\]|\\.)*"|'[^']*'|[\w-]+)[ \t]*=[ \t]*(?P<list>\[)""", re.MULTILINE
)
# A text, a remark, or a bracket of a list; what stands inside the first two is no bracket.
_PIECE = re.compile(r"""\"(?:[^"\\]|\\.)*"|'[^']*'|#[^\n]*|\]""")


def with_answers(text: str, column: str, answers: Mapping[str, str]) -> str:
    """
    Text of one vocabulary file with some ways of writing settled.

    Parameters
    ----------
    text : str
        The file as it is; empty where there is none.
    column : str
        Column of the standard log, for the head of a new file.
    answers : mapping of str to str
        Way of writing, in normal form, to its meaning; a meaning that stands for itself is its own.

    Raises
    ------
    UnreadableError
        If the file is no TOML, or is written in a way in which nothing can be put into it safely.
    """
    if not answers:
        return text
    text = text or _HEAD.format(column=column)
    before = _read(text)
    wanted = _settled(before, answers)
    # Whatever the file looked like: what is written says exactly what it should, or nothing is written.
    try:
        for meaning, ways in wanted["means"].items():
            if before.get("means", {}).get(meaning) != ways:
                text = _with_entry(text, meaning, ways)
        is_right = tomllib.loads(text) == wanted
    except tomllib.TOMLDecodeError:
        is_right = False
    if not is_right:
        raise UnreadableError(
            f"vocabulary/{column}.toml is written in a way in which nothing can be put into it safely. "
            'Write each meaning as a line "meaning" = ["other way of writing"] under [means]. Nothing was settled.'
        )
    return text


def own_path(folder: Path, column: str) -> Path:
    """File of a column in the shop's vocabulary folder."""
    return folder / f"{column}.toml"


def own_words_digest(folder: Path) -> str:
    """Fingerprint of the shop's vocabulary files; a build names those it was made with. Empty without any."""
    if not folder.is_dir():
        return ""
    contents = [(path.name, path.read_bytes()) for path in sorted(folder.glob("*.toml"))]
    total = hashlib.sha256()
    for name, content in contents:
        total.update(f"{name} {len(content)}\n".encode() + content)
    return total.hexdigest()[:16] if contents else ""


def _read(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise UnreadableError(
            f"The shop's vocabulary is no TOML: {error}. Mend or remove the file."
        ) from None


def _settled(content: Mapping[str, Any], answers: Mapping[str, str]) -> dict[str, Any]:
    """What the file shall say: each way under its meaning only."""
    wanted = deepcopy(dict(content))
    means: dict[str, list[str]] = wanted.setdefault("means", {})
    for way, meaning in answers.items():
        for other, ways in means.items():
            if other != meaning:
                ways[:] = [each for each in ways if normal_form(str(each)) != way]
        ways = means.setdefault(meaning, [])
        if way != meaning and way not in (normal_form(str(each)) for each in ways):
            ways.append(way)
    return wanted


def _with_entry(text: str, meaning: str, ways: list[str]) -> str:
    """The text with one line of [means] written anew, at the end of that table where it is new."""
    line = ", ".join(json.dumps(way, ensure_ascii=False) for way in ways)
    start, end = _means(text)
    if start is None:
        return f"{text.rstrip()}\n\n[means]\n{json.dumps(meaning, ensure_ascii=False)} = [{line}]\n"
    for key, opens, closes in _entries(text, start, end):
        if key == meaning:
            return f"{text[:opens]}[{line}]{text[closes:]}"
    entry = f"{json.dumps(meaning, ensure_ascii=False)} = [{line}]\n"
    kept, rest = text[:end].rstrip("\n"), text[end:]
    return f"{kept}\n{entry}" + (f"\n{rest}" if rest else "")


def _means(text: str) -> tuple[int | None, int]:
    head = _MEANS.search(text)
    if head is None:
        return None, len(text)
    after = _TABLE.search(text, head.end())
    # A list over several lines has brackets at the beginning of lines too; those are inside an entry.
    while after is not None and any(
        opens < after.end() <= closes for _, opens, closes in _entries(text, head.end(), len(text))
    ):
        after = _TABLE.search(text, after.end())
    return head.end(), len(text) if after is None else after.start()


def _entries(text: str, start: int, end: int) -> Iterator[tuple[str, int, int]]:
    """Keys with the span of their lists."""
    at = start
    while (found := _ENTRY.search(text, at, end)) is not None:
        closes = next(
            (piece.end() for piece in _PIECE.finditer(text, found.end()) if piece.group() == "]"), None
        )
        if closes is None:
            return
        (key,) = tomllib.loads(f"{found['key']} = 1")
        yield key, found.start("list"), closes
        at = closes
