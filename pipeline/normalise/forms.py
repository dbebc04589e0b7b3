"""Every written form that can be read, by what is written. To read another way of writing, add a form."""

from __future__ import annotations

from pipeline.normalise.amount_forms import MONEY_FORMS, NUMBER_FORMS
from pipeline.normalise.date_forms import DAY_FORMS, MOMENT_FORMS, ZONE
from pipeline.normalise.duration_forms import MINUTES_FORMS
from pipeline.normalise.form import Form, Typed, either
from pipeline.standard_log import Kind

__all__ = ["FORMS", "OR", "TYPED", "ZONE", "Form", "Typed", "default_form", "form_named", "forms_of"]

TYPED: dict[Kind, Typed] = {
    "moment": "moment",
    "day": "day",
    "minutes": "minutes",
    "count": "number",
    "number": "number",
    "money": "money",
}
OR = " or else "
# The first of each kind is its default: what a log is written in that a program wrote.
FORMS: tuple[Form, ...] = (*MOMENT_FORMS, *DAY_FORMS, *MINUTES_FORMS, *NUMBER_FORMS, *MONEY_FORMS)


def forms_of(kind: Typed) -> tuple[Form, ...]:
    """Forms in which a kind of value may be written, the default first."""
    return tuple(form for form in FORMS if form.kind == kind)


def default_form(kind: Typed) -> Form:
    """The form of a column that is empty, or that no form reads any better."""
    return forms_of(kind)[0]


def form_named(kind: Typed, name: str) -> Form | None:
    """A form by its name, or what several read alike by their names with " or else " between; None where one is unknown."""
    forms = [form for each in name.split(OR) for form in forms_of(kind) if form.name == each]
    if len(forms) != len(name.split(OR)):
        return None
    return forms[0] if len(forms) == 1 else either(name, *forms)
