"""What a job would have brought under the terms asked for, as SQL over facts.job_money (alias m); minor units."""

from __future__ import annotations

from pipeline.measures.terms import Terms
from pipeline.normalise.money import factor_sql
from pipeline.settings import FLAT, LABOUR_CREDITED

MAJOR = factor_sql("coalesce(m.currency, '')")
# Paid by one payer in one currency; other jobs say nothing of what a fix earns.
PAID = "m.is_paid and not m.has_several_payers and m.count_currencies <= 1"
# What a replacement of the part usually costs the customer, and how much more that is than what a job that cleaned or mended
# it was charged: the part, as it would be billed on a return. A part that was replaced returns under its guarantee, free.
CREDITS = f"""
swaps as (
    select w.part_key, m.payer, m.currency, avg(m.charged_minor) as price_minor
    from facts.job_parts as w join facts.job_money as m on m.job_no = w.job_no and {PAID}
    where w.action = 'replace' and w.is_index and w.count_other_parts = 0
    group by all
),
credits as (
    select w.job_no, max(greatest(s.price_minor - m.charged_minor, 0)) as part_minor
    from facts.job_parts as w
    join facts.job_money as m on m.job_no = w.job_no and {PAID}
    join swaps as s on s.part_key = w.part_key and s.payer is not distinct from m.payer and s.currency is not distinct from m.currency
    where w.action <> 'replace' and w.is_index and w.count_other_parts = 0
    group by w.job_no
)
"""


def price_sql(terms: Terms) -> str:
    """What the customer was, or would have been, charged."""
    if terms.pricing == FLAT:
        return f"{terms.flat_price!r} * {MAJOR}"
    if terms.price_change:
        # A maker's or an insurer's rates are not the firm's to change.
        share = terms.price_change / 100.0
        return f"m.charged_minor * case when coalesce(m.payer, 'customer') = 'customer' then {1.0 + share!r} else 1.0 end"
    return "m.charged_minor"


def margin_sql(terms: Terms) -> str:
    """The same less the parts; whose parts they were stays as it was. Null where the log does not give it."""
    if terms.pricing == FLAT:
        cost = "case when m.payer = 'maker warranty' then 0 else m.parts_cost_minor end"
        return f"case when m.margin_minor is not null then {price_sql(terms)} - {cost} end"
    if terms.price_change:
        return f"m.margin_minor + ({price_sql(terms)} - m.charged_minor)"
    return "m.margin_minor"


def return_cost_sql(terms: Terms) -> str:
    """What the unpaid returns cost in parts (alias c of facts.return_chains), less the part charged where labour alone is credited."""
    if terms.pricing == LABOUR_CREDITED:
        return "coalesce(c.cost_minor, 0) - case when c.is_unpaid then coalesce(credits.part_minor, 0) else 0 end"
    return "coalesce(c.cost_minor, 0)"
