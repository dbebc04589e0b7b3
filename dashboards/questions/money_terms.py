"""What the firm's hours and prices are taken to be on the page: its settings, until somebody tries others."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards.data import Fleet

HOUR, DAY, PRICING, PRICE = "money_hour", "money_day", "money_pricing", "money_price"
PRICINGS = {
    "itemised": "as on the bills, returns free",
    "flat": "one flat price",
    "labour credited on return": "on a return the part is charged, the labour is not",
}
# Asked with this where nobody has said what an hour costs, only to know whether the log could answer at all.
ANY_HOUR = 1.0


def chosen(fleet: Fleet) -> dict[str, Any]:
    """The terms as a question to a measure takes them; what is not known is left out."""
    settings = fleet.terms()
    state = st.session_state
    terms = {
        "hour_costs": state.get(HOUR, settings["hour_costs"]),
        "customer_day": state.get(DAY, settings["customer_day"]),
        "pricing": state.get(PRICING) or settings["pricing"],
        "flat_price": state.get(PRICE, settings["flat_price"]),
    }
    if terms["pricing"] == "flat" and not terms["flat_price"]:
        terms["pricing"] = "itemised"
    return {name: value for name, value in terms.items() if value}


def choose(fleet: Fleet) -> None:
    """Fields to try other terms; nothing is written anywhere."""
    settings = fleet.terms()
    left, right = st.columns(2)
    with left:
        _amount("An hour of your own work costs", HOUR, settings["hour_costs"], "35.00")
    with right:
        _amount("A customer's day without the machine costs", DAY, settings["customer_day"], "40.00")
    st.selectbox(
        "How you charge",
        list(PRICINGS),
        format_func=PRICINGS.__getitem__,
        index=list(PRICINGS).index(settings["pricing"]),
        key=PRICING,
    )
    if (st.session_state.get(PRICING) or settings["pricing"]) == "flat":
        _amount("The flat price of a fix", PRICE, settings["flat_price"], "140.00")


def _amount(label: str, key: str, value: float | None, such_as: str) -> None:
    st.number_input(
        label,
        min_value=0.0,
        max_value=100_000.0,
        value=value,
        step=1.0,
        key=key,
        placeholder=f"such as {such_as}",
    )
