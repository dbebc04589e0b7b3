"""The order of checks in words, for the screen of a terminal and for pages alike."""

from __future__ import annotations

from pipeline.measures.check_order import CheckOrder, Step
from pipeline.vocabulary.check_minutes import ASSUMPTION, SHOP

EITHER = "this or the next first: no difference that can be told"
STAGES = {"running": "machine closed and running, after every dead test"}


def step_minutes(step: Step) -> str:
    """`4 min, 4 more for: side panel`; `6 min from 34 checks in the log, 4 min more for: …`; of others it is said below the steps."""
    said, more = f"{round(step.minutes, 1):g} min", f"{step.panel_min:g} more"
    if _is_recorded(step):
        said, more = f"{said} {step.source}", f"{step.panel_min:g} min more"
    return f"{said}, {more} for: {', '.join(step.panels)}" if step.panels else said


def _is_recorded(step: Step) -> bool:
    return step.source not in (ASSUMPTION, SHOP)


def order_text(order: CheckOrder) -> str:
    """Numbered lines; the last say what is expected and where the minutes come from."""
    lines = ["In which order to check:"]
    for number, step in enumerate(order.steps, start=1):
        name = f"{step.part_name}: " if step.part_name else ""
        said = [step_minutes(step), STAGES.get(step.stage, ""), EITHER if step.same_as_next else ""]
        lines.append(f" {number}. {name}{step.check} ({'; '.join(filter(None, said))})")
    return "\n".join([*lines, *expected_lines(order)])


def expected_lines(order: CheckOrder) -> list[str]:
    """Expected minutes, what licensed people look at, and where the minutes come from."""
    lines = [f"Expected: {order.expected_min:.0f} min until it is found or all is checked."]
    if order.most_often_first_min - order.expected_min >= 1.0:
        lines[0] += f" By what was most often the fix: {order.most_often_first_min:.0f} min."
    if order.licensed:
        lines.append(f"For licensed people, not in this order: {', '.join(order.licensed)}.")
    assumed = sum(step.source == ASSUMPTION for step in order.steps)
    if assumed:
        lines.append(
            f"Minutes of {assumed} of {len(order.steps)} steps are assumptions; the shop's own go into "
            "vocabulary/check_minutes.toml."
        )
    recorded = sum(map(_is_recorded, order.steps))
    if recorded:
        lines.append(f"Minutes of {recorded} of {len(order.steps)} steps are the middle of those in the log.")
    return lines
