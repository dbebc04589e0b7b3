"""What the shop's hours and prices are, for figures about money: its settings, or what a page puts in their place."""

from __future__ import annotations

from dataclasses import dataclass

import duckdb

from pipeline.errors import CannotAnswerError
from pipeline.measures.question import Question
from pipeline.settings import FLAT, LABOUR_CREDITED

HOW_TO_SET = "in settings.toml in the store, then run `mendstat reread`"


@dataclass(frozen=True)
class Terms:
    """
    The shop's choices, amounts in major units of the currency of the answer.

    Attributes
    ----------
    guarantee_days : int
        Days within which a return is for the shop to put right.
    hour_costs, flat_price, customer_day : float or None
        See `pipeline.settings.Settings`.
    pricing : str
        One of `pipeline.settings.PRICINGS`.
    """

    guarantee_days: int
    hour_costs: float | None
    pricing: str
    flat_price: float | None
    customer_day: float | None
    price_change: float = 0.0  # per cent by which every bill of a customer would be higher

    @property
    def rule(self) -> str:
        """The pricing rule, in words."""
        if self.pricing == FLAT:
            return f"one flat price of {self.flat_price:.2f}"
        charges = "charges as recorded"
        if self.price_change:
            charges = f"customers' bills {abs(self.price_change):g} % {'higher' if self.price_change > 0 else 'lower'} than recorded"
        if self.pricing == LABOUR_CREDITED:
            return f"{charges}; on a return the part is charged and the labour credited"
        return f"{charges}, returns as recorded"


def terms_of(con: duckdb.DuckDBPyConnection, question: Question) -> Terms:
    """
    Settings of the build, and over them what the question says.

    Raises
    ------
    CannotAnswerError
        If a flat price is asked for and none is given.
    """
    sql = 'select guarantee_days, hour_costs, pricing, flat_price, customer_day from settings."values"'
    days, hour_costs, pricing, flat_price, customer_day = con.execute(sql).fetchall()[0]
    terms = Terms(
        question.guarantee_days or days,
        question.hour_costs or hour_costs,
        question.pricing or pricing,
        question.flat_price or flat_price,
        question.customer_day or customer_day,
        question.price_change or 0.0,
    )
    if terms.pricing == FLAT and terms.flat_price is None:
        raise CannotAnswerError(
            f"Pricing is flat, but no flat price is known: write flat_price = 140.00, say, {HOW_TO_SET}."
        )
    return terms
