"""What the firm's hours and prices are taken to be on the page: its settings, until somebody tries others."""

from __future__ import annotations

from typing import Any

import streamlit as st

from dashboards.data import Fleet

HOUR, DAY, PRICING, PRICE = "money_hour", "money_day", "money_pricing", "money_price"
GUARANTEE, CHANGE = "money_guarantee", "money_change"
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
        "guarantee_days": state.get(GUARANTEE, settings["guarantee_days"]),
        "price_change": state.get(CHANGE),
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
    left, right = st.columns(2)
    with left:
        if (st.session_state.get(PRICING) or settings["pricing"]) == "flat":
            _amount("The flat price of a fix", PRICE, settings["flat_price"], "140.00")
        else:
            _change()
    with right:
        st.number_input(
            "Days of your guarantee",
            min_value=1,
            max_value=3650,
            value=settings["guarantee_days"],
            step=1,
            key=GUARANTEE,
        )


def _change() -> None:
    st.number_input(
        "Customers' bills higher by, %",
        min_value=-90.0,
        max_value=1000.0,
        value=0.0,
        step=1.0,
        key=CHANGE,
        help="What if you charged more, or less? A minus sign lowers them.",
    )


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
