"""For whoever stands before the machine, with one hand free: what usually fixes it, what to check first, what to bring."""

from __future__ import annotations

from dashboards import ahead, blocks, data, pinned, words
from dashboards.questions import (
    booked,
    bring,
    check_first,
    fixed_faults,
    free_or_replace,
    house_note,
    how_good,
    machine_before,
    such_jobs,
    usual_fixes,
    what_is_wrong,
)
from dashboards.words import Told
from pipeline.measures.calls import Call
from pipeline.measures.symptom_words import Case, Understood
from pipeline.vocabulary import cautions

TITLE = "At the machine"
NOT_READ = "No symptom of the log reads like this."


def render() -> None:
    """Draw the page."""
    fleet = data.open_fleet()
    blocks.title(TITLE, fleet, is_short=True)
    if fleet is None:
        blocks.empty()
        return
    if not fleet.kinds():
        blocks.caution()
        blocks.answer(
            Told("The log has no fault job with a kind of machine, so there is nothing to choose from.")
        )
        blocks.what_next("Record the kind of machine on every job.")
        return
    fleet.beside(ahead.answer)
    case, call = what_is_wrong.choose(fleet)
    if case.words:
        _answer(fleet, case, call)
    else:
        what_is_wrong.nothing_yet(fleet, case)
        booked.show(fleet)
        if case.unit_type and not fleet.names_works():
            fixed_faults.show(fleet, case.unit_type)
        blocks.cautions(cautions.for_work(case.unit_type))
        blocks.what_next(
            "Tap the kind of machine and what is seen, or type it; then read the cautions first."
        )
    if not fleet.pinned().has_notice_list:
        blocks.rests_on(pinned.NO_LIST_MACHINE)


def _answer(fleet: data.Fleet, case: Case, call: Call | None) -> None:
    read = fleet.understand(case)
    if read.understood is None:
        blocks.ask(words.capital(case.words))
        blocks.answer(Told("", NOT_READ))
        what_is_wrong.offer_instead(fleet, case)
        blocks.cautions(cautions.for_work(case.unit_type))
        blocks.what_next(
            "Type on or in other words, or tap one of these. If it is none of them, read the cautions and look for yourself."
        )
        return
    blocks.ask(what_is_wrong.heading(case, read.understood.symptoms))
    blocks.under(_read_as(case, read.understood))
    if call is not None:
        machine_before.first(fleet, call)
    if read.understood.dangers:
        _stop(case, read.understood)
        return
    _fixes(fleet, case, read.understood, call)


def _fixes(fleet: data.Fleet, case: Case, understood: Understood, call: Call | None) -> None:
    found = fleet.fixes(understood)
    kind = understood.unit_type or ""
    blocks.cautions(found.fixes.cautions() if found.fixes else cautions.for_work(kind))
    if call is not None:
        machine_before.known(fleet, call)
    if found.fixes is None:
        blocks.answer(Told("", found.refusal))
        if kind:
            fixed_faults.show(fleet, kind, understood.symptoms)
    else:
        blocks.answer(usual_fixes.tell(found.fixes))
        asked = f"{understood.symptoms} {understood.unit_type} {understood.model} {understood.code}"
        brought = bring.chosen(fleet, understood)
        check_first.show(fleet, found.fixes, kind, asked, bring.on_van(brought))
        bring.show(fleet, understood, brought)
        usual_fixes.show(found.fixes)
        blocks.rests_on(usual_fixes.rests_on(found.fixes))
        usual_fixes.working(found.fixes)
        free_or_replace.show(fleet, found.fixes)
    house_note.show(fleet, understood)
    if call is not None:
        machine_before.show(fleet, call)
    if understood.unit_type and len(understood.symptoms) == 1:
        such_jobs.render(fleet, understood.unit_type, understood.symptoms[0])
    blocks.link("How good are these answers? Tried on the log's own later jobs", how_good.PATH)
    if case.words.casefold() not in understood.symptoms:
        what_is_wrong.offer(fleet, case, understood.symptoms)
    what_is_wrong.model_and_code(fleet, case)
    blocks.what_next(
        "Make safe, look at the installation, prove the part bad before you fit one, and end with a test run. Write down "
        "symptom, part, action and minutes: that is what the next one reads here."
    )


def _stop(case: Case, understood: Understood) -> None:
    """A danger: make safe and stop, and no likely part."""
    for danger in understood.dangers:
        blocks.stop(cautions.STOP[danger])
    blocks.cautions(cautions.for_work(understood.unit_type or case.unit_type))
    blocks.answer(Told(cautions.AFTER_STOP))
    blocks.what_next("Make safe, tell the customer to leave it off, and refer it. Write it down as reported.")


def _read_as(case: Case, understood: Understood) -> str:
    kind, model, code = understood.unit_type, understood.model, understood.code
    said = [kind or "any kind of machine"]
    said += [model or ("model not in the log" if case.model else "any model")]
    said += [f"code {code}" if code else "code not in the log" if case.code else "no code"]
    if understood.symptoms:
        said += [f"read as {words.listed(understood.symptoms)}"]
    return " · ".join(said)
