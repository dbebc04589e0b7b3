"""The entry `[serial]` of a layout: what is read from a serial before it is replaced."""

from __future__ import annotations

from typing import Any

from pipeline.intake.layout_entries import Entries
from pipeline.intake.serials import ANY_MAKE, PATTERN_RULE, SerialRule, is_pattern
from pipeline.standard_log import WITH_SERIALS


def serial_rule(entries: Entries) -> SerialRule | None:
    """
    What is read from the serials of a kind of file.

    ::

        [serial]
        block = true             # keep which machines share a serial but for its last three characters
        made_week = "??YYWW*"    # where year and week of making stand, in the serial without spaces and hyphens

    Makers differ, so a pattern can be given for each make::

        [serial.made_week]
        "Orle" = "??YYWW*"
        "Quill" = "WWYY?????"

    Raises
    ------
    UnreadableError
        If the entry breaks a rule.
    """
    if "serial" not in entries.content:
        return None
    table = entries.table("serial")
    if entries.kind not in WITH_SERIALS:
        entries.refuse("serial", "can be said of a log or a list of machines only")
    entries.refuse_unknown(table, ("block", "made_week"), "serial")
    if len(entries.columns().get("serial", ())) != 1:
        entries.refuse("serial", "needs one header that the column serial is made from")
    if not isinstance(table.get("block", False), bool):
        entries.refuse("serial.block", "must be true or false")
    weeks = table.get("made_week")
    rule = SerialRule(table.get("block", False), None if weeks is None else _patterns(entries, weeks))
    if not rule.block and rule.made_week is None:
        entries.refuse("serial", 'needs block = true, or made_week = "…", or both')
    return rule


def _patterns(entries: Entries, said: Any) -> dict[str, str]:
    by_make = {ANY_MAKE: said} if isinstance(said, str) else said
    if not isinstance(by_make, dict) or not by_make:
        entries.refuse("serial.made_week", PATTERN_RULE)
    for make, pattern in by_make.items():
        if not isinstance(pattern, str) or not is_pattern(pattern):
            entries.refuse(f"serial.made_week{f'.{make!r}' if make else ''}", PATTERN_RULE)
    if len({make.strip().lower() for make in by_make}) < len(by_make):
        entries.refuse("serial.made_week", "must name each make once")
    return dict(by_make)
